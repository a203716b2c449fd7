"""Valve clearances: in what order, is it good, why not, what to fit, and when to look again."""

from tickover.tasks.valves.assess import ValveAssessment, ValveFinding, assess_valves
from tickover.tasks.valves.assumptions import USUAL, Assumptions, assumptions_for
from tickover.tasks.valves.blades import BladePair, pick_blades
from tickover.tasks.valves.drift import Drift, SeatHeight, drift
from tickover.tasks.valves.explanations import Explanation, NextCheck
from tickover.tasks.valves.faults import Circumstances
from tickover.tasks.valves.order import CrankStop, WorkOrder, work_order
from tickover.tasks.valves.plan import Change, Purchase, ShimPlan
from tickover.tasks.valves.readings import (
    ClearanceReading,
    DrawerShim,
    FittedShim,
    clearance_reading,
    drawer_shim,
    fitted_shim,
)
from tickover.tasks.valves.verdict import Verdict, verdict

__all__ = [
    "USUAL",
    "Assumptions",
    "BladePair",
    "Change",
    "Circumstances",
    "ClearanceReading",
    "CrankStop",
    "DrawerShim",
    "Drift",
    "Explanation",
    "FittedShim",
    "NextCheck",
    "Purchase",
    "SeatHeight",
    "ShimPlan",
    "ValveAssessment",
    "ValveFinding",
    "Verdict",
    "WorkOrder",
    "assess_valves",
    "assumptions_for",
    "clearance_reading",
    "drawer_shim",
    "drift",
    "fitted_shim",
    "pick_blades",
    "verdict",
    "work_order",
]
