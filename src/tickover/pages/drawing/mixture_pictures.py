"""Pictures of the mixture: the map, what each adjuster moves, the rack, timing by strobe.

Nothing is told by colour. A cell of the map says its lambda in figures; a wedge that points up
and grows says lean, one that points down says rich; a heavy frame marks what is dangerous.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tickover.pages.drawing.ink import Ink, picture, text

_LEFT, _TOP, _BOTTOM = 46.0, 26.0, 34.0
_CELL_HIGH = 40.0
_HARMLESS = 0.02  # no wedge within this of the target


@dataclass(frozen=True, slots=True)
class MapSquare:
    """One point of the map as drawn: where, which lambda, how far from the target."""

    opening: str
    speed: str
    lam: float | None
    off: float
    dangerous: bool


def mixture_map(
    squares: Sequence[MapSquare], *, width: float = 328.0, embedded: bool = False
) -> str:
    """The mixture over opening (across) and speed (up).

    Parameters
    ----------
    squares : sequence of MapSquare
        `lam` None where nothing can be said.
    width : float
        Of the sheet [drawing units]
    embedded : bool
        Colours in the picture itself (paper).

    Returns
    -------
    str
        An svg element.

    Examples
    --------
    >>> lean = MapSquare("full", "8000", 0.97, 0.11, True)
    >>> picture = mixture_map([lean, MapSquare("1/4", "8000", None, 0.0, False)])
    >>> "0.97" in picture, "lean" in picture, "not said" in picture
    (True, True, True)
    """
    ink = Ink(embedded)
    openings = list(dict.fromkeys(s.opening for s in squares))
    speeds = list(dict.fromkeys(s.speed for s in squares))
    wide = (width - _LEFT - 4.0) / max(len(openings), 1)
    height = _TOP + _BOTTOM + _CELL_HIGH * len(speeds)
    parts = [text(4, _TOP - 12, "rpm", ink("quiet"), anchor="start")]
    for row, speed in enumerate(reversed(speeds)):
        y = _TOP + _CELL_HIGH * (row + 0.5) + 4
        parts.append(text(_LEFT - 6, y, speed, ink("quiet"), anchor="end", size=12))
    for column, opening in enumerate(openings):
        x = _LEFT + wide * (column + 0.5)
        parts.append(text(x, height - 16, opening, ink("quiet"), size=12))
    for square in squares:
        x = _LEFT + wide * openings.index(square.opening)
        y = _TOP + _CELL_HIGH * (len(speeds) - 1 - speeds.index(square.speed))
        parts += _square(square, x, y, wide, ink)
    parts.append(text(0.5 * (_LEFT + width), height - 2, "opening", ink("quiet"), size=12))
    return picture(ink, _map_said(squares), parts, width=width, height=height)


def _square(square: MapSquare, x: float, y: float, wide: float, ink: Ink) -> list[str]:
    role = "frame" if square.dangerous else "hair"
    box = f'<rect x="{x + 1.5:.1f}" y="{y + 1.5:.1f}" width="{wide - 3:.1f}" '
    parts = [f'{box}height="{_CELL_HIGH - 3:.1f}" {ink(role)}/>']
    middle = x + 0.5 * wide
    if square.lam is None:
        parts.append(
            f'<path d="M{x + 4:.1f} {y + _CELL_HIGH - 5:.1f}L{x + wide - 4:.1f} {y + 5:.1f}" '
            f"{ink('axis')}/>"
        )
        return parts
    size = 11.0 if wide < 40.0 else 13.0
    parts.append(
        text(middle, y + 17, f"{square.lam:.2f}", ink("strong" if square.dangerous else "text"),
             size=size)
    )  # fmt: skip
    if abs(square.off) > _HARMLESS:
        reach = min(4.0 + 60.0 * abs(square.off), 13.0)
        base, tip = (y + 35, y + 35 - reach) if square.off > 0 else (y + 35 - reach, y + 35)
        half = 0.6 * reach
        parts.append(
            f'<polygon points="{middle - half:.1f},{base:.1f} {middle + half:.1f},{base:.1f} '
            f'{middle:.1f},{tip:.1f}" {ink("tdc")}/>'
        )
    return parts


def _map_said(squares: Sequence[MapSquare]) -> str:
    words = []
    for s in squares:
        if s.lam is None:
            said = "not said"
        else:
            way = "lean" if s.off > _HARMLESS else "rich" if s.off < -_HARMLESS else "on target"
            said = f"{s.lam:.2f} {way}"
        words.append(f"{s.opening} at {s.speed}: {said}")
    return "Mixture; " + "; ".join(words)


def influence_strips(
    rows: Sequence[tuple[str, str, Sequence[float]]],
    marks: Sequence[str],
    rule: Mapping[str, tuple[float, float]],
    *,
    width: float = 328.0,
    embedded: bool = False,
) -> str:
    """What one step of each adjuster does over the throttle, one strip of bars for each.

    Parameters
    ----------
    rows : sequence of (adjuster, step, percents)
        Change of lambda at each mark; down is richer [%]
    marks : sequence of str
        Names of the openings.
    rule : mapping
        Adjuster to (first, last) mark of the trade's rule, as places 0 .. n - 1.
    width : float
    embedded : bool

    Returns
    -------
    str
        An svg element.

    Examples
    --------
    >>> picture = influence_strips([("main jet", "2.5 % more", [0, -4.8])], ["idle", "full"],
    ...                            {"main jet": (1, 1)})
    >>> "main jet" in picture and picture.count("<rect") == 2
    True
    """
    ink = Ink(embedded)
    left = 8.0
    wide = (width - left - 4.0) / max(len(marks), 1)
    most = max([abs(p) for _, _, percents in rows for p in percents] + [1.0])
    parts = []
    top = 0.0
    for name, step, percents in rows:
        parts.append(text(left, top + 14, f"{name}, {step}", ink("text"), anchor="start", size=13))
        # each strip takes the room its own bars and figures need, above and below
        zero = top + 22.0 + max(20.0 * max(percents) / most + 12.0, 4.0)
        bottom = zero + max(20.0 * -min(percents) / most + 14.0, 6.0)
        parts.append(f'<path d="M{left:.1f} {zero:.1f}H{width - 4:.1f}" {ink("grid")}/>')
        for k, percent in enumerate(percents):
            tall = 20.0 * abs(percent) / most
            x = left + wide * (k + 0.5)
            y = zero if percent < 0 else zero - tall
            parts.append(
                f'<rect x="{x - 9:.1f}" y="{y:.1f}" width="18" height="{max(tall, 0.5):.1f}" '
                f"{ink('tdc')}/>"
            )
            if abs(percent) >= 0.5:
                above = zero - tall - 2 if percent > 0 else zero + tall + 11
                parts.append(text(x, above, f"{percent:+.0f}", ink("quiet"), size=11))
        if name in rule:
            first, last = rule[name]
            a, b = left + wide * (first + 0.1), left + wide * (last + 0.9)
            y = bottom + 4.0
            parts.append(
                f'<path d="M{a:.1f} {y - 4:.1f}V{y:.1f}H{b:.1f}V{y - 4:.1f}" {ink("hair")}/>'
            )
        top = bottom + 10.0
    height = top + 40.0
    for k, mark in enumerate(marks):
        x = left + wide * (k + 0.5)
        parts.append(text(x, height - 20, mark, ink("quiet"), size=12))
    parts.append(
        text(left, height - 4, "bracket: the trade's rule; bars: % of lambda, down is richer",
             ink("quiet"), anchor="start", size=11)
    )  # fmt: skip
    said = "; ".join(
        f"{name}, {step}: "
        + ", ".join(f"{m} {p:+.1f} %" for m, p in zip(marks, percents, strict=True))
        for name, step, percents in rows
    )
    return picture(ink, said, parts, width=width, height=height)


def rack_picture(
    carburettors: Sequence[tuple[str, float | None]],
    screws: Sequence[tuple[str, int, int]],
    next_screw: str,
    unit: str,
    *,
    width: float = 328.0,
    embedded: bool = False,
) -> str:
    """The rack from behind: a column of vacuum over each carburettor, screws between them.

    Parameters
    ----------
    carburettors : sequence of (name, vacuum or None)
        In the order they stand; vacuum in `unit`.
    screws : sequence of (name, near, far)
        Places of the carburettors each screw joins.
    next_screw : str
        Drawn with an arrow and bold.
    unit : str
    width : float
    embedded : bool

    Returns
    -------
    str
        An svg element.

    Examples
    --------
    >>> picture = rack_picture([("1", 20.0), ("2", 24.0)], [("screw 1-2", 0, 1)], "screw 1-2", "cm")
    >>> "screw 1-2 next" in picture, picture.count("<rect")
    (True, 4)
    """
    ink = Ink(embedded)
    n = len(carburettors)
    wide = width / max(n, 1)
    tall, base = 90.0, 128.0
    height = 190.0
    read = [v for _, v in carburettors if v is not None]
    most = max([*read, 1e-9])
    parts = []
    for k, (name, value) in enumerate(carburettors):
        x = wide * (k + 0.5)
        parts.append(
            f'<rect x="{x - 17:.1f}" y="{base:.1f}" width="34" height="30" {ink("case")}/>'
        )
        parts.append(text(x, base + 20, name, ink("strong")))
        size = 0.0 if value is None else tall * value / most
        parts.append(
            f'<rect x="{x - 7:.1f}" y="{base - 6 - size:.1f}" width="14" '
            f'height="{max(size, 0.5):.1f}" {ink("tdc")}/>'
        )
        shown = "not read" if value is None else f"{value:.1f}"
        parts.append(text(x, base - 12 - size, shown, ink("text"), size=12))
    for name, near, far in screws:
        a, b = wide * (near + 0.5), wide * (far + 0.5)
        x = 0.5 * (a + b)
        low, high = min(a, b) + 17, max(a, b) - 17
        role = "turn" if name == next_screw else "hair"
        parts.append(f'<path d="M{low:.1f} {base + 15:.1f}H{high:.1f}" {ink(role)}/>')
        words = name.removeprefix("screw ")
        style = "strong" if name == next_screw else "quiet"
        parts.append(text(x, base + 46, words, ink(style), size=12))
    parts.append(text(6, height - 2, unit, ink("quiet"), anchor="start", size=12))
    said = "; ".join(
        f"{name} {'not read' if v is None else f'{v:.1f} {unit}'}" for name, v in carburettors
    )
    said += "; " + ", ".join(
        f"{name}{' next' if name == next_screw else ''}" for name, _, _ in screws
    )
    return picture(ink, said, parts, width=width, height=height)


def timing_curve(
    curve: Sequence[tuple[float, float]],
    readings: Sequence[tuple[float, float, float]],
    *,
    width: float = 328.0,
    embedded: bool = False,
) -> str:
    """The book's advance curve, what the strobe showed, and where it will be after the plate.

    Parameters
    ----------
    curve : sequence of (rpm, degrees)
    readings : sequence of (rpm, read, after)
        [degrees before top dead centre]
    width : float
    embedded : bool

    Returns
    -------
    str
        An svg element.

    Examples
    --------
    >>> timing_curve([(1000, 10), (3500, 35)], [(1200, 8, 11)]).count("<circle")
    2
    """
    ink = Ink(embedded)
    height = 0.7 * width
    left, right, top, bottom = 40.0, width - 10.0, 22.0, height - 34.0
    fastest = max([s for s, _ in curve] + [s for s, _, _ in readings] + [1.0])
    most = max([d for _, d in curve] + [d for _, r, a in readings for d in (r, a)] + [10.0])
    least = min([0.0] + [d for _, r, a in readings for d in (r, a)])
    most = 10.0 * -(-(most + 1.0) // 10.0)

    def x(speed: float) -> float:
        return left + (right - left) * speed / fastest

    def y(degrees: float) -> float:
        return bottom - (bottom - top) * (degrees - least) / (most - least)

    # named at the end of its own highest line, where no figure stands
    parts = [
        text(left + 2, top - 6, "degrees before the top", ink("quiet"), anchor="start", size=12)
    ]
    for degrees in range(0, int(most) + 1, 10):
        parts.append(f'<path d="M{left:.1f} {y(degrees):.1f}H{right:.1f}" {ink("grid")}/>')
        parts.append(text(left - 6, y(degrees) + 4, f"{degrees}", ink("quiet"), anchor="end",
                          size=12))  # fmt: skip
    for thousand in range(1, int(fastest / 1000) + 1, 1 if fastest < 7000 else 2):
        parts.append(text(x(1000 * thousand), bottom + 16, f"{thousand}", ink("quiet"), size=12))
    parts.append(text(0.5 * (left + right), height - 4, "1000 rpm", ink("quiet"), size=12))
    line = [(s, d) for s, d in curve]
    if line:
        line = [(0.0, line[0][1]), *line, (fastest, line[-1][1])]
        points = " ".join(f"{x(s):.1f},{y(d):.1f}" for s, d in line)
        parts.append(f'<polyline points="{points}" {ink("hair")}/>')
    for speed, read, after in readings:
        parts.append(f'<circle cx="{x(speed):.1f}" cy="{y(read):.1f}" r="4.5" {ink("tdc")}/>')
        parts.append(f'<circle cx="{x(speed):.1f}" cy="{y(after):.1f}" r="4.5" {ink("hair")}/>')
    said = "; ".join(f"{s:.0f} rpm read {r:.1f}, after {a:.1f}" for s, r, a in readings)
    return picture(ink, f"Timing; {said}", parts, width=width, height=height)
