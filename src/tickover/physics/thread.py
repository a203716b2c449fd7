"""Screw threads: their names, and their diameters from the thread form.

Names are read the way they are said: "M8", "M10x1.25", "1/4 BSF", "5/16-24 UNF", "2 BA",
"3/8 BSCy". Where the standard fixes pitch by size, the size is enough; a pitch that the series
does not have must be given.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from tickover.errors import InputError
from tickover.physics import guards

INCH = 0.0254
"""One inch [m], exactly."""


@dataclass(frozen=True, slots=True)
class Form:
    """Shape of a thread, all lengths as shares of the pitch.

    Parameters
    ----------
    name : str
    angle_deg : float
        Between the flanks.
    pitch_drop : float
        Major diameter less pitch diameter.
    nut_drop : float
        Major diameter less the basic minor diameter of the internal thread.
    core_drop : float
        Major diameter less the core diameter of the screw.
    stress_drop : float
        Major diameter less the diameter of the tensile stress area.
    """

    name: str
    angle_deg: float
    pitch_drop: float
    nut_drop: float
    core_drop: float
    stress_drop: float


_H = math.sqrt(3.0) / 2.0  # height of the sharp 60 degree triangle
ISO = Form("ISO", 60.0, 0.75 * _H, 1.25 * _H, 17.0 / 12.0 * _H, 13.0 / 12.0 * _H)
"""ISO 68-1: d2 = d - 3/4 H, D1 = d - 5/4 H, d3 = D1 - H/6, stress diameter (d2 + d3)/2."""
UNIFIED = Form("Unified", 60.0, 0.75 * _H, 1.25 * _H, 17.0 / 12.0 * _H, 0.9743)
"""ASME B1.1: the ISO profile, with its own stress diameter d - 0.9743 p."""
WHITWORTH = Form("Whitworth", 55.0, 0.640327, 1.280654, 1.280654, 0.9604905)
"""BS 84: depth 0.640327 p; stress diameter midway between effective and core (no standard)."""
BRITISH_ASSOCIATION = Form("BA", 47.5, 0.6, 1.2, 1.2, 0.9)
"""BS 93: depth 0.6 p; stress diameter midway between effective and core (no standard)."""
CYCLE = Form("Cycle", 60.0, 0.5327, 1.0654, 1.0654, 0.79905)
"""BS 811: depth 0.5327 p; stress diameter midway between effective and core (no standard)."""


@dataclass(frozen=True, slots=True)
class Thread:
    """A screw thread of nominal size.

    Parameters
    ----------
    name : str
    major : float
        Diameter over the crests of the screw [m]
    pitch : float
        [m]
    form : Form

    Raises
    ------
    InputError
        If the pitch is too coarse for the diameter, or either is not above zero.

    Notes
    -----
    Basic profile, no tolerances. ISO 68-1 and ISO 724, ASME B1.1, BS 84, BS 93, BS 811, from
    published copies of their tables. Checked in tests/published/test_iso_threads.py and
    test_inch_threads.py.

    Examples
    --------
    >>> m8 = thread("M8")
    >>> print(f"{1e3 * m8.pitch_diameter:.3f} {1e3 * m8.nut_minor:.3f} {1e6 * m8.stress_area:.1f}")
    7.188 6.647 36.6
    """

    name: str
    major: float
    pitch: float
    form: Form

    def __post_init__(self) -> None:
        guards.positive("Thread diameter", self.major, "m")
        guards.positive("Thread pitch", self.pitch, "m")
        if self.major <= 2.0 * self.form.core_drop * self.pitch:
            raise InputError(
                "The pitch is too coarse for this diameter",
                given=f"{1e3 * self.major:g} mm with {1e3 * self.pitch:g} mm pitch",
            )

    @property
    def pitch_diameter(self) -> float:
        """Effective diameter, where groove and ridge are equally wide [m]."""
        return self.major - self.form.pitch_drop * self.pitch

    @property
    def nut_minor(self) -> float:
        """Basic minor diameter of the internal thread [m]."""
        return self.major - self.form.nut_drop * self.pitch

    @property
    def core(self) -> float:
        """Diameter of the screw at the bottom of the thread [m]."""
        return self.major - self.form.core_drop * self.pitch

    @property
    def stress_area(self) -> float:
        """Area that carries tension [m^2]."""
        return 0.25 * math.pi * self.stress_diameter**2

    @property
    def stress_diameter(self) -> float:
        """Diameter of the stress area [m]."""
        return self.major - self.form.stress_drop * self.pitch

    @property
    def flank_angle(self) -> float:
        """Half the angle between the flanks [rad]."""
        return math.radians(0.5 * self.form.angle_deg)


# ISO 261 coarse pitches [mm].
_COARSE = {
    "1.6": 0.35, "2": 0.4, "2.5": 0.45, "3": 0.5, "3.5": 0.6, "4": 0.7, "5": 0.8, "6": 1.0,
    "7": 1.0, "8": 1.25, "9": 1.25, "10": 1.5, "11": 1.5, "12": 1.75, "14": 2.0, "16": 2.0,
    "18": 2.5, "20": 2.5, "22": 2.5, "24": 3.0,
}  # fmt: skip
# Threads per inch by nominal size [in].
_PER_INCH = {
    "UNC": {
        "1/4": 20, "5/16": 18, "3/8": 16, "7/16": 14, "1/2": 13, "9/16": 12, "5/8": 11,
        "3/4": 10, "7/8": 9, "1": 8,
    },
    "UNF": {
        "1/4": 28, "5/16": 24, "3/8": 24, "7/16": 20, "1/2": 20, "9/16": 18, "5/8": 18,
        "3/4": 16, "7/8": 14, "1": 12,
    },
    "BSW": {
        "1/8": 40, "3/16": 24, "1/4": 20, "5/16": 18, "3/8": 16, "7/16": 14, "1/2": 12,
        "9/16": 12, "5/8": 11, "3/4": 10, "7/8": 9, "1": 8,
    },
    "BSF": {
        "3/16": 32, "7/32": 28, "1/4": 26, "5/16": 22, "3/8": 20, "7/16": 18, "1/2": 16,
        "9/16": 16, "5/8": 14, "3/4": 12, "7/8": 11,
    },
    "BSCy": {
        "1/8": 40, "5/32": 32, "3/16": 32, "7/32": 26, "1/4": 26, "9/32": 26, "5/16": 26,
        "3/8": 26, "7/16": 26, "1/2": 26, "9/16": 26, "5/8": 26, "11/16": 26, "3/4": 26,
    },
}  # fmt: skip
_FORM = {"UNC": UNIFIED, "UNF": UNIFIED, "BSW": WHITWORTH, "BSF": WHITWORTH, "BSCy": CYCLE}
_SERIES = {name.upper(): name for name in _PER_INCH} | {"BSC": "BSCy", "CEI": "BSCy"}
# BS 93: number to diameter and pitch [mm].
_BA = {
    0: (6.0, 1.0), 1: (5.3, 0.9), 2: (4.7, 0.81), 3: (4.1, 0.73), 4: (3.6, 0.66), 5: (3.2, 0.59),
    6: (2.8, 0.53), 7: (2.5, 0.48), 8: (2.2, 0.43), 9: (1.9, 0.39), 10: (1.7, 0.35),
}  # fmt: skip


def thread(text: str) -> Thread:
    """Read a thread by its name.

    Parameters
    ----------
    text : str
        "M8", "M10x1.25", "1/4 UNF", "5/16-24 UNF", "3/8 BSW", "1/4 BSF", "5/16 BSCy", "2 BA"

    Returns
    -------
    Thread

    Raises
    ------
    InputError
        If it is none of these, or the series has no such size.

    Notes
    -----
    Standards as named at `Thread`. A UNF thread of 1 inch has 12 threads an inch.

    Examples
    --------
    >>> thread("M10 x 1.25").name, thread("1/4bsf").name, thread("0ba").name
    ('M10x1.25', '1/4-26 BSF', '0 BA')
    """
    clean = text.strip().replace(",", ".").replace("×", "x").replace('"', "")
    if found := re.fullmatch(r"M\s*(\d+(?:\.\d+)?)(?:\s*[x*-]\s*(\d*\.?\d+))?", clean, re.I):
        return _metric(text, found[1], found[2])
    if found := re.fullmatch(r"(\d{1,2})\s*BA|BA\s*(\d{1,2})", clean, re.I):
        return _association(text, int(found[1] or found[2]))
    if found := re.fullmatch(
        r"(\d+(?:/\d+)?)\s*(?:in)?\s*(?:[-x ]\s*(\d+))?\s*([A-Za-z]+)", clean, re.I
    ):
        return _inch(text, found[1], found[2], found[3])
    raise InputError(
        "Not a thread known here",
        given=text,
        allowed="metric, UNC, UNF, BSW, BSF, BSCy and BA threads",
        instead="M8, M10x1.25, 1/4 BSF or 2 BA",
    )


def _metric(text: str, size: str, pitch: str | None) -> Thread:
    key = f"{float(size):g}"
    coarse = _COARSE.get(key)
    chosen = float(pitch) if pitch else coarse
    if chosen is None:
        raise InputError(
            "There is no usual pitch for this size", given=text, instead=f"M{key}x1, with the pitch"
        )
    name = f"M{key}" if chosen == coarse else f"M{key}x{chosen:g}"
    return Thread(name, 1e-3 * float(size), 1e-3 * chosen, ISO)


def _association(text: str, number: int) -> Thread:
    if number not in _BA:
        raise InputError("No such BA size here", given=text, allowed="0 BA to 10 BA")
    diameter, pitch = _BA[number]
    return Thread(f"{number} BA", 1e-3 * diameter, 1e-3 * pitch, BRITISH_ASSOCIATION)


def _inch(text: str, size: str, per_inch: str | None, series_text: str) -> Thread:
    series = _SERIES.get(series_text.upper())
    if series is None:
        raise InputError(
            "Not a thread series known here", given=text, allowed=", ".join((*_PER_INCH, "BA"))
        )
    known = _PER_INCH[series]
    count = int(per_inch) if per_inch else known.get(size)
    if not count:
        raise InputError(
            f"No usual threads an inch for {size} {series}",
            given=text,
            allowed=", ".join(known),
            instead=f"{size}-26 {series}, with the threads an inch",
        )
    try:
        diameter = float(Fraction(size))
    except ZeroDivisionError:
        raise InputError("Not a size in inches", given=text, instead=f"1/4 {series}") from None
    return Thread(f"{size}-{count} {series}", diameter * INCH, INCH / count, _FORM[series])
