"""Cranking compression and leak-down: what the gauge should say, what it says, and why."""

from tickover.tasks.compression.assess import (
    Assessment,
    Cause,
    CylinderFinding,
    as_json,
    assess,
)
from tickover.tasks.compression.described import (
    PSI,
    Conditions,
    CylinderReadings,
    CylinderSpec,
    OtherEvidence,
    at_sea_level,
)
from tickover.tasks.compression.expected import Expected, Influence, expected, influences
from tickover.tasks.compression.from_file import conditions_from_file, spec_from_file
from tickover.tasks.compression.leaks import LeakFigure, leak_figure, percent_on
from tickover.tasks.compression.next_check import Alike, NextCheck
from tickover.tasks.compression.tables import readings_from_csv

__all__ = [
    "PSI",
    "Alike",
    "Assessment",
    "Cause",
    "Conditions",
    "CylinderFinding",
    "CylinderReadings",
    "CylinderSpec",
    "Expected",
    "Influence",
    "LeakFigure",
    "NextCheck",
    "OtherEvidence",
    "as_json",
    "assess",
    "at_sea_level",
    "conditions_from_file",
    "expected",
    "influences",
    "leak_figure",
    "percent_on",
    "readings_from_csv",
    "spec_from_file",
]
