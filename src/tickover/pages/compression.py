"""The compression page: what the gauge should say, what it says, why, and what to do next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tickover.engine import EngineFile
from tickover.pages.head import Head
from tickover.pages.why import Why
from tickover.pages.wording import (
    count_words,
    listed,
    minutes_words,
    percent,
    place_words,
    sentence,
)
from tickover.quantities import show, to_unit
from tickover.tasks.compression import (
    PSI,
    Alike,
    Assessment,
    Cause,
    CylinderFinding,
    NextCheck,
    as_json,
)
from tickover.tasks.compression import hypotheses as h
from tickover.tasks.compression.described import CylinderReadings
from tickover.tasks.compression.evenness import Rule
from tickover.tasks.compression.in_book import CAUTIONS, HOW

CAUSE_WORDS: Mapping[str, str] = {
    h.SOUND: "nothing: sound",
    h.RING: "rings or bore",
    h.INLET: "inlet valve leaks",
    h.EXHAUST: "exhaust valve leaks",
    h.HELD_INLET: "inlet valve held open, no clearance",
    h.HELD_EXHAUST: "exhaust valve held open, no clearance",
    h.GASKET: "head gasket to the neighbour",
    h.LOW_RATIO: "compression ratio lower than told",
    h.HIGH_RATIO: "compression ratio higher than told, or carbon",
    h.SLIDE: "throttle or slide not open",
    h.LATE_CAM: "cam timing late",
    h.EARLY_CAM: "cam timing early",
    h.SLOW_CRANKING: "cranks slowly",
    h.GAUGE: "the gauge",
    h.OTHER: "something not listed here",
}
"""Causes in the words of the page; the JSON has their short names."""


@dataclass(frozen=True, slots=True)
class CylinderLine:
    """One cylinder as shown; `was` holds a reading that later work made void."""

    place: str
    name: str
    state: str
    reading: str
    was: str
    beside: str
    sentence: str
    causes: tuple[tuple[str, str], ...]
    leak: str
    leakdown: str
    cross_check: str


@dataclass(frozen=True, slots=True)
class CompressionPage:
    """Everything page, sheet, screen and JSON of the compression test show."""

    head: Head | None
    title: str
    verdict: str
    lines: tuple[CylinderLine, ...]
    expected: str
    climb: str
    even: tuple[str, ...]
    engine: tuple[tuple[str, str], ...]
    alike: tuple[str, ...]
    next_check: str
    next_checks: tuple[tuple[str, str, str], ...]
    influences: tuple[tuple[str, str], ...]
    sampling: str
    how: str
    remarks: tuple[str, ...]
    whys: tuple[Why, ...]
    cautions: tuple[str, ...]
    unit: str
    unseated: str
    found: Assessment

    @property
    def all_good(self) -> bool:
        """Whether every cylinder is good or accepted, and the engine even."""
        even = all(rule.holds for rule in self.found.even[:1])
        return even and all(line.state in ("good", "accepted") for line in self.lines)


UNSEATED = (
    "Rings that have not run in leak about half as much again as seated ones, each by another "
    "amount: 5 to 20 psi less than later, and less even. Good now is good; low now is looked at "
    "again after the first rides. Before the first start the test is worth its minutes for the "
    "cylinder that stands out: a valve without clearance, a slide that stays shut, a ring broken "
    "on the way in."
)


def compression_page(
    engine: EngineFile,
    found: Assessment,
    head: Head | None = None,
    states: Mapping[str, str] | None = None,
    was: Mapping[str, CylinderReadings] | None = None,
) -> CompressionPage:
    """The page of an assessment.

    Parameters
    ----------
    engine : EngineFile
    found : Assessment
    head : Head, optional
    states : mapping of place to state word, optional
        Where the book knows better: stale, accepted
    was : mapping of place to CylinderReadings, optional
        Void readings, to show

    Returns
    -------
    CompressionPage
    """
    unit = engine.show.unit("pressure")
    known, void = states or {}, was or {}
    lines = tuple(
        _line(c, unit, known.get(c.place, c.verdict), void.get(c.place)) for c in found.cylinders
    )
    return CompressionPage(
        head=head,
        title="Compression and leak-down",
        verdict=_verdict(found, lines),
        lines=lines,
        expected=_expected(found, unit),
        climb=_climb(found),
        even=tuple(rule_words(rule, unit) for rule in found.even),
        engine=tuple(_cause(c) for c in found.engine if c.what != h.SOUND),
        alike=_alike(found.cannot_tell_apart),
        next_check=_next(found.next_checks),
        next_checks=tuple(_check_row(c) for c in found.next_checks),
        influences=tuple((x.what, _signed(x.change, unit)) for x in found.influences),
        sampling=_sampling(found),
        how=HOW,
        remarks=found.remarks,
        whys=_whys(found),
        cautions=CAUTIONS,
        unit=unit,
        unseated=UNSEATED if found.day.unseated_rings else "",
        found=found,
    )


def _line(c: CylinderFinding, unit: str, state: str, void: CylinderReadings | None) -> CylinderLine:
    stale = state == "stale"
    reading = "" if c.reading is None else show(c.reading, unit, "pressure")
    was = "" if void is None or void.dry is None else show(void.dry, unit, "pressure")
    beside = []
    if c.at_sea_level is not None and c.reading is not None:
        apart = abs(c.at_sea_level - c.reading) > 2.0 * PSI
        if apart:
            beside.append(f"{show(c.at_sea_level, unit, 'pressure')} at sea level")
    if c.book is not None:
        beside.append({"below": "below the book's limit", "within": "within the book's limits",
                       "above": "above the book's limit"}[c.book])  # fmt: skip
    leakdown = ""
    if c.leakdown is not None:
        leakdown = f"{c.leakdown.percent:.0f} % lost"
        if c.leakdown.area_mm2 is not None:
            low, middle, high = c.leakdown.area_mm2
            leakdown += f", a leak of {middle:.2f} mm² ({low:.2f} to {high:.2f})"
    leak = ""
    if c.leak_mm2 is not None:
        low, middle, high = c.leak_mm2
        leak = f"{middle:.2f} mm² ({low:.2f} to {high:.2f})"
    return CylinderLine(
        place=c.place,
        name=place_words(c.place),
        state=state,
        reading="" if stale else reading,
        was=was,
        beside=", ".join(beside),
        sentence=c.sentence if not stale else "Work was done since; measure it again.",
        causes=() if stale else tuple(_cause(x) for x in c.causes),
        leak=leak,
        leakdown=leakdown,
        cross_check=c.cross_check,
    )


def _cause(cause: Cause) -> tuple[str, str]:
    return CAUSE_WORDS[cause.what], percent(cause.probability)


def _verdict(found: Assessment, lines: tuple[CylinderLine, ...]) -> str:
    counts = {
        state: [line.name for line in lines if line.state == state]
        for state in ("out", "undecided", "stale", "open", "good", "accepted")
    }
    if len(counts["open"]) == len(lines):
        return "Nothing is measured yet."
    even = found.even[0] if found.even else None
    if len(counts["good"]) == len(lines):
        many = "Good" if len(lines) == 1 else "All are good"
        if even is None:
            return f"{many}."
        word = "even" if even.holds else "not even"
        return f"{many} and {word}: the lowest is {even.figure:.0f} % of the highest."
    parts = []
    for state, one, more in (
        ("out", "is out", "are out"),
        ("undecided", "cannot be told yet", "cannot be told yet"),
        ("stale", "must be measured again after work", "must be measured again after work"),
        ("open", "is not measured", "are not measured"),
    ):
        names = counts[state]
        if names:
            parts.append(f"{listed(names)} {one if len(names) == 1 else more}")
    if counts["good"]:
        good = len(counts["good"])
        parts.append(f"{count_words(good)} {'is' if good == 1 else 'are'} good")
    return sentence("; ".join(parts))


def _expected(found: Assessment, unit: str) -> str:
    low, middle, high = found.expected.last
    say = f"{show(low, unit, 'pressure', with_unit=False)} to {show(high, unit, 'pressure')}"
    height = f", {found.day.altitude:.0f} m above the sea" if found.day.altitude else ""
    return (
        f"A sound cylinder of this engine shows {say} here today{height}, most likely about "
        f"{show(middle, unit, 'pressure')}: four sound ones in five lie in between."
    )


def _climb(found: Assessment) -> str:
    low, usual, high = found.expected.strokes_to_full
    return (
        f"The needle reaches 95 % after about {usual} strokes ({low} to {high}). Its climb belongs "
        "to the gauge's hose, not to the fault: use it to check hose and count only."
    )


def rule_words(rule: Rule, unit: str) -> str:
    """An evenness rule, what the readings make of it, and who breaks it."""
    figure = f"{rule.figure:.0f} %" if rule.unit == "percent" else f"{rule.figure:.0f} psi"
    where = f" ({listed([place_words(p) for p in rule.where])})" if rule.where else ""
    return f"{sentence(rule.words)[:-1]}: {figure}, {'holds' if rule.holds else 'broken'}{where}."


def _alike(groups: tuple[Alike, ...]) -> tuple[str, ...]:
    by_words: dict[tuple[tuple[str, ...], tuple[str, ...]], list[str]] = {}
    for group in groups:
        key = (tuple(sorted(group.causes, key=list(CAUSE_WORDS).index)), group.would_tell)
        by_words.setdefault(key, []).append(place_words(group.place))
    lines = []
    for (causes, tells), names in by_words.items():
        words = listed([CAUSE_WORDS[c] for c in causes])
        told = f" What would tell: {'; '.join(tells)}." if tells else ""
        lines.append(
            f"{sentence(listed(names))[:-1]}: these readings cannot tell apart {words}; only what "
            f"is usual speaks.{told}"
        )
    return tuple(lines)


def _next(checks: tuple[NextCheck, ...]) -> str:
    if not checks:
        return ""
    best = checks[0]
    return (
        f"Next: {best.what}, {place_words(best.place)} ({minutes_words(best.minutes)}). "
        f"{sentence(best.how)}"
    )


def _check_row(check: NextCheck) -> tuple[str, str, str]:
    return check.what, minutes_words(check.minutes), f"{check.bits:.2f} bit"


def _signed(change: float, unit: str) -> str:
    sign = "−" if change < 0 else "+"
    return f"{sign}{show(abs(change), unit, 'pressure')}"


def _sampling(found: Assessment) -> str:
    size = found.effective_sample_size
    if size <= 0.0:
        return ""
    rough = ", which is rough" if size < 30 else ""
    return f"The chances rest on {size:.0f} effective draws{rough}."


def _whys(found: Assessment) -> tuple[Why, ...]:
    spec, day = found.spec, found.day
    rpm = f"{day.speed_rpm:.0f} rpm" if day.speed_rpm is not None else "300 rpm, ± 18 % (not told)"
    return (
        Why(
            "What the gauge should say",
            (
                f"bore {spec.bore * 1e3:g} mm, stroke {spec.stroke * 1e3:g} mm, ratio "
                f"{spec.ratio:g} ± {spec.ratio_sd:g}",
                f"inlet closes {spec.inlet.closes_deg - 540:.0f} degrees after the bottom, at the "
                f"seat, ± {spec.timing_sd_deg:g}",
                f"air {day.air_pressure / 100:.0f} hPa, {day.air_temperature - 273.15:.0f} °C; "
                f"cranking {rpm}; {day.strokes} strokes",
                "not known, so carried along: heat to the metal (factor 1.5), crevices (1.35), "
                "ring leak (1.4), hose (1.4), the gauge itself (3 psi)",
            ),
            "one zone of air with c_p(T), valve flow with lift, ring leak, crevices, wall heat, "
            "gauge and hose with check valve, cranked stroke by stroke; 400 draws of what is not "
            "known, 10, 50 and 90 percent points",
            "heat: Hohenberg, SAE 790825; orifice: NACA 1135; air: NASA TM-4513; standard "
            "atmosphere: ISO 2533; the widths are our judgement",
            "no measured engine stands behind it; a steady cranking speed is assumed",
        ),
        Why(
            "Chances of the causes",
            (
                "dry, wet, slow and first-stroke readings; leak-down and where the air was heard",
                "clearances of that cylinder, work done since",
            ),
            "Bayes: what is shared is drawn by adaptive importance sampling for each thing that "
            "may ail the whole engine, each cylinder's own faults and their sizes are summed; a "
            "gasket takes two neighbours; something unlisted always stays possible",
            "odds beforehand and noise of reading: our judgement",
            f"effective sample size {found.effective_sample_size:.0f}; in blind trials, all "
            "synthetic, with other heat laws, no healthy engine of 240 was called out, and "
            "a late cam or slow cranking was seldom seen: docs/tables/compression-blind.md",
        ),
        Why(
            "Leak-down as an area",
            (
                f"master jet {1e3 * (day.jet_diameter or 1e-3):g} mm, supply "
                f"{day.supply_pressure / PSI:.0f} psi, discharge 0.80",
            ),
            "equal mass flow through jet and leak, isentropic; effective area, own area times "
            "discharge",
            "FAA AC 43.13-1B, 8-14, for jet and 25 percent rule, which are written for aircraft "
            "cylinders",
            "two dials read apart by 2 percent of the supply; percent from two testers compare "
            "only through the area",
        ),
        Why(
            "Even or not",
            ("dry readings as the dial shows them",),
            "lowest over highest; the other rules stand beside it",
            "75 percent: vehicle manuals; 70 percent and 100 psi: several car makers; 10 psi: US "
            "Army TM 10-3930-618-20; 20 percent below average: TM 1-1500-204-23-1",
            "rules of thumb, written for other engines",
        ),
    )


def compression_json(page: CompressionPage) -> dict[str, Any]:
    """The page as JSON, pressures in psi, with the state each cylinder has in the book.

    Parameters
    ----------
    page : CompressionPage

    Returns
    -------
    dict
    """
    data = as_json(page.found)
    for row, line in zip(data["cylinders"], page.lines, strict=True):
        row["state"] = line.state
    return {"verdict": page.verdict, **data}


def climb_in_unit(page: CompressionPage) -> tuple[list[float], list[float], list[float]]:
    """The fan in the unit shown: low, middle, high after each stroke."""
    usual = page.found.expected
    low, middle, high = (
        [round(to_unit(v, page.unit, "pressure"), 2) for v in values]
        for values in (usual.low, usual.middle, usual.high)
    )
    return low, middle, high
