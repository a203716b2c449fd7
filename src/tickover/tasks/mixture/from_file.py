"""The engine file as the mixture task needs it, with everything that had to be assumed."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tickover.engine import EngineFile
from tickover.engine.tables.carburettors import Carburettors, JetNeedle, JetSeries, SetUp
from tickover.errors import InputError
from tickover.physics.carburettor.jets import MeasuredPair, bore_of_mark
from tickover.physics.carburettor.parts import Breathing, Carburettor, Needle, Setting
from tickover.tasks.balance import Rack, Screw, row_rack
from tickover.tasks.mixture.advice import Machine
from tickover.tasks.mixture.drawer import Drawer, HungNeedle, Jet, Slide
from tickover.tasks.mixture.trim import Trim

# What a carburettor has when nobody says, for one of 26 mm; holes grow with the bore, areas with
# its square (our assumption).
_AT_BORE = 26e-3
_IDLE_LIFT, _PILOT_AIR, _MAIN_AIR = 0.5e-3, 2.2e-3, 0.7e-3
_PILOT_OUTLET, _SCREW_AREA = 0.12e-6, 0.04e-6
_CUTAWAY = 0.1  # of the bore
_FLOAT_LEVEL, _PISTON_PA = 3e-3, 1600.0


@dataclass(frozen=True, slots=True)
class FromFile:
    """A machine with its set-ups, and what was assumed."""

    machine: Machine
    fitted: Setting
    known_good: tuple[Setting, Trim] | None
    assumed: tuple[str, ...]


def has_mixture(ef: EngineFile) -> bool:
    """Whether the engine file says enough for mixture advice."""
    table = ef.carburettors
    return (
        table is not None
        and ef.engine.bore_m is not None
        and ef.engine.stroke_m is not None
        and None not in (table.bore_m, table.needle_jet_m)
        and None not in (table.pilots, table.mains, table.fitted)
        and bool(table.needles)
    )


def machine_from_file(ef: EngineFile) -> FromFile:
    """What the mixture task needs of an engine.

    Parameters
    ----------
    ef : EngineFile

    Returns
    -------
    FromFile

    Raises
    ------
    InputError
        If a key is left out without which nothing can be said.
    """
    table = ef.carburettors
    if table is None:
        raise InputError(
            "The engine file says nothing of carburettors",
            allowed="a [carburettors] table",
            instead="[carburettors] with bore, needle_jet, pilots, mains, needles and fitted",
            where=ef.engine.name,
        )
    if ef.engine.bore_m is None or ef.engine.stroke_m is None:
        raise InputError(
            "The mixture needs the size of a cylinder",
            allowed="bore and stroke under [engine]",
            instead='bore = "61 mm" and stroke = "61.5 mm" (yours)',
            where=ef.engine.name,
        )
    if table.bore_m is None or table.needle_jet_m is None:
        raise _missing(ef, "bore" if table.bore_m is None else "needle_jet")
    if table.pilots is None or table.mains is None:
        raise _missing(ef, "pilots" if table.pilots is None else "mains")
    if not table.needles or table.fitted is None:
        raise _missing(ef, "needles" if not table.needles else "fitted")
    assumed: list[str] = []
    carburettor = _carburettor(table, table.bore_m, table.needle_jet_m, assumed)
    count = table.count(ef)
    swept = 0.25 * math.pi * ef.engine.bore_m**2 * ef.engine.stroke_m
    swept *= ef.engine.cylinders / count
    top = 60.0 * table.top_hz
    ratio = ef.engine.compression_ratio or 9.0
    if ef.engine.compression_ratio is None:
        assumed.append("compression ratio 9")
    best = 60.0 * table.best_hz if table.best_hz is not None else 0.8 * top
    engine = Breathing(swept, ratio, best)
    drawer = _drawer(table, count)
    fitted = _setting(table.fitted, table, drawer, carburettor)
    good = None
    if table.known_good is not None:
        known = table.known_good
        good = (
            _setting(known, table, drawer, carburettor),
            Trim(
                "known good",
                known.altitude_m,
                known.temperature_k,
                0.5,
                known.box_depression_pa,
                known.silencers != "open",
            ),
        )
    machine = Machine(carburettor, engine, drawer, 60.0 * table.idle_hz, top)
    return FromFile(machine, fitted, good, tuple(assumed))


def rack_from_file(ef: EngineFile) -> Rack:
    """The rack of the engine file; in a row from the first carburettor where it says none.

    Parameters
    ----------
    ef : EngineFile

    Returns
    -------
    Rack

    Raises
    ------
    InputError
        If there is only one carburettor.
    """
    table = ef.carburettors
    count = ef.engine.cylinders if table is None else table.count(ef)
    if count < 2:
        raise InputError(
            "There is nothing to balance on one carburettor",
            given=ef.engine.name,
            allowed="two carburettors or more",
            instead="number = 2 under [carburettors] if there are more",
        )
    if table is None or table.rack is None:
        return row_rack(count)
    names = tuple(f"carb{k + 1}" for k in range(count))
    hung = {far for _, far in table.rack}
    base = next(name for name in names if name not in hung)
    screws = tuple(
        Screw(f"screw {near.removeprefix('carb')}-{far.removeprefix('carb')}", near, far)
        for near, far in table.rack
    )
    return Rack(names, base, screws)


def setting_changed(setting: Setting, drawer: Drawer, changes: dict[str, str]) -> Setting:
    """A setting with some things changed, as a person writes them.

    Parameters
    ----------
    setting : Setting
    drawer : Drawer
    changes : dict
        "pilot", "main" (marks), "screw" (turns), "clip" (groove), "needle" (name), "cutaway" (mm)

    Returns
    -------
    Setting

    Raises
    ------
    InputError
        If a jet, needle or slide is not listed, or the needle has no such groove.
    """
    from tickover.tasks.mixture.drawer import jet_marked

    changed = setting
    for what, text in changes.items():
        if what == "pilot":
            jet = jet_marked(drawer.pilots, text, "pilot jet")
            changed = changed.with_(pilot_jet=jet.bore)
        elif what == "main":
            changed = changed.with_(main_jet=jet_marked(drawer.mains, text, "main jet").bore)
        elif what == "screw":
            changed = changed.with_(screw_turns=_number(text, "The turns of the screw"))
        elif what == "clip":
            changed = changed.with_(clip=_groove(text))
        elif what == "needle":
            changed = changed.with_(needle=_needle_named(drawer, text))
        elif what == "cutaway":
            changed = changed.with_(cutaway=_cutaway(drawer, text))
        else:
            raise InputError(
                "This is nothing that can be set on a carburettor",
                given=what,
                allowed="pilot, main, screw, clip, needle, cutaway",
                instead="'main 102'",
            )
    return changed


def _number(text: str, what: str) -> float:
    from tickover.quantities import parse_number

    return float(parse_number(text.split()[0] if text.split() else text, what))


def _groove(text: str) -> int:
    value = _number(text.lower().removeprefix("groove").strip(), "The clip groove")
    if value != int(value):
        raise InputError("A groove is counted whole", given=text, instead="'3'")
    return int(value)


def _needle_named(drawer: Drawer, text: str) -> Needle:
    for hung in drawer.needles:
        if hung.needle.name.casefold() == text.strip().casefold():
            return hung.needle
    names = ", ".join(hung.needle.name for hung in drawer.needles)
    raise InputError(
        "This needle is not described", given=text, allowed=names,
        instead="one of these, or describe it in the engine file",
    )  # fmt: skip


def _cutaway(drawer: Drawer, text: str) -> float:
    value = _number(text.lower().removesuffix("mm").strip(), "The cutaway") * 1e-3
    for slide in drawer.slides:
        if abs(slide.cutaway - value) < 5e-5:
            return slide.cutaway
    raise InputError(
        "No slide with this cutaway is listed", given=text,
        allowed=", ".join(f"{1e3 * s.cutaway:g} mm" for s in drawer.slides),
        instead="one of these, or list it in the engine file",
    )  # fmt: skip


def _missing(ef: EngineFile, key: str) -> InputError:
    examples = {
        "bore": 'bore = "26 mm"',
        "needle_jet": 'needle_jet = "2.6 mm"',
        "pilots": "pilots = { sizes = [35, 38, 40] }",
        "mains": "mains = { sizes = [90, 95, 100] }",
        "needles": "a [[carburettors.needles]] with its name and profile",
        "fitted": "fitted = { pilot = 38, screw_turns = 1.5, clip = 3, main = 95 }",
    }
    return InputError(
        f"The mixture cannot be worked out without {key} of the carburettors",
        allowed="bore, needle_jet, pilots, mains, needles and fitted in [carburettors]",
        instead=f"{examples[key]} (yours) under [carburettors]",
        where=ef.engine.name,
    )


def _carburettor(
    table: Carburettors, bore: float, needle_jet: float, assumed: list[str]
) -> Carburettor:
    grow = bore / _AT_BORE
    for key, value, words in (
        ("pilot_air_jet", table.pilot_air_jet_m, f"pilot air jet {_PILOT_AIR * grow * 1e3:.1f} mm"),
        ("main_air_jet", table.main_air_jet_m, f"main air jet {_MAIN_AIR * grow * 1e3:.1f} mm"),
        ("float_level", table.float_level_m, "fuel 3 mm below the needle jet"),
        ("idle_lift", table.idle_lift_m, f"slide {_IDLE_LIFT * grow * 1e3:.1f} mm up at idle"),
    ):
        if value is None:
            assumed.append(f"{words} ({key} is left out)")
    floats = table.kind == "constant velocity"
    if floats and table.piston_drop_pa is None:
        assumed.append("a piston that rides at 1.6 kPa (piston_drop is left out)")
    return Carburettor(
        bore=bore,
        needle_jet=needle_jet,
        kind="constant velocity" if floats else "slide",
        screw="air" if table.screw == "air" else "mixture",
        # An air screw opens the bleed, which is a hole thirty times the outlet's.
        screw_area=_SCREW_AREA * grow**2 * (30.0 if table.screw == "air" else 1.0),
        pilot_outlet=_PILOT_OUTLET * grow**2 * (1.5 if table.screw == "air" else 1.0),
        pilot_air_jet=table.pilot_air_jet_m or _PILOT_AIR * grow,
        main_air_jet=_MAIN_AIR * grow if table.main_air_jet_m is None else table.main_air_jet_m,
        main_height=_FLOAT_LEVEL if table.float_level_m is None else table.float_level_m,
        idle_lift=_IDLE_LIFT * grow if table.idle_lift_m is None else table.idle_lift_m,
        bowl_vent="box" if table.bowl_vent == "box" else "air",
        piston_pressure=table.piston_drop_pa or _PISTON_PA,
    )


def _jets(series: JetSeries) -> tuple[Jet, ...]:
    pair = None
    if series.measured_mark is not None and series.measured_bore_m is not None:
        pair = MeasuredPair(float(series.measured_mark), series.measured_bore_m)
    owned = dict(series.owned)
    return tuple(
        Jet(
            mark,
            bore_of_mark(float(mark), "flow" if series.marked == "flow" else "bore", pair),
            series.price,
            owned.get(mark, 0),
        )
        for mark in series.sizes
    )


def _needle(described: JetNeedle) -> Needle:
    return Needle(
        described.name,
        tuple(place for place, _ in described.profile),
        tuple(thick for _, thick in described.profile),
        described.clips,
        described.clip_step_m,
        described.jet_below_clip_m,
    )


def _drawer(table: Carburettors, count: int) -> Drawer:
    assert table.pilots is not None
    assert table.mains is not None
    assert table.fitted is not None
    assert table.bore_m is not None
    slides = tuple(Slide(s.cutaway_m, s.price, s.owned) for s in table.slides)
    if not slides:
        cutaway = table.fitted.cutaway_m
        slides = (Slide(_CUTAWAY * table.bore_m if cutaway is None else cutaway, 0.0, count),)
    fitted_needle = table.fitted.needle or table.needles[0].name
    needles = tuple(
        HungNeedle(_needle(n), n.price, max(n.owned, count if n.name == fitted_needle else 0))
        for n in table.needles
    )
    return Drawer(
        pilots=_with_fitted(_jets(table.pilots), table.fitted.pilot, count),
        mains=_with_fitted(_jets(table.mains), table.fitted.main, count),
        needles=needles,
        slides=tuple(sorted(slides, key=lambda s: s.cutaway)),
        carburettors=count,
    )


def _with_fitted(jets: tuple[Jet, ...], mark: str, count: int) -> tuple[Jet, ...]:
    """What is in is owned, whether or not it was written down."""
    return tuple(
        Jet(j.mark, j.bore, j.price, max(j.owned, count if j.mark == mark else 0)) for j in jets
    )


def _setting(
    setup: SetUp, table: Carburettors, drawer: Drawer, carburettor: Carburettor
) -> Setting:
    pilots = {jet.mark: jet.bore for jet in drawer.pilots}
    mains = {jet.mark: jet.bore for jet in drawer.mains}
    needles = {hung.needle.name: hung.needle for hung in drawer.needles}
    cutaway = setup.cutaway_m
    if cutaway is None:
        cutaway = drawer.slides[0].cutaway
    return Setting(
        pilot_jet=pilots[setup.pilot],
        screw_turns=setup.screw_turns,
        cutaway=cutaway,
        needle=needles[setup.needle or table.needles[0].name],
        clip=setup.clip,
        main_jet=mains[setup.main],
    )
