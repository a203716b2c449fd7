"""The state a machine is run in: height, weather, air box, baffles."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tickover.cache.remembered import remembered
from tickover.errors import InputError
from tickover.physics.atmosphere import air_density, pressure_at_altitude
from tickover.physics.carburettor import model
from tickover.physics.carburettor.parts import Air, Breathing, Carburettor
from tickover.physics.fuel import PETROL, Fuel, blend, fuel_density, stoichiometric_ratio
from tickover.quantities import parse


@dataclass(frozen=True, slots=True)
class Trim:
    """What the mixture depends on, besides the carburettor.

    Parameters
    ----------
    name : str
        As it is shown: "today", "the pass in August".
    altitude : float
        Above the sea [m]
    temperature : float
        Of the air [K]
    humidity : float
        0 to 1 [-]
    box_depression : float
        Measured in the air box at full throttle, below the room; 0 with open filters [Pa]
    baffles : bool
        Whether the silencers' baffles are in.
    ethanol : float
        Share by volume in the petrol [-]
    """

    name: str = "today"
    altitude: float = 0.0
    temperature: float = 293.15
    humidity: float = 0.5
    box_depression: float = 0.0
    baffles: bool = True
    ethanol: float = 0.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.humidity <= 1.0:
            raise InputError(
                "Humidity is a share between dry and saturated",
                given=f"{self.humidity:g}",
                allowed="0 to 1",
                instead="'0.5' for 50 percent",
                where=self.name,
            )
        if not 0.0 <= self.box_depression <= 8000.0:
            raise InputError(
                "No air box pulls this hard",
                given=f"{self.box_depression:.0f} Pa",
                allowed="0 to 8000 Pa (80 cm of water)",
                instead="the depression read at full throttle, such as '10 cmH2O'",
                where=self.name,
            )


def fuel_of(trim: Trim, petrol: Fuel = PETROL) -> Fuel:
    """The fuel of a trim."""
    return blend(petrol, trim.ethanol)


def air_of(trim: Trim, carburettor: Carburettor, engine: Breathing, top_speed_rpm: float) -> Air:
    """Air and fuel of a trim in the numbers the model takes.

    Parameters
    ----------
    trim : Trim
    carburettor : Carburettor
    engine : Breathing
    top_speed_rpm : float
        Speed at which the depression of the box was measured [rpm]

    Returns
    -------
    Air
    """
    pressure = pressure_at_altitude(trim.altitude)
    fuel = fuel_of(trim)
    open_air = Air(
        pressure=pressure,
        temperature=trim.temperature,
        density=air_density(pressure, trim.temperature, trim.humidity),
        fuel_density=fuel_density(fuel, trim.temperature),
        stoichiometric_ratio=stoichiometric_ratio(fuel),
    )
    if trim.box_depression == 0.0:
        return open_air
    return Air(
        pressure=open_air.pressure,
        temperature=open_air.temperature,
        density=open_air.density,
        fuel_density=open_air.fuel_density,
        stoichiometric_ratio=open_air.stoichiometric_ratio,
        box_resistance=box_resistance(
            trim.box_depression, open_air, carburettor, engine, top_speed_rpm
        ),
    )


@remembered
def box_resistance(
    depression: float, air: Air, carburettor: Carburettor, engine: Breathing, speed_rpm: float
) -> float:
    """Depression over the square of the air flow at which it was measured.

    Parameters
    ----------
    depression : float
        At full throttle [Pa]
    air : Air
        Of the room.
    carburettor : Carburettor
    engine : Breathing
    speed_rpm : float
        [rpm]

    Returns
    -------
    float
        [Pa s2/kg2]
    """
    at = model.points(carburettor, engine, air, np.array([1.0]), np.array([speed_rpm]))
    # The box lowers the flow it is measured at; one correction is enough below a tenth.
    flow = float(at.states[0, 1]) * (1.0 - depression / air.pressure)
    return depression / flow**2


def state_of_words(text: str, now: Trim) -> Trim:
    """A state to be ready for, from a few words; what is not said stays as it is now.

    Parameters
    ----------
    text : str
        "height 2000 m, 5 C, open, baffles out", "box 5 cmH2O"; parts set apart by commas.
    now : Trim

    Returns
    -------
    Trim
        Named by its words.

    Raises
    ------
    InputError
        If a part says nothing known.

    Examples
    --------
    >>> pass_ = state_of_words("height 2000 m, 5 C", Trim())
    >>> (pass_.altitude, round(pass_.temperature, 2), pass_.box_depression)
    (2000.0, 278.15, 0.0)
    """
    found = replace(now, name=text.strip())
    for part in text.split(","):
        words = part.strip().casefold()
        what, _, rest = words.partition(" ")
        if words == "open":
            found = replace(found, box_depression=0.0)
        elif what == "height" and rest:
            metres = parse(rest, "length", None, "The height").value_si
            pressure_at_altitude(metres)
            found = replace(found, altitude=metres)
        elif what == "box" and rest:
            depression = parse(rest, "pressure", None, "The depression").value_si
            found = replace(found, box_depression=depression)
        elif words in ("baffles in", "baffles out"):
            found = replace(found, baffles=words.endswith("in"))
        elif words[:1].isdigit() or words[:1] in "-−":
            kelvin = parse(words.replace("−", "-"), "temperature", "C", "The air").value_si
            found = replace(found, temperature=kelvin)
        else:
            raise InputError(
                "This says nothing of a state",
                given=part.strip(),
                allowed="'height 2000 m', '5 C', 'open', 'box 5 cmH2O', 'baffles out'",
                instead="such parts with commas between them",
            )
    return found
