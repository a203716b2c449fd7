"""What height, weather and the air box do to the jets, in formulas a person can check by hand."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tickover.errors import InputError
from tickover.physics.guards import not_negative, positive

# How many times the change of a steady flow a pulsating one needs. From crank-resolved runs of
# invented carburettors (ours, no source); the spread is what those runs showed.
PULSATION = 1.4
PULSATION_LOW, PULSATION_HIGH = 1.3, 1.8


def density_area_factor(density: float, reference_density: float) -> float:
    """Factor on a jet's area that keeps the mixture when the air's density changes.

    Parameters
    ----------
    density, reference_density : float
        Of the air now, and of the air in which the set-up was right [kg/m3]

    Returns
    -------
    float
        [-]; its square root is the factor on the bore.

    Notes
    -----
    Air goes with sqrt(rho_air dp), fuel with sqrt(rho_fuel dp): richness rises with
    rho_air^(-1/2), area follows rho^(1/2), bore rho^(1/4). For main and needle; the pilot should
    not be scaled blindly, its fuel goes by the vacuum behind the slide.
    Checked in tests/published/test_density_scaling.py.

    Examples
    --------
    >>> print(f"{density_area_factor(1.006490, 1.225):.5f}")
    0.90644
    """
    positive("Air density", density, "kg/m3")
    positive("Reference air density", reference_density, "kg/m3")
    return math.sqrt(density / reference_density)


@dataclass(frozen=True, slots=True)
class OpenedInlet:
    """Main jet wanted when the air box comes off: best value and interval."""

    area_factor: float
    area_factor_low: float
    area_factor_high: float
    head: float
    head_after: float


def main_for_open_inlet(
    fuel_flow: float,
    effective_area: float,
    needle_area: float,
    fuel_density: float,
    depression: float,
    air_factor: float = 1.0,
) -> OpenedInlet:
    """Main jet for open filters, where the bowl is vented to the room and the box was pulled down.

    Parameters
    ----------
    fuel_flow : float
        Through main and needle in the old set-up, full throttle [kg/s]
    effective_area : float
        Main jet and needle annulus in series, coefficients included [m2]
    needle_area : float
        Needle annulus alone, coefficient included [m2]
    fuel_density : float
        [kg/m3]
    depression : float
        Measured in the box at full throttle, below the room [Pa]
    air_factor : float
        Air flow after over before [-]

    Returns
    -------
    OpenedInlet
        Factor on the main jet's area with an interval.

    Raises
    ------
    InputError
        If the depression is as large as the whole head: then the bowl cannot be vented to the
        room, and the answer would be nonsense.

    Notes
    -----
    E = (m_f/a)^2/(2 rho) is the head the old set-up had; E' = E - dp without the box's pull;
    r = (m_a'/m_a) sqrt(E/E'); then 1/a_m'^2 = 1/(r a)^2 - 1/a_n^2. Bernoulli; the pulsating flow
    needs about 1.4 (1.3..1.8) times that change (crank-resolved runs, ours, no source).

    Examples
    --------
    >>> wanted = main_for_open_inlet(6.0e-4, 5.0e-7, 2.0e-6, 740.0, 200.0)
    >>> print(f"{100 * wanted.area_factor - 100:.0f} %")
    18 %
    """
    for name, value, unit in (
        ("Fuel flow", fuel_flow, "kg/s"), ("Effective area", effective_area, "m2"),
        ("Needle area", needle_area, "m2"), ("Fuel density", fuel_density, "kg/m3"),
        ("Air factor", air_factor, ""),
    ):  # fmt: skip
        positive(name, value, unit)
    not_negative("Depression in the box", depression, "Pa")
    head = (fuel_flow / effective_area) ** 2 / (2.0 * fuel_density)
    after = head - depression
    if after <= 0.05 * head:
        raise InputError(
            "The box cannot have pulled this hard on a bowl that is open to the room",
            given=f"{depression:.0f} Pa of {head:.0f} Pa at the jet",
            allowed=f"less than {0.95 * head:.0f} Pa, or a bowl vented into the box",
            instead="where the bowl's vent hose really ends, and the depression measured again",
        )
    ratio = air_factor * math.sqrt(head / after)
    main_before = 1.0 / math.sqrt(1.0 / effective_area**2 - 1.0 / needle_area**2)
    steady = _main_area(ratio * effective_area, needle_area) / main_before
    change = steady - 1.0
    return OpenedInlet(
        area_factor=1.0 + PULSATION * change,
        area_factor_low=1.0 + min(PULSATION_LOW * change, PULSATION_HIGH * change),
        area_factor_high=1.0 + max(PULSATION_LOW * change, PULSATION_HIGH * change),
        head=head,
        head_after=after,
    )


def _main_area(effective: float, needle: float) -> float:
    if effective >= 0.98 * needle:
        raise InputError(
            "No main jet is large enough: the needle jet itself is the narrow place",
            given=f"{1e6 * effective:.2f} mm2 wanted, {1e6 * needle:.2f} mm2 past the needle",
            allowed="less than the needle leaves open",
            instead="a larger needle jet or a needle with a thinner tip",
        )
    return 1.0 / math.sqrt(1.0 / effective**2 - 1.0 / needle**2)
