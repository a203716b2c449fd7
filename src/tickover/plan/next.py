"""What to do next: what needs what first, then what can wreck most, then what takes least."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tickover.plan.checks import CheckState
from tickover.tasks.finding import Stage

STAGES: tuple[Stage, ...] = ("first start", "riding", "hand-over")
"""In the order of the job."""


@dataclass(frozen=True, slots=True)
class Step:
    """One check to do, and what it waits for ('' when it can be done now)."""

    item: CheckState
    waits_for: tuple[str, ...]

    @property
    def ready(self) -> bool:
        """Whether nothing stands before it."""
        return not self.waits_for


def next_steps(states: Sequence[CheckState], stage: Stage = "first start") -> tuple[Step, ...]:
    """Unsettled checks required up to a stage, in the order to do them.

    Parameters
    ----------
    states : sequence of CheckState
        All checks of the build.
    stage : str
        Checks required for it, or for an earlier one.

    Returns
    -------
    tuple of Step
        A check never stands before one it needs that is also unsettled. Among those that can be
        done, the one whose neglect wrecks most comes first, then the quickest, then the order of
        registration. A circle of needs is broken at the first of them rather than hidden.
    """
    wanted = set(STAGES[: STAGES.index(stage) + 1])
    left = [s for s in states if not s.settled and wanted & s.check.required]
    unsettled = {item.check.name for item in left}
    steps: list[Step] = []
    waiting = list(left)
    done: set[str] = set()
    while waiting:
        free = [
            item
            for item in waiting
            if not any(
                name in unsettled and name not in done and name != item.check.name
                for name in item.check.needs
            )
        ] or waiting[:1]
        best = min(
            free,
            key=lambda item: (-item.check.risk, item.check.minutes, left.index(item)),
        )
        blocked = tuple(
            name for name in best.check.needs if name in unsettled and name != best.check.name
        )
        steps.append(Step(best, blocked))
        waiting.remove(best)
        if not any(item.check.name == best.check.name for item in waiting):
            done.add(best.check.name)
    return tuple(steps)
