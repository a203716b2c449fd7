"""The guide to the engine file: every key stands in it, and every example in it can be written."""

import re
import tomllib
from pathlib import Path

import pytest

from tickover.engine import EngineFile, parse_engine_file
from tickover.engine.problems import known_keys

GUIDE = (Path(__file__).parents[3] / "docs" / "engine-file.md").read_text(encoding="utf-8")
ROW = re.compile(r"^\| `(?P<key>[a-z_0-9]+)` \|.*\| `(?P<example>[^`]+)` \|$", re.MULTILINE)
SECTIONS = dict(re.findall(r"^## \[([a-z_]+)\]\n(.*?)(?=^## |\Z)", GUIDE, re.MULTILINE | re.DOTALL))
# What has to stand beside an example for it to make sense.
BESIDE = {
    "name": 'layout = "single"',
    "layout": 'name = "a"\ncylinders = 2',
    "v_angle": 'name = "a"\nlayout = "V"\ncylinders = 2',
    "banks": 'name = "a"\nlayout = "flat"\ncylinders = 4',
    "crankpins": 'name = "a"\nlayout = "V"\ncylinders = 2\nv_angle = "50 deg"',
    "crank": 'name = "a"\nlayout = "inline"\ncylinders = 2',
    "firing_order": 'name = "a"\nlayout = "inline"\ncylinders = 3',
    "firing_angles": 'name = "a"\nlayout = "inline"\ncylinders = 3\nfiring_order = [1, 3, 2]',
    "cylinders": 'name = "a"\nlayout = "inline"',
    "price": 'sizes = "2 mm"',
    "diameter": 'sizes = "2 mm"',
    "points_gap": 'kind = "points"',
    "dwell": 'kind = "points"',
    "gearbox_sprocket": "wheel_sprocket = 46",
    "wheel_sprocket": "gearbox_sprocket = 19",
    "field_winding": 'rotor = "wound"',
    "ac_volts": 'ac_speed = "3000 rpm"',
    "ac_speed": 'ac_volts = "38..52 V"',
}
FOUR = '[engine]\nname = "a"\nlayout = "inline"\ncylinders = 4\n'
# Keys that stand in a table of their own inside another, under a name the outer one has too.
INSIDE = ('kind = "gears"',)
# Tables that stand several times, and what one of them needs.
SEVERAL = {
    "fits": {"name": 'name = "a"', "kind": 'kind = "bore"'},
    "fasteners": {"name": 'name = "a"', "torque": 'torque = "23 Nm"'},
    "checks": {"name": 'name = "a"', "kind": 'kind = "length"', "least": 'least = "1 mm"'},
    "cables": {"name": 'name = "a"', "use": 'use = "clutch"'},
    "starter_cables": {"name": 'name = "a"', "length": 'length = "1 m"'},
    "run_in": {"name": 'name = "a"', "days": "days = 30"},
    "contacts": {
        "name": 'name = "a"',
        "terminals": 'terminals = ["a", "b"]',
        "positions": 'positions = ["on: a-b"]',
    },
    "senders": {"name": 'name = "a"', "marks": 'marks = ["full: 4..10 ohm"]'},
    "circuits": {"name": 'name = "lights"', "colour": 'colour = "RD"'},
    "loads": {
        "name": 'name = "a"', "circuit": 'circuit = "lights"', "at": 'at = "tail"',
        "rated": 'rated = "5 W"',
    },
    "branches": {"from": 'from = "fuse box"', "to": 'to = "tail"', "length": 'length = "1 m"'},
    "switches": {"name": 'name = "a"', "at": 'at = "tail"'},
    "joints": {"name": 'name = "a"', "at": 'at = "tail"'},
    "wires": {"from": 'from = "a"', "to": 'to = "b"'},
}  # fmt: skip
# A loom round one of these tables, without that table.
LOOM = {
    "circuits": '[[circuits]]\nname = "lights"\ncolour = "YE"\n',
    "loads": '[[loads]]\nname = "lamp"\ncircuit = "lights"\nat = "tail"\nrated = "5 W"\n',
    "branches": '[[branches]]\nfrom = "fuse box"\nto = "tail"\nlength = "1 m"\n',
    "joints": '[[joints]]\nname = "rear earth"\nat = "tail"\n',
    "switches": '[[switches]]\nname = "light switch"\nat = "tail"\n'
    '[[switches]]\nname = "ignition switch"\nat = "tail"\n',
}
# What has to stand beside an example in such a table, and before it.
WITH = {
    "between": 'kind = "clearance"',
    "order": "positions = [[0, 0], [80, 0], [80, 60], [0, 60]]",
}
# What may not stand beside it: the one or the other.
WITHOUT = {("starter_cables", "resistance"): "length"}
PARTS = "".join(
    f'[[fits]]\nname = "{name}"\nkind = "{kind}"\n'
    for name, kind in (("cylinder", "bore"), ("piston", "piston"))
)
TABLES = sorted(path for path in known_keys() if path)


@pytest.mark.parametrize("path", TABLES, ids=".".join)
def test_every_key_of_every_table_has_its_row(path: tuple[str, ...]) -> None:
    rows = [match["key"] for match in ROW.finditer(SECTIONS[path[0]])]
    missing = [key for key in known_keys()[path] if key not in rows]
    assert not missing


@pytest.mark.parametrize("table", sorted(SECTIONS))
def test_no_row_speaks_of_a_key_that_does_not_exist(table: str) -> None:
    known = {key for path, keys in known_keys().items() if path[:1] == (table,) for key in keys}
    assert {match["key"] for match in ROW.finditer(SECTIONS[table])} <= known


@pytest.mark.parametrize(
    ("table", "example"),
    [
        (table, match["example"])
        for table, text in SECTIONS.items()
        for match in ROW.finditer(text)
        if match["key"] in known_keys()[(table,)] and match["example"] not in INSIDE
    ],
)
def test_every_example_can_be_written_as_it_stands(table: str, example: str) -> None:
    key = example.split(" =")[0]
    if table == "engine":
        beside = BESIDE.get(key, 'name = "a"\nlayout = "single"')
        text = f"[engine]\n{beside}\n{example}\n"
    elif table in SEVERAL:
        lines = {**SEVERAL[table]}
        if key in WITH:
            lines[WITH[key].split(" =")[0]] = WITH[key]
        lines.pop(WITHOUT.get((table, key), ""), None)
        lines[key] = example
        body = "\n".join(lines.values())
        before = PARTS if key == "between" else ""
        if table in {*LOOM, "wires"}:
            around = {name: text for name, text in LOOM.items() if name != table}
            before = '[wiring]\nbattery = "fuse box"\n' + "".join(around.values())
        text = f"{FOUR}{before}[[{table}]]\n{body}\n"
    else:
        text = f"{FOUR}[{table}]\n{BESIDE.get(key, '')}\n{example}\n"
    assert isinstance(parse_engine_file(text), EngineFile)


def test_the_file_shown_first_loads_and_nothing_in_it_is_refused() -> None:
    block = GUIDE.split("```toml\n")[1].split("```")[0]
    assert parse_engine_file(block).engine.cylinders == 3


@pytest.mark.parametrize(
    ("written", "angles"),
    re.findall(r"^\| [^|]+ \| `([^`]+)` \| ([0-9, ]+) \|$", GUIDE, re.MULTILINE),
)
def test_the_table_of_firing_angles_is_what_is_worked_out(written: str, angles: str) -> None:
    key = next(iter(tomllib.loads(written)))
    if key == "v_angle":
        layout = 'layout = "V"\ncylinders = 2'
    elif key == "layout":
        layout = "cylinders = 2"
    else:
        cylinders = len(angles.split(","))
        layout = f'layout = "inline"\ncylinders = {cylinders}'
    ef = parse_engine_file(f'[engine]\nname = "a"\n{layout}\n{written}\n')
    assert ef.engine.firing_angles_deg == tuple(float(a) for a in angles.split(","))
