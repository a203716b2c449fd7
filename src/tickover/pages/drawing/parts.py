"""The parts of an engine that a drawing marks: their places, their names, what is known of them."""

from __future__ import annotations

from dataclasses import dataclass

_KINDS = {"in": "Inlet", "ex": "Exhaust", "cyl": "Cylinder", "plug": "Plug", "carb": "Carburettor"}


@dataclass(frozen=True, slots=True)
class PartMark:
    """What is known about one part.

    Parameters
    ----------
    state : str
        A state word: good, out, undecided, open, stale, accepted.
    label : str
        What stands beside the part: "0.14 to 0.15", "no gap".
    href : str
        Where a touch leads; empty: no link.
    extra : str
        More for the screen reader: "limits 0.13 to 0.18 mm".
    """

    state: str
    label: str = ""
    href: str = ""
    extra: str = ""


def part_name(place: str) -> str:
    """A place in words.

    >>> part_name("ex2"), part_name("in1a"), part_name("carb3")
    ('Exhaust 2', 'Inlet 1a', 'Carburettor 3')
    """
    kind = place.rstrip("abcdefghijklmnopqrstuvwxyz").rstrip("0123456789")
    return f"{_KINDS.get(kind, kind)} {place[len(kind) :]}"


def accessible_name(place: str, mark: PartMark) -> str:
    """What a screen reader says of a part.

    >>> accessible_name("ex2", PartMark("out", "no gap"))
    'Exhaust 2: out, no gap'
    """
    return f"{part_name(place)}: " + ", ".join(
        words for words in (mark.state, mark.label, mark.extra) if words
    )


def valve_places(kind: str, cylinder: int, count: int) -> tuple[str, ...]:
    """Places of one cylinder's valves of one kind, left to right.

    >>> valve_places("in", 2, 1), valve_places("ex", 1, 2)
    (('in2',), ('ex1a', 'ex1b'))
    """
    if count == 1:
        return (f"{kind}{cylinder}",)
    return tuple(f"{kind}{cylinder}{letter}" for letter in "abcde"[:count])
