"""The model: defaults, what falls away, marks, units shown, and a table added by somebody else."""

from pathlib import Path
from typing import Annotated, ClassVar

import pytest
from pydantic import Field, ValidationError

from tickover.engine import (
    EngineFile,
    firing_intervals,
    load_engine_file,
    marked_tdc_events,
    parse_engine_file,
    tdc_events,
)
from tickover.engine.fields import Size
from tickover.engine.table import Table
from tickover.errors import EngineFileError
from tickover.quantities import UNITS_SHOWN, show

EXAMPLES = sorted((Path(__file__).parents[3] / "examples" / "engines").glob("*.toml"))
BARE = '[engine]\nname = "Bare"\nlayout = "inline"\ncylinders = 4\n'


def gone(text: str) -> dict[str, str]:
    return {each.because: each.check for each in parse_engine_file(text).fallen_away()}


def test_only_the_engine_must_be_there() -> None:
    ef = parse_engine_file(BARE)
    assert (ef.cams, ef.valves, ef.shims, ef.blades) == (None, None, None, None)
    assert ef.engine.firing_order == ()
    assert ef.engine.firing_angles_deg == ()
    assert (tdc_events(ef), marked_tdc_events(ef), firing_intervals(ef)) == ((), (), ())


def test_what_is_left_out_is_named_with_the_check_that_falls_away() -> None:
    missing = gone(BARE)
    assert missing["engine.firing_order"] == "Plug leads against the firing order"
    for key in ("engine.bore", "engine.stroke", "engine.rod", "engine.compression_ratio",
                "[cams]", "[valves]", "[blades]"):  # fmt: skip
        assert key in missing
    with_valves = gone(BARE + '[valves]\nadjustment = "shim over bucket"\n[cams]\n')
    for key in ("valves.inlet_clearance", "valves.exhaust_clearance", "[shims]", "cams.inlet",
                "cams.exhaust", "cams.arrangement"):  # fmt: skip
        assert key in with_valves
    assert "[valves]" not in with_valves
    assert "[cams]" not in with_valves


def test_a_screw_engine_misses_no_shims_and_a_self_adjusting_one_no_limits() -> None:
    assert "[shims]" not in gone(BARE + '[valves]\nadjustment = "screw and locknut"\n')
    assert "valves.inlet_clearance" not in gone(BARE + '[valves]\nadjustment = "none"\n')


def test_a_whole_file_has_nothing_fallen_away() -> None:
    triple = next(path for path in EXAMPLES if path.name == "triple-240.toml")
    assert load_engine_file(triple).fallen_away() == ()


def test_firing_angles_that_cannot_be_spaced_evenly_fall_away() -> None:
    text = BARE.replace('"inline"', '"flat"') + "firing_order = [1, 4, 3, 2]\n"
    assert "engine.firing_angles" in gone(text)
    text = '[engine]\nname = "a"\nlayout = "V"\ncylinders = 2\n'
    assert "engine.v_angle" in gone(text)


def test_the_model_is_frozen_and_hashable() -> None:
    ef = parse_engine_file(BARE)
    with pytest.raises(ValidationError):
        ef.engine.bore_m = 0.07  # type: ignore[misc]
    assert {ef: 1}[parse_engine_file(BARE)] == 1


@pytest.mark.parametrize(
    "engine",
    [
        'layout = "single"\ncylinders = 2',
        'layout = "inline"\ncylinders = 1',
        'layout = "V"\ncylinders = 1',
        'layout = "inline"\ncylinders = 2\nv_angle = "45 deg"',
        'layout = "inline"\ncylinders = 2\ncrankpins = "shared"',
        'layout = "inline"\ncylinders = 4\ncrank = "180 deg"',
        'layout = "inline"\ncylinders = 4\nbanks = [[1, 2], [3, 4]]',
        'layout = "flat"\ncylinders = 4\nbanks = [[1, 2], [3, 3]]',
        'layout = "flat"\ncylinders = 4\nbanks = [[1], [2], [3, 4]]',
        'layout = "V"\ncylinders = 2\nv_angle = "200 deg"',
        'layout = "V"\ncylinders = 2\nv_angle = "50 deg"\ncrankpins = "two"',
        'layout = "inline"\ncylinders = 3\nfiring_angles = [0, 240, 480]',
        'layout = "inline"\ncylinders = 2\ncrank = "180 deg"\nfiring_angles = [0, 360]',
    ],
)
def test_what_the_layout_does_not_allow_is_one_clear_problem(engine: str) -> None:
    with pytest.raises(EngineFileError) as caught:
        parse_engine_file(f'[engine]\nname = "a"\n{engine}\n')
    (problem,) = caught.value.problems
    # The last key written is the one that does not fit.
    assert problem.line == engine.count("\n") + 3
    assert problem.key.startswith("engine." + engine.split("\n")[-1].split(" =")[0])


def test_crankpins_are_shared_or_offset() -> None:
    def offset(word: str) -> float | None:
        text = (
            f'[engine]\nname = "a"\nlayout = "V"\ncylinders = 2\nv_angle = 50\ncrankpins = "{word}"'
        )
        return parse_engine_file(text).engine.pin_offset_deg

    assert (offset("shared"), offset("Offset 80 deg"), offset("offset 80")) == (0.0, 80.0, 80.0)


def test_camshafts_per_bank_need_banks() -> None:
    with pytest.raises(EngineFileError) as caught:
        parse_engine_file(BARE + '[cams]\narrangement = "two camshafts per bank"\n')
    (problem,) = caught.value.problems
    assert (problem.line, problem.instead) == (6, '"two camshafts"')


def test_both_tops_of_every_cylinder_in_the_order_of_the_crank() -> None:
    ef = parse_engine_file(BARE + "firing_order = [1, 2, 4, 3]\n")
    assert [tuple(event) for event in tdc_events(ef)] == [
        (0.0, 1, "firing"), (0.0, 4, "overlap"),
        (180.0, 2, "firing"), (180.0, 3, "overlap"),
        (360.0, 4, "firing"), (360.0, 1, "overlap"),
        (540.0, 3, "firing"), (540.0, 2, "overlap"),
    ]  # fmt: skip
    assert firing_intervals(ef) == (180.0, 180.0, 180.0, 180.0)


def test_a_mark_serves_the_cylinders_that_rise_together() -> None:
    text = BARE + "firing_order = [1, 2, 4, 3]\n[marks]\n"
    assert marked_tdc_events(parse_engine_file(text)) == tdc_events(parse_engine_file(text))
    only_one = marked_tdc_events(parse_engine_file(text + "tdc = [1]\n"))
    assert {(event.crank_deg, event.cylinder) for event in only_one} == {
        (0.0, 1), (0.0, 4), (360.0, 4), (360.0, 1),
    }  # fmt: skip
    assert marked_tdc_events(parse_engine_file(text + "tdc = []\n")) == ()


def test_units_are_shown_as_asked_and_otherwise_as_usual() -> None:
    ef = parse_engine_file(BARE + '[show]\ntorque = "lb ft"\nvacuum = "cmHg"\n')
    assert (ef.show.unit("torque"), ef.show.unit("vacuum")) == ("lbf ft", "cmHg")
    for kind, unit in UNITS_SHOWN.items():
        if kind != "torque":
            assert ef.show.unit(kind) == unit


def test_every_unit_that_may_be_asked_for_can_be_shown() -> None:
    schema = EngineFile.model_json_schema()["$defs"]["Show"]["properties"]
    for key, described in schema.items():
        kind = {"vacuum": "pressure"}.get(key, key.replace("_", " "))
        for unit in described["examples"]:
            ef = parse_engine_file(BARE + f'[show]\n{key} = "{unit}"\n')
            assert getattr(ef.show, key) == unit
            assert show(300.0, unit, kind)


def test_a_unit_of_another_kind_is_refused() -> None:
    with pytest.raises(EngineFileError, match="not of pressure"):
        parse_engine_file(BARE + '[show]\npressure = "mm"\n')


def test_blades_of_both_systems_are_sorted_and_exact() -> None:
    text = BARE + '[blades]\nset = ["0.03..0.05 mm step 0.01 mm", "1..2 thou step 1 thou"]\n'
    blades = parse_engine_file(text).blades
    assert blades is not None
    assert blades.set_m == (0.0000254, 0.00003, 0.00004, 0.00005, 0.0000508)


def test_the_swept_volume_is_that_of_one_cylinder() -> None:
    ef = parse_engine_file(BARE + 'bore = "60 mm"\nstroke = "56.3 mm"\n')
    assert ef.engine.swept_m3 is not None
    # 4 x pi/4 x 6.00^2 x 5.63 cm = 636.7 cc, worked by hand.
    assert ef.engine.swept_m3 * 4e6 == pytest.approx(636.74, abs=0.01)
    assert parse_engine_file(BARE).engine.swept_m3 is None


class Lamps(Table):
    """A table somebody else adds: one class, one line in the model."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ("Charging at idle",)

    reach_m: Annotated[float, Size("The reach", "length", 1.0, 500.0, 100.0)] = Field(alias="reach")


class WiderFile(EngineFile):
    lamps: Lamps | None = None


def test_a_further_table_is_one_class_and_one_line() -> None:
    engine = {"name": "a", "layout": "single"}
    ef = WiderFile.model_validate({"engine": engine, "lamps": {"reach": "40 m"}})
    assert ef.lamps is not None
    assert ef.lamps.reach_m == 40.0
    without = WiderFile.model_validate({"engine": engine})
    assert ("Charging at idle", "[lamps]") in {(f.check, f.because) for f in without.fallen_away()}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_loads_and_says_that_it_is_invented(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert "invented machine" in text.split("\n")[0]
    ef = load_engine_file(path)
    assert ef.engine.name.startswith("Invented ")
    assert ef.engine.crank is not None
    assert ef.valves is not None
    assert len(ef.places()) == ef.engine.cylinders * (ef.valves.inlet + ef.valves.exhaust)
    assert ef.engine.swept_m3 is not None
    # The number in the name is the capacity, so a slip in bore or stroke shows.
    said = int(ef.engine.name.split()[1])
    assert ef.engine.swept_m3 * ef.engine.cylinders * 1e6 == pytest.approx(said, abs=0.51)


def test_the_examples_cover_the_layouts() -> None:
    engines = [load_engine_file(path).engine for path in EXAMPLES]
    kinds = {(e.layout, e.cylinders) for e in engines}
    assert kinds >= {("single", 1), ("inline", 2), ("inline", 3), ("inline", 4), ("inline", 6),
                     ("V", 2), ("flat", 2), ("flat", 4)}  # fmt: skip
    assert {e.twin_crank_deg for e in engines} >= {360.0, 180.0, 270.0}
    assert {e.pin_offset_deg for e in engines} >= {0.0, 80.0}
    assert (1, 2, 4, 3) in {e.firing_order for e in engines}
