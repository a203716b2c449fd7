"""What can be fitted: the jets, needles and slides at hand or for sale, and what a change costs."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from tickover.errors import InputError
from tickover.physics.carburettor.parts import Needle, Setting

BOWL_OFF_MINUTES = 20.0
SLIDE_OUT_MINUTES = 12.0
SCREW_MINUTES = 2.0


@dataclass(frozen=True, slots=True)
class Jet:
    """One size of a series.

    Parameters
    ----------
    mark : str
        As stamped.
    bore : float
        [m]
    price : float
        For one, in the user's money.
    owned : int
        How many lie in the drawer, those in the carburettors included.
    """

    mark: str
    bore: float
    price: float = 0.0
    owned: int = 0


@dataclass(frozen=True, slots=True)
class HungNeedle:
    """A needle one has or can buy."""

    needle: Needle
    price: float = 0.0
    owned: int = 0


@dataclass(frozen=True, slots=True)
class Slide:
    """A slide with its cutaway."""

    cutaway: float
    price: float = 0.0
    owned: int = 0


@dataclass(frozen=True, slots=True)
class Drawer:
    """Everything that may be fitted, for a number of carburettors that are set alike.

    Parameters
    ----------
    pilots, mains : tuple of Jet
        Rising bores.
    needles : tuple of HungNeedle
    slides : tuple of Slide
    carburettors : int
        How many of each are needed.
    screw_turns : tuple of float
        Positions the mixture or air screw may take [turns]
    may_buy : bool
        Whether what is not in the drawer may be bought.
    """

    pilots: tuple[Jet, ...]
    mains: tuple[Jet, ...]
    needles: tuple[HungNeedle, ...]
    slides: tuple[Slide, ...]
    carburettors: int = 1
    screw_turns: tuple[float, ...] = tuple(0.5 + 0.25 * k for k in range(15))
    may_buy: bool = True

    def __post_init__(self) -> None:
        for name, series in (("pilot", self.pilots), ("main", self.mains)):
            if not series:
                raise InputError(
                    f"The series of {name} jets is empty",
                    allowed="one jet or more",
                    instead="at least the jet that is fitted",
                )
            bores = [jet.bore for jet in series]
            if any(b <= a for a, b in itertools.pairwise(bores)):
                raise InputError(
                    f"The {name} jets must be listed from small to large, each once",
                    given=", ".join(jet.mark for jet in series),
                    allowed="rising sizes",
                    instead="the series in order",
                )
        if not self.needles or not self.slides:
            raise InputError(
                "The drawer holds no needle or no slide",
                allowed="one of each or more",
                instead="at least what is fitted",
            )


def jet_marked(series: Sequence[Jet], mark: str, what: str) -> Jet:
    """The jet of a series with this mark.

    Raises
    ------
    InputError
        If the series has no such jet.

    Examples
    --------
    >>> jet_marked((Jet("95", 0.95e-3), Jet("98", 0.98e-3)), "98", "main jet").bore
    0.00098
    """
    plain = mark.strip().lstrip("#").replace(",", ".")
    for jet in series:
        if jet.mark == plain:
            return jet
    try:
        wanted = float(plain)
        nearest = min(series, key=lambda jet: abs(float(jet.mark) - wanted)).mark
    except ValueError:
        nearest = series[0].mark
    raise InputError(
        f"There is no {what} of this size in the series",
        given=mark,
        allowed=", ".join(jet.mark for jet in series),
        instead=f"'{nearest}', or add the jet to the engine file",
    )


def price_of(drawer: Drawer, setting: Setting) -> float:
    """Money for what a setting needs and the drawer lacks.

    Parameters
    ----------
    drawer : Drawer
    setting : Setting

    Returns
    -------
    float
        In the user's money.
    """
    total = 0.0
    for jet in (
        _nearest(drawer.pilots, setting.pilot_jet),
        _nearest(drawer.mains, setting.main_jet),
    ):
        total += jet.price * max(drawer.carburettors - jet.owned, 0)
    for hung in drawer.needles:
        if hung.needle == setting.needle:
            total += hung.price * max(drawer.carburettors - hung.owned, 0)
    for slide in drawer.slides:
        if abs(slide.cutaway - setting.cutaway) < 1e-9:
            total += slide.price * max(drawer.carburettors - slide.owned, 0)
    return total


def minutes_for(drawer: Drawer, before: Setting, after: Setting) -> float:
    """Minutes on the stand to get from one setting to another, all carburettors.

    Parameters
    ----------
    drawer : Drawer
    before, after : Setting

    Returns
    -------
    float
        [min]

    Notes
    -----
    Bowl off 20 min, slide out 12 min, screw 2 min for each carburettor (common practice, no
    source).
    """
    minutes = 0.0
    if before.screw_turns != after.screw_turns:
        minutes += SCREW_MINUTES
    if (before.needle, before.clip, before.cutaway) != (after.needle, after.clip, after.cutaway):
        minutes += SLIDE_OUT_MINUTES
    if (before.pilot_jet, before.main_jet) != (after.pilot_jet, after.main_jet):
        minutes += BOWL_OFF_MINUTES
    return minutes * drawer.carburettors


def _nearest(series: Sequence[Jet], bore: float) -> Jet:
    return min(series, key=lambda jet: abs(jet.bore - bore))
