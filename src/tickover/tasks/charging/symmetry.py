"""Three pairs of wires that should read alike: which winding the odd ones share."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.engine.tables.charging import Charging
from tickover.physics.threephase import Three, unevenness
from tickover.tasks.charging.names import EVEN_SHARE

_WIRES = ("wire 1", "wire 2", "wire 3")
_OF_WIRE = ((0, 2), (0, 1), (1, 2))  # the pairs each wire of a star is part of
_SLIP_ODDS = 0.03
_EVEN_FOR_SURE = 0.9


@dataclass(frozen=True, slots=True)
class Evenness:
    """How even three pairs are, and what makes them uneven.

    `state` is 'good' or 'out' by the rule of thumb, 'undecided' near it.
    """

    share: float
    state: str
    words: str
    causes: tuple[tuple[str, float], ...]


def evenness(values: Three, table: Charging, meter: float, what: str) -> Evenness:
    """Whether three readings are even, and which winding stands out.

    Parameters
    ----------
    values : (float, float, float)
        Between 1 and 2, 2 and 3, 3 and 1, of one unit
    table : Charging
    meter : float
        Standard error of one reading, in that unit
    what : str
        'volts' or 'ohm'

    Returns
    -------
    Evenness

    Raises
    ------
    InputError
        If one is negative or all are zero.

    Notes
    -----
    `decide.explain` on the shares of the median: a winding in star moves two pairs alike, one in
    delta mostly its own; a single pair alone is a slip of the probe.

    Examples
    --------
    >>> found = evenness((30.0, 42.0, 30.5), Charging(), 0.3, "volts")
    >>> found.state, found.causes[0][0]
    ('out', 'the winding of wire 1')
    """
    import numpy as np

    from tickover.decide.explain import Cause, Seen, Shift, explain

    share = unevenness(values)
    middle = sorted(values)[1] or max(values)
    error = meter / (sum(values) / 3.0)
    # With two low of three the median is low too; the highest voltage is the sound one.
    sound = max(values) if what == "volts" else middle
    ratios = np.array(values) / sound
    wide = max(0.01, error)
    seen = Seen(np.ones(3), np.full(3, 0.015), ratios - wide, ratios + wide, wide)
    causes = []
    for n, wire in enumerate(_WIRES):
        items = _OF_WIRE[n] if table.connection == "star" else (n,)
        name = f"the winding of {wire}" if table.connection == "star" else (
            f"the winding between {('1 and 2', '2 and 3', '3 and 1')[n]}"
        )  # fmt: skip
        causes.append(Cause(name, items, 0.05, Shift.normal(0.0, 0.4)))
    if table.connection == "star":
        causes += [
            Cause(f"pair {pair} alone: a probe slipped, or another speed", (k,), _SLIP_ODDS,
                  Shift.normal(0.0, 0.4), passing=True)
            for k, pair in enumerate(("1-2", "2-3", "3-1"))
        ]  # fmt: skip
    told = explain(seen, causes)
    state = "undecided"
    if share - error > EVEN_SHARE:
        state = "out"
    elif share + error <= EVEN_SHARE or (share <= EVEN_SHARE and told.nothing > _EVEN_FOR_SURE):
        state = "good"
    found = [(c.label, float(p)) for c, p in zip(causes, told.probability, strict=True)]
    found.append(("nothing: even", told.nothing))
    kept = tuple(sorted((f for f in found if f[1] > 0.03), key=lambda each: -each[1])[:4])
    words = f"the odd one lies {100.0 * share:.0f} % from the mean"
    return Evenness(share, state, words, kept)
