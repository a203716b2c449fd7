"""Places on an engine: valves, cylinders, plugs and carburettors by their short names."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from tickover.engine.suggest import nearest_word
from tickover.errors import InputError

VALVE_KINDS = ("in", "ex")
_LETTERS = "abc"
_SAID = (("inlet", "in"), ("intake", "in"), ("exhaust", "ex"), ("cylinder", "cyl"),
         ("sparkplug", "plug"), ("carburettor", "carb"), ("carburetor", "carb"),
         ("valve", ""))  # fmt: skip
_MOST_LISTED = 16


@dataclass(frozen=True, slots=True)
class Place:
    """One place.

    name: 'in1a'. kind: 'in' or 'ex', also 'cyl', 'plug', 'carb'. cylinder: from 1.
    letter: which of several valves of a kind, '' if there is one.
    camshaft: what drives it, '' if the file does not say.
    """

    name: str
    kind: str
    cylinder: int
    letter: str = ""
    camshaft: str = ""

    def __str__(self) -> str:
        return self.name


def valve_places(
    cylinders: int, inlet: int, exhaust: int, camshaft_of: Callable[[str, int], str]
) -> tuple[Place, ...]:
    """The valves in engine order: cylinder by cylinder, inlets first.

    Parameters
    ----------
    cylinders, inlet, exhaust : int
        Cylinders, and valves of each kind in one cylinder.
    camshaft_of : callable
        Takes the kind and the cylinder, returns the camshaft's name.

    Returns
    -------
    tuple of Place

    Examples
    --------
    >>> [str(place) for place in valve_places(1, 2, 1, lambda kind, cylinder: "camshaft")]
    ['in1a', 'in1b', 'ex1']
    """
    places = []
    for cylinder in range(1, cylinders + 1):
        for kind, count in zip(VALVE_KINDS, (inlet, exhaust), strict=True):
            for letter in _LETTERS[:count] if count > 1 else ("",):
                places.append(
                    Place(f"{kind}{cylinder}{letter}", kind, cylinder, letter,
                          camshaft_of(kind, cylinder))
                )  # fmt: skip
    return tuple(places)


def numbered_places(kind: str, count: int) -> tuple[Place, ...]:
    """Places with a number only: cylinders, plugs, carburettors.

    Examples
    --------
    >>> [str(place) for place in numbered_places("cyl", 2)]
    ['cyl1', 'cyl2']
    """
    return tuple(Place(f"{kind}{n}", kind, n) for n in range(1, count + 1))


def camshaft_name(arrangement: str | None, kind: str, cylinder: int, bank: int) -> str:
    """The name of the camshaft that drives the valves of a kind in a cylinder.

    Parameters
    ----------
    arrangement : str or None
        As in [cams] arrangement.
    kind : str
        'in' or 'ex'.
    cylinder, bank : int
        Both counted from 1.

    Returns
    -------
    str
        Empty where the arrangement is not known.

    Examples
    --------
    >>> camshaft_name("two camshafts per bank", "ex", 3, 1)
    'exhaust camshaft, bank 1'
    >>> camshaft_name("pushrods", "in", 1, 1)
    'camshaft'
    """
    if arrangement is None:
        return ""
    name = "camshaft"
    if arrangement.startswith("two camshafts"):
        name = f"{'inlet' if kind == 'in' else 'exhaust'} camshaft"
    if arrangement.endswith("per bank"):
        return f"{name}, bank {bank}"
    if arrangement.endswith("per cylinder"):
        return f"{name}, cylinder {cylinder}"
    return name


def parse_place(text: str, places: Iterable[Place]) -> Place:
    """The place somebody means, of those there are.

    Parameters
    ----------
    text : str
        As typed: 'in4', 'IN 4', 'inlet 4', 'ex1a'.
    places : iterable of Place
        The places allowed here.

    Returns
    -------
    Place

    Raises
    ------
    InputError
        If there is no such place; lists those there are.

    Examples
    --------
    >>> parse_place("Exhaust 2", valve_places(2, 1, 1, lambda kind, cylinder: "")).name
    'ex2'
    """
    allowed = {place.name: place for place in places}
    squeezed = re.sub(r"[\s_\-.,#]+", "", text[:60].lower())
    for said, meant in _SAID:
        squeezed = squeezed.replace(said, meant)
    found = allowed.get(squeezed)
    if found is not None:
        return found
    lettered = [name for name in allowed if name.rstrip(_LETTERS) == squeezed]
    near = nearest_word(squeezed, allowed) if squeezed else None
    if lettered:
        instead = f"{' or '.join(lettered)}, to say which valve"
    else:
        instead = f"{near} (did you mean that?)" if near else ""
    raise InputError(
        "There is no such place on this engine" if squeezed else "The place is missing",
        given=text, allowed=_listed(list(allowed.values())) or "none", instead=instead,
    )  # fmt: skip


def _listed(places: list[Place]) -> str:
    names = [place.name for place in places]
    if len(names) <= _MOST_LISTED:
        return ", ".join(names)
    first = [place.name for place in places if place.cylinder == 1]
    return ", ".join(first) + f" and so on to cylinder {max(place.cylinder for place in places)}"
