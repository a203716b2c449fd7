"""The [[fits]] tables: what is measured when the engine is built, with its limits."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, ClassVar

from pydantic import Field

from tickover.engine.fields import Limits, Size
from tickover.engine.table import Clash, Table
from tickover.engine.tables.lists import STAGES, Words
from tickover.engine.words import Text, Word
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile

ROUND = ("bore", "journal", "piston")
"""Kinds measured at several stations and directions, so that taper and out-of-round follow."""

KINDS = (*ROUND, "clearance", "ring gap", "ring side clearance", "end float", "run-out",
         "flatness", "spring length", "length")  # fmt: skip
_ALSO = {
    "cylinder": "bore", "hole": "bore", "shaft": "journal", "crankpin": "journal",
    "pin": "journal", "gap": "clearance", "piston ring gap": "ring gap", "end play": "end float",
    "runout": "run-out", "warp": "flatness", "free length": "spring length",
}  # fmt: skip
SHRINKS = ("journal", "piston", "spring length")
"""Kinds that wear smaller; the others wear larger."""

_NUMBERED = re.compile(r"(?:cyl|plug|carb|in|ex)(\d{1,3})[a-c]?")

READING_ERROR_M = {
    "bore": 5e-6, "journal": 4e-6, "piston": 4e-6, "clearance": 1e-5, "ring gap": 2.5e-5,
    "ring side clearance": 1.3e-5, "end float": 1.3e-5, "run-out": 1e-5, "flatness": 1.3e-5,
    "spring length": 5e-5, "length": 5e-5,
}  # fmt: skip
"""Give or take of one reading [m]: micrometers as DIN 863 allows them (4 um up to 50 mm, 5 um
above), half a step between blades for gaps, a slide gauge of 0.05 mm for lengths: our choice."""


class Fit(Table):
    """One build measurement, at one place or at several alike."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ("Build measurements and wear",)

    name: Annotated[str, Text("The name of a fit", 40)] = Field(
        description="What it is called: cylinder, top ring, big end."
    )
    kind: Annotated[str, Word("The kind of fit", KINDS, _ALSO)] = Field(
        description="bore, journal, piston, clearance, ring gap, end float, spring length ..."
    )
    places: Annotated[tuple[str, ...], Words("The places")] = Field(
        default=(), description='Where, each measured by itself: ["cyl1", "cyl2"].'
    )
    limits_m: Annotated[
        tuple[float, float] | None, Limits("The limits of a fit", "length", 0.0, 0.6, 0.05)
    ] = Field(default=None, alias="limits", description="Smallest and largest when new.")
    wear_limit_m: Annotated[float | None, Size("The wear limit", "length", 0.0, 0.6, 0.05)] = Field(
        default=None, alias="wear_limit", description="How far it may wear: one size."
    )
    taper_limit_m: Annotated[
        float | None, Size("The taper limit", "length", 0.0, 0.002, 0.00005)
    ] = Field(default=None, alias="taper_limit", description="Largest taper between stations.")
    round_limit_m: Annotated[
        float | None, Size("The out-of-round limit", "length", 0.0, 0.002, 0.00005)
    ] = Field(
        default=None,
        alias="out_of_round_limit",
        description="Largest difference between two directions at one station.",
    )
    stations: Annotated[tuple[str, ...], Words("The stations", 8)] = Field(
        default=(), description='Heights or distances to measure at: ["top", "middle", "bottom"].'
    )
    directions: Annotated[tuple[str, ...], Words("The directions", 6)] = Field(
        default=(), description='Directions at each station: ["along", "across"].'
    )
    between: Annotated[tuple[str, ...], Words("The two parts", 2)] = Field(
        default=(),
        description="Clearance only: names of the fits it lies between, the hole first.",
    )
    given_reading_error_m: Annotated[
        float | None, Size("The reading error", "length", 1e-7, 0.001, 5e-6)
    ] = Field(default=None, alias="reading_error", description="Give or take of one reading.")
    required: Annotated[str, Word("Required before", (*STAGES, "never"))] = Field(
        default="first start",
        description="Before what it must be good: first start, riding, hand-over, never.",
    )
    how: Annotated[str | None, Text("How to measure", 300)] = Field(
        default=None, description="How to measure it here, where that is not plain."
    )

    @property
    def is_round(self) -> bool:
        """Whether taper and out-of-round mean anything here."""
        return self.kind in ROUND

    @property
    def shrinks(self) -> bool:
        """Whether it wears smaller."""
        return self.kind in SHRINKS

    @property
    def reading_error_m(self) -> float:
        """Give or take of one reading [m]."""
        if self.given_reading_error_m is not None:
            return self.given_reading_error_m
        return READING_ERROR_M[self.kind]

    @property
    def allowed_m(self) -> tuple[float, float]:
        """What is allowed on a used part, the wear limit taking the place of one end [m]."""
        low, high = self.limits_m or (float("-inf"), float("inf"))
        if self.wear_limit_m is None:
            return low, high
        return (self.wear_limit_m, high) if self.shrinks else (low, self.wear_limit_m)


def fit_clashes(whole: EngineFile) -> Iterator[Clash]:
    """What in the fits contradicts itself or another."""
    seen: set[tuple[str, str, str]] = set()
    for i, fit in enumerate(whole.fits):
        at = ("fits", i)
        low, high = fit.limits_m or (0.0, 0.6)
        wear = fit.wear_limit_m
        if wear is not None and fit.limits_m and (wear > low if fit.shrinks else wear < high):
            side = "below" if fit.shrinks else "above"
            yield Clash(
                (*at, "wear_limit"),
                InputError(
                    f"A {fit.kind} wears {'smaller' if fit.shrinks else 'larger'}, so its wear "
                    f"limit lies {side} the limits", given=f"{wear * 1e3:g} mm",
                    allowed=f"{side} {(low if fit.shrinks else high) * 1e3:g} mm",
                ),
            )  # fmt: skip
        if fit.between and (fit.kind != "clearance" or len(fit.between) != 2):
            yield Clash(
                (*at, "between"),
                InputError(
                    "Only a clearance lies between two parts", given=", ".join(fit.between),
                    allowed="two names, the hole first", instead='["cylinder", "piston"]',
                ),
            )  # fmt: skip
        elif fit.between:
            yield from _parts_known(whole, i)
        for place in fit.places or ("",):
            number = _NUMBERED.fullmatch(place)
            if number and not 1 <= int(number[1]) <= whole.engine.cylinders:
                yield Clash(
                    (*at, "places"),
                    InputError("This engine has no such cylinder", given=place,
                               allowed=f"1 to {whole.engine.cylinders}"),
                )  # fmt: skip
            key = (fit.kind, fit.name.lower(), place)
            if key in seen:
                yield Clash(
                    (*at, "name"),
                    InputError("This fit stands in the file twice", given=f"{fit.name} {place}"),
                )
            seen.add(key)


def _parts_known(whole: EngineFile, i: int) -> Iterator[Clash]:
    fit = whole.fits[i]
    for name in fit.between:
        parts = [each for each in whole.fits if each.name.lower() == name and each.is_round]
        if not parts:
            known = ", ".join(each.name for each in whole.fits if each.is_round)
            yield Clash(
                ("fits", i, "between"),
                InputError("There is no such part among the fits", given=name,
                           allowed=known or "names of a bore, journal or piston"),
            )  # fmt: skip
        elif len(parts) > 1:
            yield Clash(
                ("fits", i, "between"),
                InputError("Two parts have this name", given=name, instead="a name for each"),
            )
        elif parts[0].places and not set(fit.places or ("",)) <= set(parts[0].places):
            yield Clash(
                ("fits", i, "between"),
                InputError("The part is not measured at all these places", given=name,
                           allowed=", ".join(parts[0].places)),
            )  # fmt: skip
