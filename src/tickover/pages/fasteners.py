"""The page of the fasteners: torque in every unit, order, rounds, preload, what was done when."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.fasteners import Fastener
from tickover.errors import InputError
from tickover.pages.drawing.bolts import bolt_pattern
from tickover.pages.head import Head
from tickover.pages.why import Why
from tickover.pages.wording import count_words, listed, sentence
from tickover.plan.checks import CheckState, check_states
from tickover.quantities import show
from tickover.tasks.fasteners import (
    BEARING_DIAMETERS,
    CAUTIONS,
    KNOWN_FACTOR_SPREAD,
    RETORQUED,
    TIGHTENED,
    WRENCH_SPREAD,
    TorqueSums,
    check_name,
    order_of,
    stages_of,
    sums_of,
)

TORQUE_UNITS = ("Nm", "lbf ft", "lbf in", "kgf m")


@dataclass(frozen=True, slots=True)
class FastenerLine:
    """One fastener as shown."""

    name: str
    state: str
    state_text: str
    again_state: str
    again_text: str
    thread: str
    torque: str
    other_units: str
    stages: tuple[str, ...]
    order: tuple[int, ...]
    order_words: str
    count: str
    preload: str
    of_proof: str
    of_thread: str
    warnings: tuple[str, ...]
    overloaded: bool
    note: str
    dates: tuple[str, ...]
    fastener: Fastener
    sums: TorqueSums | None


@dataclass(frozen=True, slots=True)
class FastenersPage:
    """Everything the page, sheet, screen and JSON of the fasteners show."""

    head: Head | None
    title: str
    verdict: str
    lines: tuple[FastenerLine, ...]
    whys: tuple[Why, ...]
    cautions: tuple[str, ...]
    nothing: str

    @property
    def all_good(self) -> bool:
        """Whether there are fasteners, every one tightened and none overloaded."""
        return bool(self.lines) and all(
            line.state in ("good", "accepted") and not line.overloaded for line in self.lines
        )


def fasteners_page(engine: EngineFile, state: State, head: Head | None = None) -> FastenersPage:
    """The page of the fasteners of a build, or of an engine file with an empty state."""
    known = {item.check.key: item for item in check_states(engine, state)}
    lines = tuple(_line(engine, each, known, state) for each in engine.fasteners)
    return FastenersPage(
        head=head,
        title="Tightening",
        verdict=_verdict(lines),
        lines=lines,
        whys=(WHY_PRELOAD, WHY_ORDER),
        cautions=CAUTIONS,
        nothing=""
        if lines
        else "The engine file names no fasteners yet; they stand under [[fasteners]].",
    )


def torque_words(torque_nm: float, unit: str) -> tuple[str, str]:
    """A torque in a unit, and in the others.

    >>> torque_words(23.0, "Nm")
    ('23 Nm', '17 lbf ft, 204 lbf in, 2.35 kgf m')
    """
    others = ", ".join(show(torque_nm, each, "torque") for each in TORQUE_UNITS if each != unit)
    return show(torque_nm, unit, "torque"), others


def preload_words(sums: TorqueSums, unit: str) -> tuple[str, str, str]:
    """Preload, share of proof load, share of what the thread in the hole holds, in words."""

    def force(newtons: float) -> str:
        return show(newtons, "kN" if unit == "N" else unit, "force", decimals=1)

    pull = sums.pull
    words = (
        f"about {force(pull.estimate.value)}, {force(pull.extremes.low)} to "
        f"{force(pull.extremes.high)} by friction"
    )
    shares = []
    for share, load in ((sums.of_proof, sums.proof_n), (sums.of_strip, sums.strips_n)):
        shares.append(
            ""
            if share is None or load is None
            else f"{100 * pull.estimate.value / load:.0f} % of {force(load)} "
            f"({100 * share.low:.0f} to {100 * share.high:.0f} %)"
        )
    return words, shares[0], shares[1]


def pattern_of(fastener: Fastener, *, embedded: bool = False) -> str:
    """The picture of the tightening order; empty without positions."""
    if not fastener.positions_m:
        return ""
    return bolt_pattern(fastener.positions_m, order_of(fastener), embedded=embedded)


def _line(
    engine: EngineFile, each: Fastener, known: dict[tuple[str, str], CheckState], state: State
) -> FastenerLine:
    unit = engine.show.unit("torque")
    torque, others = torque_words(each.torque_nm, unit)
    item = known.get((check_name(each), each.name))
    again = known.get(("tightened again", each.name))
    warnings: tuple[str, ...] = ()
    preload = of_proof = of_thread = thread = ""
    sums = None
    try:
        sums = sums_of(each)
    except InputError as wrong:
        warnings = (str(wrong),)
    if sums is not None:
        preload, of_proof, of_thread = preload_words(sums, engine.show.unit("force"))
        warnings = sums.warnings
        thread = sums.thread.name
    order = order_of(each)
    trouble = known.get(("torque against class", each.name))
    dates = [
        (entry.number, f"{entry.at[:10]}: {show(_torque(entry.body.detail), unit, 'torque')}, "
         + ("again" if what == RETORQUED else _stage(entry.body.detail)))
        for what in (TIGHTENED, RETORQUED)
        for entry in state.works(what, each.name)
    ]  # fmt: skip
    return FastenerLine(
        name=each.name,
        state=item.state if item else "open",
        state_text=_state_text(item),
        again_state=again.state if again else "",
        again_text=_state_text(again) if again else "",
        thread=" ".join(w for w in (thread or each.thread or "",
                                    f"class {each.property_class}" if each.property_class else "",
                                    each.surface if each.thread else "") if w),
        torque=torque,
        other_units=others,
        stages=tuple(show(step, unit, "torque") for step in stages_of(each)),
        order=order,
        order_words="order printed by the maker" if each.order
        else ("from the centre out, crosswise" if order else ""),
        count=str(each.screws) if each.screws else "",
        preload=preload,
        of_proof=of_proof,
        of_thread=of_thread,
        warnings=tuple(sentence(words) for words in warnings),
        overloaded=trouble is not None and trouble.state != "accepted",
        note=each.note or "",
        dates=tuple(words for _, words in sorted(dates)),
        fastener=each,
        sums=sums,
    )  # fmt: skip


def _torque(detail: Any) -> float:
    value = detail.get("torque_nm", 0.0)
    return float(value) if isinstance(value, int | float) else 0.0


def _stage(detail: Any) -> str:
    return f"stage {detail.get('stage', '?')} of {detail.get('stages', '?')}"


def _state_text(item: CheckState | None) -> str:
    if item is None:
        return ""
    if item.void is not None and item.state == "stale":
        was = item.finding.text if item.finding else ""
        return f"was {was}, void: {item.void.why}"
    if item.acceptance is not None:
        return f"accepted: {item.acceptance.body.reason}"
    return item.finding.text if item.finding else "not done"


def _verdict(lines: tuple[FastenerLine, ...]) -> str:
    if not lines:
        return "Nothing is asked for."
    high = [line.name for line in lines if line.overloaded]
    left = sum(line.state not in ("good", "accepted") for line in lines)
    words = (
        ("tightened" if len(lines) == 1 else f"all {count_words(len(lines))} are tightened")
        if not left
        else f"{count_words(left)} of {count_words(len(lines))} still to tighten"
    )
    if high:
        return f"Torque too high for {listed(high)}. {sentence(words)}"
    return sentence(words)


WHY_PRELOAD = Why(
    "Preload, and how much the screw stands",
    (
        "torque, thread, surface; K by surface: dry 0.30, zinc 0.20, oiled 0.18, cadmium 0.16",
        f"K a quarter either way, {100 * KNOWN_FACTOR_SPREAD:.0f} % where you gave it; wrench "
        f"{100 * WRENCH_SPREAD:.0f} %",
        f"mean diameter under the head {BEARING_DIAMETERS} screw diameters",
    ),
    "preload = torque / (pitch / 2π + d2 µ / (2 cos half flank) + D µ / 2), µ from K; proof load "
    "= stress area x proof stress; thread in the hole = shear area x shear strength",
    "Shigley, Mechanical Engineering Design, 9th ed., table 8-15; ISO 898-1; FED-STD-H28/2B; "
    "shear of aluminium 130 MPa from the Handbook of Bolts and Bolted Joints; iron and mild steel, "
    "and the wrench after ISO 6789, from memory",
    "the range beside each preload: nine tenths of a torque go into friction",
)
WHY_ORDER = Why(
    "Order and rounds",
    ("positions of the screws; the maker's order where the engine file gives it",),
    "rings from the inside out; in each ring the screw farthest from the last one comes next; "
    "half, three quarters, all of the torque",
    "common practice, no source",
    "",
)


def fasteners_json(page: FastenersPage) -> dict[str, Any]:
    """The page as JSON: torques in N m, forces in N."""
    return {
        "verdict": page.verdict,
        "fasteners": [
            {
                "name": line.name,
                "state": line.state,
                "text": line.state_text,
                "tightened_again": line.again_state or None,
                "torque_nm": line.fastener.torque_nm,
                "stages_nm": list(stages_of(line.fastener)),
                "order": list(line.order),
                **sums_json(line.sums),
                "overloaded": line.overloaded,
                "warnings": list(line.warnings),
                "done": list(line.dates),
            }
            for line in page.lines
        ],
    }


def sums_json(sums: TorqueSums | None) -> dict[str, Any]:
    """The sums as JSON: forces in N, shares as fractions; all None without a thread."""
    keys = ("thread", "nut_factor", "preload_n", "preload_low_n", "preload_high_n", "proof_load_n",
            "share_of_proof", "strips_at_n", "share_of_stripping")  # fmt: skip
    if sums is None:
        return dict.fromkeys(keys)
    middle = sums.pull.estimate.value
    values = (
        sums.thread.name, sums.factor, round(middle, 1), round(sums.pull.extremes.low, 1),
        round(sums.pull.extremes.high, 1), sums.proof_n,
        None if sums.proof_n is None else round(middle / sums.proof_n, 4), sums.strips_n,
        None if sums.strips_n is None else round(middle / sums.strips_n, 4),
    )  # fmt: skip
    return dict(zip(keys, values, strict=True))
