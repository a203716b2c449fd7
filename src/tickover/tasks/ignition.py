"""Ignition: spark, plugs, coils at 20 C, leads, timing in three forms, points."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from tickover.book.bodies import Reading
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.ignition import Ignition
from tickover.errors import InputError
from tickover.physics import ignition as physics
from tickover.physics.bands import Band
from tickover.physics.crank import crank_angle_from_drop, piston_drop, stroke
from tickover.physics.leads import LeadCheck, check_leads
from tickover.physics.rotor import angle_from_rotor_arc, rotor_arc
from tickover.physics.winding import resistance_at_20
from tickover.quantities import parse, show
from tickover.tasks import proving
from tickover.tasks.finding import Check, Finding, Wanted
from tickover.tasks.simple import answers, simple_finding

SPARK = "spark"
PLUG_GAP = "plug gap"
COIL_PRIMARY = "coil primary"
COIL_SECONDARY = "coil secondary"
LEADS = "lead order"
STATIC = "static timing"
ADVANCE = "advance curve"
POINTS_GAP = "points gap"
DWELL = "dwell"
NAMES = (PLUG_GAP, COIL_PRIMARY, COIL_SECONDARY, POINTS_GAP, STATIC, LEADS, SPARK, DWELL, ADVANCE)

NOT_NOTED_K = (283.15, 308.15)
"""Where a winding may be when its temperature was not noted, 10 to 35 C: our assumption [K]."""

_HALF_BLADE_M = 1.3e-5  # half a step between feeler blades
_BEFORE = re.compile(r"\b(?:BTDC|before(?: TDC)?)\b", re.IGNORECASE)
_AFTER = re.compile(r"\b(?:ATDC|after(?: TDC)?)\b", re.IGNORECASE)
_FORM = re.compile(r"\b(drop|below TDC|arc|on the rotor|rotor)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class TimingForms:
    """One timing, said three ways; None where the file lacks what the form needs.

    Parameters
    ----------
    degrees : float
        Crank degrees before top dead centre, negative after it.
    drop_m : float or None
        Piston below top dead centre; needs stroke and rod [m]
    arc_m : float or None
        Round the rim of the rotor, from the TDC mark; needs its diameter [m]
    """

    degrees: float
    drop_m: float | None
    arc_m: float | None


def timing_forms(engine: EngineFile, degrees: float) -> TimingForms:
    """A timing as crank degrees, as piston drop and as arc on the rotor.

    Parameters
    ----------
    engine : EngineFile
    degrees : float
        Crank degrees before top dead centre [deg]

    Returns
    -------
    TimingForms

    Notes
    -----
    `crank.piston_drop`, `rotor.rotor_arc`.
    Checked in tests/published/test_ignition_geometry.py.
    """
    machine, table = engine.engine, engine.ignition
    drop = arc = None
    if machine.stroke_m is not None and machine.rod_m is not None:
        drop = float(piston_drop(math.radians(degrees), machine.stroke_m / 2, machine.rod_m))
    if table is not None and table.rotor_diameter_m is not None:
        arc = float(rotor_arc(math.radians(degrees), table.rotor_diameter_m))
    return TimingForms(degrees, drop, arc)


def timing_words(engine: EngineFile, degrees: float) -> str:
    """A timing in words, in every form that can be worked out."""
    forms = timing_forms(engine, degrees)
    side = "before" if degrees >= 0.0 else "after"
    words = [f"{abs(degrees):.3g}° {side} TDC"]
    if forms.drop_m is not None:
        words.append(f"{length_words(engine, forms.drop_m)} piston drop")
    if forms.arc_m is not None:
        words.append(f"{length_words(engine, abs(forms.arc_m))} on the rotor")
    return " = ".join(words)


def length_words(engine: EngineFile, length_m: float) -> str:
    """A length as closely as it can be set by hand: 0.01 mm, a thousandth of an inch."""
    unit = engine.show.unit("length")
    return show(length_m, unit, "length", decimals={"mm": 2, "cm": 3, "in": 3}.get(unit))


def timing_degrees(engine: EngineFile, typed: str, what: str = "The timing") -> float:
    """Crank degrees before top dead centre from what somebody measured.

    Parameters
    ----------
    engine : EngineFile
    typed : str
        '12 deg', '2 deg after', '1.8 mm drop', '10.5 mm arc'; a plain number is degrees.
    what : str
        For messages.

    Returns
    -------
    float
        [deg]

    Raises
    ------
    InputError
        A length without saying which; a drop without stroke and rod; an arc without diameter.
    """
    after = bool(_AFTER.search(typed))
    form = _FORM.search(typed)
    value = _FORM.sub("", _AFTER.sub("", _BEFORE.sub("", typed))).strip()
    sign = -1.0 if after else 1.0
    if form is None:
        return sign * parse(value, "angle", "deg", what).value_si
    length = parse(value, "length", engine.show.unit("length"), what).value_si
    if form[1].casefold() in ("drop", "below tdc"):
        machine = engine.engine
        if machine.stroke_m is None or machine.rod_m is None:
            raise InputError("A piston drop needs the stroke and the rod", given=typed,
                             instead="stroke and rod in [engine], or degrees")  # fmt: skip
        radius, rod = machine.stroke_m / 2, machine.rod_m
        if not 0.0 <= length <= stroke(radius, rod):
            raise InputError("The piston does not go that far", given=typed,
                             allowed=f"0 to {machine.stroke_m * 1e3:g} mm")  # fmt: skip
        return sign * abs(math.degrees(float(crank_angle_from_drop(length, radius, rod))))
    if engine.ignition is None or engine.ignition.rotor_diameter_m is None:
        raise InputError("An arc needs the diameter of the rotor", given=typed,
                         instead="rotor_diameter in [ignition], or degrees")  # fmt: skip
    return sign * math.degrees(
        float(angle_from_rotor_arc(length, engine.ignition.rotor_diameter_m))
    )


def shared_coils(engine: EngineFile) -> tuple[tuple[int, int], ...]:
    """Pairs of cylinders whose plugs spark together from one coil."""
    groups = engine.ignition.coils if engine.ignition is not None else ()
    return tuple((group[0], other) for group in groups for other in group[1:])


def lead_check(engine: EngineFile, found: Sequence[int]) -> LeadCheck:
    """Where the leads go against the firing order.

    Parameters
    ----------
    engine : EngineFile
    found : sequence of int
        Cylinder whose plug gets the spark that comes first, second, ...

    Raises
    ------
    InputError
        If not every cylinder is named once, or the firing order is not known.
    """
    if not engine.engine.firing_order:
        raise InputError("The firing order is not known", instead="firing_order in [engine]")
    return check_leads(engine.engine.firing_order, found, shared_coils(engine))


def lead_words(check: LeadCheck) -> str:
    """What is wrong with the leads, said in words.

    Examples
    --------
    >>> lead_words(check_leads((1, 3, 4, 2), (1, 2, 4, 3)))
    'leads 2 and 3 are exchanged: swap them'
    """
    if check.right:
        return "leads follow the firing order"
    swaps = [f"{min(a, b)} and {max(a, b)}" for a, b in check.exchanges]
    if len(swaps) == 1:
        return f"leads {swaps[0]} are exchanged: swap them"
    turned = (
        f"all leads stand {check.turned_by} further than they belong: turn the whole set, or swap "
        if check.turned_by
        else "leads are exchanged: swap "
    )
    return f"{turned}{', then '.join(swaps)}"


def lead_numbers(engine: EngineFile, typed: str) -> tuple[int, ...] | None:
    """Cylinders from '1-3-4-2', '1 3 4 2' or '1342'; None if it is not such a list."""
    parts = re.findall(r"\d+", typed)
    if not parts or re.search(r"[^\d\s,.;/-]", typed):
        return None
    if len(parts) == 1 and engine.engine.cylinders < 10:
        parts = list(parts[0])
    return tuple(int(part) for part in parts)


def lead_reading(engine: EngineFile, typed: str, instrument: str = "") -> Reading:
    """The book's entry for leads as they were found.

    Raises
    ------
    InputError
        As `lead_check`.
    """
    found = lead_numbers(engine, typed)
    if found is None:
        raise InputError("Write where the leads end, in the order they fire", given=typed,
                         instead="'1-3-4-2'")  # fmt: skip
    right = 1.0 if lead_check(engine, found).right else 0.0
    return Reading(LEADS, "", right, right, "yes", typed, instrument, {"found": list(found)})


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """The ignition checks of a machine."""
    if not proving.described(engine):
        return ()
    table = engine.ignition or Ignition()
    cylinders = engine.engine.cylinders
    made: list[Check] = []
    for n in range(1, cylinders + 1):
        if table.plug_gap_m is not None:
            made.append(
                Check(
                    PLUG_GAP, f"plug{n}", f"Plug gap {n}", "that the spark is neither shy nor lazy",
                    "Wire gauge or blade, side electrode bent, never the middle one.",
                    proving.START, minutes=2.0, group="ignition",
                    wanted=Wanted("value", "clearance", *table.plug_gap_m, _HALF_BLADE_M / 1.65),
                )
            )  # fmt: skip
    made += _coils(engine, table)
    if table.points_gap_m is not None:
        made.append(
            Check(
                POINTS_GAP, "", "Points gap", "that the coil has time to charge, and the spark "
                "comes where it is set",
                "Cam at its highest, clean blade, fixing screw tight again; set it before timing.",
                proving.START, minutes=8.0, group="ignition",
                wanted=Wanted("value", "clearance", *table.points_gap_m, _HALF_BLADE_M / 1.65),
            )
        )  # fmt: skip
    if table.static_timing_deg is not None:
        made.append(_static(engine, table, table.static_timing_deg))
    if cylinders > 1 and engine.engine.firing_order:
        made.append(_leads(engine))
    made += [_spark(engine, n) for n in range(1, cylinders + 1)]
    if table.dwell_deg is not None:
        made.append(
            Check(
                DWELL, "", "Dwell", "that the coil charges fully and does not cook",
                "Meter on the points, engine idling; '182 deg' of the breaker cam, or '51 %'.",
                proving.RIDING, needs=(POINTS_GAP,), cautions=(proving.MONOXIDE, proving.TURNING),
                minutes=10.0, group="ignition",
                wanted=Wanted("value", "angle", *table.dwell_deg, prompt="degrees of cam, or %"),
            )
        )  # fmt: skip
    made += [_advance(table, speed) for speed, _ in table.advance]
    return tuple(made)


def _spark(engine: EngineFile, n: int) -> Check:
    return Check(
        SPARK, f"plug{n}", f"Spark at plug {n}", "that this plug fires",
        "Plug on its lead, body held hard on bare metal away from the plug holes, in insulated "
        "pliers; crank: blue, and heard. In the open it proves less than under compression.",
        proving.START,
        needs=("battery at rest", "earths", PLUG_GAP, "stop switch", LEADS),
        cautions=(proving.DRY, proving.LEADS, "A pacemaker keeps its distance from ignition."),
        minutes=3.0, risk=2, group="ignition", wanted=Wanted("yes", prompt="blue, and heard"),
    )  # fmt: skip


def _leads(engine: EngineFile) -> Check:
    order = "-".join(map(str, engine.engine.firing_order))
    return Check(
        LEADS, "", f"Lead order {order}", "that every spark comes in its cylinder's turn",
        "Follow each lead by hand from coil or tower to its plug, in the order the sparks come; "
        f"write the cylinders they end at: '{order}'.",
        proving.START, minutes=4.0, risk=2, group="ignition",
        wanted=Wanted("yes", prompt=f"sparks come to {order} in turn"),
    )  # fmt: skip


def _static(engine: EngineFile, table: Ignition, degrees: float) -> Check:
    low, high = degrees - table.static_tolerance_deg, degrees + table.static_tolerance_deg
    opens = "the points open" if table.kind == "points" else "the trigger passes its pick-up"
    return Check(
        STATIC, "", f"Static timing {degrees:g}°", "that the spark comes where the book wants it",
        f"Turn the crank forward until {opens}: lamp or meter across. That must be at "
        f"{timing_words(engine, degrees)}. Write what was read: '12 deg', '1.8 mm drop', "
        "'10 mm arc'.",
        proving.START, needs=(POINTS_GAP,) if table.kind == "points" else (),
        cautions=("Plugs out, crank turned by hand; key off while fingers are near it.",),
        minutes=15.0, risk=3, group="ignition",
        wanted=Wanted("value", "angle", low, high, prompt="degrees, drop or arc"),
    )  # fmt: skip


def _coils(engine: EngineFile, table: Ignition) -> list[Check]:
    made = []
    for name, limits, where in (
        (COIL_PRIMARY, table.coil_primary_ohm, "between the two small terminals"),
        (COIL_SECONDARY, table.coil_secondary_ohm, "from lead to lead, or from lead to earth"),
    ):
        for number, group in enumerate(table.coil_groups(engine.engine.cylinders), start=1):
            if limits is None:
                continue
            serves = " and ".join(map(str, group))
            made.append(
                Check(
                    name, f"coil{number}", f"{name.capitalize()} {number} (cylinder {serves})",
                    "that the winding is whole, neither broken nor shorted",
                    f"Connectors and caps off, meter {where}, its own leads' ohms taken off; note "
                    "how warm the coil is: '4.4 ohm at 35 C'. It is brought to 20 C, where the "
                    "limits are told.",
                    proving.RIDING, cautions=("Key off.",), minutes=4.0, group="ignition",
                    wanted=Wanted("value", "resistance", *limits, prompt="ohms at the coil's °C"),
                )
            )  # fmt: skip
    return made


def _advance(table: Ignition, speed: float) -> Check:
    curve = advance_curve(table)
    assert curve is not None
    band = physics.expected_advance(curve, speed)
    rpm = f"{speed * 60:.0f} rpm"
    return Check(
        ADVANCE, rpm, f"Advance at {rpm}", "that weights, springs or black box do as the book says",
        "Strobe on cylinder 1's lead, engine warm, held at this speed; write what the lamp shows "
        "and the speed it was read at: '33 deg at 3050 rpm'. A lamp's own delay shows too little.",
        proving.RIDING, needs=(STATIC,),
        cautions=(proving.MONOXIDE, proving.TURNING, "What the lamp freezes is still turning."),
        minutes=8.0, risk=2, group="ignition",
        wanted=Wanted("value", "angle", band.low, band.high, prompt="degrees, and the speed"),
    )  # fmt: skip


def advance_curve(table: Ignition) -> physics.AdvanceCurve | None:
    """The advance curve of the book; None where it is left out."""
    if not table.advance:
        return None
    speeds, angles = zip(*table.advance, strict=True)
    return physics.AdvanceCurve(tuple(speeds), tuple(angles), table.advance_tolerance_deg)


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the readings say of the ignition."""
    made = []
    for check in checks(engine, state):
        entry = state.latest(check.name, check.place)
        if entry is None or not answers(check, entry.body):
            continue
        special = _SPECIAL.get(check.name)
        if special is not None:
            made.append(special(engine, check, entry))
        else:
            simple = simple_finding(engine, check, state)
            made += [simple] if simple is not None else []
    return tuple(made)


def coil_at_20(body: Reading) -> Band:
    """A coil reading brought to 20 C, both ends, both ends of its temperature [ohm].

    Without a temperature the winding is taken anywhere in `NOT_NOTED_K`.
    """
    low, high = proving.reading_ends(body)
    warm = proving.condition(body, "temperature_k")
    at = (warm, warm) if warm is not None else NOT_NOTED_K
    # A reading of 'open' has no upper end: the winding is broken at any temperature.
    top = high if math.isinf(high) else resistance_at_20(high, at[0])
    return Band(resistance_at_20(max(low, 0.0), at[1]), top)


def _coil_found(engine: EngineFile, check: Check, entry: Entry[Reading]) -> Finding:
    body = entry.body
    at_20 = coil_at_20(body)
    if math.isinf(at_20.high):
        state = proving.judged((at_20.low, at_20.high), check.wanted.low, check.wanted.high)
        return proving.finding_from(check, entry, state, "no path through the winding")
    state = proving.judged((at_20.low, at_20.high), check.wanted.low, check.wanted.high)
    text = f"{proving.reading_words(engine, body, 'resistance')}, "
    text += f"{proving.band_words(engine, at_20, 'resistance')} at 20 °C"
    if proving.condition(body, "temperature_k") is None:
        text += " (how warm the coil was is not noted: 10 to 35 °C assumed)"
    return proving.finding_from(check, entry, state, text)


def _leads_found(engine: EngineFile, check: Check, entry: Entry[Reading]) -> Finding:
    listed = entry.body.conditions.get("found")
    numbers = [int(n) for n in listed] if isinstance(listed, (list, tuple)) else []
    if sorted(numbers) == list(range(1, engine.engine.cylinders + 1)):
        # Judged against the order the file gives now, not the one it gave then.
        judged = lead_check(engine, numbers)
        order = "-".join(map(str, numbers))
        return proving.finding_from(
            check, entry, "good" if judged.right else "out", f"{order}: {lead_words(judged)}"
        )
    right = entry.body.low == 1.0 and entry.body.high == 1.0
    return proving.finding_from(
        check, entry, "good" if right else "out", "followed and right" if right else "found wrong"
    )


def _static_found(engine: EngineFile, check: Check, entry: Entry[Reading]) -> Finding:
    low, high = proving.reading_ends(entry.body)
    state = proving.judged((low, high), check.wanted.low, check.wanted.high)
    text = timing_words(engine, low)
    if high != low:
        text += f" to {timing_words(engine, high)}"
    assert engine.ignition is not None
    assert engine.ignition.static_timing_deg is not None
    off = (low + high) / 2 - engine.ignition.static_timing_deg
    if state != "good" and math.isfinite(off):
        text += f"; {abs(off):.3g}° too {'early' if off > 0 else 'late'}"
    return proving.finding_from(check, entry, state, text)


def _advance_found(engine: EngineFile, check: Check, entry: Entry[Reading]) -> Finding:
    curve = advance_curve(engine.ignition) if engine.ignition is not None else None
    assert curve is not None
    body = entry.body
    speed = proving.condition(body, "speed_hz") or float(check.place.split()[0]) / 60.0
    allowed = physics.expected_advance(curve, speed)
    state = proving.judged(proving.reading_ends(body), allowed.low, allowed.high)
    text = f"{proving.reading_words(engine, body, 'angle')}; the book allows "
    return proving.finding_from(
        check, entry, state, text + proving.band_words(engine, allowed, "angle")
    )


def _dwell_found(engine: EngineFile, check: Check, entry: Entry[Reading]) -> Finding:
    table = engine.ignition
    assert table is not None
    assert table.dwell_deg is not None
    body = entry.body
    state = proving.judged(proving.reading_ends(body), *table.dwell_deg)
    text = proving.reading_words(engine, body, "angle")
    if body.low is not None and body.low == body.high and body.low < 360.0 / table.breaker_lobes:
        change = physics.gap_for_dwell(body.low, Band(*table.dwell_deg), table.breaker_lobes)
        text += f" = {physics.dwell_percent(body.low, table.breaker_lobes):.0f} %"
        if change.gap != "leave":
            moved = "earlier" if change.timing_shift_crank_deg > 0 else "later"
            text += (
                f"; make the points gap {change.gap}; timing moves about "
                f"{abs(change.timing_shift_crank_deg):.0f}° {moved}, so set it again after that"
            )
    return proving.finding_from(check, entry, state, text)


_SPECIAL = {
    COIL_PRIMARY: _coil_found,
    COIL_SECONDARY: _coil_found,
    LEADS: _leads_found,
    STATIC: _static_found,
    ADVANCE: _advance_found,
    DWELL: _dwell_found,
}
