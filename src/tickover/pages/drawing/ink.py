"""How a stroke gets its looks: by class on a page, by attributes on paper.

A drawing names roles ("bore", "turn", "good"), never colours. On a page a role becomes a CSS
class and the theme decides; standing alone (paper, a saved file) the same role is written out
as attributes, so nothing outside the picture is needed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from xml.sax.saxutils import escape as _escape

INK = "#14171c"
PAPER = "#ffffff"
SOFT = "#eceff3"
QUIET = "#555e6b"
HAIR = "#c5cad2"
BLUE = "#123f8c"
GREEN = "#1c6b3a"
RED = "#b3241c"
AMBER = "#8a5a00"

FONT = "'Atkinson Hyperlegible Next', 'Atkinson Hyperlegible', sans-serif"

ROLES: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        # the engine
        "frame": {"fill": "none", "stroke": INK, "stroke-width": "2"},
        "bore": {"fill": SOFT, "stroke": INK, "stroke-width": "1.25"},
        "seat": {"fill": PAPER, "stroke": INK, "stroke-width": "1.25"},
        "case": {"fill": SOFT, "stroke": INK, "stroke-width": "1.25"},
        "hair": {"fill": "none", "stroke": INK, "stroke-width": "1"},
        # lines to read a figure by: fainter than anything that was measured
        "grid": {"fill": "none", "stroke": HAIR, "stroke-width": "1"},
        "axis": {
            "fill": "none",
            "stroke": QUIET,
            "stroke-width": "1",
            "stroke-dasharray": "10 3 2 3",
        },
        "hit": {"fill": "none", "stroke": "none"},
        # words
        "text": {"fill": INK},
        "strong": {"fill": INK, "font-weight": "700"},
        "quiet": {"fill": QUIET},
        "struck": {"fill": QUIET, "text-decoration": "line-through"},
        # the dial
        "tick": {"fill": "none", "stroke": INK, "stroke-width": "1"},
        "tick-long": {"fill": "none", "stroke": INK, "stroke-width": "2"},
        "tdc": {"fill": INK, "stroke": "none"},
        "turn": {
            "fill": "none",
            "stroke": BLUE,
            "stroke-width": "6",
            "stroke-linejoin": "round",
        },
        "turn-head": {"fill": BLUE, "stroke": "none"},
        # state marks
        "good": {"fill": GREEN, "stroke": GREEN},
        "out": {"fill": RED, "stroke": RED},
        "undecided": {"fill": "none", "stroke": AMBER},
        "undecided-half": {"fill": AMBER, "stroke": "none"},
        "open": {"fill": "none", "stroke": INK},
        "stale": {"fill": "none", "stroke": AMBER},
        "accepted": {"fill": "none", "stroke": INK},
        "cut": {"fill": "none", "stroke": PAPER},
        # the word beside a mark
        "word-good": {"fill": GREEN},
        "word-out": {"fill": RED},
        "word-undecided": {"fill": AMBER},
        "word-open": {"fill": QUIET},
        "word-stale": {"fill": AMBER},
        "word-accepted": {"fill": INK},
    }
)


def escape(text: str) -> str:
    """Text made fit for an SVG element or a double-quoted attribute.

    >>> escape('<in 4> "cold" & dry')
    '&lt;in 4&gt; &quot;cold&quot; &amp; dry'
    """
    return _escape(text, {'"': "&quot;"})


@dataclass(frozen=True, slots=True)
class Ink:
    """Writes the attributes of a role.

    Parameters
    ----------
    embedded : bool
        True: colours stand in the picture (paper). False: CSS classes (page).
    """

    embedded: bool = False

    def __call__(self, role: str) -> str:
        """Attributes of one role, ready to stand inside a tag.

        >>> Ink()("bore")
        'class="d-bore"'
        >>> Ink(embedded=True)("text")
        'fill="#14171c"'
        """
        looks = ROLES[role]
        if not self.embedded:
            return f'class="d-{role}"'
        return " ".join(f'{key}="{value}"' for key, value in looks.items())

    def root(self) -> str:
        """Attributes of the outermost svg element."""
        if self.embedded:
            return f'xmlns="http://www.w3.org/2000/svg" font-family="{escape(FONT)}"'
        return 'focusable="false"'


def text(
    x: float,
    y: float,
    words: str,
    ink: str,
    *,
    size: float = 14.0,
    anchor: str = "middle",
) -> str:
    """One line of text; `ink` is what `Ink(role)` gave; x, y, size in drawing units."""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size:g}" {ink}>'
        f"{escape(words)}</text>"
    )


def picture(
    ink: Ink,
    said: str,
    parts: Iterable[str],
    *,
    width: float,
    height: float,
    kind: str = "engine",
    corner: tuple[float, float] = (0.0, 0.0),
) -> str:
    """The whole picture: one image to a screen reader, told in words.

    Parameters
    ----------
    ink : Ink
    said : str
        What a person who does not see it must know.
    parts : iterable of str
        What is drawn, in that order.
    width, height : float
        Of the sheet [drawing units]
    kind : str
        Class for the page's style sheet.
    corner : (float, float)
        Upper left corner of the sheet [drawing units]

    Examples
    --------
    >>> print(picture(Ink(), "nothing", [], width=10, height=5))
    <svg focusable="false" class="engine" role="img" aria-label="nothing" viewBox="0 0 10 5"></svg>
    """
    box = f"{corner[0]:.0f} {corner[1]:.0f} {width:.0f} {height:.0f}"
    return (
        f'<svg {ink.root()} class="{kind}" role="img" aria-label="{escape(said)}" '
        f'viewBox="{box}">{"".join(parts)}</svg>'
    )


def text_width(words: str, size: float) -> float:
    """Rough width of a line in the vendored typeface [drawing units].

    Measured in a browser at weight 700: '0.14 to 0.15' runs to 0.46 em a character, 'no gap'
    0.53, 'undecided' 0.54. Only a row of bare digits is wider (0.58), and no label is one.
    """
    return 0.54 * size * len(words)
