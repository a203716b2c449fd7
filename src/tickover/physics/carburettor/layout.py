"""The order of the numbers the inner loops take; apart, so that reading it compiles nothing."""

from __future__ import annotations

FIXED = (
    "bore", "idle_lift", "flow_share", "swept", "filling", "filling_speed", "compression_ratio",
    "needle_jet", "signal_gain", "signal_rise", "recess", "cutaway_weight", "main_discharge",
    "needle_discharge", "main_height", "pilot_air_jet", "pilot_outlet", "screw_area",
    "screw_is_air", "pilot_discharge", "pilot_height", "main_air_jet", "head_softness",
    "piston_drop_pressure", "resting_lift", "steady_share",
)  # fmt: skip
AIR = (
    "pressure", "temperature", "density", "fuel_density", "stoichiometric_ratio",
    "exhaust_pressure", "box_resistance", "bowl_in_box",
)  # fmt: skip
STATE = ("manifold_pressure", "air_flow", "lift_share", "drop", "inlet_pressure")
