"""Cam timing by degree wheel: lobe centres, duration, overlap, and how many teeth it is out.

Angles are crank degrees of the cycle: 0 firing top dead centre, 180 the bottom, 360 the top
between exhaust and intake, 540 the bottom after intake.

        exhaust        inlet
         .--.           .--.
        /    \\         /    \\
    ___/      \\_____ _/      \\____
      EO       360  IO EC      IC        overlap = EC - IO
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from tickover.errors import InputError

ValveKind = Literal["inlet", "exhaust"]


@dataclass(frozen=True, slots=True)
class LobeTiming:
    """One kind of valve, at the lift where it was measured.

    Parameters
    ----------
    opens_deg, closes_deg : float
        Crank degrees of the cycle
    """

    opens_deg: float
    closes_deg: float

    def __post_init__(self) -> None:
        if not 90.0 <= self.closes_deg - self.opens_deg <= 420.0:
            raise InputError(
                "The valve does not open and close within one cycle",
                given=f"opens {self.opens_deg:g}, closes {self.closes_deg:g} crank degrees",
                allowed="open for 90 to 420 crank degrees",
                instead="each event with its side, for example 15 before top, 45 after bottom",
            )

    @property
    def duration_deg(self) -> float:
        """How long the valve is open [crank deg]."""
        return self.closes_deg - self.opens_deg

    @property
    def centre_deg(self) -> float:
        """Halfway between the two events [crank deg of the cycle]."""
        return 0.5 * (self.opens_deg + self.closes_deg)


def inlet_timing(opens_before_top_deg: float, closes_after_bottom_deg: float) -> LobeTiming:
    """Inlet events as they are read off the wheel.

    Parameters
    ----------
    opens_before_top_deg : float
        Crank degrees before top dead centre, negative for after
    closes_after_bottom_deg : float
        Crank degrees after bottom dead centre

    Returns
    -------
    LobeTiming

    Examples
    --------
    >>> t = inlet_timing(10.0, 40.0)
    >>> t.duration_deg, t.centre_deg - 360.0
    (230.0, 105.0)
    """
    return LobeTiming(360.0 - opens_before_top_deg, 540.0 + closes_after_bottom_deg)


def exhaust_timing(opens_before_bottom_deg: float, closes_after_top_deg: float) -> LobeTiming:
    """Exhaust events as they are read off the wheel.

    Parameters
    ----------
    opens_before_bottom_deg : float
        Crank degrees before bottom dead centre
    closes_after_top_deg : float
        Crank degrees after top dead centre, negative for before

    Returns
    -------
    LobeTiming

    Examples
    --------
    >>> t = exhaust_timing(45.0, 15.0)
    >>> t.duration_deg, 360.0 - t.centre_deg
    (240.0, 105.0)
    """
    return LobeTiming(180.0 - opens_before_bottom_deg, 360.0 + closes_after_top_deg)


def overlap_deg(inlet: LobeTiming, exhaust: LobeTiming) -> float:
    """How long both kinds are open round the top between exhaust and intake.

    Parameters
    ----------
    inlet, exhaust : LobeTiming

    Returns
    -------
    float
        [crank deg], negative when there is none

    Examples
    --------
    >>> overlap_deg(inlet_timing(10.0, 40.0), exhaust_timing(45.0, 15.0))
    25.0
    """
    return exhaust.closes_deg - inlet.opens_deg


def lobe_separation_deg(inlet: LobeTiming, exhaust: LobeTiming) -> float:
    """Angle between the lobes on the camshafts.

    Parameters
    ----------
    inlet, exhaust : LobeTiming

    Returns
    -------
    float
        [cam deg]

    Examples
    --------
    >>> lobe_separation_deg(inlet_timing(10.0, 40.0), exhaust_timing(45.0, 15.0))
    105.0
    """
    return 0.5 * (inlet.centre_deg - exhaust.centre_deg)


def wheel_offset_deg(stop_before_deg: float, stop_after_deg: float) -> float:
    """Where true top dead centre stands on the wheel, from a piston stop touched both ways.

    Parameters
    ----------
    stop_before_deg, stop_after_deg : float
        Wheel readings at the stop, turning to it from either side; before as a negative number
        or as 360 minus the reading [deg]

    Returns
    -------
    float
        Wheel reading at true top dead centre; subtract it from every other reading [deg]

    Raises
    ------
    InputError
        If the stop was touched too near top dead centre, or on one side only.

    Examples
    --------
    >>> wheel_offset_deg(-42.0, 45.0)
    1.5
    """
    before = stop_before_deg - 360.0 if stop_before_deg > 180.0 else stop_before_deg
    if not 10.0 <= stop_after_deg - before <= 300.0 or not before < stop_after_deg:
        raise InputError(
            "The piston stop must be touched once before and once after the top",
            given=f"{stop_before_deg:g} and {stop_after_deg:g} degrees",
            allowed="10 to 300 degrees apart",
        )
    return 0.5 * (before + stop_after_deg)


@dataclass(frozen=True, slots=True)
class TimingError:
    """How far a camshaft is out.

    Parameters
    ----------
    late_deg : float
        Crank degrees late; negative is early
    uncertainty_deg : float
        One standard uncertainty [crank deg]
    teeth : int
        Whole sprocket teeth that explain most of it, positive late
    rest_deg : float
        What those teeth leave [crank deg]
    duration_error_deg : float
        Measured less specified duration: not zero means another lift, another cam, or clearance
    """

    late_deg: float
    uncertainty_deg: float
    teeth: int
    rest_deg: float
    duration_error_deg: float


def tooth_deg(cam_sprocket_teeth: int) -> float:
    """What one tooth of the cam sprocket is worth at the crank.

    Parameters
    ----------
    cam_sprocket_teeth : int
        8 to 100

    Returns
    -------
    float
        [crank deg]

    Raises
    ------
    InputError
        If the count is not a sprocket's.

    Examples
    --------
    >>> tooth_deg(36)
    20.0
    """
    if not 8 <= cam_sprocket_teeth <= 100:
        raise InputError(
            "Count the teeth of the sprocket on the camshaft",
            given=str(cam_sprocket_teeth),
            allowed="8 to 100",
        )
    return 720.0 / cam_sprocket_teeth


def timing_error(
    measured: LobeTiming,
    specified: LobeTiming,
    cam_sprocket_teeth: int,
    reading_uncertainty_deg: float = 1.0,
) -> TimingError:
    """Compare a camshaft's events with what they should be, at the same lift.

    Parameters
    ----------
    measured, specified : LobeTiming
    cam_sprocket_teeth : int
        Of the sprocket on the camshaft
    reading_uncertainty_deg : float
        One standard uncertainty of one event, wheel and lift together [crank deg]

    Returns
    -------
    TimingError

    Notes
    -----
    The centre of the lobe is the mean of two events, so errors of lift that open early and close
    late cancel: its uncertainty is that of one event over sqrt(2).

    Examples
    --------
    >>> late = timing_error(inlet_timing(-9.0, 61.0), inlet_timing(10.0, 40.0), 36)
    >>> late.teeth, late.late_deg, late.duration_error_deg
    (1, 20.0, 2.0)
    """
    tooth = tooth_deg(cam_sprocket_teeth)
    late = measured.centre_deg - specified.centre_deg
    teeth = round(late / tooth)
    return TimingError(
        late_deg=late,
        uncertainty_deg=reading_uncertainty_deg / 2.0**0.5,
        teeth=teeth,
        rest_deg=late - teeth * tooth,
        duration_error_deg=measured.duration_deg - specified.duration_deg,
    )
