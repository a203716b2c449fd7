"""How far a build has come, from the book alone."""

from __future__ import annotations

from datetime import date
from typing import Literal

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.plan.answer import question, recorded_answer
from tickover.plan.checks import CheckState
from tickover.plan.fit import fitness
from tickover.plan.runin import run_in_plan
from tickover.tasks.finding import Stage

Reached = Literal["on the stand", "fit to start", "first start", "dialled in", "run in",
                  "signed off"]  # fmt: skip


def stage_reached(
    engine: EngineFile, state: State, states: tuple[CheckState, ...] | None = None
) -> Reached:
    """The stage a build has reached.

    Parameters
    ----------
    engine : EngineFile
    state : State
    states : tuple of CheckState, optional
        The checks as they stand, if the caller has them already.

    Returns
    -------
    str
        'signed off': a recorded yes for hand-over still holds. 'run in': it ran, a recorded yes
        for riding holds and every running-in step is done. 'dialled in': it ran and a recorded
        yes for riding holds. 'first start': it ran. 'fit to start': a recorded yes holds.
    """
    if _said_yes(engine, state, "hand-over", states):
        return "signed off"
    ran = any(entry.body.outcome == "ran" for entry in state.start_attempts())
    if not ran:
        return "fit to start" if _said_yes(engine, state, "first start", states) else "on the stand"
    if not _said_yes(engine, state, "riding", states):
        return "first start"
    # Which steps are done does not depend on the day they are looked at.
    done = run_in_plan(engine, state, date(2000, 1, 1)).all_done
    return "run in" if done else "dialled in"


def _said_yes(
    engine: EngineFile, state: State, stage: Stage, states: tuple[CheckState, ...] | None
) -> bool:
    kept = state.answer(question(stage))
    if kept is None or kept.body.answer != "yes":
        return False  # nothing recorded: no need to work the answer out
    found = recorded_answer(fitness(engine, state, stage, states), state)
    return found is not None and found.holds
