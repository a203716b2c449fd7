"""The mixture to aim for over the throttle, and what counts as lean."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.errors import InputError

Floats = NDArray[np.float64]

HALF_THROTTLE = 0.5
"""From here on a lean mixture costs pistons, not manners."""

FULL_THROTTLE = 0.7
"""From here on 'lean' or 'pinking' stops the advice."""

LEAN_MARGIN = 0.05
"""Lean by more than this share of the target is counted as lean."""


@dataclass(frozen=True, slots=True)
class Target:
    """Lambda wanted over the opening, straight between points.

    Notes
    -----
    The default is what air-cooled engines without a catalyst are set to: rich enough to idle,
    thrifty in the middle, rich at full throttle for cool pistons (common practice, no source).
    """

    openings: tuple[float, ...] = (0.0, 0.125, 0.5, 0.75, 1.0)
    lambdas: tuple[float, ...] = (0.90, 0.94, 0.92, 0.88, 0.87)

    def __post_init__(self) -> None:
        rising = all(a < b for a, b in zip(self.openings, self.openings[1:], strict=False))
        if len(self.openings) != len(self.lambdas) or len(self.openings) < 2 or not rising:
            raise InputError(
                "A target wants rising openings with one lambda each",
                given=f"{len(self.openings)} openings, {len(self.lambdas)} lambdas",
                allowed="two pairs or more, openings rising from 0 to 1",
                instead="'0, 0.5, 1' and '0.90, 0.92, 0.87'",
            )
        for value in self.lambdas:
            if not 0.7 <= value <= 1.05:
                raise InputError(
                    "A target like this is no set-up for an engine on jets",
                    given=f"lambda {value:g}",
                    allowed="lambda 0.7 to 1.05",
                    instead="'0.87' at full throttle",
                )

    def at(self, openings: Floats) -> Floats:
        """Lambda wanted at the openings, shape (n,) [-]."""
        return np.interp(openings, self.openings, self.lambdas)
