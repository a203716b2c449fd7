"""Jets: what flows through a drilled hole, holes in series, and what the stamped mark means."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from tickover.errors import InputError
from tickover.physics.guards import not_negative, positive

Marking = Literal["bore", "flow"]


def jet_flow(bore: float, drop: float, density: float, discharge: float) -> float:
    """Mass flow of a liquid through a jet.

    Parameters
    ----------
    bore : float
        [m]
    drop : float
        Pressure across the jet [Pa]
    density : float
        Of the liquid [kg/m3]
    discharge : float
        Measured or assumed coefficient; 0.6..0.9 with length, entry and Reynolds number [-]

    Returns
    -------
    float
        [kg/s]

    Raises
    ------
    InputError
        If bore, density or coefficient is not above zero, or the drop is negative.

    Notes
    -----
    Torricelli with a discharge coefficient: m = C (pi/4) d^2 sqrt(2 rho dp).
    Checked in tests/published/test_jet_flow_torricelli.py.

    Examples
    --------
    >>> print(f"{1000 * jet_flow(1e-3, 1000.0, 745.0, 0.8):.4f} g/s")
    0.7670 g/s
    """
    positive("Jet bore", bore, "m")
    positive("Density", density, "kg/m3")
    positive("Discharge coefficient", discharge)
    not_negative("Pressure across the jet", drop, "Pa")
    return discharge * 0.25 * math.pi * bore**2 * math.sqrt(2.0 * density * drop)


def in_series(*areas: float) -> float:
    """One hole that passes what several in a row pass: 1/a^2 = sum of 1/a_i^2.

    Parameters
    ----------
    *areas : float
        Effective areas, coefficient included [m2]

    Returns
    -------
    float
        [m2]

    Examples
    --------
    >>> print(f"{in_series(3.0, 4.0):.1f}")
    2.4
    """
    for area in areas:
        positive("Area of a jet", area, "m2")
    return 1.0 / math.sqrt(sum(1.0 / area**2 for area in areas))


@dataclass(frozen=True, slots=True)
class MeasuredPair:
    """One jet of a family whose mark, and whose bore or flow, was measured by the user."""

    mark: float
    bore: float


def bore_of_mark(mark: float, marking: Marking, pair: MeasuredPair | None = None) -> float:
    """Bore that a stamped number stands for.

    Parameters
    ----------
    mark : float
        The number on the jet [-]
    marking : str
        "bore": hundredths of a millimetre; "flow": proportional to what flows through.
    pair : MeasuredPair, optional
        A jet of the same family, measured. Needed for marks by flow.

    Returns
    -------
    float
        [m]

    Raises
    ------
    InputError
        If the mark is by flow and no jet of the family was measured.

    Notes
    -----
    Marks by flow: within one family Q is proportional to d^2, so d = d_pair sqrt(mark/mark_pair).
    Across families the shape of the inlet alone makes a factor of 1.45, so nothing is converted
    without a pair. Bore marks in hundredths of a millimetre: common practice, no source.

    Examples
    --------
    >>> print(f"{1000 * bore_of_mark(112.5, 'bore'):.3f} mm")
    1.125 mm
    >>> pair = MeasuredPair(mark=100.0, bore=0.94e-3)
    >>> print(f"{1000 * bore_of_mark(121.0, 'flow', pair):.3f} mm")
    1.034 mm
    """
    positive("Jet mark", mark)
    if pair is not None:
        positive("Mark of the measured jet", pair.mark)
        positive("Bore of the measured jet", pair.bore, "m")
    if marking == "bore":
        return mark * 1e-5 if pair is None else pair.bore * mark / pair.mark
    if pair is None:
        raise InputError(
            "A jet marked by flow cannot be turned into a bore by itself",
            given=f"mark {mark:g} by flow",
            allowed="marks by flow together with one jet of the same family measured",
            instead="the mark of one jet and its bore, taken with a pin or by timing its flow",
        )
    return pair.bore * math.sqrt(mark / pair.mark)


def bore_from_timed_flow(
    volume: float, time: float, height: float, discharge: float = 0.8
) -> float:
    """Bore of a jet from how long a measured volume takes to run through it.

    Parameters
    ----------
    volume : float
        [m3]
    time : float
        [s]
    height : float
        Of the liquid over the jet, kept constant [m]
    discharge : float
        [-]

    Returns
    -------
    float
        [m]

    Notes
    -----
    Q = C (pi/4) d^2 sqrt(2 g H): the density drops out. With an assumed coefficient the bore is
    as wrong as its square root; between jets of one family that cancels.

    Examples
    --------
    >>> print(f"{1000 * bore_from_timed_flow(100e-6, 91.5, 0.50, 0.8):.3f} mm")
    0.745 mm
    """
    for name, value, unit in (
        ("Volume", volume, "m3"), ("Time", time, "s"), ("Height", height, "m"),
        ("Discharge coefficient", discharge, ""),
    ):  # fmt: skip
        positive(name, value, unit)
    speed = math.sqrt(2.0 * 9.80665 * height)
    return math.sqrt(volume / time / (discharge * 0.25 * math.pi * speed))
