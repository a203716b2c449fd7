"""The machine of the day of the first start: the richest example, with its own start and steps."""

from __future__ import annotations

from pathlib import Path
from typing import Any

HOSTILE = '<img src=x onerror="alert(1)"><script>alert(2)</script>'
MORE = """
[start]
crank_for = "6 s"
rest_for = "40 s"
oil_within = "4 s"
oil_pressure = "2.5 bar"
charge = "13.8 V"
charge_at = "3000 rpm"
stop_at = "150 C"
[[run_in]]
name = "chain and wheel nuts again"
distance = "150 km"
days = 30
[fault_weights]
"fuel tap closed" = 20
"""
LAMPS = "do the dash lamps come on?"


def engine_text() -> str:
    """The richest example, with its own start, run-in and weights."""
    return (Path(__file__).parents[1] / "examples/engines/triple-240.toml").read_text() + MORE


def entries_of(site: Any, build: str) -> list[Any]:
    return list(site.store.entries(build))
