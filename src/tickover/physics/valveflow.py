"""Valves as holes: by lift while the cam holds them open, by a gap when they do not close."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tickover.errors import InputError


@dataclass(frozen=True, slots=True)
class Valve:
    """The valves of one kind in one cylinder, as the gas sees them.

    Parameters
    ----------
    opens_deg, closes_deg : float
        Where the valve leaves and meets its seat, crank degrees of the cycle: 0 at firing top
        dead centre, 180 and 540 at the bottom, 360 at the top between exhaust and intake
    lift : float
        Greatest lift [m]
    seat_diameter : float
        Inner diameter of the seat [m]
    count : int
        Valves of this kind in the cylinder
    discharge : float
        Discharge coefficient on the curtain area [1]
    """

    opens_deg: float
    closes_deg: float
    lift: float
    seat_diameter: float
    count: int = 1
    discharge: float = 0.6

    def __post_init__(self) -> None:
        span = self.closes_deg - self.opens_deg
        if not 100.0 <= span <= 420.0:
            raise InputError(
                "The cam timing does not open and close a valve within one cycle",
                given=f"opens at {self.opens_deg:g}, closes at {self.closes_deg:g} crank degrees",
                allowed="open for 100 to 420 crank degrees",
            )
        if not 0.1e-3 <= self.lift <= 30e-3:
            raise InputError(
                "The valve lift is not one",
                given=f"{self.lift * 1e3:g} mm",
                allowed="0.1 to 30 mm",
            )
        if not 5e-3 <= self.seat_diameter <= 100e-3:
            raise InputError(
                "The valve seat's diameter is not one",
                given=f"{self.seat_diameter * 1e3:g} mm",
                allowed="5 to 100 mm",
            )

    @property
    def open_area(self) -> float:
        """Effective curtain area at full lift, before the port's cap [m2]."""
        return self.count * self.discharge * math.pi * self.seat_diameter * self.lift

    @property
    def port_area(self) -> float:
        """Effective area no lift can pass: 85 percent of the seat's bore, for the stem [m2]."""
        return self.count * self.discharge * 0.85 * math.pi / 4.0 * self.seat_diameter**2


def lift_share(angle_deg: float, opens_deg: float, closes_deg: float) -> float:
    """Lift over greatest lift at a crank angle.

    Parameters
    ----------
    angle_deg, opens_deg, closes_deg : float
        [deg] of the cycle

    Returns
    -------
    float
        0 to 1

    Notes
    -----
    (1 - y^2)^1.75 between the seat timings, y from -1 to 1: a smooth hump close to a harmonic
    cam's. A model of ours, no source.

    Examples
    --------
    >>> lift_share(460.0, 340.0, 580.0)
    1.0
    >>> lift_share(340.0, 340.0, 580.0)
    0.0
    """
    half = 0.5 * (closes_deg - opens_deg)
    y = (angle_deg - opens_deg - half) / half
    return float(max(1.0 - y * y, 0.0) ** 1.75)


def held_open_area(
    gap: float,
    seat_diameter: float,
    *,
    seat_angle_deg: float = 45.0,
    discharge: float = 0.6,
) -> float:
    """Effective area of the slit when something keeps a valve off its seat.

    Parameters
    ----------
    gap : float
        How far the valve hangs open, along its stem [m], 0 to 1 mm
    seat_diameter : float
        [m]
    seat_angle_deg : float
        Of the seat's cone, from the plane of the head [deg]
    discharge : float
        [1]

    Returns
    -------
    float
        [m2]

    Raises
    ------
    InputError
        If the gap is negative or more than 1 mm.

    Notes
    -----
    Slit width gap * cos(seat angle) round the seat: J. B. Heywood, Internal Combustion Engine
    Fundamentals (1988), section 6.3.2, first stage of low lift.

    Examples
    --------
    >>> print(f"{1e6 * held_open_area(20e-6, 24e-3):.2f} mm2")
    0.64 mm2
    """
    if not 0.0 <= gap <= 1e-3:
        raise InputError(
            "A valve held off its seat hangs open a little",
            given=f"{gap * 1e3:g} mm",
            allowed="0 to 1 mm",
        )
    slit = gap * math.cos(math.radians(seat_angle_deg))
    return discharge * math.pi * seat_diameter * slit
