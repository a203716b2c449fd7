"""The engine file: what a person writes down once about a machine and its limits.

TOML becomes a frozen, typed model (`EngineFile`), or an error that names every problem with its
line. On top of it: the crank and its firing, the places, the cams over the cycle. This package may
know errors and quantities, and nothing of readings, books or pages.
"""

from tickover.engine.cams import (
    base_circle_arcs,
    duration_deg,
    exhaust_centre_deg,
    inlet_centre_deg,
    lobe_away_deg,
    overlap_deg,
    valve_events,
)
from tickover.engine.crank import Crank
from tickover.engine.events import TdcEvent, firing_intervals, marked_tdc_events, tdc_events
from tickover.engine.loading import decode_engine_file, load_engine_file, parse_engine_file
from tickover.engine.model import EngineFile
from tickover.engine.places import Place, numbered_places, parse_place
from tickover.engine.table import FallenAway

__all__ = [
    "Crank",
    "EngineFile",
    "FallenAway",
    "Place",
    "TdcEvent",
    "base_circle_arcs",
    "decode_engine_file",
    "duration_deg",
    "exhaust_centre_deg",
    "firing_intervals",
    "inlet_centre_deg",
    "load_engine_file",
    "lobe_away_deg",
    "marked_tdc_events",
    "numbered_places",
    "overlap_deg",
    "parse_engine_file",
    "parse_place",
    "tdc_events",
    "valve_events",
]
