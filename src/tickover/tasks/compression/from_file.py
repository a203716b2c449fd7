"""The engine file as the compression test needs it, with everything that had to be assumed."""

from __future__ import annotations

from itertools import pairwise

from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.physics.valveflow import Valve
from tickover.tasks.compression.described import Conditions, CylinderSpec

# Where the file is silent (common practice, no source).
_ROD = 1.95  # of the stroke
_INLET, _EXHAUST = 0.46, 0.39  # head of one valve, of the bore
_PAIR = 0.78  # of that for each of two, 0.68 for each of three
_SEAT = 0.92  # inner seat diameter, of the valve head
_LIFT = 0.29  # of the seat
_TIMING = (15.0, 50.0, 50.0, 15.0)  # inlet opens, closes, exhaust opens, closes, at the seat
_RATIO = 9.0
_MOST_DEG = 380.0  # a valve open for longer at the seat never closes for long enough


def spec_from_file(ef: EngineFile) -> CylinderSpec:
    """What the compression test needs of an engine.

    Parameters
    ----------
    ef : EngineFile

    Returns
    -------
    CylinderSpec
        With an assumption in words for every key that was left out.

    Raises
    ------
    InputError
        If bore or stroke is left out, or the cam timing never closes the valves.
    """
    engine = ef.engine
    if engine.bore_m is None or engine.stroke_m is None:
        missing = "bore" if engine.bore_m is None else "stroke"
        raise InputError(
            f"What the gauge should say needs the {missing}",
            allowed="bore, stroke and compression_ratio in [engine]",
            instead=f'{missing} = "61 mm" (yours) under [engine]',
            where=engine.name,
        )
    assumed: list[str] = []
    bore, stroke = engine.bore_m, engine.stroke_m
    rod = engine.rod_m
    if rod is None:
        rod = _ROD * stroke
        assumed.append(f"rod {rod * 1e3:.0f} mm")
    ratio, ratio_sd = engine.compression_ratio, 0.25
    if ratio is None:
        ratio, ratio_sd = _RATIO, 0.7
        assumed.append(f"compression ratio {_RATIO:g}, which makes the expected reading wide")
    inlet, exhaust, timing_sd = _valves(ef, bore, assumed)
    remarks: tuple[str, ...] = ()
    if assumed:
        remarks = (f"Assumed, because the engine file does not say: {', '.join(assumed)}.",)
    table = ef.compression
    return CylinderSpec(
        name=engine.name,
        cylinders=engine.cylinders,
        bore=bore,
        stroke=stroke,
        rod=rod,
        ratio=ratio,
        ratio_sd=ratio_sd,
        inlet=inlet,
        exhaust=exhaust,
        timing_sd_deg=timing_sd,
        neighbours=_neighbours(ef),
        tooth_deg=None if table is None else table.tooth_deg,
        book_limit=None if table is None else table.limit_pa,
        assumptions=remarks,
    )


def _valves(ef: EngineFile, bore: float, assumed: list[str]) -> tuple[Valve, Valve, float]:
    in_opens, in_closes, ex_opens, ex_closes = _TIMING
    timing_sd = 3.0
    cams = ef.cams
    inlet_lobe = None if cams is None else cams.inlet
    exhaust_lobe = None if cams is None else cams.exhaust
    allowance = 0.0 if cams is None else cams.allowance_deg
    if inlet_lobe is not None:
        in_opens = inlet_lobe.opens_deg + allowance
        in_closes = inlet_lobe.closes_deg + allowance
    if exhaust_lobe is not None:
        ex_opens = exhaust_lobe.opens_deg + allowance
        ex_closes = exhaust_lobe.closes_deg + allowance
    if inlet_lobe is None or exhaust_lobe is None:
        timing_sd = 9.0
        assumed.append("cam timing of a mild road cam")
    elif allowance and cams is not None and cams.given_allowance_deg is None:
        timing_sd = 5.0
        assumed.append(f"{allowance:.0f} degrees from the seat to the lift the timing is told at")
    for name, span in (("inlet", 180.0 + in_opens + in_closes),
                       ("exhaust", 180.0 + ex_opens + ex_closes)):  # fmt: skip
        if not 120.0 <= span <= _MOST_DEG:
            raise InputError(
                f"With this timing the {name} valve "
                + ("never closes for a compression stroke" if span > 360.0 else "hardly opens"),
                given=f"open for {span:.0f} crank degrees at the seat",
                allowed=f"120 to {_MOST_DEG:.0f} degrees",
                instead="the timing as the cam's maker states it, with timing_at under [cams]",
            )
    in_size, ex_size, in_count, ex_count = _sizes(ef, bore, assumed)
    in_lift = _LIFT * in_size if inlet_lobe is None or inlet_lobe.lift_m is None else (
        inlet_lobe.lift_m
    )  # fmt: skip
    ex_lift = _LIFT * ex_size if exhaust_lobe is None or exhaust_lobe.lift_m is None else (
        exhaust_lobe.lift_m
    )  # fmt: skip
    inlet = Valve(360.0 - in_opens, 540.0 + in_closes, in_lift, in_size, in_count)
    exhaust = Valve(180.0 - ex_opens, 360.0 + ex_closes, ex_lift, ex_size, ex_count)
    return inlet, exhaust, timing_sd


def _sizes(ef: EngineFile, bore: float, assumed: list[str]) -> tuple[float, float, int, int]:
    """Seat diameters and counts of inlet and exhaust valves."""
    valves = ef.valves
    counts = (1, 1) if valves is None else (valves.inlet, valves.exhaust)
    heads = (None, None) if valves is None else (
        valves.inlet_diameter_m, valves.exhaust_diameter_m
    )  # fmt: skip
    sizes = []
    for head, count, share in zip(heads, counts, (_INLET, _EXHAUST), strict=True):
        if head is None:
            head = share * bore * {1: 1.0, 2: _PAIR}.get(count, 0.68)
        sizes.append(_SEAT * head)
    if None in heads:
        assumed.append("valve sizes by the bore")
    return sizes[0], sizes[1], counts[0], counts[1]


def _neighbours(ef: EngineFile) -> tuple[tuple[int, int], ...]:
    """Cylinders that stand side by side in a bank, so that a gasket can leak between them."""
    banks = ef.engine.banks or (tuple(range(1, ef.engine.cylinders + 1)),)
    pairs = [pair for bank in banks for pair in pairwise(bank)]
    return tuple(sorted(pairs))


def conditions_from_file(ef: EngineFile) -> Conditions:
    """How the test is usually done on this engine: [compression] and the starter's speed.

    Parameters
    ----------
    ef : EngineFile

    Returns
    -------
    Conditions
    """
    speed = None
    if ef.starter is not None and ef.starter.cranking_hz is not None:
        speed = 30.0 * sum(ef.starter.cranking_hz)  # middle of the two, per minute
    table = ef.compression
    if table is None:
        return Conditions(speed_rpm=speed)
    end = table.check_valve
    return Conditions(
        speed_rpm=speed,
        hose_volume=table.hose_m3,
        check_valve="plug" if end == "plug" else "gauge" if end == "gauge" else None,
        jet_diameter=table.master_jet_m,
        supply=table.supply_pa,
    )
