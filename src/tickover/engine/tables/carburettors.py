"""The [carburettors] table: what meters the fuel, what can be fitted, what hangs on what."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from pydantic import Field

from tickover.engine.fields import FieldReader, Size, written
from tickover.engine.table import Clash, FallenAway, Table
from tickover.engine.tables.lists import several
from tickover.engine.words import Count, Number, Text, Word
from tickover.errors import InputError
from tickover.quantities import parse

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile

_MOST = 12
_MOST_SIZES = 80


def _mark(value: Any, what: str) -> str:
    """A jet's mark as text: 38, 112.5 or '38'."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise InputError(f"{what} should be a number", given=written(value), instead="[35, 38, 40]")
    text = str(value).strip().replace(",", ".")
    try:
        number = float(text)
    except ValueError:
        number = -1.0
    if not 1.0 <= number <= 2000.0:
        raise InputError(
            f"{what} is no mark of a jet", given=written(value), allowed="1 to 2000",
            instead="[35, 38, 40]",
        )  # fmt: skip
    return f"{number:g}"


@dataclass(frozen=True)
class JetMark(FieldReader):
    """One jet by its mark."""

    what: str

    def read(self, value: Any) -> str:
        return _mark(value, self.what)

    def write(self, value: Any) -> float:
        return float(value)

    def schema(self) -> dict[str, Any]:
        return {"anyOf": [{"type": "number"}, {"type": "string", "pattern": r"^[0-9.,]+$"}]}


@dataclass(frozen=True)
class JetMarks(FieldReader):
    """The marks of a series, small to large."""

    what: str

    def read(self, value: Any) -> tuple[str, ...]:
        if not isinstance(value, list | tuple) or not 0 < len(value) <= _MOST_SIZES:
            raise InputError(
                f"{self.what} should be a list of marks", given=written(value),
                allowed=f"1 to {_MOST_SIZES}", instead="[35, 38, 40]",
            )  # fmt: skip
        marks = tuple(_mark(each, self.what) for each in value)
        if any(float(a) >= float(b) for a, b in pairwise(marks)):
            raise InputError(
                f"{self.what} must rise, each mark once", given=", ".join(marks),
                instead=f"[{', '.join(sorted(set(marks), key=float))}]",
            )  # fmt: skip
        return marks

    def write(self, value: Any) -> list[float]:
        return [float(mark) for mark in value]

    def schema(self) -> dict[str, Any]:
        one = {"anyOf": [{"type": "number"}, {"type": "string"}]}
        return {"type": "array", "items": one, "minItems": 1, "maxItems": _MOST_SIZES}


@dataclass(frozen=True)
class Owned(FieldReader):
    """How many of each mark lie in the drawer, those fitted included: { 38 = 4 }."""

    what: str

    def read(self, value: Any) -> tuple[tuple[str, int], ...]:
        if not isinstance(value, Mapping) or len(value) > _MOST_SIZES:
            raise InputError(
                f"{self.what} should be marks with a count each", given=written(value),
                instead='{ "38" = 4, "40" = 2 }',
            )  # fmt: skip
        count = Count(f"The count in {self.what[0].lower()}{self.what[1:]}", 0, 200)
        return tuple((_mark(mark, self.what), count.read(number)) for mark, number in value.items())

    def write(self, value: Any) -> dict[str, int]:
        return dict(value)

    def schema(self) -> dict[str, Any]:
        return {
            "type": "object",
            "additionalProperties": {"type": "integer", "minimum": 0, "maximum": 200},
        }


@dataclass(frozen=True)
class Profile(FieldReader):
    """Diameters along a needle: pairs of distance below the top groove and diameter."""

    what: str

    def read(self, value: Any) -> tuple[tuple[float, float], ...]:
        if not isinstance(value, list | tuple) or not 2 <= len(value) <= 40:
            raise self._wrong(value)
        found: list[tuple[float, float]] = []
        for pair in value:
            if not isinstance(pair, list | tuple) or len(pair) != 2:
                raise self._wrong(pair)
            place, thick = (self._size(each) for each in pair)
            if not 0.0 <= place <= 0.15 or not 0.3e-3 <= thick <= 8e-3:
                raise InputError(
                    f"{self.what} has a place no needle has", given=written(pair),
                    allowed="0 to 150 mm below the top groove, 0.3 to 8 mm thick",
                )  # fmt: skip
            if found and place <= found[-1][0]:
                raise InputError(
                    f"{self.what} must go down from the top groove", given=written(value),
                    allowed="rising distances",
                )  # fmt: skip
            found.append((place, thick))
        return tuple(found)

    def _size(self, value: Any) -> float:
        if not isinstance(value, str):
            raise self._wrong(value)
        return parse(value, "length", None, self.what).value_si

    def _wrong(self, value: Any) -> InputError:
        return InputError(
            f"{self.what} should be pairs of distance below the top groove and diameter",
            given=written(value), allowed="2 to 40 pairs",
            instead='[["0 mm", "2.51 mm"], ["34 mm", "2.51 mm"], ["60 mm", "1.70 mm"]]',
        )  # fmt: skip

    def write(self, value: Any) -> list[list[str]]:
        return [[f"{place!r} m", f"{thick!r} m"] for place, thick in value]

    def schema(self) -> dict[str, Any]:
        pair = {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2}
        return {"type": "array", "items": pair, "minItems": 2, "maxItems": 40}


@dataclass(frozen=True)
class RackPairs(FieldReader):
    """Screws of a rack: the carburettor nearer to the cable, and the one its screw moves."""

    what: str

    def read(self, value: Any) -> tuple[tuple[str, str], ...]:
        if not isinstance(value, list | tuple) or len(value) > _MOST:
            raise self._wrong(value)
        found = []
        for pair in value:
            names = pair if isinstance(pair, list | tuple) else ()
            if len(names) != 2 or not all(isinstance(name, str) for name in names):
                raise self._wrong(pair)
            near, far = (" ".join(name.split()).lower() for name in names)
            found.append((near, far))
        return tuple(found)

    def _wrong(self, value: Any) -> InputError:
        return InputError(
            f"{self.what} should be pairs of carburettors", given=written(value),
            allowed="nearer to the cable first", instead='[["carb2", "carb1"], ["carb2", "carb3"]]',
        )  # fmt: skip

    def write(self, value: Any) -> list[list[str]]:
        return [list(pair) for pair in value]

    def schema(self) -> dict[str, Any]:
        pair = {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2}
        return {"type": "array", "items": pair, "maxItems": _MOST}


class JetSeries(Table):
    """A family of jets that can be had."""

    sizes: Annotated[tuple[str, ...], JetMarks("The series of jets")] = Field(
        description="The marks, small to large."
    )
    marked: Annotated[
        str, Word("The marking", ("bore", "flow"), {"hole": "bore", "diameter": "bore"})
    ] = Field(default="bore", description="bore: hundredths of a millimetre; or flow.")
    measured_mark: Annotated[str | None, JetMark("The measured jet")] = Field(
        default=None, description="The mark of one jet of the family that was measured."
    )
    measured_bore_m: Annotated[
        float | None, Size("The measured bore", "length", 0.1e-3, 6e-3, 1e-3)
    ] = Field(default=None, alias="measured_bore", description="Its bore, by pin or by timed flow.")
    price: Annotated[float, Number("The price of a jet", 0.0, 1e5)] = Field(
        default=0.0, description="For one."
    )
    owned: Annotated[tuple[tuple[str, int], ...], Owned("The jets owned")] = Field(
        default=(), description="How many of each, those fitted included."
    )


class JetNeedle(Table):
    """A needle that is fitted or can be had."""

    name: Annotated[str, Text("The name of a needle", 24)] = Field(description="As stamped.")
    profile: Annotated[tuple[tuple[float, float], ...], Profile("The needle")] = Field(
        description="Distance below the top groove and diameter, pair by pair."
    )
    clips: Annotated[int, Count("The grooves of a needle", 1, 20)] = Field(
        default=5, description="Number of clip grooves."
    )
    clip_step_m: Annotated[float, Size("The clip step", "length", 2e-4, 5e-3, 9e-4)] = Field(
        default=9e-4, alias="clip_step", description="From groove to groove."
    )
    jet_below_clip_m: Annotated[
        float, Size("The way to the needle jet", "length", 5e-3, 0.1, 0.025)
    ] = Field(
        default=0.025,
        alias="jet_below_clip",
        description="From the top groove to the mouth of the needle jet, slide shut.",
    )
    price: Annotated[float, Number("The price of a needle", 0.0, 1e5)] = Field(
        default=0.0, description="For one."
    )
    owned: Annotated[int, Count("The needles owned", 0, 200)] = Field(
        default=0, description="How many, those fitted included."
    )


class CutSlide(Table):
    """A slide that is fitted or can be had."""

    cutaway_m: Annotated[float, Size("The cutaway", "length", 0.0, 0.015, 0.0025)] = Field(
        alias="cutaway", description="Height of the cutaway at the filter side."
    )
    price: Annotated[float, Number("The price of a slide", 0.0, 1e5)] = Field(
        default=0.0, description="For one."
    )
    owned: Annotated[int, Count("The slides owned", 0, 200)] = Field(
        default=0, description="How many, those fitted included."
    )


class SetUp(Table):
    """Jets, screw and needle as they are in."""

    pilot: Annotated[str, JetMark("The pilot jet")] = Field(description="Its mark.")
    screw_turns: Annotated[float, Number("The turns of the screw", 0.0, 12.0)] = Field(
        description="Out from lightly seated."
    )
    cutaway_m: Annotated[float | None, Size("The cutaway", "length", 0.0, 0.015, 0.0025)] = Field(
        default=None, alias="cutaway", description="Of the slide that is in."
    )
    needle: Annotated[str | None, Text("The needle", 24)] = Field(
        default=None, description="Its name."
    )
    clip: Annotated[int, Count("The clip groove", 1, 20)] = Field(
        default=3, description="Groove counted from the top; the top one is leanest."
    )
    main: Annotated[str, JetMark("The main jet")] = Field(description="Its mark.")


class KnownGood(SetUp):
    """A set-up that ran right, and the state it ran right in."""

    altitude_m: Annotated[float, Size("The height above the sea", "length", -500.0, 6000.0, 200.0,
                                      natural="m")] = Field(
        default=0.0, alias="altitude", description="Where it ran right."
    )  # fmt: skip
    temperature_k: Annotated[
        float, Size("The air temperature", "temperature", 243.15, 323.15, 293.15)
    ] = Field(default=293.15, alias="temperature", description="Of the air it ran right in.")
    box_depression_pa: Annotated[
        float, Size("The depression in the air box", "pressure", 0.0, 8000.0, 490.0,
                    natural="cmH2O")
    ] = Field(
        default=0.0,
        alias="box_depression",
        description="Measured in the box at full throttle; 0 with open filters.",
    )  # fmt: skip
    silencers: Annotated[
        str, Word("The silencers", ("standard", "baffled", "open"), {"original": "standard"})
    ] = Field(default="standard", description="Then: standard, baffled, or open.")


class Carburettors(Table):
    """What meters the fuel."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = (
        "Mixture advice, and which jets to buy",
        "Carburettor balance",
    )

    number: Annotated[int | None, Count("The carburettors", 1, _MOST)] = Field(
        default=None, description="How many; as in [fuel], else one for each cylinder."
    )
    kind: Annotated[
        str,
        Word("The carburettor", ("slide", "constant velocity"),
             {"mechanical": "slide", "cv": "constant velocity", "vacuum": "constant velocity"}),
    ] = Field(default="slide", description="slide, or constant velocity.")  # fmt: skip
    bore_m: Annotated[float | None, Size("The carburettor bore", "length", 8e-3, 0.06, 0.026)] = (
        Field(default=None, alias="bore", description="At the slide.")
    )
    needle_jet_m: Annotated[float | None, Size("The needle jet", "length", 1e-3, 6e-3, 2.6e-3)] = (
        Field(default=None, alias="needle_jet", description="Its bore.")
    )
    screw: Annotated[
        str, Word("The mixture screw", ("mixture", "air"), {"fuel": "mixture", "pilot": "mixture"})
    ] = Field(default="mixture", description="mixture (out is richer) or air (out is leaner).")
    pilot_air_jet_m: Annotated[
        float | None, Size("The pilot air jet", "length", 0.3e-3, 5e-3, 1.5e-3)
    ] = Field(default=None, alias="pilot_air_jet", description="Its bore.")
    main_air_jet_m: Annotated[
        float | None, Size("The main air jet", "length", 0.2e-3, 5e-3, 0.7e-3)
    ] = Field(default=None, alias="main_air_jet", description="Its bore.")
    float_level_m: Annotated[float | None, Size("The float level", "length", 0.0, 0.03, 3e-3)] = (
        Field(
            default=None, alias="float_level", description="Fuel below the mouth of the needle jet."
        )
    )
    idle_lift_m: Annotated[float | None, Size("The idle lift", "length", 0.0, 5e-3, 5e-4)] = Field(
        default=None, alias="idle_lift", description="Of the slide at idle."
    )
    piston_drop_pa: Annotated[
        float | None,
        Size("The drop a piston rides at", "pressure", 200.0, 6000.0, 1600.0, natural="kPa"),
    ] = Field(
        default=None, alias="piston_drop", description="Of a constant-velocity piston, mid lift."
    )
    bowl_vent: Annotated[
        str, Word("The bowl vent", ("air", "box"), {"atmosphere": "air", "airbox": "box"})
    ] = Field(default="air", description="Where the bowls are vented: air, or box.")
    idle_hz: Annotated[float, Size("The idle speed", "speed", 8.0, 40.0, 20.0)] = Field(
        default=20.0, alias="idle_speed", description="Crank speed at idle."
    )
    top_hz: Annotated[float, Size("The top speed of the crank", "speed", 40.0, 320.0, 141.7)] = (
        Field(default=141.66666666666666, alias="top_speed", description="Crank speed, flat out.")
    )
    best_hz: Annotated[float | None, Size("The best speed", "speed", 30.0, 300.0, 116.7)] = Field(
        default=None, alias="best_speed", description="Crank speed of most torque."
    )
    pilots: JetSeries | None = Field(default=None, description="Pilot jets that can be had.")
    mains: JetSeries | None = Field(default=None, description="Main jets that can be had.")
    needles: Annotated[tuple[JetNeedle, ...], several("carburettors.needles")] = Field(
        default=(), description="Needles that can be had, the fitted one among them."
    )
    slides: Annotated[tuple[CutSlide, ...], several("carburettors.slides")] = Field(
        default=(), description="Slides that can be had, the fitted one among them."
    )
    fitted: SetUp | None = Field(default=None, description="What is in.")
    known_good: KnownGood | None = Field(default=None, description="What ran right, and when.")
    rack: Annotated[tuple[tuple[str, str], ...] | None, RackPairs("The rack")] = Field(
        default=None, description="Which carburettor hangs on which by a screw."
    )

    def count(self, whole: EngineFile) -> int:
        """How many carburettors there are."""
        if self.number is not None:
            return self.number
        if whole.fuel is not None:
            return whole.fuel.carburettor_count(whole.engine.cylinders)
        return whole.engine.cylinders

    def clashes(self, whole: EngineFile) -> Iterator[Clash]:
        """A set-up is made of parts that are listed, and the rack is a tree."""
        for name, series in (("pilots", self.pilots), ("mains", self.mains)):
            if series is not None:
                yield from _series_clashes(name, series)
        for name, setup in (("fitted", self.fitted), ("known_good", self.known_good)):
            if setup is not None:
                yield from self._setup_clashes(name, setup)
        if self.needle_jet_m is not None:
            for index, needle in enumerate(self.needles):
                thickest = max(thick for _, thick in needle.profile)
                if thickest > self.needle_jet_m:
                    yield Clash(
                        ("carburettors", "needles", index, "profile"),
                        InputError("The needle does not pass its jet",
                                   given=f"{thickest * 1e3:g} mm",
                                   allowed=f"up to {self.needle_jet_m * 1e3:g} mm"),
                    )  # fmt: skip
        if self.rack is not None:
            yield from _rack_clashes(self.rack, self.count(whole))

    def _setup_clashes(self, name: str, setup: SetUp) -> Iterator[Clash]:
        for key, mark, series in (
            ("pilot", setup.pilot, self.pilots),
            ("main", setup.main, self.mains),
        ):
            if series is not None and mark not in series.sizes:
                yield Clash(
                    ("carburettors", name, key),
                    InputError("This jet is not in the series", given=mark,
                               allowed=", ".join(series.sizes),
                               instead=min(series.sizes, key=lambda s: abs(float(s) - float(mark)))
                               + f", or {mark} among the sizes"),
                )  # fmt: skip
        names = [needle.name for needle in self.needles]
        if setup.needle is not None and names and setup.needle not in names:
            yield Clash(
                ("carburettors", name, "needle"),
                InputError("This needle is not described", given=setup.needle,
                           allowed=", ".join(names)),
            )  # fmt: skip
        chosen = [n for n in self.needles if setup.needle in (None, n.name)]
        if chosen and setup.clip > chosen[0].clips:
            yield Clash(
                ("carburettors", name, "clip"),
                InputError("This needle has no such groove", given=str(setup.clip),
                           allowed=f"1 (top, leanest) to {chosen[0].clips} (richest)"),
            )  # fmt: skip
        cuts = [slide.cutaway_m for slide in self.slides]
        if setup.cutaway_m is not None and cuts and setup.cutaway_m not in cuts:
            yield Clash(
                ("carburettors", name, "cutaway"),
                InputError("No slide with this cutaway is listed",
                           given=f"{setup.cutaway_m * 1e3:g} mm",
                           allowed=", ".join(f"{c * 1e3:g} mm" for c in cuts)),
            )  # fmt: skip

    def fallen_away(self, whole: EngineFile) -> Iterator[FallenAway]:
        """What cannot be worked out from what is here."""
        for key, value in (
            ("bore", self.bore_m), ("needle_jet", self.needle_jet_m), ("pilots", self.pilots),
            ("mains", self.mains), ("needles", self.needles), ("fitted", self.fitted),
        ):  # fmt: skip
            if not value:
                yield FallenAway("Mixture advice", f"[carburettors] {key}")
                break
        if self.known_good is None:
            yield FallenAway("Which jets to buy before the start", "[carburettors.known_good]")


def _series_clashes(name: str, series: JetSeries) -> Iterator[Clash]:
    if series.marked == "flow" and (series.measured_mark is None or series.measured_bore_m is None):
        yield Clash(
            ("carburettors", name, "marked"),
            InputError("Jets marked by flow need one of them measured", given="flow",
                       allowed="measured_mark and measured_bore",
                       instead='measured_mark = 100 and measured_bore = "0.94 mm" (yours)'),
        )  # fmt: skip
    for mark, _ in series.owned:
        if mark not in series.sizes:
            yield Clash(
                ("carburettors", name, "owned"),
                InputError("A jet that is owned is not among the sizes", given=mark,
                           allowed=", ".join(series.sizes)),
            )  # fmt: skip


def _rack_clashes(rack: tuple[tuple[str, str], ...], count: int) -> Iterator[Clash]:
    names = {f"carb{k + 1}" for k in range(count)}
    strange = sorted({name for pair in rack for name in pair} - names)
    key = ("carburettors", "rack")
    if strange:
        yield Clash(
            key,
            InputError("The rack names something that is no carburettor of this engine",
                       given=", ".join(strange), allowed=", ".join(sorted(names))),
        )  # fmt: skip
        return
    hung = [far for _, far in rack]
    roots = names - set(hung)
    reached = set(roots)
    for _ in rack:
        reached |= {far for near, far in rack if near in reached}
    if len(set(hung)) != len(hung) or len(roots) != 1 or reached != names:
        yield Clash(
            key,
            InputError("The rack is no tree from the cable to every carburettor",
                       given=", ".join(f"{near} to {far}" for near, far in rack),
                       allowed="each carburettor but the cable's hangs on exactly one screw"),
        )  # fmt: skip
