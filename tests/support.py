"""Small helpers shared by tests: an inline four as a mechanic would write it down."""

from __future__ import annotations

from tickover.engine import EngineFile, parse_engine_file

FOUR = """
[engine]
name = "Invented 552 four"
layout = "inline"
cylinders = 4
firing_order = {order}
bore = "56 mm"
stroke = "56 mm"
rod = "110 mm"
compression_ratio = 9.2
[cams]
inlet = {{ opens = "22 deg BTDC", closes = "54 deg ABDC" }}
exhaust = {{ opens = "56 deg BBDC", closes = "20 deg ATDC" }}
ramp = "30 deg"
timing_at = "seat"
arrangement = "two camshafts"
[valves]
inlet = {inlet}
exhaust = {exhaust}
adjustment = "{adjustment}"
inlet_clearance = "4-6 thou"
exhaust_clearance = "6-8 thou"
{shims}
[show]
clearance = "thou"
"""
SHIMS = """
[shims]
sizes = "2.00..3.20 mm step {step} mm"
price = 8.0
"""


def four(
    order: str = "[1, 3, 4, 2]",
    inlet: int = 1,
    exhaust: int = 1,
    adjustment: str = "shim over bucket",
    step: str = "0.05",
) -> EngineFile:
    """An inline four with limits of 4 to 6 thou inlet and 6 to 8 thou exhaust."""
    shims = SHIMS.format(step=step) if adjustment.startswith("shim") else ""
    text = FOUR.format(
        order=order, inlet=inlet, exhaust=exhaust, adjustment=adjustment, shims=shims
    )
    return parse_engine_file(text, "four.toml")
