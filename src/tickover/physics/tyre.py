"""Tyre sizes in three styles of writing, to a nominal diameter and a rolling circumference.

The size on a sidewall is a name as much as a measure: a roll-out on the ground beats it always.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal

from tickover.errors import InputError
from tickover.physics import guards
from tickover.physics.bands import Band

INCH = 0.0254
Style = Literal["metric", "inch", "letters"]

# Width code to mm. MT and MU read in two texts, the others in one.
_LETTERS = {"MH": 80, "MJ": 90, "MM": 100, "MN": 110, "MP": 120, "MR": 120, "MT": 130, "MU": 140,
            "MV": 150}  # fmt: skip
_TAIL = r"(?:\s*\(?\d{2,3}\s*[A-Z]\)?)?(?:\s*M/?C)?(?:\s*(?:TT|TL|REINF\.?|\d\s*PR))?"
_SPEED = r"[A-Z]{0,2}"
_METRIC = re.compile(rf"(\d{{2,3}})\s*/\s*(\d{{2,3}})\s*({_SPEED}?)\s*[-\s]?\s*(\d{{1,2}}){_TAIL}")
_INCH = re.compile(
    rf"(\d[.,]\d{{1,2}})\s*(?:/\s*(\d{{2,3}}))?\s*({_SPEED})\s*[-\s]?\s*(\d{{1,2}}){_TAIL}"
)
_CODE = re.compile(rf"(M[A-Z])\s*(\d{{2,3}})\s*({_SPEED})\s*[-\s]?\s*(\d{{1,2}}){_TAIL}")
_EXAMPLES = "'110/90-18', '3.50-18', '4.25/85-18' or 'MT90-16'"


@dataclass(frozen=True, slots=True)
class Tyre:
    """A tyre size as read.

    Parameters
    ----------
    written : str
        As it stood there.
    style : {'metric', 'inch', 'letters'}
    width, rim : float
        Nominal section width and rim diameter [m]
    aspect : float
        Section height over width [1]
    standard, assumed : tuple of str
        What of it the marking itself says, and what was taken for it.
    """

    written: str
    style: Style
    width: float
    aspect: float
    rim: float
    standard: tuple[str, ...]
    assumed: tuple[str, ...]

    @property
    def diameter(self) -> float:
        """Nominal outer diameter, not loaded [m]."""
        return nominal_diameter(self.width, self.aspect, self.rim)


def nominal_diameter(width: float, aspect: float, rim: float) -> float:
    """Outer diameter by the marking.

    Parameters
    ----------
    width, rim : float
        Section width and rim diameter [m]
    aspect : float
        Section height over width [1]

    Returns
    -------
    float
        [m]

    Raises
    ------
    InputError
        If one is not above zero.

    Notes
    -----
    D = 2 W a + rim: a tyre maker's page and fitment guide.
    Checked in tests/published/test_tyre_sizes.py.

    Examples
    --------
    >>> print(f"{1e3 * nominal_diameter(0.120, 0.90, 18 * INCH):.1f} mm")
    673.2 mm
    """
    for name, value in (("Width", width), ("Aspect ratio", aspect), ("Rim", rim)):
        guards.positive(name, value)
    return 2.0 * width * aspect + rim


def read_tyre(text: str) -> Tyre:
    """A tyre size as it stands on the sidewall.

    Parameters
    ----------
    text : str
        Metric '110/90-18', inch '3.50-18' or '4.25/85-18', letters 'MT90-16'; load and speed
        marks may follow.

    Returns
    -------
    Tyre

    Raises
    ------
    InputError
        A style not known, or a size no motorcycle has.

    Notes
    -----
    Inch sizes without an aspect ratio are as high as wide; those whose hundredths are 10 or 60
    (4.10, 3.60) are low ones of 90 percent. Source: a tyre maker's page and fitment guide, which
    name 3.60 and 4.10; carried over to others of the form here.
    Checked in tests/published/test_tyre_sizes.py.

    Examples
    --------
    >>> print(f"{1e3 * read_tyre('4.10-19').diameter:.1f} mm")
    670.1 mm
    >>> read_tyre("MT90-16").width
    0.13
    """
    plain = " ".join(text.upper().replace("\u2013", "-").split())
    standard, assumed = ["width, aspect ratio and rim stand in the size"], []
    style: Style
    if found := _METRIC.fullmatch(plain):
        style = "metric"
        width, aspect = int(found[1]) / 1e3, int(found[2]) / 100.0
    elif found := _INCH.fullmatch(plain):
        style = "inch"
        number = found[1].replace(",", ".")
        width = float(number) * INCH
        if found[2]:
            aspect = int(found[2]) / 100.0
        else:
            low = round(100 * float(number)) % 100 in (10, 60)
            aspect = 0.90 if low else 1.0
            standard = ["width and rim stand in the size"]
            assumed.append(f"section {100 * aspect:.0f} % as high as wide, the rule for such "
                           "inch sizes")  # fmt: skip
        assumed.append("old inch tyres differ from their nominal size by up to 3 %, and by maker "
                       "(from memory)")  # fmt: skip
    elif found := _CODE.fullmatch(plain):
        style = "letters"
        if found[1] not in _LETTERS:
            raise InputError("This width code is not known", given=text,
                             allowed=", ".join(_LETTERS))  # fmt: skip
        width, aspect = _LETTERS[found[1]] / 1e3, int(found[2]) / 100.0
        standard = ["aspect ratio and rim stand in the size"]
        assumed.append(f"{found[1]} stands for {_LETTERS[found[1]]} mm")
    else:
        raise InputError("This is a tyre size of no style we know", given=text, instead=_EXAMPLES)
    rim_code = int(found[4])
    whole = f"{1e3 * width:.0f} mm wide, {100 * aspect:.0f} % high, rim {rim_code}"
    if not (0.05 <= width <= 0.36 and 0.25 <= aspect <= 1.05 and 8 <= rim_code <= 26):
        raise InputError("No motorcycle has a tyre of this size", given=f"{text} ({whole})",
                         allowed="50 to 360 mm wide, 25 to 105 % high, rims of 8 to 26",
                         instead=_EXAMPLES)  # fmt: skip
    return Tyre(text.strip(), style, width, aspect, rim_code * INCH, tuple(standard),
                tuple(assumed))  # fmt: skip


def rolling_circumference(tyre: Tyre) -> Band:
    """What the wheel covers in one turn, guessed from the size alone.

    Parameters
    ----------
    tyre : Tyre

    Returns
    -------
    Band
        Its middle is no better than its ends [m]

    Notes
    -----
    From 0.95 to 1 times the nominal circumference: a loaded tyre rolls shorter than pi D by a few
    percent (from memory: 3.05 D radial, 2.99 D diagonal, made for cars); inch sizes 3 percent
    more either way. An estimate to be replaced by a roll-out, never a verdict.

    Examples
    --------
    >>> guess = rolling_circumference(read_tyre("130/90-16"))
    >>> print(f"{guess.low:.3f} to {guess.high:.3f} m")
    1.911 to 2.012 m
    """
    nominal = math.pi * tyre.diameter
    slack = 0.03 if tyre.style == "inch" else 0.0
    return Band(0.95 * (1.0 - slack) * nominal, (1.0 + slack) * nominal)
