"""A circuit as one line: from what feeds it down through fuse and switches to its loads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tickover.pages.drawing.ink import Ink, picture, text

_STEP = 46.0
_LINE = 16.0
_IN = 22.0
_SYMBOL = 8.0


@dataclass(frozen=True, slots=True)
class LineNode:
    """One thing on the way: how deep, of which kind, its words, and the wire that leads to it."""

    depth: int
    kind: str
    name: str
    wire: str
    beside: str = ""
    last: bool = True
    """Whether nothing else hangs on the same thing below it."""
    load_kind: str = ""


def one_line(
    nodes: Sequence[LineNode], title: str, *, width: float = 328.0, embedded: bool = False
) -> str:
    """The diagram, top to bottom.

    Parameters
    ----------
    nodes : sequence of LineNode
        Depth first.
    title : str
        Said to those who do not see it.
    width : float
        [drawing units]
    embedded : bool
        Colours in the picture itself (paper) instead of CSS classes.

    Returns
    -------
    str
        An svg element.

    Examples
    --------
    >>> picture = one_line([LineNode(0, "fuse", "fuse lights", "")], "lights")
    >>> "fuse lights" in picture
    True
    """
    ink = Ink(embedded)
    parts, lasts = [], []
    above: dict[int, float] = {}
    y = 20.0
    for node in nodes:
        x = 14.0 + _IN * node.depth
        if node.depth and node.depth - 1 in above:
            up_x, up_y = 14.0 + _IN * (node.depth - 1), above[node.depth - 1]
            lasts.append(f"M{up_x:.1f} {up_y + _SYMBOL:.1f}V{y:.1f}H{x - _SYMBOL:.1f}")
        above[node.depth] = y
        parts.append(_symbol(node, x, y, ink))
        parts.append(text(x + 15, y + 5, node.name, ink("strong"), size=14, anchor="start"))
        for words in (node.wire, node.beside):
            if words:
                y += _LINE
                parts.append(text(x + 15, y + 5, words, ink("quiet"), size=12, anchor="start"))
        y += _STEP - _LINE
    height = y - 6.0
    rails = f'<path d="{"".join(lasts)}" {ink("tick-long")}/>' if lasts else ""
    said = f"{title}: " + "; ".join(f"{n.name} {n.wire}".strip() for n in nodes)
    return picture(ink, said, [rails, *parts], width=width, height=height, kind="engine narrow")


def _symbol(node: LineNode, x: float, y: float, ink: Ink) -> str:
    """Our own plain signs: words stand beside each."""
    s = _SYMBOL
    paper = ink("seat")
    if node.kind == "fuse":
        return (f'<rect x="{x - s}" y="{y - 5}" width="{2 * s}" height="10" {paper}/>'
                f'<path d="M{x - s} {y}h{2 * s}" {ink("hair")}/>')  # fmt: skip
    if node.kind == "switch":
        return (f'<rect x="{x - s}" y="{y - s}" width="{2 * s}" height="{2 * s}" {paper}/>'
                f'<path d="M{x - s} {y + 3}L{x + 5} {y - 5}M{x + 3} {y + 3}H{x + s}" '
                f"{ink('tick-long')}/>")  # fmt: skip
    if node.kind == "joint":
        return f'<circle cx="{x}" cy="{y}" r="4.5" {ink("tdc")}/>'
    if node.kind == "battery":
        return (f'<rect x="{x - s}" y="{y - s}" width="{2 * s}" height="{2 * s}" {paper}/>'
                f'<path d="M{x - 4} {y}h8M{x} {y - 4}v8" {ink("tick-long")}/>')  # fmt: skip
    if node.kind == "bus":
        return f'<rect x="{x - s}" y="{y - 3}" width="{2 * s}" height="6" {ink("tdc")}/>'
    round_ = f'<circle cx="{x}" cy="{y}" r="{s}" {paper}/>'
    if node.load_kind == "lamp":
        d = s * 0.7
        return round_ + (f'<path d="M{x - d:.1f} {y - d:.1f}L{x + d:.1f} {y + d:.1f}'
                         f'M{x - d:.1f} {y + d:.1f}L{x + d:.1f} {y - d:.1f}" {ink("hair")}/>'
                         )  # fmt: skip
    letter = {"coil": "c", "igniter": "i", "horn": "h", "gauge": "g", "motor": "m", "relay": "r",
              "socket": "s", "charging": "+"}.get(node.load_kind, "")  # fmt: skip
    return round_ + (text(x, y + 4, letter, ink("text"), size=12) if letter else "")
