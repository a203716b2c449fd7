"""The strobe page: readings at speeds beside the book's curve, and how far to move the plate."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.pages.drawing.mixture_pictures import timing_curve
from tickover.tasks.ignition import ADVANCE
from tickover.tasks.strobe import StrobeFinding, StrobeReading, compare, heard_spread

CAUTIONS = (
    "What the lamp freezes is still turning: sleeves, leads and fingers clear of rotor and belt.",
    "Too early is what pinks: with any pinking retard first, and look at fuel and mixture too.",
    "Carbon monoxide: in the open, or with the exhaust led out.",
)


@dataclass(frozen=True, slots=True)
class StrobePage:
    """Everything the strobe page shows."""

    title: str
    verdict: str
    lines: tuple[tuple[str, str, str, str, str], ...]
    """Speed, read, wanted, off, after."""
    move: str
    says: tuple[str, ...]
    cautions: tuple[str, ...]
    curve: tuple[tuple[float, float], ...]
    found: StrobeFinding


def curve_of_engine(engine: EngineFile) -> tuple[tuple[float, float], ...]:
    """The advance curve of the engine file as (rpm, degrees).

    Raises
    ------
    InputError
        If it is left out.
    """
    table = engine.ignition
    if table is None or not table.advance:
        raise InputError(
            "The engine file has no advance curve",
            allowed="advance under [ignition]",
            instead="advance = [[1500, 12], [3000, 38]] (yours) under [ignition]",
            where=engine.engine.name,
        )
    return tuple((60.0 * speed, degrees) for speed, degrees in table.advance)


def readings_in_book(engine: EngineFile, state: State) -> tuple[StrobeReading, ...]:
    """The latest strobe reading at each speed in the book; a speed heard keeps its doubt."""
    table = engine.ignition
    curve = [(60.0 * hz, deg) for hz, deg in table.advance] if table and table.advance else []
    latest: dict[str, StrobeReading] = {}
    for entry in state.readings(ADVANCE):
        body = entry.body
        if body.low is None or body.high is None:
            continue
        speed = body.conditions.get("speed_hz")
        rpm = 60.0 * float(speed) if speed is not None else float(body.place.split()[0])
        read = StrobeReading(rpm, 0.5 * (body.low + body.high))
        low, high = (body.conditions.get(f"speed_{end}_hz") for end in ("low", "high"))
        if curve and low is not None and high is not None:
            read = replace(read, spread=heard_spread(60.0 * low, 60.0 * high, curve))
        latest[body.place] = read
    return tuple(latest.values())


def strobe_page(
    engine: EngineFile,
    readings: tuple[StrobeReading, ...],
    plate_turns_with: str = "camshaft",
    plate_radius: float | None = None,
) -> StrobePage:
    """Readings against the engine file's curve.

    Parameters
    ----------
    engine : EngineFile
    readings : tuple of StrobeReading
    plate_turns_with : str
        "camshaft" or "crankshaft"
    plate_radius : float, optional
        [m]

    Returns
    -------
    StrobePage

    Raises
    ------
    InputError
        If there is no reading, or no curve.
    """
    curve = curve_of_engine(engine)
    stroke, rod = engine.engine.stroke_m, engine.engine.rod_m
    found = compare(
        readings, curve, plate_turns_with, plate_radius,
        None if stroke is None or rod is None else 0.5 * stroke, rod,
    )  # fmt: skip
    return StrobePage(
        title="Timing under the strobe",
        verdict=found.says[0],
        lines=tuple(
            (f"{line.speed_rpm:.0f}", f"{line.read:.1f}", f"{line.wanted:.1f}",
             _signed(line.off), f"{line.after:.1f}")
            for line in found.lines
        ),
        move=_move(found, plate_turns_with),
        says=found.says[1:],
        cautions=CAUTIONS,
        curve=curve,
        found=found,
    )  # fmt: skip


def _signed(off: float) -> str:
    words = f"{off:+.1f}"
    return "0.0" if float(words) == 0.0 else words


def _move(found: StrobeFinding, turns_with: str) -> str:
    if found.within:
        return ""
    way = "earlier" if found.correction > 0 else "later"
    words = (
        f"Move the timing {abs(found.correction):.1f} crank degrees {way} (give or take "
        f"{found.uncertainty:.1f}): {abs(found.plate_degrees):.1f} degrees at a plate that turns "
        f"with the {turns_with}"
    )
    if found.plate_arc is not None:
        words += f", {abs(found.plate_arc) * 1e3:.2f} mm along its rim"
    words += "."
    if found.piston_before is not None and found.piston_after is not None:
        words += (
            f" Piston at the spark, lowest speed read: {found.piston_before * 1e3:.2f} mm below "
            f"the top now, {found.piston_after * 1e3:.2f} mm then."
        )
    return words


def strobe_picture(page: StrobePage, *, width: float = 328.0, embedded: bool = False) -> str:
    """The curve with the readings: filled as read, open where they will be."""
    points = [(line.speed_rpm, line.read, line.after) for line in page.found.lines]
    return timing_curve(page.curve, points, width=width, embedded=embedded)


def strobe_json(page: StrobePage) -> dict[str, Any]:
    """The page as plain values, lengths in mm."""
    found = page.found
    return {
        "correction_crank_deg": round(found.correction, 3),
        "uncertainty_deg": round(found.uncertainty, 3),
        "plate_deg": round(found.plate_degrees, 3),
        "plate_mm": None if found.plate_arc is None else round(found.plate_arc * 1e3, 3),
        "within": found.within,
        "worst_after_deg": round(found.worst_after, 3),
        "piston_mm": None
        if found.piston_before is None or found.piston_after is None
        else [round(found.piston_before * 1e3, 4), round(found.piston_after * 1e3, 4)],
        "readings": [
            {"speed": r.speed_rpm, "read": r.read, "wanted": round(r.wanted, 3),
             "off": round(r.off, 3), "after": round(r.after, 3)}
            for r in found.lines
        ],
        "says": list(found.says),
    }  # fmt: skip
