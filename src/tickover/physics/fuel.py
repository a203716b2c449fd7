"""Petrol and its blends: the air they need, what they weigh.

A carburettor meters volume through a jet; the engine wants mass against mass of air. What lies
between is here: the stoichiometric ratio from chemistry and the density at a temperature.
"""

from __future__ import annotations

from dataclasses import dataclass

from tickover.errors import InputError

# IUPAC abridged atomic masses [kg/mol]
_CARBON = 0.012011
_HYDROGEN = 0.001008
_OXYGEN = 0.015999

# Dry air: oxygen mole fraction and molar mass [kg/mol] (CIPM-2007 composition).
OXYGEN_IN_AIR = 0.20946
AIR_MOLAR_MASS = 0.0289652

# Thermal expansion of volume [1/K]; petrol 9.5e-4 is common practice (hydrometer tables give
# 9e-4..10e-4 for 720..775 kg/m3), ethanol 11e-4.
_PETROL_EXPANSION = 9.5e-4
_ETHANOL_EXPANSION = 11.0e-4
_REFERENCE_K = 288.15


@dataclass(frozen=True, slots=True)
class Fuel:
    """A fuel as a molecule CH(y)O(z) with a density.

    Parameters
    ----------
    name : str
        As it is shown.
    hydrogen, oxygen : float
        Atoms per atom of carbon [-]
    density_15 : float
        At 15 degrees Celsius [kg/m3]
    expansion : float
        Thermal expansion of volume [1/K]
    """

    name: str
    hydrogen: float
    oxygen: float
    density_15: float
    expansion: float = _PETROL_EXPANSION


PETROL = Fuel("petrol without ethanol", 1.85, 0.0, 745.0)
ETHANOL = Fuel("ethanol", 3.0, 0.5, 794.0, _ETHANOL_EXPANSION)


def molar_mass(fuel: Fuel) -> float:
    """Mass of one mole of CH(y)O(z), that is per mole of carbon.

    Parameters
    ----------
    fuel : Fuel

    Returns
    -------
    float
        [kg/mol]
    """
    return _CARBON + fuel.hydrogen * _HYDROGEN + fuel.oxygen * _OXYGEN


def stoichiometric_ratio(fuel: Fuel) -> float:
    """Mass of dry air that burns one mass of fuel with nothing left over.

    Parameters
    ----------
    fuel : Fuel

    Returns
    -------
    float
        [kg air/kg fuel]

    Raises
    ------
    InputError
        If the molecule holds as much oxygen as it needs, so that no air is wanted.

    Notes
    -----
    C H(y) O(z) + (1 + y/4 - z/2) O2 -> CO2 + y/2 H2O, with argon counted in the air
    (oxygen 20.946 % by mole). Leaving argon out gives 0.7 % less.
    Checked in tests/published/test_stoichiometry.py.

    Examples
    --------
    >>> print(f"{stoichiometric_ratio(PETROL):.2f}")
    14.58
    >>> print(f"{stoichiometric_ratio(ETHANOL):.2f}")
    9.01
    """
    moles_oxygen = 1.0 + fuel.hydrogen / 4.0 - fuel.oxygen / 2.0
    if moles_oxygen <= 0.0:
        raise InputError(
            "This fuel carries all the oxygen it needs",
            given=f"CH{fuel.hydrogen:g}O{fuel.oxygen:g}",
            allowed="oxygen below 2 + hydrogen/2 per carbon",
            instead="the composition per atom of carbon, such as 1.85 and 0 for petrol",
        )
    return moles_oxygen / OXYGEN_IN_AIR * AIR_MOLAR_MASS / molar_mass(fuel)


def blend(petrol: Fuel, ethanol_share: float) -> Fuel:
    """Petrol with a share of ethanol by volume (5 % is E5, 10 % is E10).

    Parameters
    ----------
    petrol : Fuel
        The petrol without ethanol.
    ethanol_share : float
        Volume of ethanol in the blend, both at 15 degrees Celsius [-]

    Returns
    -------
    Fuel
        Composition per atom of carbon and density of the blend.

    Raises
    ------
    InputError
        If the share is not within 0..1.

    Notes
    -----
    Atoms are added; volumes are added too (the excess volume of ethanol in petrol, a few tenths
    of a percent, is left out).

    Examples
    --------
    >>> e10 = blend(PETROL, 0.10)
    >>> print(f"O/C {e10.oxygen:.4f}, ratio {stoichiometric_ratio(e10):.2f}")
    O/C 0.0333, ratio 13.99
    """
    if not 0.0 <= ethanol_share <= 1.0:
        raise InputError(
            "The share of ethanol lies outside the tank",
            given=f"{ethanol_share:g}",
            allowed="0 to 1 by volume",
            instead="0.05 for E5, 0.10 for E10",
        )
    petrol_kg = (1.0 - ethanol_share) * petrol.density_15
    ethanol_kg = ethanol_share * ETHANOL.density_15
    petrol_mol = petrol_kg / molar_mass(petrol)
    ethanol_mol = ethanol_kg / molar_mass(ETHANOL)
    carbon = petrol_mol + ethanol_mol
    return Fuel(
        name=f"petrol with {100 * ethanol_share:g} % ethanol" if ethanol_share else petrol.name,
        hydrogen=(petrol_mol * petrol.hydrogen + ethanol_mol * ETHANOL.hydrogen) / carbon,
        oxygen=(petrol_mol * petrol.oxygen + ethanol_mol * ETHANOL.oxygen) / carbon,
        density_15=petrol_kg + ethanol_kg,
        expansion=(1.0 - ethanol_share) * petrol.expansion + ethanol_share * ETHANOL.expansion,
    )


def oxygen_mass_share(fuel: Fuel) -> float:
    """Oxygen in the fuel by mass, the figure a fuel standard prints.

    Parameters
    ----------
    fuel : Fuel

    Returns
    -------
    float
        [-]
    """
    return fuel.oxygen * _OXYGEN / molar_mass(fuel)


def fuel_density(fuel: Fuel, temperature: float) -> float:
    """Density of the fuel in the bowl.

    Parameters
    ----------
    fuel : Fuel
    temperature : float
        [K]

    Returns
    -------
    float
        [kg/m3]

    Raises
    ------
    InputError
        If the temperature lies outside 230..350 K, where petrol in a bowl is neither frozen
        thick nor boiling away.

    Notes
    -----
    rho(15 C) / (1 + beta (T - 15 C)).

    Examples
    --------
    >>> print(f"{fuel_density(PETROL, 313.15):.1f} kg/m3")
    727.7 kg/m3
    """
    if not 230.0 <= temperature <= 350.0:
        raise InputError(
            "The fuel cannot be at this temperature in a bowl",
            given=f"{temperature:g} K",
            allowed="230 to 350 K (-43 to 77 degrees Celsius)",
            instead="the temperature in kelvin, such as 293.15",
        )
    return fuel.density_15 / (1.0 + fuel.expansion * (temperature - _REFERENCE_K))
