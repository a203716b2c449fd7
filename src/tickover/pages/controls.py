"""The page of the controls: what to try at grip and levers, the pull worked out, cables to make."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.controls import Cable
from tickover.errors import InputError
from tickover.pages.checks import WantedLine, wanted_of
from tickover.pages.head import Head
from tickover.pages.why import Why
from tickover.pages.wording import STATE_WORDS, count_words, sentence
from tickover.plan.checks import check_states
from tickover.quantities import show
from tickover.tasks import controls
from tickover.tasks.controls import Pull, throttle_pull
from tickover.tasks.fabrication import CableSheet, cable_sheet
from tickover.tasks.simple import limit_words

CABLE_CAUTIONS = (
    "Brake cables are not made at home.",
    "Every home-made cable is proof-pulled before use, with the load its maker states. Stand aside "
    "and wear goggles: a cable that lets go whips.",
    "Solder and flux: fresh air, no flame near fuel, wash your hands.",
)
_NO_CONTROLS = "The engine file names no controls yet; they stand under [controls]."


@dataclass(frozen=True, slots=True)
class ControlLine:
    """One check of the controls as shown."""

    name: str
    place: str
    title: str
    state: str
    state_words: str
    text: str
    limits: str
    proves: str
    how: str
    cautions: tuple[str, ...]
    wanted: WantedLine


@dataclass(frozen=True, slots=True)
class CableLine:
    """One cable as shown; lengths and loads in words, empty where they cannot be told."""

    name: str
    use: str
    outer: str
    inner: str
    spare: str
    solder: str
    proof: str
    missing: tuple[str, ...]
    refused: str
    sheet: CableSheet | None


@dataclass(frozen=True, slots=True)
class ControlsPage:
    """Everything the page, sheet, screen and JSON of the controls show."""

    head: Head | None
    title: str
    verdict: str
    lines: tuple[ControlLine, ...]
    pull: str
    cables: tuple[CableLine, ...]
    whys: tuple[Why, ...]
    cautions: tuple[str, ...]
    nothing: str

    @property
    def all_good(self) -> bool:
        """Whether there are checks and every one is good or accepted."""
        return bool(self.lines) and all(line.state in ("good", "accepted") for line in self.lines)


def controls_page(engine: EngineFile, state: State, head: Head | None = None) -> ControlsPage:
    """The page of the controls of a build, or of an engine file with an empty state."""
    names = {(c.name, c.place) for c in controls.checks(engine, state)}
    lines = tuple(
        ControlLine(
            item.check.name, item.check.place, item.check.title, item.state,
            STATE_WORDS[item.state],
            f"void: {item.void.why}" if item.void is not None and item.state == "stale"
            else (item.finding.text if item.finding else ""),
            limit_words(engine, item.check), item.check.proves, item.check.how,
            item.check.cautions, wanted_of(engine, item.check),
        )
        for item in check_states(engine, state)
        if item.check.key in names
    )  # fmt: skip
    left = sum(line.state not in ("good", "accepted") for line in lines)
    pull = throttle_pull(engine.controls) if engine.controls is not None else None
    return ControlsPage(
        head=head,
        title="Controls",
        verdict=sentence(
            f"all {count_words(len(lines))} are good" if lines and not left
            else f"{count_words(left)} of {count_words(len(lines))} still to prove"
        ) if lines else "Nothing is asked for.",
        lines=lines,
        pull=_pull_words(engine, pull),
        cables=tuple(cable_line(engine, cable) for cable in engine.cables),
        whys=(*(() if pull is None else (WHY_PULL,)), *((WHY_CABLE,) if engine.cables else ())),
        cautions=CABLE_CAUTIONS if engine.cables else (),
        nothing="" if lines else _NO_CONTROLS,
    )  # fmt: skip


def cable_line(engine: EngineFile | None, cable: Cable) -> CableLine:
    """One cable in words; what cannot stand is refused in one sentence."""
    unit = engine.show.unit("length") if engine is not None else "mm"
    force = engine.show.unit("force") if engine is not None else "N"
    try:
        sheet = cable_sheet(cable)
    except InputError as wrong:
        return CableLine(cable.name, cable.use, "", "", "", "", "", (), str(wrong), None)

    def length(metres: float) -> str:
        # Nobody cuts a cable closer than half a millimetre.
        return show(metres, unit, "length", decimals={"mm": 0, "cm": 1}.get(unit, 2))

    outer = inner = spare = solder = proof = ""
    if sheet.lengths is not None:
        outer = f"{length(sheet.lengths.outer)}, without its caps"
        inner = f"{length(sheet.lengths.inner)} between the faces of the nipples"
        spare = length(sheet.lengths.spare_travel)
    if sheet.solder_m is not None:
        solder = f"at least {show(sheet.solder_m, unit, 'length', decimals=1)}, strands spread"
    if cable.proof_load_n is not None:
        proof = show(cable.proof_load_n, force, "force")
        if sheet.proof is not None:
            proof += (
                f": {sheet.proof.times_working:.1f} times the greatest pull in use, "
                f"{100 * sheet.proof.share_of_breaking:.0f} % of what breaks the inner"
            )
    return CableLine(
        cable.name, cable.use, outer, inner, spare, solder, proof,
        tuple(sentence(words) for words in sheet.missing), "", sheet,
    )  # fmt: skip


def _pull_words(engine: EngineFile, pull: Pull | None) -> str:
    if pull is None:
        return ""
    unit = engine.show.unit("length")
    words = (
        f"{pull.turn_deg:.0f}° of the grip from where the slides begin to move to fully open: "
        f"{show(pull.cable_m, unit, 'length', decimals=1)} of cable on a drum of "
        f"{show(2 * pull.drum_radius_m, unit, 'length', decimals=1)}"
    )
    if not pull.comfortable:
        words += "; more than the quarter turn that is comfortable, a larger drum would shorten it"
    return sentence(words)


WHY_PULL = Why(
    "Turn of the grip",
    ("drum of the grip, slide travel, pull ratio from the engine file",),
    "turn = slide travel / pull ratio / drum radius, from where the slides begin to move",
    "geometry; a quarter turn as comfortable is common practice, no source",
    f"{100 * controls.PULL_SHARE:.0f} % either way still agrees (our assumption)",
)
WHY_CABLE = Why(
    "Lengths and solder of a cable",
    ("route from seat to seat, end caps, bare ends, travel, adjusters; loads from the makers",),
    "outer = route - caps - adjusters out; inner = route + both bare ends; solder length = "
    "breaking load / (0.8 x shear strength x π x diameter)",
    "plain adding up; fill of 0.8 from Handy & Harman, The Brazing Book; spread strands and proof "
    "pull are common practice, no source",
    "lay the route twice: a bend taken wider is the largest error",
)


def cable_json(line: CableLine) -> dict[str, Any]:
    """One cable as JSON: lengths in mm, forces in N."""

    def mm(value: float | None) -> float | None:
        return None if value is None else round(value * 1e3, 3)

    sheet = line.sheet
    lengths = sheet.lengths if sheet is not None else None
    return {
        "name": line.name,
        "use": line.use,
        "outer_mm": mm(lengths.outer) if lengths else None,
        "inner_mm": mm(lengths.inner) if lengths else None,
        "spare_travel_mm": mm(lengths.spare_travel) if lengths else None,
        "solder_mm": mm(sheet.solder_m) if sheet else None,
        "proof_load_n": sheet.cable.proof_load_n if sheet else None,
        "proof_of_breaking": round(sheet.proof.share_of_breaking, 4)
        if sheet and sheet.proof
        else None,
        "proof_of_working": round(sheet.proof.times_working, 4) if sheet and sheet.proof else None,
        "missing": list(line.missing),
        "refused": line.refused or None,
    }
