"""The loom laid flat at true length: one drawing, or sheets with marks to join them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tickover.pages.drawing.ink import Ink, escape, text, text_width
from tickover.pages.drawing.unfold import Flat, unfold

Point = tuple[float, float]
_EDGE = 12.0  # round the loom and its words [mm]
_SIZE = 4.2  # of the words [mm]
_CLEAR = 45.0
_OVERLAP = 10.0
_BAR = 100.0
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
_MARGIN = (11.0, 20.0)  # at the sides, and above and below for words [mm]


@dataclass(frozen=True, slots=True)
class BoardBranch:
    """A branch: ends, length and thickness [mm], what is said of it."""

    start: str
    end: str
    length: float
    thick: float
    label: str


@dataclass(frozen=True, slots=True)
class Board:
    """The loom laid flat [mm], its upper left corner at 0, 0."""

    branches: tuple[BoardBranch, ...]
    at: dict[str, Point]
    ends: dict[str, tuple[str, ...]]
    """Lines of words at each point."""
    width: float
    height: float
    how: str


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet of the board: its name, which part it shows [mm], and its picture."""

    name: str
    left: float
    top: float
    width: float
    height: float
    svg: str


def lay_board(branches: Sequence[BoardBranch], ends: dict[str, tuple[str, ...]]) -> Board:
    """Lay the loom flat.

    Parameters
    ----------
    branches : sequence of BoardBranch
        One tree.
    ends : dict
        Words at each point.
    """
    flat: Flat = unfold([(b.start, b.end, b.length) for b in branches], _CLEAR)
    boxes = [label.box for label in _labels(flat.at, branches, ends, _SIZE).values()]
    boxes += [(x - 3, y - 3, x + 3, y + 3) for x, y in flat.at.values()]
    left = min(box[0] for box in boxes) - _EDGE
    top = min(box[1] for box in boxes) - _EDGE
    right = max(box[2] for box in boxes) + _EDGE
    bottom = max(box[3] for box in boxes) + _EDGE + 14.0
    at = {name: (x - left, y - top) for name, (x, y) in flat.at.items()}
    return Board(tuple(branches), at, dict(ends), right - left, bottom - top, flat.how)


@dataclass(frozen=True, slots=True)
class _Label:
    """Words at a point: where the first line begins, how it is anchored, and the room it takes."""

    x: float
    y: float
    anchor: str
    lines: tuple[str, ...]
    box: tuple[float, float, float, float]


def _labels(
    at: dict[str, Point],
    branches: Sequence[BoardBranch],
    ends: Mapping[str, Sequence[str]],
    size: float,
) -> dict[str, _Label]:
    """Words at every point: in the widest gap between its branches that is still free."""
    beside: dict[str, list[Point]] = {name: [] for name in at}
    for branch in branches:
        beside[branch.start].append(at[branch.end])
        beside[branch.end].append(at[branch.start])
    placed: dict[str, _Label] = {}
    for name in sorted(at, key=lambda n: len(beside[n])):
        ways = [
            _label(at[name], (name, *ends.get(name, ())), turn, size)
            for turn in _gaps(at[name], beside[name])
        ]
        free = [way for way in ways if not any(_meet(way.box, p.box) for p in placed.values())]
        placed[name] = (free or ways)[0]
    return placed


def _gaps(here: Point, beside: Sequence[Point]) -> list[float]:
    """Middles of the gaps between branches, widest first; of gaps alike the lower one."""
    turns = sorted(math.atan2(y - here[1], x - here[0]) for x, y in beside)
    gaps = [
        (after - before, before + (after - before) / 2)
        for before, after in zip(turns, [*turns[1:], turns[0] + 2 * math.pi], strict=True)
    ]
    gaps.sort(key=lambda g: (-round(g[0], 2), -math.sin(g[1])))
    return [middle for _, middle in gaps]


def _meet(one: tuple[float, ...], two: tuple[float, ...]) -> bool:
    return one[0] < two[2] and two[0] < one[2] and one[1] < two[3] and two[1] < one[3]


def _label(here: Point, lines: tuple[str, ...], turn: float, size: float) -> _Label:
    x, y = here
    dx, dy = math.cos(turn), math.sin(turn)
    step = 1.25 * size
    tall = step * len(lines)
    wide = max(text_width(line, size) for line in lines)
    far = 0.9 * size
    x0, anchor = x + far * dx, "middle" if abs(dx) < 0.3 else "start" if dx > 0 else "end"
    middle_y = y + (far + (tall / 2 if abs(dx) < 0.9 else 0.0)) * dy
    y0 = middle_y - tall / 2 + 0.85 * size
    left = x0 - (0.0 if anchor == "start" else wide / 2 if anchor == "middle" else wide)
    top = middle_y - tall / 2
    return _Label(x0, y0, anchor, lines, (left, top, left + wide, top + tall))


def _words(label: _Label, ink: Ink, size: float) -> str:
    return "".join(
        text(label.x, label.y + i * 1.25 * size, line, ink("strong" if i == 0 else "text"),
             size=size, anchor=label.anchor)
        for i, line in enumerate(label.lines)
    )  # fmt: skip


def board_svg(board: Board, *, embedded: bool = False, full_size: bool = True) -> str:
    """The whole board.

    Parameters
    ----------
    board : Board
    embedded : bool
        Colours in the picture itself (paper, a saved file) instead of CSS classes.
    full_size : bool
        True: all words, printed at true size. False: for a page, only points and lengths, large.
    """
    ink = Ink(embedded)
    if full_size:
        box = (0.0, 0.0, board.width, board.height)
        size = f'width="{board.width:.1f}mm" height="{board.height:.1f}mm" '
        body = _body(board, ink, _SIZE)
    else:
        across = max(p[0] for p in board.at.values()) - min(p[0] for p in board.at.values())
        size_of_words = max(across, 300.0) / 24.0
        marks = list(_labels(board.at, board.branches, {}, size_of_words).values())
        left, top = min(m.box[0] for m in marks), min(m.box[1] for m in marks)
        box = (left, top, max(m.box[2] for m in marks) - left,
               max(m.box[3] for m in marks) - top)  # fmt: skip
        size, body = "", _overview(board, ink, marks, size_of_words)
    said = escape(f"Loom laid flat: {len(board.branches)} branches")
    return (
        f'<svg {ink.root()} class="engine" role="img" aria-label="{said}" {size}'
        f'viewBox="{box[0]:.1f} {box[1]:.1f} {box[2]:.1f} {box[3]:.1f}">{body}</svg>'
    )


def _line(board: Board, branch: BoardBranch, ink: Ink, least: float = 1.2) -> str:
    (x1, y1), (x2, y2) = board.at[branch.start], board.at[branch.end]
    thick = max(branch.thick, least)
    nx, ny = (y1 - y2) / branch.length * thick / 2, (x2 - x1) / branch.length * thick / 2
    return (
        f'<path d="M{x1 + nx:.2f} {y1 + ny:.2f}L{x2 + nx:.2f} {y2 + ny:.2f}'
        f'L{x2 - nx:.2f} {y2 - ny:.2f}L{x1 - nx:.2f} {y1 - ny:.2f}Z" {_thin(ink, "bore")}/>'
    )


def _thin(ink: Ink, role: str) -> str:
    """A role with a line of a fraction of a millimetre."""
    return ink(role).replace('stroke-width="1.25"', 'stroke-width="0.35"').replace(
        'stroke-width="1"', 'stroke-width="0.3"'
    ) if ink.embedded else f'{ink(role)} vector-effect="non-scaling-stroke"'  # fmt: skip


Box = tuple[float, float, float, float]


def _parts(board: Board, ink: Ink, size: float) -> list[tuple[Box, str]]:
    """Everything drawn, each with the room it takes; bundles first, words on top."""
    lines, words = [], []
    for branch in board.branches:
        (x1, y1), (x2, y2) = board.at[branch.start], board.at[branch.end]
        far = branch.thick / 2 + 2.0 + size  # strokes across it, and its label beside it
        box = (min(x1, x2) - far, min(y1, y2) - far, max(x1, x2) + far, max(y1, y2) + far)
        lines.append((box, _line(board, branch, ink) + _every_ten(board, branch, ink)))
        words.append((box, _branch_words(board, branch, ink, size)))
    for x, y in board.at.values():
        dot = f'<circle cx="{x:.2f}" cy="{y:.2f}" r="2.2" {ink("tdc")}/>'
        lines.append(((x - 3, y - 3, x + 3, y + 3), dot))
    for label in _labels(board.at, board.branches, board.ends, size).values():
        words.append((label.box, _words(label, ink, size)))
    return lines + words


def _branch_words(board: Board, branch: BoardBranch, ink: Ink, size: float) -> str:
    (x1, y1), (x2, y2) = board.at[branch.start], board.at[branch.end]
    turn = math.degrees(math.atan2(y2 - y1, x2 - x1))
    turn = turn - 180.0 if turn > 90.0 else turn + 180.0 if turn <= -90.0 else turn
    words = branch.label
    if text_width(words, size) > branch.length - 8.0:
        words = words.partition(",")[0]
    return (
        f'<g transform="translate({(x1 + x2) / 2:.2f} {(y1 + y2) / 2:.2f}) rotate({turn:.2f})">'
        + text(0, -branch.thick / 2 - 2.0, words, ink("text"), size=size)
        + "</g>"
    )


def _body(board: Board, ink: Ink, size: float) -> str:
    parts = "".join(svg for _, svg in _parts(board, ink, size))
    return parts + _bar(6.0, board.height - 8.0, ink)


def _every_ten(board: Board, branch: BoardBranch, ink: Ink) -> str:
    """A short stroke across the branch at each 100 mm from its start."""
    (x1, y1), (x2, y2) = board.at[branch.start], board.at[branch.end]
    ux, uy = (x2 - x1) / branch.length, (y2 - y1) / branch.length
    half = branch.thick / 2 + 1.5
    strokes = [
        f"M{x1 + ux * d - uy * half:.2f} {y1 + uy * d + ux * half:.2f}"
        f"L{x1 + ux * d + uy * half:.2f} {y1 + uy * d - ux * half:.2f}"
        for d in range(100, int(branch.length), 100)
    ]
    return f'<path d="{"".join(strokes)}" {_thin(ink, "hair")}/>' if strokes else ""


def _bar(x: float, y: float, ink: Ink) -> str:
    """A bar of 100 mm to hold a ruler to."""
    ticks = "".join(f"M{x + d} {y - (3 if d % 50 else 5)}V{y}" for d in range(0, 101, 10))
    return (
        f'<path d="M{x} {y}h{_BAR:g}{ticks}" {_thin(ink, "hair")}/>'
        + text(x, y + 4.6, "this bar is 100 mm: hold a ruler to it", ink("text"), size=3.6,
               anchor="start")
    )  # fmt: skip


def _overview(board: Board, ink: Ink, marks: Sequence[_Label], size: float) -> str:
    parts = [_line(board, branch, ink, least=0.12 * size) for branch in board.branches]
    parts += [
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{0.3 * size:.1f}" {ink("tdc")}/>'
        for x, y in board.at.values()
    ]
    return "".join(parts) + "".join(_words(mark, ink, size) for mark in marks)


def tiles(board: Board, paper: str = "a4") -> tuple[tuple[Tile, ...], bool, tuple[int, int]]:
    """The board cut into sheets.

    Parameters
    ----------
    board : Board
    paper : str
        'a4' or 'letter'

    Returns
    -------
    (tuple of Tile, bool, (int, int))
        Sheets that show something, whether they lie on their side, and columns and rows. Crosses
        stand at the same places of the loom on neighbouring sheets.
    """
    short, long_ = PAPERS[paper]
    best: tuple[tuple[Tile, ...], bool, tuple[int, int]] | None = None
    parts = _parts(board, Ink(True), _SIZE)
    boxes = [box for box, _ in parts[len(board.branches) + len(board.at) :]]
    boxes = boxes[len(board.branches) :]  # of the words at the points
    for wide, high, flipped in ((long_, short, True), (short, long_, False)):
        w, h = wide - 2 * _MARGIN[0], high - 2 * _MARGIN[1]
        columns = max(1, math.ceil((board.width - _OVERLAP) / (w - _OVERLAP)))
        rows = max(1, math.ceil((board.height - _OVERLAP) / (h - _OVERLAP)))
        windows = [
            (f"{chr(65 + r % 26)}{c + 1}", c * (w - _OVERLAP), r * (h - _OVERLAP))
            for r in range(rows) for c in range(columns)
        ]  # fmt: skip
        kept = [each for each in windows if _shows(board, boxes, each[1], each[2], w, h)]
        if best is None or len(kept) < len(best[0]):
            made = tuple(Tile(n, x, y, w, h, _tile(parts, x, y, w, h)) for n, x, y in kept)
            best = made, flipped, (columns, rows)
    assert best is not None  # two ways to lay a sheet were tried
    return best


def _shows(
    board: Board, boxes: Sequence[tuple[float, ...]], x: float, y: float, w: float, h: float
) -> bool:
    """Whether any branch or word lies in a window."""
    window = (x, y, x + w, y + h)
    if any(_meet(box, window) for box in boxes):
        return True
    for branch in board.branches:
        (x1, y1), (x2, y2) = board.at[branch.start], board.at[branch.end]
        steps = max(2, int(branch.length / 10.0))
        for i in range(steps + 1):
            px, py = x1 + (x2 - x1) * i / steps, y1 + (y2 - y1) * i / steps
            if x - 12 <= px <= x + w + 12 and y - 12 <= py <= y + h + 12:
                return True
    return False


def _tile(parts: Sequence[tuple[Box, str]], x: float, y: float, w: float, h: float) -> str:
    """One window of the board with its crosses and its bar."""
    ink = Ink(True)
    o = _OVERLAP / 2.0
    crosses = "".join(
        f"M{cx - 4:.2f} {cy:.2f}h8M{cx:.2f} {cy - 4:.2f}v8"
        for cx in (x + o, x + w - o) for cy in (y + o, y + h - o)
    )  # fmt: skip
    window = (x, y, x + w, y + h)
    body = "".join(svg for box, svg in parts if _meet(box, window))
    frame = f"M{x:.2f} {y:.2f}h{w:.2f}v{h:.2f}h{-w:.2f}Z"
    return (
        f'<svg {ink.root()} width="{w:.2f}mm" height="{h:.2f}mm" '
        f'viewBox="{x:.2f} {y:.2f} {w:.2f} {h:.2f}">{body}'
        f'<path d="{frame}" {_thin(ink, "axis")}/><path d="{crosses}" {_thin(ink, "hair")}/>'
        f"{_bar(x + 14, y + h - 8, ink)}</svg>"
    )
