"""The story of the build that runs, in lines for the book; all of it is invented.

Measured and proved before the first start, its loom wire by wire; run for a minute and a half,
heard with one cylinder weak for want of a sound plug cap, heard again; now being dialled in with a
battery that has tired.
"""

from __future__ import annotations

NAME = "Lane 539 triple (demo, invented)"
EXAMPLE = "triple-240"
"""The example this machine's engine file is; its name there is another."""

# Told in the story among the lines, and no lines themselves.
TAIL_READ = "the wires to the tail read with the meter"
LOOM_READ = "every wire of the loom read with the meter"
PINS_SEATED = "two pins of the tail plug seated anew"
HEARD_WEAK = "recorded with the old cap"
RAG = "wet rag on the headers: cylinder 2 does not hiss"
CAP_CHANGED = "another cap on plug 2"
HEARD_EVEN = "recorded with the new cap"

TAIL_OHM = {"13": "open", "15": "0.2", "28": "0.2", "29": "4.1"}
"""What the meter showed first on the wires through the tail plug, by their numbers."""
LOOM_OHM = (
    "0.1 0.1 0.1 0.2 0.2 0.1 0.1 0.1 0.2 0.2 0.1 0.1 0.3 0.2 0.2 0.2 0.1 0.2 0.3 0.3 0.1 "
    "0.1 0.1 0.1 0.2 0.1 0.2 0.2 0.2 0.2 0.2 0.1 0.1"
)
"""Every wire end to end after that, in the order of the schedule; none had a path to earth."""

_BORES_MM = {
    # along the crank, then across it; top, middle, bottom
    "cyl1": ("61.012 61.010 61.008", "61.014 61.012 61.009"),
    "cyl2": ("61.015 61.012 61.009", "61.018 61.014 61.010"),
    "cyl3": ("61.010 61.009 61.008", "61.013 61.010 61.009"),
}
_MEASURED = (
    *(
        f"fit {place} cylinder {station} {direction} {size} mm"
        for place, ways in _BORES_MM.items()
        for direction, sizes in zip(("along", "across"), ways, strict=True)
        for station, size in zip(("top", "middle", "bottom"), sizes.split(), strict=True)
    ),
    "fit cyl1 piston 60.952 mm", "fit cyl2 piston 60.950 mm", "fit cyl3 piston 60.953 mm",
    "fit cyl1 top ring 0.22 mm", "fit cyl2 top ring 0.25 mm", "fit cyl3 top ring 0.21 mm",
)  # fmt: skip

_ON_THE_STAND = (
    "in1 0.10 / 0.12 mm", "ex1 0.15 / 0.17 mm", "in2 0.09 / 0.11 mm",
    "ex2 0.14 / 0.16 mm", "in3 0.10 / 0.12 mm", "ex3 0.15 / 0.17 mm",
    "torque head bolts 22 Nm done", "torque sump plug 25 Nm done",
    "check throttle snaps shut yes", "check throttle opens fully yes", "throttle free play 3 mm",
    "clutch free play 2.5 mm", "cold-start travel 8 mm", "cable proof-pulled clutch cable yes",
    "float height carb1 24.0 mm", "float height carb2 24.5 mm", "float height carb3 24.0 mm",
    "needle and seat carb1 0.01 ml/min", "needle and seat carb2 0.02 ml/min",
    "needle and seat carb3 0.01 ml/min",
    "plug gap plug1 0.65 mm", "plug gap plug2 0.64 mm", "plug gap plug3 0.66 mm",
    "coil primary coil1 4.3 ohm at 18 C", "coil primary coil2 4.2 ohm at 18 C",
    "coil primary coil3 4.3 ohm at 18 C",
    "coil secondary coil1 13.4 kohm", "coil secondary coil2 13.1 kohm",
    "coil secondary coil3 13.5 kohm", "points gap 0.35 mm", "static timing 10",
    "check lead order yes", "check spark plug1 yes", "check spark plug2 yes",
    "check spark plug3 yes",
)  # fmt: skip

_READY = (
    "battery at rest 12.7 V at 18 C", "check fuses as listed yes", "earths 0.05 V",
    "check stop switch run yes", "check stop switch off yes",
    *(
        f"check interlocks {gear}, clutch {clutch}, stand {stand} yes"
        for gear in ("neutral", "in gear")
        for clutch in ("in", "out")
        for stand in ("up", "down")
    ),
    "check oil filter yes", "oil quantity 3.0 l", "check oil primed yes", "cranking voltage 10.4 V",
    "oil flow 82 ml at 320 rpm", "put back oil line",
    "oil switch low 1 ohm", "oil switch full 500 kohm",
    "check intake clamps yes", "check exhaust joints yes", "check exhaust condition yes",
    "check fuel tank yes", "check fuel tap yes", "check fuel filter yes", "check fuel lines yes",
    "check fresh fuel yes", "fuel flow 420 ml/min", "check fuel drips yes",
)  # fmt: skip

_AFTER_THE_START = (
    "compression cyl1 dry 152 psi", "compression cyl2 dry 128 psi", "compression cyl3 dry 150 psi",
    HEARD_WEAK, RAG, CAP_CHANGED, "check lead order yes", "check spark plug1 yes",
    "check spark plug2 yes", "check spark plug3 yes",
)  # fmt: skip

_DIALLING_IN = (
    HEARD_EVEN,
    "strobe 1500 11", "strobe 3000 33", "strobe 4000 34", "dwell 182",
    "oil pressure 3.9 bar at 4000 rpm at 90 C", "check air leaks yes",
    "check idle at full lock yes", "throttle pull 92", "chain tension 25 mm",
    *(
        f"check switch contacts light switch, {position}, {between} yes"
        for position in ("off", "park", "on")
        for between in ("battery to tail", "battery to head", "tail to head")
    ),
    "vacuum carb1 24 cmHg", "vacuum carb2 21.5 cmHg", "vacuum carb3 23.6 cmHg",
    "mixture 1/4 4600 0.84", "mixture 3/4 6500 0.80",
    "battery at rest 12.4 V at 18 C", "charging voltage 3000 rpm 13.2 V at 18 C",
    "alternator winding 1-2 0.66 ohm at 20 C",
)  # fmt: skip

STORY: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("2026-03-21T14:00:00+00:00", _MEASURED),
    ("2026-03-28T16:20:00+00:00", (TAIL_READ, PINS_SEATED, LOOM_READ)),
    ("2026-04-03T15:10:00+00:00", _ON_THE_STAND),
    ("2026-04-04T16:40:00+00:00", _READY),
    ("2026-04-05T09:30:00+00:00", _AFTER_THE_START),
    ("2026-04-11T10:05:00+00:00", _DIALLING_IN),
)
"""When, and what was written down then."""

STARTED = "2026-04-05T09:30:00+00:00"
"""The day of the first start: its two attempts come before what else was written that day."""
