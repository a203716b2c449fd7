"""Readings looked at before they are believed: what is refused, what is only remarked on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from tickover.errors import InputError
from tickover.tasks.compression.described import PSI, Conditions, CylinderReadings, CylinderSpec
from tickover.tasks.compression.expected import ideal_limit
from tickover.tasks.compression.hypotheses import HEARD

_BAR = 1e5


def checked(
    spec: CylinderSpec, day: Conditions, readings: Sequence[CylinderReadings]
) -> tuple[tuple[CylinderReadings, ...], tuple[str, ...]]:
    """The readings of all cylinders in order, and what is to be said about them.

    Parameters
    ----------
    spec : CylinderSpec
    day : Conditions
    readings : sequence of CylinderReadings

    Returns
    -------
    tuple
        One CylinderReadings per cylinder of the engine, and remarks.

    Raises
    ------
    InputError
        If a place is not of this engine or given twice, a value is none, or the unit cannot be
        what was said.
    """
    by_place: dict[str, CylinderReadings] = {}
    for reading in readings:
        if reading.place not in spec.places:
            raise InputError(
                "This engine has no such cylinder",
                given=reading.place,
                allowed=f"{spec.places[0]} to {spec.places[-1]}",
            )
        if reading.place in by_place:
            raise InputError(
                f"{reading.place} is given twice", instead="one set of readings for each cylinder"
            )
        by_place[reading.place] = reading
        _possible(reading)
    _right_unit(spec, day, list(by_place.values()))
    remarks = _remarks(spec, day, by_place)
    kept = []
    for place in spec.places:
        reading = by_place.get(place, CylinderReadings(place))
        if reading.dry is None and (reading.wet is not None or reading.slow is not None):
            reading = replace(reading, wet=None, slow=None)
        kept.append(reading)
    return tuple(kept), tuple(remarks)


def _possible(reading: CylinderReadings) -> None:
    for name in ("dry", "wet", "slow", "first"):
        value = getattr(reading, name)
        if value is not None and not (math.isfinite(value) and value >= 0.0):
            raise InputError(
                f"The {name} reading of {reading.place} is not a gauge pressure",
                given=f"{value:g} Pa",
                allowed="0 or more, as the dial shows it",
            )
    percent = reading.leak_percent
    if percent is not None and not 0.0 <= percent <= 100.0:
        raise InputError(
            f"The leak-down of {reading.place} is not a percentage",
            given=f"{percent:g}",
            allowed="0 to 100 percent",
        )
    if reading.heard is not None and reading.heard not in HEARD:
        raise InputError(
            f"Where the air of {reading.place} was heard is not known here",
            given=reading.heard,
            allowed=", ".join(HEARD),
        )


def _right_unit(spec: CylinderSpec, day: Conditions, readings: list[CylinderReadings]) -> None:
    dry = [r.dry for r in readings if r.dry is not None]
    if not dry:
        return
    most = ideal_limit(spec, day)
    over = [r for r in readings if r.dry is not None and r.dry > most]
    if over:
        value = over[0].dry or 0.0
        hint = f"{(value - day.air_pressure) / PSI:.0f} psi if the gauge read absolute"
        if value / 14.5037738 < most:
            hint += f", {value / 14.5037738 / PSI:.0f} psi if it was psi typed as bar"
        raise InputError(
            f"{over[0].place} reads more than this engine could make without any loss",
            given=f"{value / PSI:.0f} psi",
            allowed=f"gauge pressure up to {most / PSI:.0f} psi",
            instead=hint,
        )
    low = [x for x in dry if x < 25.0 * PSI]
    if len(low) * 2 > len(dry) and max(dry) < 40.0 * PSI:
        shown = low[0] / PSI
        raise InputError(
            "Hardly any compression on most cylinders, which looks like another unit",
            given=f"{shown:g} psi",
            allowed="what the dial shows, with its unit",
            instead=f"{shown:g} bar if the dial is in bar, {shown:g} kg/cm2 if in kg/cm2",
        )


def _remarks(
    spec: CylinderSpec, day: Conditions, by_place: dict[str, CylinderReadings]
) -> list[str]:
    remarks = []
    missing = [p for p in spec.places if p not in by_place or by_place[p].dry is None]
    if missing and len(missing) < spec.cylinders:
        remarks.append(
            f"No dry reading of {', '.join(missing)}: evenness is judged over the others only."
        )
    for place, reading in by_place.items():
        if reading.dry is None and reading.wet is not None:
            remarks.append(
                f"{place}: a wet reading without a dry one tells nothing, and is left out. "
                "Take the dry one next time before the oil goes in."
            )
        if reading.dry is None and reading.slow is not None:
            remarks.append(f"{place}: a slow reading without a dry one is left out.")
        if reading.dry is not None and reading.dry < 25.0 * PSI:
            shown = reading.dry / PSI
            text = f"{place}: {shown:.1f} psi is next to nothing"
            most = ideal_limit(spec, day)
            meant = [
                name
                for name, pascal in (("bar", 1e5), ("MPa", 1e6))
                if 0.25 * most < shown * pascal < most
            ]
            text += f"; was it {shown:.1f} {meant[0]}?" if meant else (
                "; if the dial is not in psi, write its unit behind the number."
            )  # fmt: skip
            remarks.append(text)
        if reading.first is not None and reading.dry is not None and reading.first > reading.dry:
            remarks.append(f"{place}: the first stroke reads more than the last; check the two.")
    dry = [r.dry for r in by_place.values() if r.dry is not None]
    if len(dry) >= 3 and max(dry) - min(dry) < 0.05 * PSI:
        remarks.append(
            "All readings are the same to the last digit: was the needle released between them? "
            "They are taken as they stand."
        )
    if day.strokes < 4:
        remarks.append(
            f"{day.strokes} strokes are few: count at least five, or until the needle stops."
        )
    return remarks
