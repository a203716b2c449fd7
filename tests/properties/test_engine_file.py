"""Whatever is written, an engine file is read as meant or refused in words."""

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from tickover.engine import (
    EngineFile,
    base_circle_arcs,
    decode_engine_file,
    firing_intervals,
    lobe_away_deg,
    parse_engine_file,
    tdc_events,
    valve_events,
)
from tickover.engine.crank import same_angle
from tickover.engine.problems import problems_in
from tickover.engine.source import key_lines
from tickover.errors import EngineFileError, Problem

EXAMPLES = [
    path.read_text(encoding="utf-8")
    for path in sorted((Path(__file__).parents[2] / "examples" / "engines").glob("*.toml"))
]


def quoted(value: Any) -> str:
    """A plain value or list of them; written alike in JSON and TOML."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def read(text: str) -> EngineFile | EngineFileError:
    """What comes of a text; any other exception fails the test."""
    try:
        return parse_engine_file(text, "E.toml")
    except EngineFileError as wrong:
        return wrong


def size(low: int, high: int, unit: str = "mm") -> st.SearchStrategy[str]:
    """A size in tenths of a unit, with point or comma."""
    tenths = st.integers(low * 10, high * 10)
    mark = st.sampled_from([".", ","])
    return st.builds(lambda n, m: f"{n // 10}{m}{n % 10} {unit}", tenths, mark)


@st.composite
def cranks(draw: st.DrawFn) -> dict[str, Any]:
    """An [engine] table of any layout whose crank can be worked out."""
    layout = draw(st.sampled_from(["single", "inline", "V", "flat"]))
    table: dict[str, Any] = {"name": draw(st.text(st.characters(codec="utf-8", exclude_categories=(
        "C", "Z")), min_size=1, max_size=20)), "layout": layout}  # fmt: skip
    if layout == "single":
        return table
    cylinders = 2 if layout == "V" else draw(st.integers(2, 6))
    if layout == "flat":
        cylinders = 2
    table["cylinders"] = cylinders
    if layout == "V":
        table["v_angle"] = draw(st.integers(10, 179))
        if draw(st.booleans()):
            table["crankpins"] = f"offset {draw(st.integers(0, 180))} deg"
    if layout == "inline" and cylinders == 2:
        table["crank"] = f"{draw(st.integers(1, 360))} deg"
    if cylinders > 2:
        table["firing_order"] = [1, *draw(st.permutations(range(2, cylinders + 1)))]
        if draw(st.booleans()):
            steps = draw(st.lists(st.integers(1, 719), min_size=cylinders - 1,
                                  max_size=cylinders - 1, unique=True))  # fmt: skip
            table["firing_angles"] = [0, *sorted(steps)]
    return table


@st.composite
def engines(draw: st.DrawFn) -> dict[str, Any]:
    """An engine file as a person could write it, any table present or not."""
    whole: dict[str, Any] = {"engine": draw(cranks())}
    for key, strategy in (
        ("bore", size(20, 149)),
        ("stroke", size(60, 99)),
        ("rod", size(80, 250)),
        ("compression_ratio", st.integers(40, 200).map(lambda n: n / 10)),
        ("notes", st.just("As found.\nTwo lines.")),
    ):
        if draw(st.booleans()):
            whole["engine"][key] = draw(strategy)
    if draw(st.booleans()):
        angle = st.integers(0, 90)
        whole["cams"] = {
            "inlet": {"opens": f"{draw(angle)} deg BTDC", "closes": f"{draw(angle)} deg ABDC"},
            "exhaust": {"opens": f"{draw(angle)} deg BBDC", "closes": f"{draw(angle)} deg ATDC"},
            "ramp": f"{draw(st.integers(0, 60))} deg",
            "timing_at": draw(st.sampled_from(["seat", "1 mm", "0,5 mm", "0.04 in"])),
            "arrangement": draw(st.sampled_from(["one camshaft", "two camshafts", "pushrods"])),
        }
    if draw(st.booleans()):
        low = draw(st.integers(0, 30))
        width = draw(st.integers(1, 20))
        whole["valves"] = {
            "inlet": draw(st.integers(1, 3)),
            "exhaust": draw(st.integers(1, 2)),
            "adjustment": draw(st.sampled_from(["shim over bucket", "screw and locknut", "none"])),
            "inlet_clearance": f"0.{low:02d}..0.{low + width:02d} mm",
            "exhaust_clearance": f"{low}-{low + width} thou",
            "preferred": f"{draw(st.integers(0, 100))} %",
        }
    if draw(st.booleans()):
        steps = draw(st.integers(1, 60))
        whole["shims"] = {"sizes": f"1.20..{(120 + 5 * steps) / 100:.2f} mm step 0.05 mm"}
    if draw(st.booleans()):
        whole["fits"] = [
            {"name": f"part {n}", "kind": "bore", "places": ["cyl1"], "wear_limit": f"{60 + n} mm",
             "stations": ["top", "bottom"], "reading_error": "3 um"}
            for n in range(draw(st.integers(1, 3)))
        ]  # fmt: skip
    if draw(st.booleans()):
        torque = draw(st.integers(5, 100))
        whole["fasteners"] = [
            {"name": "bolts", "thread": draw(st.sampled_from(["M8", "M10x1.25", "1/4 BSF"])),
             "class": "8.8", "torque": f"{torque} Nm", "stages": ["4 Nm", f"{torque} Nm"],
             "positions": [[0, 0], [draw(st.integers(1, 200)), 0]], "order": [2, 1],
             "retorque": draw(st.booleans())}
        ]  # fmt: skip
    if draw(st.booleans()):
        whole["controls"] = {"throttle_free_play": "2..4 mm", "pull_ratio": 1.5}
        cable = {"name": "c", "use": "clutch", "proof_load": "900 N", "solder_shear": "37 MPa"}
        whole["cables"] = [{**cable, "home_made": draw(st.booleans())}]
    if draw(st.booleans()):
        whole["show"] = {"clearance": draw(st.sampled_from(["mm", "thou"])), "pressure": "psi"}
    return whole


def toml(whole: dict[str, Any]) -> str:
    """TOML of a dict of tables."""
    lines = []
    for name, tables in whole.items():
        listed = isinstance(tables, list)
        for table in tables if listed else [tables]:
            lines.append(f"[[{name}]]" if listed else f"[{name}]")
            for key, value in table.items():
                if isinstance(value, dict):
                    inner = ", ".join(f"{k} = {quoted(v)}" for k, v in value.items())
                    lines.append(f"{key} = {{ {inner} }}")
                else:
                    lines.append(f"{key} = {quoted(value)}")
    return "\n".join(lines) + "\n"


@settings(max_examples=150, deadline=None)
@given(engines())
def test_any_engine_comes_back_as_it_was_written(whole: dict[str, Any]) -> None:
    text = toml(whole)
    assert tomllib.loads(text) == whole
    ef = parse_engine_file(text)
    assert ef == EngineFile.model_validate(whole)
    again = ef.model_dump(mode="json", by_alias=True, exclude_none=True)
    assert EngineFile.model_validate(again) == ef
    assert parse_engine_file(toml(again)) == ef
    if "bore" in whole["engine"]:
        number = float(whole["engine"]["bore"].split()[0].replace(",", "."))
        assert ef.engine.bore_m == pytest.approx(number / 1000, rel=1e-15)


@settings(max_examples=150, deadline=None)
@given(engines())
def test_geometry_holds_for_any_engine(whole: dict[str, Any]) -> None:
    ef = parse_engine_file(toml(whole))
    crank = ef.engine.crank
    assert crank is not None
    assert sum(firing_intervals(ef)) == pytest.approx(720)
    assert len(tdc_events(ef)) == 2 * ef.engine.cylinders
    for axis, pin, top, firing in zip(
        crank.bank_deg, crank.pin_deg, crank.tdc_deg, crank.firing_deg, strict=True
    ):
        assert same_angle(axis - pin, top)
        assert same_angle(top, firing)
        assert 0 <= firing < 720
    arcs, events, away = base_circle_arcs(ef), valve_events(ef), lobe_away_deg(ef)
    assert set(arcs) == set(events) == set(away)
    for name, (start, end) in arcs.items():
        opens, closes = events[name]
        assert 0 <= start < 720
        assert 0 <= opens < 720
        assert 0 < end - start < 720 - (closes - opens) + 1e-6
        # Opposite the middle of the lift: one crank turn, half a camshaft turn away.
        assert abs((away[name] - (opens + closes) / 2) % 720 - 360) < 1e-6


@st.composite
def mutilated(draw: st.DrawFn) -> str:
    """An example with pieces cut out, doubled, exchanged or replaced."""
    text = draw(st.sampled_from(EXAMPLES))
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, max(0, len(text) - 1)))
        stop = min(len(text), start + draw(st.integers(0, 30)))
        piece = draw(
            st.one_of(
                st.just(""),
                st.just(text[start:stop] * 2),
                st.text(max_size=8),
                st.sampled_from(['"', "[", "]", "{", "}", "=", "\n", "#", ",", "'''", "nan",
                                 "1e999",
                                 "-1", "0", "true", "1979-05-27", "[[", "0x1F", "\\u0000"]),
            )
        )  # fmt: skip
        text = text[:start] + piece + text[stop:]
    return text


@settings(max_examples=400, deadline=None)
@given(mutilated())
def test_mutilated_text_is_read_or_refused_in_words(text: str) -> None:
    found = read(text)
    if isinstance(found, EngineFile):
        found.fallen_away()
        base_circle_arcs(found)
        return
    assert found.problems
    lines = text.count("\n") + 1
    for problem in found.problems:
        assert problem.problem
        assert problem.line is None or 1 <= problem.line <= lines
    assert str(found).count("E.toml") >= len(found.problems)


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_refused_in_words(text: str) -> None:
    assert isinstance(read(text), EngineFileError)


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_are_text_or_refused_in_words(raw: bytes) -> None:
    try:
        text = decode_engine_file(raw)
    except EngineFileError as wrong:
        text = str(wrong)
    assert isinstance(read(text), EngineFileError)


ANY_TOML = st.recursive(
    st.one_of(
        st.booleans(), st.integers(-(10**6), 10**6), st.text(max_size=12),
        st.floats(allow_nan=False, allow_infinity=False, width=16), st.integers(10**300, 10**301),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=6), inner, max_size=3)
    ),
    max_leaves=5,
)  # fmt: skip


def every_key(table: Any, at: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    """Paths of all keys of an example, tables included."""
    found = []
    for key, value in table.items():
        found.append((*at, key))
        if isinstance(value, dict):
            found += every_key(value, (*at, key))
    return found


KEYS = sorted({path for text in EXAMPLES for path in every_key(tomllib.loads(text))})


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(EXAMPLES), st.sampled_from(KEYS), ANY_TOML)
def test_any_value_under_any_key_is_taken_or_refused_in_words(
    text: str, path: tuple[str, ...], value: Any
) -> None:
    whole = tomllib.loads(text)
    table = whole
    for key in path[:-1]:
        table = table.setdefault(key, {})
    table[path[-1]] = value
    problems: list[Problem] = []
    try:
        EngineFile.model_validate(whole)
    except ValidationError as wrong:
        problems = problems_in(wrong, {})
    # Every refusal is one of ours: with its own sentence, not the library's.
    assert not [each for each in problems if "This cannot be used" in each.problem]
    assert all(len(str(each)) < 2000 for each in problems)


def toml_paths(value: Any, at: tuple[str | int, ...] = ()) -> set[tuple[str | int, ...]]:
    found = {at} if at else set()
    if isinstance(value, dict):
        for key, each in value.items():
            found |= toml_paths(each, (*at, key))
    if isinstance(value, list):
        for i, each in enumerate(value):
            found |= toml_paths(each, (*at, i))
    return found


def inline(value: Any) -> str:
    """Any value as inline TOML."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{quoted(k)} = {inline(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ",\n  # ] }\n ".join(inline(each) for each in value) + "]"
    return quoted(value)


@settings(max_examples=200, deadline=None)
@given(st.dictionaries(st.text(st.characters(codec="ascii", exclude_characters="\x7f"), max_size=6),
                       ANY_TOML, max_size=4))  # fmt: skip
def test_the_scanner_sees_the_keys_the_standard_reader_sees(whole: dict[str, Any]) -> None:
    text = "\n".join(f"{quoted(key)} = {inline(value)}" for key, value in whole.items())
    try:
        parsed = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return  # not every JSON string is a TOML string
    assert set(key_lines(text)) == toml_paths(parsed)
