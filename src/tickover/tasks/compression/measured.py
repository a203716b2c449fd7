"""What was measured on the engine itself: its compression ratio, and its cam timing.

Both feed the expected reading: a measured ratio in place of the book's, and how late the cams are.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.physics.camtiming import (
    LobeTiming,
    TimingError,
    ValveKind,
    exhaust_timing,
    inlet_timing,
    lobe_separation_deg,
    overlap_deg,
    timing_error,
)
from tickover.physics.ratio import Chamber, clearance_volume, compression_ratio
from tickover.quantities import Measured, carry

#: Give or take of one measurement where nobody says (one standard uncertainty, our choice):
#: burette 0.1 cc and meniscus, depth gauge, crushed gasket, bores by caliper.
USUAL_SD: Mapping[str, float] = {
    "head_volume": 0.15e-6,
    "gasket_thickness": 0.05e-3,
    "gasket_bore": 0.2e-3,
    "deck": 0.03e-3,
    "dome_volume": 0.2e-6,
}
PARTS = tuple(USUAL_SD)
_WORDS = {
    "head_volume": "the chamber in the head",
    "gasket_thickness": "the gasket's thickness",
    "gasket_bore": "the gasket's hole",
    "deck": "the deck",
    "dome_volume": "the piston's dome",
}


@dataclass(frozen=True, slots=True)
class MeasuredRatio:
    """Compression ratio from measured volumes.

    Parameters
    ----------
    ratio, sd : float
        [1]
    clearance : float
        [m3]
    shares : tuple of (str, float)
        What each measurement adds to the uncertainty [1], largest first
    """

    ratio: float
    sd: float
    clearance: float
    shares: tuple[tuple[str, float], ...]


def measured_ratio(
    bore: float, stroke: float, parts: Mapping[str, float], sd: Mapping[str, float] | None = None
) -> MeasuredRatio:
    """Compression ratio with its uncertainty.

    Parameters
    ----------
    bore, stroke : float
        [m]
    parts : mapping of part to size
        Names of PARTS; `head_volume` must be there, what is left out is 0 [m, m3]
    sd : mapping, optional
        One standard uncertainty of each; the usual where it is left out [m, m3]

    Returns
    -------
    MeasuredRatio

    Raises
    ------
    InputError
        If the chamber is missing, a part is unknown, or nothing is left above the piston.

    Examples
    --------
    >>> found = measured_ratio(0.061, 0.0488, {"head_volume": 19e-6, "gasket_thickness": 1e-3,
    ...     "gasket_bore": 0.062, "deck": 0.5e-3, "dome_volume": 3.6e-6})
    >>> print(f"{found.ratio:.2f} +- {found.sd:.2f}, most from {found.shares[0][0]}")
    8.17 +- 0.11, most from the piston's dome
    """
    strange = [name for name in parts if name not in USUAL_SD]
    if strange or "head_volume" not in parts:
        raise InputError(
            "The ratio needs the chamber in the head, by burette",
            given=", ".join(strange) or ", ".join(parts) or "nothing",
            allowed="head volume; besides gasket thickness and hole, deck, dome volume",
        )
    names = [name for name in PARTS if name in parts]
    spread = {**USUAL_SD, **(sd or {})}

    def ratio_of(*values: float) -> float:
        return compression_ratio(Chamber(bore, stroke, **dict(zip(names, values, strict=True))))

    values = [parts[name] for name in names]
    inputs = [Measured(parts[name], spread[name], "m") for name in names]
    whole = carry(ratio_of, "1", *inputs)
    alone = []
    for name in names:
        fixed = [Measured(v, spread[n] if n == name else 0.0, "m") for n, v in zip(
            names, values, strict=True)]  # fmt: skip
        alone.append((_WORDS[name], carry(ratio_of, "1", *fixed).uncertainty))
    chamber = Chamber(bore, stroke, **dict(zip(names, values, strict=True)))
    alone.sort(key=lambda item: -item[1])
    return MeasuredRatio(whole.value, whole.uncertainty, clearance_volume(chamber), tuple(alone))


@dataclass(frozen=True, slots=True)
class CamFinding:
    """One camshaft's timing by degree wheel.

    Parameters
    ----------
    kind : "inlet" or "exhaust"
    measured : LobeTiming
        After the wheel was put right by the piston stop
    centre_deg : float
        Lobe centre from the top between exhaust and intake: after it for inlets, before it for
        exhausts [crank deg]
    error : TimingError, optional
        Against the engine file; None where it has no such lobe
    sentence : str
    """

    kind: ValveKind
    measured: LobeTiming
    centre_deg: float
    error: TimingError | None
    sentence: str


@dataclass(frozen=True, slots=True)
class CamTiming:
    """Both kinds together.

    Parameters
    ----------
    findings : tuple of CamFinding
    overlap_deg, separation_deg : float, optional
        At the lift measured; None unless both kinds were
    late_deg, late_sd_deg : float, optional
        Of all compared, for the expected reading
    """

    findings: tuple[CamFinding, ...]
    overlap_deg: float | None
    separation_deg: float | None
    late_deg: float | None
    late_sd_deg: float | None


def cam_timing(
    engine: EngineFile,
    events: Mapping[ValveKind, tuple[float, float]],
    *,
    wheel_offset_deg: float = 0.0,
    teeth: int | None = None,
    reading_sd_deg: float = 1.0,
) -> CamTiming:
    """Judge cam timing read off a degree wheel.

    Parameters
    ----------
    engine : EngineFile
        Whose [cams] say what it should be, at the lift of `timing_at`
    events : mapping of kind to (opens, closes)
        As read: inlet before top and after bottom, exhaust before bottom and after top [deg]
    wheel_offset_deg : float
        From the piston stop, see `camtiming.wheel_offset_deg`
    teeth : int, optional
        Of the cam sprocket; the engine file's if left out, else a tooth is not told
    reading_sd_deg : float
        One standard uncertainty of one event [crank deg]

    Returns
    -------
    CamTiming

    Raises
    ------
    InputError
        If no event was given or a valve never closes.
    """
    if not events:
        raise InputError(
            "There is no event of a valve", instead="opening and closing of inlet or exhaust"
        )
    table = engine.compression
    counted = teeth if teeth is not None else (table.cam_sprocket_teeth if table else None)
    findings = []
    for kind, (opens, closes) in events.items():
        made = inlet_timing(opens, closes) if kind == "inlet" else exhaust_timing(opens, closes)
        made = LobeTiming(made.opens_deg - wheel_offset_deg, made.closes_deg - wheel_offset_deg)
        findings.append(_cam(engine, kind, made, counted, reading_sd_deg))
    by_kind = {f.kind: f.measured for f in findings}
    both = len(by_kind) == 2
    errors = [f.error for f in findings if f.error is not None]
    late = sum(e.late_deg for e in errors) / len(errors) if errors else None
    return CamTiming(
        tuple(findings),
        overlap_deg(by_kind["inlet"], by_kind["exhaust"]) if both else None,
        lobe_separation_deg(by_kind["inlet"], by_kind["exhaust"]) if both else None,
        late,
        None if late is None else reading_sd_deg / math.sqrt(2.0 * len(errors)),
    )


def _cam(
    engine: EngineFile, kind: ValveKind, made: LobeTiming, teeth: int | None, sd: float
) -> CamFinding:
    centre = made.centre_deg - 360.0 if kind == "inlet" else 360.0 - made.centre_deg
    cams = engine.cams
    lobe = None if cams is None else (cams.inlet if kind == "inlet" else cams.exhaust)
    if lobe is None:
        return CamFinding(kind, made, centre, None, "The engine file does not say what it should "
                          "be.")  # fmt: skip
    told = (
        inlet_timing(lobe.opens_deg, lobe.closes_deg)
        if kind == "inlet"
        else exhaust_timing(lobe.opens_deg, lobe.closes_deg)
    )
    error = timing_error(made, told, teeth or 36, sd)
    if teeth is None:
        error = replace(error, teeth=0, rest_deg=error.late_deg)
    return CamFinding(kind, made, centre, error, _sentence(error, teeth))


def _sentence(error: TimingError, teeth: int | None) -> str:
    side = "late" if error.late_deg > 0 else "early"
    apart = abs(error.late_deg)
    words = f"{apart:.1f} crank degrees {side}, give or take {1.6 * error.uncertainty_deg:.1f}"
    if apart < 2.0 * error.uncertainty_deg:
        words = f"As it should be within what the wheel tells ({words})"
    elif teeth is not None and error.teeth:
        count = abs(error.teeth)
        words += f": {count} {'tooth' if count == 1 else 'teeth'} of the cam sprocket"
        if abs(error.rest_deg) > 3.0:
            words += f", {error.rest_deg:+.1f} left over"
    elif apart <= 8.0:
        words += ": chain stretch, or the adjustment of the sprocket"
    if abs(error.duration_error_deg) > 8.0:
        words += (
            f". Open {error.duration_error_deg:+.0f} degrees against the file: another lift, "
            "another cam, or clearance"
        )
    return words + "."
