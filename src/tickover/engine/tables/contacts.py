"""The [[contacts]] and [[senders]]: what is joined in each position, what is read at each mark."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from pydantic import Field

from tickover.engine.fields import FieldReader, written
from tickover.engine.table import Clash, Table
from tickover.engine.tables.lists import Words
from tickover.engine.words import Text, Word
from tickover.errors import InputError
from tickover.quantities import parse_range

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile

_NAME = re.compile(r"[a-z0-9][a-z0-9 ]*")
Position = tuple[str, tuple[tuple[str, ...], ...]]
Mark = tuple[str, float, float]


def _named(text: Any, what: str, example: str) -> tuple[str, str]:
    if not isinstance(text, str) or ":" not in text:
        raise InputError(f"{what} should be its name, a colon and the rest", given=written(text),
                         instead=example)  # fmt: skip
    name, _, rest = text.partition(":")
    return _word(name, what), " ".join(rest.split()).lower()


def _word(text: str, what: str) -> str:
    word = " ".join(text.split()).lower()
    if not _NAME.fullmatch(word) or len(word) > 24:
        raise InputError(f"{what} has a name that is no short word", given=text,
                         allowed="letters, digits, spaces, up to 24")  # fmt: skip
    return word


@dataclass(frozen=True)
class Positions(FieldReader):
    """Each position with the contacts joined in it: 'on: battery-tail-head', 'off:'."""

    def read(self, value: Any) -> tuple[Position, ...]:
        example = '["off:", "park: battery-tail", "on: battery-tail-head"]'
        if not isinstance(value, list | tuple) or not 1 <= len(value) <= 12:
            raise InputError("The positions of a switch should be a list", given=written(value),
                             allowed="1 to 12", instead=example)  # fmt: skip
        found: list[Position] = []
        for each in value:
            name, rest = _named(each, "A position", example)
            if any(name == known for known, _ in found):
                raise InputError("A position of a switch stands there twice", given=name)
            groups = [
                tuple(_word(contact, "A contact") for contact in group.split("-"))
                for group in rest.split(",")
                if group.strip()
            ]
            every = [contact for group in groups for contact in group]
            if len(set(every)) != len(every) or any(len(group) < 2 for group in groups):
                raise InputError("Contacts joined in a position stand there once, two and more",
                                 given=written(each), instead=example)  # fmt: skip
            found.append((name, tuple(groups)))
        return tuple(found)

    def write(self, value: Any) -> list[str]:
        return [f"{name}: {', '.join('-'.join(g) for g in groups)}".strip()
                for name, groups in value]  # fmt: skip

    def schema(self) -> dict[str, Any]:
        return {"type": "array", "items": {"type": "string", "pattern": ":"},
                "minItems": 1, "maxItems": 12}  # fmt: skip


@dataclass(frozen=True)
class Marks(FieldReader):
    """Each mark of a sender with its resistance: 'full: 4..10 ohm', '80 C: 48..56 ohm'."""

    def read(self, value: Any) -> tuple[Mark, ...]:
        example = '["full: 4..10 ohm", "half: 28..36 ohm", "empty: 85..95 ohm"]'
        if not isinstance(value, list | tuple) or not 1 <= len(value) <= 12:
            raise InputError("The marks of a sender should be a list", given=written(value),
                             allowed="1 to 12", instead=example)  # fmt: skip
        found: list[Mark] = []
        for each in value:
            name, rest = _named(each, "A mark", example)
            if any(name == known for known, _, _ in found):
                raise InputError("A mark of a sender stands there twice", given=name)
            span = parse_range(rest, "resistance", None, f"The resistance at {name}")
            if not 0.0 <= span.low_si < span.high_si <= 1e6:
                raise InputError("A mark needs a least and a most", given=written(each),
                                 allowed="0 to 1 Mohm", instead=example)  # fmt: skip
            found.append((name, span.low_si, span.high_si))
        return tuple(found)

    def write(self, value: Any) -> list[str]:
        return [f"{name}: {low!r}..{high!r} ohm" for name, low, high in value]

    def schema(self) -> dict[str, Any]:
        return {"type": "array", "items": {"type": "string", "pattern": ":"},
                "minItems": 1, "maxItems": 12}  # fmt: skip


class ContactTable(Table):
    """One switch: its contacts and which of them each position joins."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ()

    name: Annotated[str, Text("The name of a switch", 24)] = Field(
        description="What it is called: light switch."
    )
    terminals: Annotated[tuple[str, ...], Words("The terminals", 8)] = Field(
        description='Its wires, two to eight: ["battery", "tail", "head"].'
    )
    positions: Annotated[tuple[Position, ...], Positions()] = Field(
        description="Each position and the contacts it joins."
    )

    @property
    def pairs(self) -> tuple[tuple[str, str], ...]:
        """Every two terminals, in the order of the file."""
        return tuple(combinations(self.terminals, 2))

    def joins(self, position: str, one: str, other: str) -> bool:
        """Whether a position joins two contacts.

        Parameters
        ----------
        position, one, other : str

        Returns
        -------
        bool

        Examples
        --------
        >>> light = ContactTable(
        ...     name="light", terminals=["b", "t", "h"], positions=["on: b-t-h", "off:"])
        >>> light.joins("on", "t", "h"), light.joins("off", "b", "t")
        (True, False)
        """
        return any(
            one in group and other in group
            for name, groups in self.positions
            if name == position
            for group in groups
        )


class Sender(Table):
    """One sender: what its resistance should be at each mark."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ()

    name: Annotated[str, Text("The name of a sender", 24)] = Field(
        description="What it is called: fuel sender."
    )
    kind: Annotated[str, Word("The kind of sender", ("fuel", "temperature", "other"))] = Field(
        default="other", description="fuel, temperature or other."
    )
    marks: Annotated[tuple[Mark, ...], Marks()] = Field(description="Each mark and its resistance.")


def contact_clashes(whole: EngineFile) -> Iterator[Clash]:
    """A contact no switch has, a switch of one contact, two of one name."""
    for i, switch in enumerate(whole.contacts):
        at = ("contacts", i)
        if len(switch.terminals) < 2:
            yield Clash((*at, "terminals"), InputError(
                "A switch has two terminals or more", given=", ".join(switch.terminals),
            ))  # fmt: skip
        strange = {c for _, groups in switch.positions for g in groups for c in g}
        strange -= set(switch.terminals)
        if strange:
            yield Clash((*at, "positions"), InputError(
                f"'{switch.name}' has no such contact", given=", ".join(sorted(strange)),
                allowed=", ".join(switch.terminals)))  # fmt: skip
    named = (
        ("contacts", [each.name for each in whole.contacts]),
        ("senders", [each.name for each in whole.senders]),
    )
    for table, names in named:
        seen: set[str] = set()
        for i, written_name in enumerate(names):
            name = written_name.casefold()
            if name in seen or not _NAME.fullmatch(name):
                problem = (
                    "This name stands there twice" if name in seen
                    else "A name here is letters, digits and spaces"
                )  # fmt: skip
                yield Clash((table, i, "name"), InputError(problem, given=written_name))
            seen.add(name)
