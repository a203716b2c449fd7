"""The listening page: speed, steadiness, a weak slot, what changed since the last recording."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.drawing.listen_pictures import (
    WheelSlot,
    slot_wheel,
    speed_picture,
    waterfall_picture,
)
from tickover.pages.head import Head
from tickover.pages.why import Why
from tickover.plan.checks import CheckState
from tickover.plan.faultfinding import fault_advice, knowledge
from tickover.tasks.finding import Finding
from tickover.tasks.listen import in_book
from tickover.tasks.listen.in_book import HeardSpeed, KeptRecording
from tickover.tasks.listen.listening import CAUTIONS, Listening, SpeedSummary
from tickover.tasks.listen.waterfall import Waterfall

if TYPE_CHECKING:
    from tickover.tasks.listen.comparison import Change, Comparison

SYNTHETIC = "Synthetic: computed, not recorded from an engine. It proves nothing."
UNPROVEN = (
    "How far such numbers are right was measured on synthetic engines only; on a real one it is "
    "unproven until its speed was read another way at the same time."
)
CAUSES_SHOWN = 6
_TABLE_ROWS = 24


@dataclass(frozen=True, slots=True)
class SlotLine:
    """One firing slot as shown: its name, its strength in percent and its interval."""

    name: str
    angle_deg: float
    strength: float
    low: float
    high: float
    weak: bool
    words: str


@dataclass(frozen=True, slots=True)
class LookLine:
    """One thing to look at about a weak cylinder, and how."""

    words: str
    how: str
    share: str


@dataclass(frozen=True, slots=True)
class ListenPage:
    """Everything page, terminal, record and JSON show of one recording."""

    head: Head | None
    title: str
    verdict: str
    heard: Listening
    name: str
    synthetic: bool
    refused: str
    what_to_do: str
    numbers: tuple[tuple[str, str, str], ...]
    slots: tuple[SlotLine, ...]
    no_slots: str
    slot_words: str
    orders: tuple[tuple[str, str, str], ...]
    order_words: str
    blips: tuple[str, ...]
    speeds: tuple[tuple[str, str, str], ...]
    earlier: str
    changes: tuple[tuple[str, str, str, str], ...]
    since: tuple[str, ...]
    change_notes: tuple[str, ...]
    comparison: Comparison | None
    look: tuple[LookLine, ...]
    remarks: tuple[str, ...]
    cautions: tuple[str, ...]
    whys: tuple[Why, ...]
    waterfall: Waterfall | None

    @property
    def slot_rows(self) -> tuple[tuple[str, str], ...]:
        """Slots as rows of a table: name and words."""
        return tuple((line.name, line.words) for line in self.slots)


def listen_page(
    engine: EngineFile,
    heard: Listening,
    *,
    name: str = "",
    synthetic: bool = False,
    waterfall: Waterfall | None = None,
    earlier: KeptRecording | None = None,
    comparison: Comparison | None = None,
    since: tuple[str, ...] = (),
    names: tuple[int, ...] = (),
    state: State | None = None,
    states: tuple[CheckState, ...] | None = None,
    head: Head | None = None,
    earlier_name: str = "",
) -> ListenPage:
    """The page of one recording.

    Parameters
    ----------
    engine : EngineFile
    heard : Listening
    name : str
        What the file was called.
    synthetic : bool
    waterfall : Waterfall, optional
    earlier : KeptRecording, optional
        The one it is set beside, where it stands in the book.
    comparison : Comparison, optional
        With the earlier one.
    since : tuple of str
        Work written down between the two.
    names : tuple of int
        The cylinder of each slot, where somebody has found out.
    state, states : optional
        The build, for what else is known of a weak cylinder.
    head : Head, optional
    earlier_name : str
        The earlier recording where it is a file.

    Returns
    -------
    ListenPage
    """
    refused = heard.refused
    slots = _slots(heard, names)
    before = earlier_name
    if earlier is not None:
        before = f"entry {earlier.entry.number} of {earlier.entry.at[:10]} ({earlier.name})"
    return ListenPage(
        head=head,
        title="Listen",
        verdict=_verdict(heard, slots),
        heard=heard,
        name=name,
        synthetic=synthetic,
        refused=refused.reason if refused is not None else "",
        what_to_do=refused.what_to_do if refused is not None else "",
        numbers=_numbers(heard),
        slots=slots,
        no_slots="" if slots or refused is not None else heard.why.get("slots", ""),
        slot_words=_slot_words(heard, names),
        orders=_orders(heard),
        order_words=_order_words(heard),
        blips=_blips(heard),
        speeds=_speeds(heard),
        earlier=before,
        changes=_changes(comparison, slots),
        since=since,
        change_notes=_change_notes(comparison),
        comparison=comparison,
        look=_look(engine, heard, slots, state, states),
        remarks=(*heard.remarks, *((UNPROVEN,) if refused is None else ())),
        cautions=CAUTIONS,
        whys=_whys(heard),
        waterfall=waterfall,
    )


def _verdict(heard: Listening, slots: tuple[SlotLine, ...]) -> str:
    if heard.refused is not None:
        return "This recording cannot say."
    if heard.idle_rpm is not None:
        words = [f"It idles at {heard.idle_rpm.median:.0f} rpm"]
    elif heard.speed_rpm is not None:
        words = [f"It runs at {heard.speed_rpm.low:.0f} to {heard.speed_rpm.high:.0f} rpm"]
    else:
        words = ["Its speed cannot be told"]
    weak = [line for line in slots if line.weak]
    if weak and heard.weakest_depth is not None:
        which = weak[0].name if weak[0].name.startswith("cylinder") else "one cylinder"
        words.append(f"{which} is about {100 * heard.weakest_depth:.0f} % weaker than the others")
    elif slots:
        words.append("no cylinder stands out as weak")
    return "; ".join(words) + "."


def _range(summary: SpeedSummary) -> str:
    return f"{summary.low:.0f} to {summary.high:.0f}"


def _numbers(heard: Listening) -> tuple[tuple[str, str, str], ...]:
    if heard.refused is not None:
        return ()
    rows = []
    if heard.idle_rpm is not None:
        low, high = in_book.speed_interval(heard)
        rows.append(("idle", f"{heard.idle_rpm.median:.0f} rpm",
                     f"wanders {_range(heard.idle_rpm)}; its mean lies between {low:.0f} and "
                     f"{high:.0f}"))  # fmt: skip
    else:
        rows.append(("idle", "not told", heard.why.get("idle_rpm", "")))
    if heard.speed_rpm is not None:
        rows.append(("whole recording", f"{heard.speed_rpm.median:.0f} rpm",
                     f"nine tenths of the time {_range(heard.speed_rpm)}"))  # fmt: skip
    if heard.variation_percent is not None and heard.variation_interval is not None:
        low, high = heard.variation_interval
        rows.append(("cycle to cycle", f"{heard.variation_percent:.2f} %",
                     f"cycles differ in length by so much; {low:.2f} to {high:.2f}"))  # fmt: skip
    else:
        rows.append(("cycle to cycle", "not told", heard.why.get("variation_percent", "")))
    if heard.drift is not None:
        moving = heard.drift.low > 0.0 or heard.drift.high < 0.0
        rows.append(("idle moves by", f"{heard.drift.rpm_per_minute:+z.0f} rpm a minute",
                     f"between {heard.drift.low:+z.0f} and {heard.drift.high:+z.0f}"
                     + ("" if moving else ": may as well stand still")))  # fmt: skip
    return tuple(rows)


def _slots(heard: Listening, names: tuple[int, ...]) -> tuple[SlotLine, ...]:
    if heard.slots is None:
        return ()
    lines = []
    for place, slot in enumerate(heard.slots):
        name = f"cylinder {names[place]}" if names else f"slot {place + 1}"
        weak = place == heard.weak_slot
        lines.append(
            SlotLine(
                name, slot.angle_deg, slot.strength, slot.low, slot.high, weak,
                f"{100 * slot.strength:.0f} % ({100 * slot.low:.0f} to {100 * slot.high:.0f})"
                + (", weak" if weak else ""),
            )
        )  # fmt: skip
    return tuple(lines)


def _slot_words(heard: Listening, names: tuple[int, ...]) -> str:
    if heard.slots is None:
        return ""
    if names:
        return "The slots bear the cylinders somebody found at the engine."
    return (
        "The slots are the firings in their order. Which cylinder a slot is cannot be heard; find "
        "the weak one by hand and the others follow."
    )


def _orders(heard: Listening) -> tuple[tuple[str, str, str], ...]:
    if heard.half_orders is None or not heard.half_orders_mean_weakness:
        return ()
    return tuple(
        (f"{row.order:g}", f"{100 * row.healthy:.0f} %", f"{100 * row.heard:.0f} %")
        for row in heard.half_orders
    )


def _order_words(heard: Listening) -> str:
    if heard.refused is not None or heard.half_orders is None:
        return ""
    if heard.half_orders_mean_weakness:
        return "This engine fires evenly: half orders come from cylinders that differ."
    return "With this firing pattern half orders are there in health too, and mean nothing alone."


def _blips(heard: Listening) -> tuple[str, ...]:
    lines = []
    for blip in heard.blips:
        words = f"At {blip.start_s:.1f} s up to {blip.peak_rpm:.0f} rpm in {blip.rise_s:.2f} s"
        if blip.fall_s is not None:
            words += f", most of the way back in {blip.fall_s:.2f} s"
        if blip.settle_s is not None:
            words += f", at idle again after {blip.settle_s:.1f} s"
        lines.append(words + ("; the idle hangs." if blip.hanging else "."))
    return tuple(lines)


def _speeds(heard: Listening) -> tuple[tuple[str, str, str], ...]:
    step = max(1, len(heard.track) // _TABLE_ROWS)
    return tuple(
        (f"{moment:.1f}", f"{rpm:.0f}", f"{sure:.1f}") for moment, rpm, sure in heard.track[::step]
    )


def _change_row(name: str, change: Change, unit: str, digits: int, scale: float = 1.0) -> Any:
    before, after = (f"{scale * v:.{digits}f} {unit}" for v in (change.before, change.after))
    low, high = (f"{scale * v:+.{digits}f}" for v in (change.low, change.high))
    word = f"{scale * change.difference:+.{digits}f} {unit} ({low} to {high})"
    return name, before, after, word + ("" if change.sure else ", may be chance")


def _changes(
    comparison: Comparison | None, slots: tuple[SlotLine, ...]
) -> tuple[tuple[str, str, str, str], ...]:
    if comparison is None or comparison.refused is not None:
        return ()
    rows = []
    if comparison.idle_rpm is not None:
        rows.append(_change_row("idle", comparison.idle_rpm, "rpm", 0))
    if comparison.variation_percent is not None:
        rows.append(_change_row("cycle to cycle", comparison.variation_percent, "%", 2))
    if comparison.slots is not None and comparison.rotation_clear:
        size = len(comparison.slots)
        for place, change in enumerate(comparison.slots):
            now = (place - comparison.rotation) % size
            name = slots[now].name if now < len(slots) else f"slot {now + 1}"
            rows.append(_change_row(name, change, "%", 0, 100.0))
    return tuple(rows)


def _change_notes(comparison: Comparison | None) -> tuple[str, ...]:
    if comparison is None:
        return ()
    if comparison.refused is not None:
        return (comparison.refused,)
    return comparison.why


def _look(
    engine: EngineFile,
    heard: Listening,
    slots: tuple[SlotLine, ...],
    state: State | None,
    states: tuple[CheckState, ...] | None,
) -> tuple[LookLine, ...]:
    """Causes of a weak cylinder, likeliest first, by the engine of fault finding."""
    if heard.weak_slot is None:
        return ()
    own = in_book.checks(engine, State())
    if not own:
        return ()
    finding = Finding(in_book.CHECK, "", "out", "")
    others = tuple(item for item in states or () if item.check.name != in_book.CHECK)
    known = knowledge("runs, but")
    advice = fault_advice(
        engine, state or State(), known, (), (*others, CheckState(own[0], "out", finding))
    )
    how = {cause.words: cause.how for cause in known.causes}
    return tuple(
        LookLine(words, how[words], f"{100 * share:.0f} %")
        for words, share in advice.causes[:CAUSES_SHOWN]
        if share >= 0.02
    )


def _whys(heard: Listening) -> tuple[Why, ...]:
    if heard.refused is not None:
        return ()
    measures = heard.measures
    seen: tuple[str, ...] = ()
    if measures is not None:
        seen = (
            f"likeness to the firing pattern {measures.score:.2f} (0.22 and more is sure)",
            f"marks agree with the track {100 * measures.agreement:.0f} %",
            f"power explained by the average pulses {100 * measures.fit:.0f} %",
            f"flat tops {100 * measures.clipped:.1f} % of the samples",
        )
    angles = ", ".join(f"{angle:g}" for angle in heard.firing_angles_deg)
    return (
        Why(
            "The speed",
            (f"firing angles {angles} degrees", *seen),
            "firings a second = cylinders x rpm / 120; combs of the orders of this engine are laid "
            "over spectrum and loudness, the best path over time is refined firing by firing",
            "firing frequency and orders: textbook; the way the path is found: ours",
            f"half a percent of the speed is allowed for. {UNPROVEN}",
        ),
        Why(
            "The strength of a slot",
            ("steady idle only", "100 % is the upper middle one of the slots"),
            "one pulse shape shared by all slots, and how much of it each slot holds, by least "
            "squares in turns; weak from 30 % below the others (40 % where they fire unevenly)",
            "ours; unequal pipes imitate weakness, echo and the gain of the recorder hide it",
            "the interval holds chance from cycle to cycle only, not where the recorder stood",
        ),
    )


def idle_notes(idle: HeardSpeed | None) -> tuple[str, ...]:
    """The idle speed off a recording, for pages that would ask for a tachometer."""
    if idle is None:
        return ()
    words = (
        f"Idle speed off the recording of entry {idle.number}: {idle.rpm:.0f} rpm, between "
        f"{idle.low:.0f} and {idle.high:.0f}."
    )
    if idle.overtaken:
        words += f" Since then: {idle.overtaken}; record again."
    return (words,)


def speed_drawing(page: ListenPage, *, width: float = 328.0, embedded: bool = False) -> str:
    """Speed over time; '' where the recording was refused."""
    heard = page.heard
    if len(heard.track) < 2:
        return ""
    idle = heard.idle_rpm.median if heard.idle_rpm is not None else None
    step = max(1, len(heard.track) // 400)
    return speed_picture(
        heard.track[::step], idle, f"Engine speed over time. {page.verdict}", width=width,
        embedded=embedded,
    )  # fmt: skip


def waterfall_drawing(page: ListenPage, *, width: float = 328.0, embedded: bool = False) -> str:
    """The order waterfall; '' where there is none."""
    fall = page.waterfall
    if fall is None or not fall.levels:
        return ""
    order = firing_order(page.heard)
    means = _means(fall)
    loud = means.index(max(means))
    said = f"Loudness of each order over time; on average order {(loud + 1) / 2:g} is the loudest."
    return waterfall_picture(fall.times_s, fall.levels, order, said, width=width, embedded=embedded)


def _means(fall: Waterfall) -> tuple[float, ...]:
    return tuple(fall.mean_level((i + 1) / 2) for i in range(len(fall.levels[0])))


def firing_order(heard: Listening) -> float:
    """Firings in one turn of the crank [1]."""
    return len(heard.firing_angles_deg) / 2.0


def order_rows(page: ListenPage) -> tuple[tuple[str, str], ...]:
    """The waterfall as a table: mean loudness of each order below the loudest [dB]."""
    if page.waterfall is None or not page.waterfall.levels:
        return ()
    means = _means(page.waterfall)
    return tuple(
        (f"{(i + 1) / 2:g}", f"{4 * (level - max(means)):.0f} dB") for i, level in enumerate(means)
    )


def wheel_drawing(page: ListenPage, *, embedded: bool = False) -> str:
    """The wheel of firing slots; '' where their strength is not told."""
    if not page.slots:
        return ""
    said = "Firing slots round one cycle: " + ", ".join(
        f"{line.name} {line.words}" for line in page.slots
    )
    wheel = [
        WheelSlot(line.name.replace("cylinder", "cyl"), line.angle_deg, line.strength, line.low,
                  line.high, line.weak)
        for line in page.slots
    ]  # fmt: skip
    return slot_wheel(wheel, said, embedded=embedded)


def listen_json(page: ListenPage) -> dict[str, Any]:
    """The page as plain values: the listening itself, and what stands beside it."""
    from tickover.tasks.listen import as_json

    data = as_json.listening_data(page.heard)
    data |= {
        "file": page.name,
        "synthetic": page.synthetic,
        "verdict": page.verdict,
        "slot_names": [line.name for line in page.slots] or None,
        "look_at": [{"cause": line.words, "how": line.how} for line in page.look],
    }
    if page.comparison is not None:
        data["comparison"] = {
            "with": page.earlier,
            "since": list(page.since),
            **as_json.comparison_data(page.comparison),
        }
    return data
