"""One wire by a short line: '12 0.3 ohm', '12 open', '12 to earth 4 kohm', '12 remade'."""

from __future__ import annotations

import re

from tickover.book.bodies import Reading, Work
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.tasks.wiring.continuity import Test
from tickover.tasks.wiring.in_book import loom_sized, wire_reading
from tickover.tasks.wiring.made import remade

_LINE = re.compile(
    r"(?P<number>\S+)\s+(?:(?P<test>(?:to\s+)?earth|end\s+to\s+end)\b[\s:=]*)?(?P<typed>.*)",
    re.IGNORECASE,
)
_REMADE = re.compile(r"remade|made\s+(?:anew|again)", re.IGNORECASE)
_EXAMPLE = "'wire 12 0.3 ohm', 'wire 12 to earth open', 'wire 12 touches 25' or 'wire 12 remade'"


def wire_line(engine: EngineFile, text: str) -> tuple[Reading | Work, str]:
    """The entry of one reading of one wire or of its making anew, and its words.

    Parameters
    ----------
    engine : EngineFile
        With a loom.
    text : str
        Number of the wire, then ohms or 'open'; with 'to earth' or 'touches 25' against earth and
        other wires; or 'remade'.

    Raises
    ------
    InputError
        No loom, no such wire, or no reading of it.
    """
    sizing = loom_sized(engine)
    if sizing is None:
        raise InputError(
            "This machine has no loom to read",
            given=f"wire {text}".strip(),
            allowed="a loom in the engine file, described on the wiring page",
        )
    found = _LINE.fullmatch(text.strip())
    if found is None or not found["typed"]:
        raise InputError(
            "A wire needs its number and what the meter shows",
            given=f"wire {text}".strip(),
            instead=_EXAMPLE,
        )
    runs = {wire.run.number: wire.run for wire in sizing.wires}
    run = runs.get(found["number"])
    if run is None:
        raise InputError(
            "There is no such wire",
            given=found["number"],
            allowed=f"the {len(runs)} numbers of the schedule",
            instead=_EXAMPLE,
        )
    typed = found["typed"].strip()
    if _REMADE.fullmatch(typed):
        return remade(run), f"wire {run.number}, {run.start} to {run.end}: made anew, read it again"
    against = "earth" in (found["test"] or "").casefold() or typed.casefold().startswith("touch")
    test: Test = "to earth" if against else "end to end"
    if against and run.side == "earth" and not typed.casefold().startswith("touch"):
        raise InputError(
            "This wire leads to earth",
            given=f"wire {text}",
            instead=f"'wire {run.number} 0.3 ohm', end to end",
        )
    body = wire_reading(run, test, typed, "", set(runs))
    return body, f"wire {run.number}, {run.start} to {run.end}, {test}: {typed}"
