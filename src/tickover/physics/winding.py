"""Copper windings: resistance changes with temperature, so readings are brought to 20 C."""

from __future__ import annotations

from typing import Literal

from tickover.errors import InputError
from tickover.physics import guards

ALPHA_20 = 0.00393
"""Temperature coefficient of copper at 20 C [1/K]; 100 percent IACS, IEC 60028."""

Form = Literal["coefficient", "inferred zero"]
"""Two ways to write the same straight line; they differ by less than 2e-4 of the result.

"coefficient" is R20*(1 + 0.00393*(t - 20)); "inferred zero" is (234.5 + t1) to (234.5 + t2), the
form of motor and wiring rules. Cable tables (IEC 60228) use the coefficient rounded to 0.004."""

_ZERO_C = 273.15
_INFERRED_ZERO_C = 234.5


def resistance_at(
    resistance: float,
    measured_at: float,
    wanted_at: float,
    form: Form = "coefficient",
    alpha_20: float = ALPHA_20,
) -> float:
    """Resistance a copper winding would have at another temperature.

    Parameters
    ----------
    resistance : float
        As measured, leads taken off [ohm]
    measured_at, wanted_at : float
        -60 to 250 C [K]
    form : "coefficient" or "inferred zero"
        See `Form`.
    alpha_20 : float
        For the first form only [1/K]

    Returns
    -------
    float
        [ohm]

    Raises
    ------
    InputError
        If the resistance is negative or a temperature outside the range.

    Notes
    -----
    Source: IEC 60028 (coefficient); AC 43.13-1B, chapter 11 (234.5). Copper only: resistive plug
    caps, suppressed leads and electronics in the circuit do not follow it.
    Checked in tests/published/test_copper_temperature.py.

    Examples
    --------
    >>> print(f"{resistance_at(4.0, 293.15, 348.15):.3f} ohm")
    4.865 ohm
    >>> print(f"{resistance_at(4.0, 293.15, 348.15, 'inferred zero'):.3f} ohm")
    4.864 ohm
    """
    guards.not_negative("Resistance", resistance, "ohm")
    t1, t2 = _celsius(measured_at), _celsius(wanted_at)
    if form == "coefficient":
        return resistance * (1.0 + alpha_20 * (t2 - 20.0)) / (1.0 + alpha_20 * (t1 - 20.0))
    if form == "inferred zero":
        return resistance * (_INFERRED_ZERO_C + t2) / (_INFERRED_ZERO_C + t1)
    raise InputError(
        "Not a form of the copper rule", given=form, allowed="coefficient, inferred zero"
    )


def resistance_at_20(resistance: float, measured_at: float, form: Form = "coefficient") -> float:
    """Bring a coil reading to 20 C, where limits are stated.

    Parameters
    ----------
    resistance : float
        [ohm]
    measured_at : float
        Temperature of the winding, not of the air, when measured [K]
    form : "coefficient" or "inferred zero"

    Returns
    -------
    float
        [ohm]

    Raises
    ------
    InputError
        As `resistance_at`.

    Notes
    -----
    `resistance_at` with 20 C wanted. Checked in tests/published/test_copper_temperature.py.

    Examples
    --------
    >>> print(f"{resistance_at_20(5.2, 323.15):.2f} ohm")
    4.65 ohm
    """
    return resistance_at(resistance, measured_at, _ZERO_C + 20.0, form)


def winding_temperature(hot: float, cold: float, cold_at: float) -> float:
    """Temperature of a winding from its resistance hot and cold.

    Parameters
    ----------
    hot, cold : float
        Resistances [ohm]
    cold_at : float
        Temperature at which the cold one was read [K]

    Returns
    -------
    float
        [K]

    Raises
    ------
    InputError
        If a resistance is not above zero.

    Notes
    -----
    (hot/cold)*(234.5 + t) - 234.5. Checked in tests/published/test_copper_temperature.py.

    Examples
    --------
    >>> print(f"{winding_temperature(0.600, 0.500, 293.15) - 273.15:.1f} C")
    70.9 C
    """
    guards.positive("Hot resistance", hot, "ohm")
    guards.positive("Cold resistance", cold, "ohm")
    celsius = hot / cold * (_INFERRED_ZERO_C + _celsius(cold_at)) - _INFERRED_ZERO_C
    return celsius + _ZERO_C


def _celsius(kelvin: float) -> float:
    guards.within("Temperature of a winding", kelvin, 213.15, 523.15, "K")
    return kelvin - _ZERO_C
