"""Why will it not start, or not run right: what to look at next, given all that is proved.

Knowledge of causes, questions and proofs lies in two TOML files; the method is decision-theoretic
troubleshooting (Heckerman, Breese and Rommelse 1995) in `decide.troubleshoot`.
"""

from tickover.plan.faultfinding.advice import FaultAdvice, fault_advice
from tickover.plan.faultfinding.knowledge import SYMPTOMS, Knowledge, knowledge
from tickover.plan.faultfinding.session import (
    Session,
    answer_entry,
    begin_entry,
    looked_entry,
    session_of,
)
from tickover.plan.faultfinding.weights import changed_weights

__all__ = [
    "SYMPTOMS",
    "FaultAdvice",
    "Knowledge",
    "Session",
    "answer_entry",
    "begin_entry",
    "changed_weights",
    "fault_advice",
    "knowledge",
    "looked_entry",
    "session_of",
]
