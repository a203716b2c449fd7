"""The compression gauge: a hose, a dial and a check valve at one end or the other.

plug end:   cylinder |>  hose ===== dial      the hose fills over the strokes, the needle climbs
gauge end:  cylinder ==== hose  |> dial       the hose is part of the clearance: reads low
"""

from __future__ import annotations

from dataclasses import dataclass

from tickover.errors import InputError


@dataclass(frozen=True, slots=True)
class Gauge:
    """A compression gauge with its hose.

    Parameters
    ----------
    hose_volume : float
        Hose and fittings [m3]
    check_valve_at_plug : bool
        Whether the valve that holds the needle sits at the plug end
    check_valve_area : float
        Effective [m2]
    cracking_pressure : float
        What the check valve takes to open, lost from every reading [Pa]
    dial_volume : float
        Of the gauge itself, behind any hose [m3]
    """

    hose_volume: float = 6e-6
    check_valve_at_plug: bool = True
    check_valve_area: float = 1.0e-6
    cracking_pressure: float = 4826.3  # 0.7 psi
    dial_volume: float = 1e-6

    def __post_init__(self) -> None:
        if not 0.0 <= self.hose_volume <= 100e-6:
            raise InputError(
                "The gauge hose's volume is not one",
                given=f"{self.hose_volume * 1e6:g} cc",
                allowed="0 to 100 cc",
            )
        if not 0.0 < self.check_valve_area <= 20e-6 or not 0.1e-6 <= self.dial_volume <= 50e-6:
            raise InputError(
                "The gauge's own numbers are not a gauge's",
                given=f"valve {self.check_valve_area * 1e6:g} mm2, dial "
                f"{self.dial_volume * 1e6:g} cc",
                allowed="valve 0 to 20 mm2, dial 0.1 to 50 cc",
            )
        if not 0.0 <= self.cracking_pressure <= 2e5:
            raise InputError(
                "The check valve's opening pressure is not one",
                given=f"{self.cracking_pressure / 6894.757:g} psi",
                allowed="0 to 29 psi",
            )

    @property
    def held_volume(self) -> float:
        """Volume behind the check valve, which the strokes must fill [m3]."""
        return self.dial_volume + (self.hose_volume if self.check_valve_at_plug else 0.0)

    @property
    def dead_volume(self) -> float:
        """Volume added to the clearance [m3]."""
        return 0.0 if self.check_valve_at_plug else self.hose_volume


def hose_volume(length: float, inner_diameter: float) -> float:
    """Volume inside a hose.

    Parameters
    ----------
    length, inner_diameter : float
        [m]

    Returns
    -------
    float
        [m3]

    Examples
    --------
    >>> print(f"{1e6 * hose_volume(0.40, 4.5e-3):.1f} cc")
    6.4 cc
    """
    return 0.7853981633974483 * inner_diameter * inner_diameter * length
