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


@dataclass(frozen=True, slots=True)
class Prices:
    """Money for what the drawer lacks, by part."""

    pilots: dict[float, float]
    mains: dict[float, float]
    needles: dict[Needle, float]
    slides: dict[float, float]

    def of(self, setting: Setting) -> float:
        """Money for everything a setting lacks; what is in no list is there already."""
        return (
            self.pilots.get(setting.pilot_jet, 0.0)
            + self.mains.get(setting.main_jet, 0.0)
            + self.needles.get(setting.needle, 0.0)
            + self.slides.get(setting.cutaway, 0.0)
        )


def prices(drawer: Drawer) -> Prices:
    """Money for each part that has to be bought, all carburettors.

    Parameters
    ----------
    drawer : Drawer

    Returns
    -------
    Prices
        In the user's money.
    """
    n = drawer.carburettors
    return Prices(
        {jet.bore: jet.price * max(n - jet.owned, 0) for jet in drawer.pilots},
        {jet.bore: jet.price * max(n - jet.owned, 0) for jet in drawer.mains},
        {hung.needle: hung.price * max(n - hung.owned, 0) for hung in drawer.needles},
        {slide.cutaway: slide.price * max(n - slide.owned, 0) for slide in drawer.slides},
    )


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
