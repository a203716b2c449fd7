"""Small fabrication: cables, holes for screws, soldered joints. Sums only; nothing from a book."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from tickover.engine.tables.controls import Cable
from tickover.errors import InputError
from tickover.physics import solder_joint
from tickover.physics.cable import CableLengths, ProofPull, cable_lengths, proof_pull, refuse_brakes
from tickover.physics.engagement import (
    SHEAR_OF_TENSILE,
    Engagement,
    basic_limits,
    engagement_length,
    medium_limits,
    stripping_load,
)
from tickover.physics.expansion import EXPANSION
from tickover.physics.fastener import breaking_load, tensile_strength
from tickover.physics.holes import clearance_hole, tapping_drill, thread_percent
from tickover.physics.thread import Thread, thread
from tickover.tasks.fasteners import SHEAR_PA

DRILL_STEP_M = 1e-4
"""Drills are taken to the nearest tenth of a millimetre."""
USUAL_PERCENT = 75.0
"""Percentage of thread usually drilled for (common practice, no source)."""
SILVER_FLOW_K = 650.0
"""Warming from a cold shop to flowing silver solder [K]: about 670 C (practice, from memory)."""
SILVER_SHEAR_PA = 170e6
"""Shear strength of silver solder in a good joint [Pa]: 25 kpsi in the worked example of Handy &
Harman, The Brazing Book, is 172 MPa; rounded down."""

MATERIALS: Mapping[str, str] = MappingProxyType(
    {"steel": "steel 1020", "iron": "grey iron", "copper": "copper",
     "bronze": "bearing bronze C93200", "aluminium": "aluminium 6061"}
)  # fmt: skip
"""What parts to be joined are made of, by the row of the expansion table that stands for them."""


@dataclass(frozen=True, slots=True)
class CableSheet:
    """Everything for making one cable; parts that cannot be worked out are None and say why."""

    cable: Cable
    lengths: CableLengths | None
    solder_m: float | None
    proof: ProofPull | None
    missing: tuple[str, ...]


def cable_sheet(cable: Cable) -> CableSheet:
    """Lengths, solder length and proof pull for a cable.

    Parameters
    ----------
    cable : Cable
        As in the engine file.

    Returns
    -------
    CableSheet

    Raises
    ------
    InputError
        A brake cable; a nipple that would meet its seat; a proof load that breaks or proves
        nothing.

    Notes
    -----
    `tickover.physics.cable` and `solder_joint.nipple_lap_length`.
    """
    refuse_brakes(cable.use if "brake" not in cable.name.casefold() else cable.name)
    missing = []
    lengths = solder = proof = None
    wants = {
        "route": cable.route_m, "bare_at_lever": cable.bare_at_lever_m,
        "bare_at_far_end": cable.bare_at_far_end_m, "travel": cable.travel_m,
    }  # fmt: skip
    lacking = [key.replace("_", " ") for key, value in wants.items() if value is None]
    if lacking:
        missing.append(f"lengths need {', '.join(lacking)}")
    else:
        lengths = cable_lengths(
            cable.use, _known(cable.route_m), cable.caps_m, _known(cable.bare_at_lever_m),
            _known(cable.bare_at_far_end_m), _known(cable.travel_m), cable.adjuster_out_m,
        )  # fmt: skip
    if cable.breaking_load_n and cable.diameter_m and cable.solder_shear_pa:
        solder = solder_joint.nipple_lap_length(
            cable.breaking_load_n, cable.diameter_m, cable.solder_shear_pa
        )
    else:
        missing.append(
            "solder length needs diameter and breaking load of the inner from its maker, and "
            "the solder's shear strength from its data sheet"
        )
    if cable.proof_load_n is None:
        missing.append("the proof load comes from the maker of the cable; ask for it")
    elif cable.breaking_load_n and cable.working_load_n:
        proof = proof_pull(
            cable.use, cable.proof_load_n, cable.breaking_load_n, cable.working_load_n
        )
    else:
        missing.append("to put the proof load in proportion: breaking and working load")
    return CableSheet(cable, lengths, solder, proof, tuple(missing))


def _known(value: float | None) -> float:
    if value is None:
        raise InputError("A length is missing")
    return value


@dataclass(frozen=True, slots=True)
class HoleSheet:
    """A thread's holes: drill before the tap, hole to clear the screw, depth of engagement.

    clearance: fit to diameter [m], empty where no table has it. engaged_strips_n: what a given
    engagement holds [N], None without one. breaks_first: whether the screw breaks before it.
    """

    thread: Thread
    percent_wanted: float
    drill_exact_m: float
    drill_m: float
    percent_got: float
    clearance: Mapping[str, float]
    property_class: str
    into: str
    shear_pa: float
    breaks_n: float
    engagement: Engagement
    engaged_m: float | None = None
    engaged_strips_n: float | None = None

    @property
    def breaks_first(self) -> bool | None:
        """Whether the screw breaks before the given engagement strips; None without one."""
        if self.engaged_strips_n is None:
            return None
        return self.engaged_strips_n > self.breaks_n


def hole_sheet(
    thread_name: str,
    percent: float = USUAL_PERCENT,
    into: str = "aluminium",
    property_class: str = "8.8",
    shear_pa: float | None = None,
    engaged_m: float | None = None,
) -> HoleSheet:
    """Holes and engagement for a thread.

    Parameters
    ----------
    thread_name : str
        'M8', '1/4 BSF'.
    percent : float
        Of thread wanted, counted over the depth of the screw's thread [percent]
    into : str
        What is tapped: 'aluminium', 'cast iron' or 'steel'.
    property_class : str
        Of the screw.
    shear_pa : float or None
        Shear strength of what is tapped, where its data sheet is at hand [Pa]
    engaged_m : float or None
        Length of full thread there is [m]

    Returns
    -------
    HoleSheet

    Raises
    ------
    InputError
        No such thread, class or material; a percentage outside 20 to 100.

    Notes
    -----
    `tickover.physics.holes` and `engagement`: metric threads in the loosest fit of 6g in 6H, the
    others at nominal size. Checked in tests/published/test_drill_table.py.

    Examples
    --------
    >>> sheet = hole_sheet("M6")
    >>> print(f"{sheet.drill_m * 1e3:.1f} mm, {sheet.percent_got:.0f} %")
    5.0 mm, 77 %
    """
    screw = thread(thread_name)
    if into not in SHEAR_PA:
        raise InputError("Not a material known here", given=into, allowed=", ".join(SHEAR_PA))
    if engaged_m is not None and not engaged_m > 0:
        raise InputError("The engaged length must be above zero", given=f"{engaged_m * 1e3:g} mm")
    exact = tapping_drill(screw, percent)
    drill = round(round(exact / DRILL_STEP_M) * DRILL_STEP_M, 7)
    try:
        clears: dict[str, float] = {
            "fine": clearance_hole(screw, "fine"), "medium": clearance_hole(screw, "medium"),
            "coarse": clearance_hole(screw, "coarse"),
        }  # fmt: skip
    except InputError:
        clears = {}  # an inch thread or an odd size: the table of ISO 273 has none
    shear = SHEAR_PA[into] if shear_pa is None else shear_pa
    screw_shear = SHEAR_OF_TENSILE * tensile_strength(property_class, screw.major)
    limits = medium_limits(screw) if screw.form.name == "ISO" else basic_limits(screw)
    breaks = breaking_load(screw, property_class)
    return HoleSheet(
        screw, percent, exact, drill, thread_percent(screw, drill), MappingProxyType(clears),
        property_class, into, shear, breaks,
        engagement_length(screw, breaks, shear, screw_shear, limits),
        engaged_m,
        None if engaged_m is None else stripping_load(screw, engaged_m, shear, screw_shear, limits),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class SolderSheet:
    """A silver-soldered joint: how deep, how wide the gap cold and at heat."""

    lap_m: float
    usual_low_m: float
    usual_high_m: float
    gap_cold_m: float | None
    gap_hot_m: float | None
    gap_good: bool | None


def solder_sheet(
    wall_m: float,
    strength_pa: float,
    hole_m: float | None = None,
    shaft_m: float | None = None,
    hole_material: str = "steel",
    shaft_material: str = "steel",
    shear_pa: float = SILVER_SHEAR_PA,
    tube_m: float | None = None,
) -> SolderSheet:
    """Lap and gap for a silver-soldered joint.

    Parameters
    ----------
    wall_m : float
        Thickness of the thinner part [m]
    strength_pa : float
        Tensile strength of the weaker part, annealed by the heat [Pa]
    hole_m, shaft_m : float or None
        Diameters cold, for the gap [m]
    hole_material, shaft_material : str
        Keys of `MATERIALS`.
    shear_pa : float
        Of the solder in the joint [Pa]
    tube_m : float or None
        Outside diameter of a tube; a flat lap without one [m]

    Returns
    -------
    SolderSheet
        gap_good: whether the gap at heat is one silver solder fills by itself.

    Raises
    ------
    InputError
        A size not above zero, a material not known, one diameter without the other, aluminium.

    Notes
    -----
    `tickover.physics.solder_joint`. Checked in tests/published/test_brazed_lap.py.
    """
    for name in (hole_material, shaft_material):
        if name not in MATERIALS:
            raise InputError("Not a material known here", given=name, allowed=", ".join(MATERIALS))
        if name == "aluminium":
            raise InputError(
                "Silver solder flows where aluminium melts", given=name,
                allowed=", ".join(m for m in MATERIALS if m != "aluminium"),
                instead="another joint, or a licensed welder",
            )  # fmt: skip
    if (hole_m is None) != (shaft_m is None):
        raise InputError("A gap lies between two diameters", instead="hole and shaft")
    if tube_m is None:
        lap = solder_joint.lap_length(strength_pa, wall_m, shear_pa)
    else:
        lap = solder_joint.tube_lap_length(strength_pa, tube_m, wall_m, shear_pa)
    cold = hot = good = None
    if hole_m is not None and shaft_m is not None:
        cold = 0.5 * (hole_m - shaft_m)
        hot = solder_joint.gap_at_heat(
            hole_m, shaft_m, EXPANSION[MATERIALS[hole_material]],
            EXPANSION[MATERIALS[shaft_material]], SILVER_FLOW_K,
        )  # fmt: skip
        good = solder_joint.SILVER_GAP.holds(hot)
    usual = solder_joint.THICKNESSES_OF_LAP * wall_m
    return SolderSheet(lap, usual.low, usual.high, cold, hot, good)
