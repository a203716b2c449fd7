"""The [[checks]]: what the user wants proved besides, in his own words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, ClassVar

from pydantic import Field

from tickover.engine.fields import written
from tickover.engine.suggest import nearest_word
from tickover.engine.table import Clash, Table
from tickover.engine.tables.lists import STAGES, Words
from tickover.engine.words import Count, Number, Text, Word
from tickover.errors import InputError
from tickover.quantities import KINDS, parse

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile

YES = "yes or no"
_KINDS = (YES, *(name for name in KINDS if name not in ("shim", "level", "percent")))

RESERVED = frozenset(
    {
        "valve clearance", "shim", "compression", "leak-down", "cranking speed", "tightened",
        "tightened again", "bore", "journal", "piston", "clearance", "ring gap",
        "ring side clearance", "end float", "run-out", "flatness", "spring length", "length",
        "throttle snaps shut", "throttle opens fully", "throttle free play", "throttle pull",
        "clutch free play", "cold-start travel", "idle at full lock", "cable proof-pulled",
        "oil quantity", "oil filter", "oil primed", "oil flow", "oil pressure", "oil switch",
        "spark", "plug gap", "coil primary", "coil secondary", "lead order", "static timing",
        "advance curve", "points gap", "dwell", "fresh fuel", "fuel tank", "fuel tap",
        "fuel filter", "fuel lines", "float height", "needle and seat", "fuel flow", "fuel drips",
        "exhaust joints", "intake clamps", "air leaks", "exhaust condition", "battery at rest",
        "cranking voltage", "earths", "stop switch", "interlocks", "loose end",
        "speedometer", "carburettor balance", "mixture at full throttle",
        "compression ratio", "cam timing",
        "loom continuity", "loom insulation", "fuses as listed",
        "charging voltage", "alternator volts", "alternator winding", "winding to earth",
        "meter leads", "rectifier diodes", "field winding", "drain at rest", "charging feed drop",
        "charging earth drop", "switch contacts", "sender resistance",
        "roll-out", "odometer", "noise",
        "firing heard even",
    }
)  # fmt: skip
"""Names that Tickover's own checks go by: a user's check of the same name would answer for them."""


class OwnCheck(Table):
    """One check of the user's own."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ()

    name: Annotated[str, Text("The name of a check", 60)] = Field(
        description="What it is called: chain tension."
    )
    places: Annotated[tuple[str, ...], Words("The places")] = Field(
        default=(), description='Where, each proved by itself: ["carb1", "carb2"].'
    )
    kind: Annotated[str, Word("What the check asks for", _KINDS, {"yes": YES, "yes/no": YES})] = (
        Field(default=YES, description="yes or no, or a kind of quantity: voltage, length ...")
    )
    least: Annotated[str | None, Text("The least", 40)] = Field(
        default=None, description="Lower limit with its unit."
    )
    most: Annotated[str | None, Text("The most", 40)] = Field(
        default=None, description="Upper limit with its unit."
    )
    how: Annotated[str | None, Text("How to do it", 500)] = Field(
        default=None, description="How to do it safely."
    )
    caution: Annotated[str | None, Text("The caution", 200)] = Field(
        default=None, description="What can hurt while doing it."
    )
    required: Annotated[str, Word("Required before", (*STAGES, "never"))] = Field(
        default="first start",
        description="Before what it must be good: first start, riding, hand-over, never.",
    )
    needs: Annotated[tuple[str, ...], Words("The needs")] = Field(
        default=(), description='Checks to be done first, by name: ["spark"].'
    )
    stale_after: Annotated[tuple[str, ...], Words("The work that makes it void")] = Field(
        default=(), description='Work that makes it void: ["carburettor off"].'
    )
    minutes: Annotated[int, Count("The minutes", 1, 600)] = Field(
        default=5, description="How long it takes."
    )
    can_wreck: Annotated[float, Number("How much can go wrong", 0.0, 3.0)] = Field(
        default=1.0, description="0 nothing, to 3: its neglect can wreck the engine."
    )

    @property
    def limits_si(self) -> tuple[float | None, float | None]:
        """Least and most [SI of the kind]; None where open."""
        return self._limit(self.least), self._limit(self.most)

    def _limit(self, text: str | None) -> float | None:
        return None if text is None else parse(text, self.kind, what=self.name).value_si


def own_clashes(whole: EngineFile) -> Iterator[Clash]:
    """What in the user's own checks contradicts itself or another."""
    seen: set[tuple[str, str]] = set()
    for i, check in enumerate(whole.checks):
        at = ("checks", i)
        for key, text in (("least", check.least), ("most", check.most)):
            yield from _limit_clash((*at, key), check, text)
        if check.kind != YES and check.least is None and check.most is None:
            yield Clash(
                (*at, "kind"),
                InputError("A check for a value needs a limit to be good or out",
                           given=check.kind, instead='least = "..." or most = "..."'),
            )  # fmt: skip
        for place in check.places or ("",):
            where = (check.name.casefold(), place)
            if where in seen:
                yield Clash(
                    (*at, "name"),
                    InputError("This check stands in the file twice",
                               given=f"{check.name} {place}".strip()),
                )  # fmt: skip
            seen.add(where)
    for i, check in enumerate(whole.checks):
        if check.name.casefold().split(":")[0] in RESERVED:
            yield Clash(
                ("checks", i, "name"),
                InputError("A check of this name is there already", given=check.name,
                           instead="a name of your own, such as the name with 'my' before it"),
            )  # fmt: skip
    known = {check.name.casefold() for check in whole.checks}
    for i, check in enumerate(whole.checks):
        if check.name.casefold() in check.needs:
            yield Clash(
                ("checks", i, "needs"),
                InputError("A check cannot need itself", given=check.name,
                           allowed=", ".join(sorted(known - {check.name.casefold()}))),
            )  # fmt: skip


def _limit_clash(at: tuple[str | int, ...], check: OwnCheck, text: str | None) -> Iterator[Clash]:
    if text is None:
        return
    if check.kind == YES:
        near = nearest_word(check.name, _KINDS[1:])
        yield Clash(
            at,
            InputError("A check answered with yes or no has no limits", given=written(text),
                       instead=f'kind = "{near or "length"}"'),
        )  # fmt: skip
        return
    try:
        low, high = check.limits_si
    except InputError as wrong:
        yield Clash(at, wrong)
        return
    if low is not None and high is not None and low > high:
        yield Clash(
            at,
            InputError("The least is more than the most", given=f"{check.least}, {check.most}",
                       instead=f'least = "{check.most}", most = "{check.least}"'),
        )  # fmt: skip
