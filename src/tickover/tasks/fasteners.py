"""Fasteners: torque to preload with its spread, order, stages, and what the book says was done."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from tickover.book.bodies import Reading, Work
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.fasteners import Fastener
from tickover.errors import InputError
from tickover.physics.bands import Band
from tickover.physics.engagement import (
    SHEAR_OF_TENSILE,
    basic_limits,
    medium_limits,
    stripping_load,
)
from tickover.physics.fastener import (
    NUT_FACTORS,
    TORQUE_WRENCH_SPREAD,
    Preload,
    friction_of_factor,
    preload,
    proof_load,
    share_of_proof,
    tensile_strength,
)
from tickover.physics.metrology import Estimate, rectangular_uncertainty
from tickover.physics.thread import Thread, thread
from tickover.physics.tightening import tightening_order, torque_stages
from tickover.quantities import parse, show
from tickover.tasks.finding import Check, Finding, Stage, StateWord, Wanted

TIGHTENED = "fastener tightened"
LOOSENED = "fastener loosened"
RETORQUED = "fastener tightened again"

JOINT_WORK: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "head off": ("the head was off", ("head", "camshaft")),
    "barrel off": ("the barrel was off", ("head", "camshaft", "barrel")),
    "camshaft out": ("the camshafts were out", ("camshaft",)),
    "engine opened": ("the engine was opened", ("crankcase", "rod")),
    "clutch out": ("the clutch was out", ("clutch",)),
    "generator off": ("the generator was off", ("generator",)),
    "sump off": ("the sump was off", ("sump",)),
    "oil drained": ("the oil was let out", ("sump",)),
    "exhaust off": ("the exhaust was off", ("exhaust",)),
    "carburettors off": ("the carburettors were off", ("intake",)),
    "engine out": ("the engine was out of the frame", ("engine mount",)),
    "plugs out": ("the plugs were out", ("plug",)),
}
"""Work to the reason and to the joints whose tightening it makes void."""

BEARING_DIAMETERS = 1.37
"""Mean rubbing diameter under a hexagon head, in screw diameters (M6 to M10: 1.38 to 1.35)."""

WRENCH_SPREAD = 0.04
"""Give or take of a torque wrench that was checked (ISO 6789, from memory)."""

KNOWN_FACTOR_SPREAD = 0.17
"""Spread either way when K itself is known: twice the 8.4 percent of ten lubricated bolts
tightened alike (Shigley's Mechanical Engineering Design, 9th edition, table 8-14)."""

SHEAR_PA: Mapping[str, float] = {"aluminium": 130e6, "cast iron": 150e6, "steel": 240e6}
"""Shear strength of what is tapped [Pa]. Aluminium: the worked example of the Handbook of Bolts
and Bolted Joints (1998). Iron and mild steel: practice, from memory, on the low side."""

_FACTOR = {"dry": "black, as made", "zinc plated": "zinc plated", "oiled": "oiled",
           "cadmium plated": "cadmium plated"}  # fmt: skip
_STAGES: dict[str, frozenset[Stage]] = {
    "first start": frozenset({"first start", "riding", "hand-over"}),
    "riding": frozenset({"riding", "hand-over"}),
    "hand-over": frozenset({"hand-over"}),
    "never": frozenset(),
}
_SAME_TORQUE = 0.04
CAUTIONS = (
    "The service manual's torque and order come first; soft alloy threads strip below any sum.",
    "Pull smoothly, squarely, and stop at the click: a second click is a higher torque.",
)


@dataclass(frozen=True, slots=True)
class TorqueSums:
    """What a torque does to a screw.

    pull: preload with its spread. proof, of_proof: proof load [N] and how much of it the preload
    takes, None without a class. strips, of_strip: pull at which the thread in the hole gives way
    [N], None where the hole is not described. factor: K used. warnings: in words.
    """

    torque_nm: float
    thread: Thread
    factor: float
    factor_known: bool
    pull: Preload
    proof_n: float | None
    of_proof: Band | None
    strips_n: float | None
    of_strip: Band | None
    warnings: tuple[str, ...]
    overloaded: bool


@lru_cache(maxsize=256)  # asked for the same few screws on every page
def torque_sums(
    torque_nm: float,
    thread_name: str,
    property_class: str | None = None,
    surface: str = "oiled",
    nut_factor: float | None = None,
    into: str | None = None,
    engaged_m: float | None = None,
) -> TorqueSums:
    """Preload that a torque gives, and whether screw and hole stand it.

    Parameters
    ----------
    torque_nm : float
        [N m]
    thread_name : str
        'M8', '3/8 BSF'.
    property_class : str or None
        '8.8'.
    surface : str
        'dry', 'zinc plated', 'oiled' or 'cadmium plated'.
    nut_factor : float or None
        K where it is known; by surface otherwise [1]
    into : str or None
        'aluminium', 'cast iron' or 'steel'.
    engaged_m : float or None
        Full thread in the hole [m]

    Returns
    -------
    TorqueSums
        Overloaded when the likeliest preload is above the proof load or the stripping load.

    Raises
    ------
    InputError
        No such thread, class or surface; a torque not above zero.

    Notes
    -----
    K by surface (Shigley, table 8-15) with a quarter either way is turned into one friction for
    thread and head; then `tickover.physics.fastener.preload`. Proof load ISO 898-1, stripping
    FED-STD-H28/2B. Checked in tests/published/test_torque_sums.py.

    Examples
    --------
    >>> sums = torque_sums(25.474, "M8", "8.8", surface="zinc plated")
    >>> print(f"{sums.pull.estimate.value / 1e3:.1f} kN of {sums.proof_n / 1e3:.1f} kN")
    15.9 kN of 21.2 kN
    """
    if surface not in _FACTOR:
        raise InputError("Not a surface known here", given=surface, allowed=", ".join(_FACTOR))
    screw = thread(thread_name)
    factor = NUT_FACTORS[_FACTOR[surface]] if nut_factor is None else nut_factor
    spread = TORQUE_WRENCH_SPREAD if nut_factor is None else KNOWN_FACTOR_SPREAD
    bearing = BEARING_DIAMETERS * screw.major
    friction = Band(
        friction_of_factor(factor * (1.0 - spread), screw, bearing),
        friction_of_factor(factor * (1.0 + spread), screw, bearing),
    )
    wrench = rectangular_uncertainty(WRENCH_SPREAD * torque_nm)
    pull = preload(Estimate(torque_nm, wrench), screw, friction, friction, bearing)
    middle = pull.estimate.value
    warnings = []
    overloaded = False
    proof = of_proof = strips = of_strip = None
    if property_class is not None:
        proof = proof_load(screw, property_class)
        of_proof = share_of_proof(pull, screw, property_class)
        overloaded = middle > proof
        if overloaded:
            warnings.append(
                f"this torque overloads a class {property_class} screw: likeliest preload "
                f"{100 * middle / proof:.0f} % of its proof load"
            )
        elif of_proof.high > 1.0:
            warnings.append(
                f"with slippery threads the preload reaches {100 * of_proof.high:.0f} % of proof"
            )
    if into is not None and engaged_m is not None:
        worst = medium_limits(screw) if screw.form.name == "ISO" else basic_limits(screw)
        strength = SHEAR_OF_TENSILE * tensile_strength(property_class or "8.8", screw.major)
        strips = stripping_load(screw, engaged_m, SHEAR_PA[into], strength, worst)
        of_strip = pull.extremes / strips
        if middle > strips:
            overloaded = True
            warnings.append(
                f"the thread in the {into} strips first: likeliest preload "
                f"{100 * middle / strips:.0f} % of what it holds"
            )
        elif of_strip.high > 1.0:
            warnings.append(
                f"with slippery threads the preload reaches {100 * of_strip.high:.0f} % of what "
                f"the thread in the {into} holds"
            )
    return TorqueSums(
        torque_nm, screw, factor, nut_factor is not None, pull, proof, of_proof, strips, of_strip,
        tuple(warnings), overloaded,
    )  # fmt: skip


def sums_of(fastener: Fastener) -> TorqueSums | None:
    """The sums for a fastener of the engine file; None without a thread.

    Raises
    ------
    InputError
        If the series has no such thread.
    """
    if fastener.thread is None:
        return None
    return torque_sums(
        fastener.torque_nm, fastener.thread, fastener.property_class, fastener.surface,
        fastener.nut_factor, fastener.into, fastener.engaged_m,
    )  # fmt: skip


def order_of(fastener: Fastener) -> tuple[int, ...]:
    """Numbers of the positions in tightening order, from 1; the maker's order where it is given.

    Empty without positions.
    """
    if fastener.order or not fastener.positions_m:
        return fastener.order
    return tuple(i + 1 for i in tightening_order(fastener.positions_m))


def stages_of(fastener: Fastener) -> tuple[float, ...]:
    """Torque of each round [N m]; single screws and those with one stage go straight to it."""
    if fastener.stages_nm:
        return fastener.stages_nm
    if fastener.screws == 1:
        return (fastener.torque_nm,)
    return torque_stages(fastener.torque_nm)


@dataclass(frozen=True, slots=True)
class Tightening:
    """How far a fastener is tightened: the latest entry, its stage of how many, its torque."""

    entry: Entry[Work] | Entry[Reading]
    stage: int
    of: int
    torque_nm: float

    @property
    def complete(self) -> bool:
        """Whether the last stage was done."""
        return self.stage >= self.of


def tightening(fastener: Fastener, state: State) -> Tightening | None:
    """The latest tightening of a fastener in the book; None when there is none."""
    of = len(stages_of(fastener))
    done = state.works(TIGHTENED, fastener.name)
    said = state.latest(check_name(fastener), fastener.name)
    last = done[-1] if done else None
    if said is not None and (last is None or said.number > last.number):
        full = said.body.low == 1.0
        return Tightening(said, of if full else 0, of, fastener.torque_nm if full else 0.0)
    if last is None:
        return None
    detail = last.body.detail
    stage, torque = detail.get("stage", of), detail.get("torque_nm", fastener.torque_nm)
    return Tightening(
        last, int(stage) if isinstance(stage, int | float) else of, of,
        float(torque) if isinstance(torque, int | float) else fastener.torque_nm,
    )  # fmt: skip


def check_name(fastener: Fastener) -> str:
    """The name of the check, by the joint: 'tightened head' at 'head bolts'."""
    return f"tightened {fastener.joint}"


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """For each fastener: tightened; tightened again where asked; the torque itself if too high."""
    found = []
    for each in engine.fasteners:
        unit = engine.show.unit("torque")
        stages = ", ".join(show(t, unit, "torque", with_unit=False) for t in stages_of(each)[:-1])
        final = show(each.torque_nm, unit, "torque")
        rounds = f"{stages} and {final}" if stages else final
        order = order_of(each)
        how = f"In rounds of {rounds}" if stages else f"To {final}"
        if order:
            how += f", in the order {', '.join(map(str, order))}"
        how += f". Threads {each.surface}."
        if each.note:
            how += f" {each.note}"
        found.append(
            Check(
                check_name(each), each.name, f"{_capital(each.name)}, {final}",
                "that the joint is clamped and stays so", how, _STAGES[each.required],
                cautions=CAUTIONS, minutes=1.0 + 0.5 * (each.screws or 1), risk=3,
                group="fasteners",
                wanted=Wanted("yes", prompt=f"torque {each.name} {final} done"),
            )
        )  # fmt: skip
        if each.retorque:
            found.append(
                Check(
                    "tightened again", each.name, f"{_capital(each.name)}, tightened again",
                    "that gaskets which settled are still clamped",
                    f"After the first heat cycles, engine cold: each in order, to {final}. Follow "
                    "the manual where it asks to loosen first.",
                    frozenset({"riding", "hand-over"}), needs=(check_name(each),),
                    cautions=("Engine cold all through.", *CAUTIONS),
                    minutes=5.0 + 0.5 * (each.screws or 1), risk=2, group="fasteners",
                    wanted=Wanted("yes", prompt=f"torque {each.name} again"),
                )
            )  # fmt: skip
        trouble = _trouble(each)
        if trouble:
            found.append(
                Check(
                    "torque against class", each.name, f"{_capital(each.name)}, torque too high",
                    "that neither screw nor thread is overloaded",
                    "Read the manual again; look at unit, thread, class and surface in the engine "
                    "file. Correct the file, or accept with a reason.",
                    _STAGES[each.required], minutes=5.0, risk=3, group="fasteners",
                    wanted=Wanted("page", "torque", page="fasteners"),
                )
            )  # fmt: skip
    return tuple(found)


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the book and the sums say of each fastener."""
    found = []
    for each in engine.fasteners:
        done = tightening(each, state)
        if done is not None:
            found.append(_tightened(engine, each, done))
            again = _again(each, done, state) if each.retorque else None
            if again is not None:
                found.append(again)
        trouble = _trouble(each)
        if trouble:
            found.append(Finding("torque against class", each.name, "out", trouble))
    return tuple(found)


def tightened_entry(
    engine: EngineFile, name: str, typed: str = "", stage: int | None = None, again: bool = False
) -> Work:
    """The book's entry for a fastener tightened, wholly or to a stage, or tightened again.

    Parameters
    ----------
    engine : EngineFile
    name : str
        Of a fastener, or how it begins.
    typed : str
        Torque in any unit; the final one of the file, or that of the stage, when left out.
    stage : int or None
        From 1; the stage this torque belongs to, otherwise the last.
    again : bool
        Tightened again after heat cycles.

    Raises
    ------
    InputError
        No such fastener or stage, a torque that is none.
    """
    each = fastener_named(engine, name)
    stages = stages_of(each)
    if stage is not None and not 1 <= stage <= len(stages):
        raise InputError("There is no such stage", given=str(stage), allowed=f"1 to {len(stages)}")
    if typed:
        unit = engine.show.unit("torque")
        torque = parse(typed, "torque", unit, f"The torque of {each.name}").value_si
        if torque <= 0:
            raise InputError("A torque must be above zero", given=typed)
        if stage is None:
            stage = _stage_of(torque, stages)
    else:
        stage = stage or len(stages)
        torque = stages[stage - 1]
    detail = {"torque_nm": torque, "stage": stage, "stages": len(stages), "typed": typed}
    return Work(RETORQUED if again else TIGHTENED, (each.name,), detail)


def loosened_entry(engine: EngineFile, name: str) -> Work:
    """The book's entry for a fastener loosened."""
    return Work(LOOSENED, (fastener_named(engine, name).name,))


def fastener_named(engine: EngineFile, name: str) -> Fastener:
    """The fastener meant, by its name or how it begins.

    Raises
    ------
    InputError
        None or several fit; says which there are.
    """
    wanted = " ".join(name.split()).casefold()
    known = ", ".join(each.name for each in engine.fasteners) or "none in the engine file"
    exact = [each for each in engine.fasteners if each.name.casefold() == wanted]
    fits = exact or [f for f in engine.fasteners if wanted and f.name.casefold().startswith(wanted)]
    if len(fits) != 1:
        problem = "Several fasteners begin like this" if fits else "There is no such fastener"
        raise InputError(problem, given=name, allowed=known)
    return fits[0]


def _stage_of(torque: float, stages: tuple[float, ...]) -> int:
    """The stage a torque belongs to: an earlier one it equals, otherwise the last."""
    for number, each in enumerate(stages[:-1], 1):
        if abs(torque - each) <= _SAME_TORQUE * each:
            return number
    return len(stages)


def _tightened(engine: EngineFile, each: Fastener, done: Tightening) -> Finding:
    unit = engine.show.unit("torque")
    day = done.entry.at[:10]
    name, place = check_name(each), each.name
    if done.stage == 0:
        return Finding(name, place, "out", f"not right when looked at on {day}", done.entry.number)
    torque = show(done.torque_nm, unit, "torque")
    if not done.complete:
        text = f"stage {done.stage} of {done.of} done on {day}, {torque}"
        return Finding(name, place, "undecided", text, done.entry.number)
    wanted = show(each.torque_nm, unit, "torque")
    off = done.torque_nm / each.torque_nm - 1.0
    if abs(off) > _SAME_TORQUE:
        word = "more" if off > 0 else "less"
        text = f"{torque} on {day}, {word} than the {wanted} of the engine file"
        return Finding(name, place, "out", text, done.entry.number)
    return Finding(name, place, "good", f"{torque} on {day}", done.entry.number)


def _again(each: Fastener, done: Tightening, state: State) -> Finding | None:
    works = state.works(RETORQUED, each.name)
    said = state.latest("tightened again", each.name)
    entries: list[Entry[Work] | Entry[Reading]] = [*works]
    if said is not None:
        entries.append(said)
    if not entries:
        return None
    last = max(entries, key=lambda entry: entry.number)
    if isinstance(last.body, Reading) and last.body.low != 1.0:
        return Finding("tightened again", each.name, "out", "not right", last.number)
    ran = [e.number for e in state.start_attempts() if e.body.outcome in ("ran", "fired")]
    hot = any(done.entry.number < number < last.number for number in ran)
    word: StateWord = "good" if hot else "undecided"
    text = f"on {last.at[:10]}"
    if not hot:
        text += ", but the book knows of no running between tightening and this"
    return Finding("tightened again", each.name, word, text, last.number)


def _trouble(each: Fastener) -> str:
    try:
        sums = sums_of(each)
    except InputError as wrong:
        return str(wrong)
    return "; ".join(sums.warnings) if sums is not None and sums.overloaded else ""


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
