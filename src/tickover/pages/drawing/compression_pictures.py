"""The compression page's picture: the needle's climb with every cylinder's reading."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tickover.pages.drawing.needle import NeedleMark, needle_climb
from tickover.quantities import to_unit

if TYPE_CHECKING:
    from tickover.pages.compression import CompressionPage


def climb_picture(page: CompressionPage, *, width: float = 328.0, embedded: bool = False) -> str:
    """The fan of the expected reading and where each needle stopped.

    Parameters
    ----------
    page : CompressionPage
    width : float
        [drawing units]
    embedded : bool
        Colours in the picture itself (paper)

    Returns
    -------
    str
        An svg element.
    """
    from tickover.pages.compression import climb_in_unit

    def shown(value: float) -> float:
        return round(to_unit(value, page.unit, "pressure"), 2)

    marks = [
        NeedleMark(
            line.place.removeprefix("cyl"),
            line.state,
            shown(reading.dry),
            None if reading.first is None else shown(reading.first),
        )
        for line, reading in zip(page.lines, page.found.readings, strict=True)
        if reading.dry is not None and line.state != "stale"
    ]
    low, middle, high = climb_in_unit(page)
    return needle_climb(low, middle, high, marks, page.unit, width=width, embedded=embedded)
