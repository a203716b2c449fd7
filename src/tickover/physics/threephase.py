"""Three windings seen through three wires: star and delta, from phases to pairs and back."""

from __future__ import annotations

from typing import Literal

from tickover.errors import InputError
from tickover.physics import guards

Connection = Literal["star", "delta"]
Three = tuple[float, float, float]

PAIRS = ("1-2", "2-3", "3-1")
"""The pairs of wires, in the order every function here takes and gives them."""


def pair_resistances(phases: Three, connection: Connection = "star") -> Three:
    """What a meter reads between the wires.

    Parameters
    ----------
    phases : (float, float, float)
        Star: the winding of each wire. Delta: the winding between 1 and 2, 2 and 3, 3 and 1
        [ohm]
    connection : "star" or "delta"

    Returns
    -------
    (float, float, float)
        Between 1 and 2, 2 and 3, 3 and 1 [ohm]

    Raises
    ------
    InputError
        If a resistance is negative, all are zero in delta, or the connection unknown.

    Notes
    -----
    Two in series; or one across the other two. Kirchhoff.
    Checked in tests/properties/test_charging_properties.py.

    Examples
    --------
    >>> pair_resistances((0.2, 0.2, 0.3)), pair_resistances((0.3, 0.3, 0.3), "delta")
    ((0.4, 0.5, 0.5), (0.2, 0.2, 0.2))
    """
    for value in phases:
        guards.not_negative("Resistance of a winding", value, "ohm")
    a, b, c = phases
    if connection == "star":
        return a + b, b + c, c + a
    if connection != "delta":
        raise InputError("Not a way to join three windings", given=connection,
                         allowed="star, delta")  # fmt: skip
    whole = a + b + c
    guards.positive("Resistance round the delta", whole, "ohm")
    return a * (b + c) / whole, b * (c + a) / whole, c * (a + b) / whole


def phase_resistances(pairs: Three, connection: Connection = "star") -> Three:
    """The windings behind what a meter reads between the wires.

    Parameters
    ----------
    pairs : (float, float, float)
        Between 1 and 2, 2 and 3, 3 and 1 [ohm]
    connection : "star" or "delta"

    Returns
    -------
    (float, float, float)
        As `pair_resistances` takes them [ohm]

    Raises
    ------
    InputError
        If no windings read like that: one pair as much as the two others together.

    Notes
    -----
    Star: half of (what holds this wire, less the pair without it). Delta: star, turned by the
    usual star-delta relation. Checked in tests/properties/test_charging_properties.py.

    Examples
    --------
    >>> [round(r, 3) for r in phase_resistances((0.4, 0.5, 0.5))]
    [0.2, 0.2, 0.3]
    """
    for value in pairs:
        guards.positive("Resistance between two wires", value, "ohm")
    ab, bc, ca = pairs
    star = (0.5 * (ab + ca - bc), 0.5 * (ab + bc - ca), 0.5 * (bc + ca - ab))
    if min(star) <= 0.0:
        raise InputError(
            "No three windings read like that", given=", ".join(f"{r:g} ohm" for r in pairs),
            allowed="each pair less than the other two together",
            instead="all three again, with the same range and the leads subtracted",
        )  # fmt: skip
    if connection == "star":
        return star
    a, b, c = star
    products = a * b + b * c + c * a
    return products / c, products / a, products / b


def unevenness(values: Three) -> float:
    """How far the odd one of three lies from their mean.

    Parameters
    ----------
    values : (float, float, float)
        Of one unit

    Returns
    -------
    float
        Largest distance over the mean, 0 for three alike [1]

    Raises
    ------
    InputError
        If one is negative, or all are zero.

    Examples
    --------
    >>> round(unevenness((20.0, 20.0, 17.0)), 3)
    0.105
    """
    for value in values:
        guards.not_negative("Reading", value)
    mean = sum(values) / 3.0
    guards.positive("Mean of the three", mean)
    return max(abs(value - mean) for value in values) / mean
