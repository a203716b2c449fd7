"""The pages of small fabrication: holes for a thread, a silver-soldered joint."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tickover.pages.why import Why
from tickover.pages.wording import sentence
from tickover.quantities import show
from tickover.tasks.fabrication import HoleSheet, SolderSheet

DRILL_CAUTIONS = (
    "Goggles; work clamped, not held; gloves off near a turning drill; swarf with a brush.",
    "A thread that holds a brake, a wheel or the frame belongs to a licensed shop.",
)
SOLDER_CAUTIONS = (
    "No tank, and nothing that held fuel, near a flame. Fire extinguisher beside you.",
    "Fresh air: flux fumes harm, and old solder may hold cadmium.",
    "Brake pipes, frames and anything under pressure belong to licensed people.",
)


@dataclass(frozen=True, slots=True)
class Row:
    """One figure as shown: what, how much, and a word on it."""

    what: str
    value: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class FabricationPage:
    """A page of sums without a book: rows, reasons, cautions."""

    title: str
    verdict: str
    rows: tuple[Row, ...]
    whys: tuple[Why, ...]
    cautions: tuple[str, ...]


def drill_page(sheet: HoleSheet, unit: str = "mm") -> FabricationPage:
    """The page of a thread's holes, lengths in mm or inches."""

    def size(metres: float, decimals: int = 2) -> str:
        return show(metres, unit, "length", decimals=decimals + (2 if unit == "in" else 0))

    need = sheet.engagement
    rows = [
        Row("thread", sheet.thread.name,
            f"{size(sheet.thread.major)} over the crests, {size(sheet.thread.pitch)} pitch"),
        Row("drill before the tap", show(sheet.drill_m, "mm", "length", decimals=1),
            f"{sheet.percent_got:.0f} % of the screw's thread; exactly {size(sheet.drill_exact_m)} "
            f"for {sheet.percent_wanted:.0f} %"),
    ]  # fmt: skip
    for fit, hole in sheet.clearance.items():
        rows.append(Row(f"clearance hole, {fit}", size(hole, 1)))
    if not sheet.clearance:
        rows.append(Row("clearance hole", "not in the table",
                        "measure the screw over its thread and add a tenth"))  # fmt: skip
    governs = f"the {sheet.into} strips first" if need.governed_by == "hole" else (
        "the screw's own thread strips first"
    )  # fmt: skip
    rows.append(
        Row(
            f"full thread in {sheet.into}", f"at least {size(need.length, 1)}",
            f"{need.diameters:.1f} diameters, so that a class {sheet.property_class} screw breaks "
            f"first at {sheet.breaks_n / 1e3:.1f} kN; shorter, {governs}. A screw may be a quarter "
            "stronger than its class says: go deeper where there is room.",
        )
    )  # fmt: skip
    verdict = f"Drill {show(sheet.drill_m, 'mm', 'length', decimals=1)} for {sheet.thread.name}."
    if sheet.engaged_m is not None and sheet.engaged_strips_n is not None:
        word = "the screw breaks first" if sheet.breaks_first else "the thread strips first"
        rows.append(Row(f"with {size(sheet.engaged_m, 1)} engaged",
                        f"strips at {sheet.engaged_strips_n / 1e3:.1f} kN", word))  # fmt: skip
        verdict += f" With {size(sheet.engaged_m, 1)} of thread {word}."
    return FabricationPage("Holes for a thread", verdict, tuple(rows), (WHY_HOLES,), DRILL_CAUTIONS)


def solder_page(sheet: SolderSheet, unit: str = "mm") -> FabricationPage:
    """The page of a silver-soldered joint."""

    def size(metres: float) -> str:
        return show(metres, unit, "length", decimals=4 if unit == "in" else 2)

    rows = [
        Row("lap", f"at least {size(sheet.lap_m)}", "as strong as the thinner part"),
        Row("usual lap", f"{size(sheet.usual_low_m)} to {size(sheet.usual_high_m)}",
            "three to six thicknesses of the thinner part; more wastes solder"),
    ]  # fmt: skip
    words = f"lap at least {size(max(sheet.lap_m, sheet.usual_low_m))}"
    if sheet.gap_hot_m is not None and sheet.gap_cold_m is not None:
        rows.append(Row("gap on each side, cold", size(sheet.gap_cold_m)))
        rows.append(Row("gap at soldering heat", size(sheet.gap_hot_m),
                        "solder fills 0.025 to 0.127 mm by itself, best near 0.04 mm"))  # fmt: skip
        if sheet.gap_hot_m <= 0:
            words += "; the parts jam when hot"
        elif sheet.gap_good:
            words += "; the gap is right at heat"
        else:
            words += "; the gap is " + ("too narrow" if sheet.gap_hot_m < 25e-6 else "too wide")
    return FabricationPage(
        "A silver-soldered joint", sentence(words), tuple(rows), (WHY_SOLDER,), SOLDER_CAUTIONS
    )


WHY_HOLES = Why(
    "Drill, hole and depth",
    ("thread, percentage of thread, class of screw, what is tapped",),
    "drill = major diameter - percentage x 1.299 pitch (60 degree threads); depth = breaking load "
    "/ (shear strength x shear area per length), the loosest fit for metric threads",
    "ISO 68-1, ISO 273, ISO 898-1; FED-STD-H28/2B; shear of aluminium 130 MPa from the Handbook of "
    "Bolts and Bolted Joints, of iron and mild steel from memory",
    "uneven sharing and spreading of the hole are not in it: a least depth, not a target",
)
WHY_SOLDER = Why(
    "Lap and gap",
    ("thickness, strength of the part annealed, shear strength of the solder; diameters",),
    "lap = strength x thickness / (0.8 x shear strength); gap at heat = half of the grown hole "
    "less the grown shaft, 650 K warmer",
    "Handy & Harman, The Brazing Book, section 1; gap from two makers' guides; three thicknesses "
    "AWS C3.1-1963",
    "expansions are good to 5 percent and grow with heat: try a pair before the last pair",
)


def drill_json(sheet: HoleSheet) -> dict[str, Any]:
    """The holes as JSON: lengths in mm, forces in N."""
    return {
        "thread": sheet.thread.name,
        "tapping_drill_mm": round(sheet.drill_m * 1e3, 3),
        "tapping_drill_exact_mm": round(sheet.drill_exact_m * 1e3, 4),
        "percent_of_thread": round(sheet.percent_got, 1),
        "clearance_mm": {fit: round(hole * 1e3, 3) for fit, hole in sheet.clearance.items()},
        "into": sheet.into,
        "class": sheet.property_class,
        "breaks_at_n": round(sheet.breaks_n, 1),
        "least_engagement_mm": round(sheet.engagement.length * 1e3, 3),
        "engaged_mm": None if sheet.engaged_m is None else round(sheet.engaged_m * 1e3, 3),
        "strips_at_n": None if sheet.engaged_strips_n is None else round(sheet.engaged_strips_n, 1),
        "screw_breaks_first": sheet.breaks_first,
    }


def solder_json(sheet: SolderSheet) -> dict[str, Any]:
    """The joint as JSON: lengths in mm."""

    def mm(value: float | None) -> float | None:
        return None if value is None else round(value * 1e3, 4)

    return {
        "lap_mm": mm(sheet.lap_m),
        "usual_lap_mm": [mm(sheet.usual_low_m), mm(sheet.usual_high_m)],
        "gap_cold_mm": mm(sheet.gap_cold_m),
        "gap_hot_mm": mm(sheet.gap_hot_m),
        "gap_good": sheet.gap_good,
    }
