"""Looms for tests and benchmarks: small drawn ones, and an invented one with 120 wires."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from tickover.engine import EngineFile, parse_engine_file

TWIN = Path(__file__).parents[1] / "examples" / "looms" / "cut-down-twin.toml"
HEAD = """[engine]
name = "Invented loom"
layout = "single"
[battery]
volts = 12
capacity = 12
[wiring]
battery = "p0"
fuses = "p1"
main_fuse = "{main}"
bundling = "by count"
drop = "{drop}"
generator_idle = "5 A"
generator_road = "16 A"
"""


def random_text(
    generator: np.random.Generator,
    points: int = 6,
    circuits: int = 2,
    loads: int = 4,
    drop: str = "0.5 V",
    most_a: float = 3.0,
) -> str:
    """The text of a random but sound engine file with a loom."""
    rows = [HEAD.format(main="40 A", drop=drop)]
    for n in range(1, points):
        back = int(generator.integers(max(0, n - 4), n))
        plug = f'connector = "plug {n}"\n' if generator.random() < 0.4 else ""
        rows.append(f'[[branches]]\nfrom = "p{back}"\nto = "p{n}"\n'
                    f'length = "{int(generator.integers(60, 900))} mm"\n{plug}')  # fmt: skip
    for c in range(circuits):
        rows.append(f'[[circuits]]\nname = "circuit {c}"\n'
                    f'colour = "{("YE", "GN", "BU", "VT", "GY", "WH")[c % 6]}"\n'
                    f'fed_through = ["key"]\n')  # fmt: skip
        for kind in ("switches", "joints"):
            at = int(generator.integers(points))
            rows.append(f'[[{kind}]]\nname = "{kind[:-1]} {c}"\nat = "p{at}"\n')
    rows.append('[[switches]]\nname = "key"\nat = "p0"\n')
    rows.append('[[joints]]\nname = "stud"\nat = "p1"\n')
    for n in range(loads):
        c = n % circuits
        feed = [f'"switche {c}"'] if generator.random() < 0.6 else []
        feed += [f'"joint {c}"'] if generator.random() < 0.6 else []
        takes = generator.uniform(0.2, most_a)
        earth = ', "battery"]' if generator.random() < 0.7 else ""
        rows.append(
            f'[[loads]]\nname = "load {n}"\nkind = "lamp"\ncircuit = "circuit {c}"\n'
            f'at = "p{int(generator.integers(points))}"\nreal = "{takes:.2f} A"\n'
            f"feed = [{', '.join(feed)}]\n" + (f'earth = ["stud"{earth}\n' if earth else "")
        )  # fmt: skip
    return "".join(rows)


def random_loom(seed: int, **how: object) -> EngineFile:
    """A random but sound engine file with a loom."""
    text = random_text(np.random.default_rng(seed), **how)  # type: ignore[arg-type]
    return parse_engine_file(text, "loom.toml")


def large_text() -> str:
    """The text of an invented loom with 120 wires, 30 branches and 12 circuits."""
    generator = np.random.default_rng(120)
    return random_text(generator, points=31, circuits=12, loads=43, most_a=1.0)
