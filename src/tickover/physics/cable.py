"""Control cables: lengths from the route, pull from lever and grip, free play, stretch.

Cables for throttle, clutch, cold-start device, decompressor and the like. A brake cable is not
made at home: every function that helps to make a cable refuses it. A home-made cable is
proof-pulled before use, with the load its maker states.
"""

from __future__ import annotations

from dataclasses import dataclass

from tickover.errors import InputError
from tickover.physics import guards

USES = ("throttle", "clutch", "cold start", "decompressor", "advance", "tacho", "other")


def refuse_brakes(use: str) -> None:
    """Refuse to help making a brake cable, and uses that are not named.

    Parameters
    ----------
    use : str
        One of `USES`

    Raises
    ------
    InputError
        If the use is a brake, or unknown.

    Examples
    --------
    >>> refuse_brakes("clutch")
    """
    if "brake" in use.casefold():
        raise InputError(
            "A brake cable is not made at home",
            given=use,
            allowed=", ".join(USES),
            instead="nothing here: fit a cable from the maker, or have one made and proved by a "
            "licensed shop",
        )
    if use not in USES:
        raise InputError("Say what the cable moves", given=use, allowed=", ".join(USES))


@dataclass(frozen=True, slots=True)
class CableLengths:
    """What to cut.

    Parameters
    ----------
    outer : float
        Of the outer casing, without its end caps [m]
    inner : float
        Of the inner wire between the bearing faces of its two nipples [m]
    spare_travel : float
        How much farther than needed the far nipple can be drawn before it reaches its stop [m]
    """

    outer: float
    inner: float
    spare_travel: float


def cable_lengths(
    use: str,
    route: float,
    caps: float,
    bare_at_lever: float,
    bare_at_far_end: float,
    travel: float,
    adjuster_out: float = 0.0,
) -> CableLengths:
    """Length of outer and inner for a route.

    Parameters
    ----------
    use : str
        One of `USES`; a brake is refused.
    route : float
        Along the middle of the path from seat to seat, bars straight, laid with a cord [m]
    caps : float
        What both end caps add to the outer between the seats, together [m]
    bare_at_lever : float
        Inner bare from seat to nipple face at the lever or grip, control at rest [m]
    bare_at_far_end : float
        Inner bare from seat to nipple face at the far end, control at rest and slack taken up [m]
    travel : float
        The far nipple has to move [m]
    adjuster_out : float
        How far the adjusters are to stand out when new: half their thread leaves room both
        ways [m]

    Returns
    -------
    CableLengths

    Raises
    ------
    InputError
        For a brake; if a length is negative; if caps and adjusters are longer than the route; or
        if the bare end is shorter than the travel, so that the nipple would meet the seat.

    Notes
    -----
    Along the path: adjusters and caps take their part of the route, the outer the rest; the inner
    runs the whole route plus both bare ends, less nothing. Plain adding up.

    Examples
    --------
    >>> cut = cable_lengths("clutch", 0.900, 0.016, 0.030, 0.045, 0.012, adjuster_out=0.006)
    >>> print(f"outer {1e3 * cut.outer:.0f} mm, inner {1e3 * cut.inner:.0f} mm")
    outer 878 mm, inner 975 mm
    """
    refuse_brakes(use)
    for name, value in (
        ("Route", route),
        ("Length of the end caps", caps),
        ("Bare inner at the lever", bare_at_lever),
        ("Bare inner at the far end", bare_at_far_end),
        ("Travel", travel),
        ("Adjuster", adjuster_out),
    ):
        guards.not_negative(name, value, "m")
    outer = route - caps - adjuster_out
    if outer <= 0.0:
        raise InputError(
            "End caps and adjusters are longer than the route",
            given=f"route {1e3 * route:g} mm, caps {1e3 * caps:g} mm, "
            f"adjusters {1e3 * adjuster_out:g} mm",
        )
    spare = bare_at_far_end - travel
    if spare < 0.0:
        raise InputError(
            "The nipple would meet its seat before the travel is done",
            given=f"{1e3 * bare_at_far_end:g} mm bare, {1e3 * travel:g} mm travel",
            allowed=f"at least {1e3 * travel:g} mm bare at the far end",
        )
    return CableLengths(outer, route + bare_at_lever + bare_at_far_end, spare)


def grip_pull(angle: float, drum_radius: float) -> float:
    """Cable drawn by turning a twist grip.

    Parameters
    ----------
    angle : float
        Of the grip [rad]
    drum_radius : float
        From the middle of the grip to the middle of the inner on its drum [m]

    Returns
    -------
    float
        [m]

    Raises
    ------
    InputError
        If the drum radius is not above zero or the angle negative.

    Notes
    -----
    Radius times angle.

    Examples
    --------
    >>> import math
    >>> print(f"{1e3 * grip_pull(math.radians(90.0), 0.016):.1f} mm")
    25.1 mm
    """
    guards.not_negative("Grip angle", angle, "rad")
    guards.positive("Drum radius", drum_radius, "m")
    return angle * drum_radius


def grip_angle_to_open(slide_travel: float, drum_radius: float, free_play: float = 0.0) -> float:
    """Turn of the grip from rest to fully lifted slides.

    Parameters
    ----------
    slide_travel : float
        From closed to fully open; of the cable, if a linkage lies between [m]
    drum_radius : float
        [m]
    free_play : float
        Of the inner, taken up first [m]

    Returns
    -------
    float
        [rad]

    Raises
    ------
    InputError
        If a length is negative or the drum radius not above zero.

    Notes
    -----
    (travel + play) / radius. Up to about a quarter turn is comfortable; a larger drum is quicker
    and heavier by the same ratio (common practice, no source).

    Examples
    --------
    >>> import math
    >>> print(f"{math.degrees(grip_angle_to_open(0.026, 0.016, 0.001)):.0f} deg")
    97 deg
    """
    guards.not_negative("Slide travel", slide_travel, "m")
    guards.not_negative("Free play", free_play, "m")
    guards.positive("Drum radius", drum_radius, "m")
    return (slide_travel + free_play) / drum_radius


def stretch(force: float, length: float, metal_area: float, stiffness: float) -> float:
    """How much longer an inner gets under a pull.

    Parameters
    ----------
    force : float
        [N]
    length : float
        [m]
    metal_area : float
        Of all wires together [m^2]
    stiffness : float
        Elastic modulus of the cable as made, well below that of steel wire; from its maker [Pa]

    Returns
    -------
    float
        [m]

    Raises
    ------
    InputError
        If length, area or stiffness is not above zero.

    Notes
    -----
    F*l/(E*A). A new cable also settles once for all: set free play again after the first ride.

    Examples
    --------
    >>> print(f"{1e3 * stretch(300.0, 0.97, 1.2e-6, 100e9):.2f} mm")
    2.43 mm
    """
    guards.not_negative("Force", force, "N")
    guards.positive("Length", length, "m")
    guards.positive("Metal area", metal_area, "m2")
    guards.positive("Stiffness", stiffness, "Pa")
    return force * length / (stiffness * metal_area)


@dataclass(frozen=True, slots=True)
class ProofPull:
    """What a proof pull says.

    Parameters
    ----------
    share_of_breaking : float
        Proof load over the cable's breaking load [1]
    times_working : float
        Proof load over the greatest working load [1]
    """

    share_of_breaking: float
    times_working: float


def proof_pull(use: str, proof_load: float, breaking_load: float, working_load: float) -> ProofPull:
    """Put a proof load beside what the cable can stand and what it has to.

    Parameters
    ----------
    use : str
        One of `USES`; a brake is refused.
    proof_load : float
        As the maker of the cable states it; there is no rule of thumb here on purpose [N]
    breaking_load : float
        Of the cable, from its maker [N]
    working_load : float
        Greatest pull in use: hand force times the ratio of the lever [N]

    Returns
    -------
    ProofPull

    Raises
    ------
    InputError
        For a brake; if a load is not above zero; if the proof load would break the cable, or
        proves less than the cable is used for.

    Notes
    -----
    Ratios of the loads. Stand aside while pulling: a cable that lets go whips.

    Examples
    --------
    >>> proof_pull("clutch", 900.0, 2135.0, 600.0).times_working
    1.5
    """
    refuse_brakes(use)
    guards.positive("Proof load", proof_load, "N")
    guards.positive("Breaking load", breaking_load, "N")
    guards.positive("Working load", working_load, "N")
    if proof_load >= breaking_load:
        raise InputError(
            "This proof load would break the cable",
            given=f"{proof_load:g} N",
            allowed=f"less than {breaking_load:g} N; the maker's proof load",
        )
    if proof_load <= working_load:
        raise InputError(
            "This proof load proves less than the cable is used for",
            given=f"{proof_load:g} N",
            allowed=f"more than {working_load:g} N; the maker's proof load",
        )
    return ProofPull(proof_load / breaking_load, proof_load / working_load)
