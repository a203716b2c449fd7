"""The compiled inner loops of the log reader: bytes to numbers, and where a signal is quiet."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from tickover.cache.compiled import compiled

Floats = NDArray[np.float64]


def scan(
    text: NDArray[np.uint8], delimiter: int, point: int, places: NDArray[np.int64]
) -> tuple[Floats, int]:
    """Numbers of some columns; rows whose first wanted cell is no number are left out."""
    lines = 1 + int(np.count_nonzero(text == 10))
    out = np.full((lines, places.size), np.nan)
    rows, skipped = _scan(out, text, delimiter, point, places)
    return out[:rows].copy(), skipped


@compiled
def _scan(
    out: Floats, text: NDArray[np.uint8], delimiter: int, point: int, places: NDArray[np.int64]
) -> tuple[int, int]:
    row = 0
    skipped = 0
    i = 0
    n = text.size
    while i < n:
        column = 0
        slot = 0
        usable = 0
        any_byte = False
        # One line.
        while i < n and text[i] != 10:
            value = 0.0
            scale = 0.0
            sign = 1.0
            power = 0
            power_sign = 1
            in_power = False
            digits = 0
            bad = False
            while i < n and text[i] != 10 and text[i] != delimiter:
                b = text[i]
                any_byte = any_byte or b > 32
                if 48 <= b <= 57:
                    if in_power:
                        power = power * 10 + (b - 48)
                    else:
                        digits += 1
                        value = value * 10.0 + (b - 48)
                        scale *= 10.0
                elif b == point and scale == 0.0 and not in_power:
                    scale = 1.0
                elif b == 45 and in_power and power == 0:
                    power_sign = -1
                elif b == 45 and digits == 0:
                    sign = -1.0
                elif (b == 101 or b == 69) and digits > 0 and not in_power:
                    in_power = True
                elif b > 32 and b != 34 and b != 43:
                    bad = True
                i += 1
            if slot < places.size and column == places[slot]:
                if digits > 0 and not bad and power < 30:
                    number = sign * value / (scale if scale > 0.0 else 1.0)
                    out[row, slot] = number * 10.0 ** (power_sign * power)
                    usable += 1
                slot += 1
            column += 1
            if i < n and text[i] == delimiter:
                i += 1
        i += 1
        if usable > 0:
            row += 1
        else:
            for k in range(places.size):
                out[row, k] = math.nan
            if any_byte:
                skipped += 1
    return row, skipped


def quiet(values: Floats, window: int, slack: float, relative: bool) -> NDArray[np.bool_]:
    """Whether the value at each place is in a run of `window` in which it moves less than slack.

    Highest and lowest of a sliding window, by two queues that stay sorted.
    """
    out = np.zeros(values.size, dtype=np.bool_)
    queues = np.empty((2, values.size), dtype=np.int64)
    _quiet(out, queues[0], queues[1], values, window, slack, relative)
    return out


@compiled
def _quiet(
    out: NDArray[np.bool_], highs: NDArray[np.int64], lows: NDArray[np.int64], values: Floats,
    window: int, slack: float, relative: bool,
) -> None:  # fmt: skip
    h0 = h1 = l0 = l1 = 0
    for i in range(values.size):
        v = values[i]
        if math.isnan(v):
            h0 = h1
            l0 = l1
            continue
        while h1 > h0 and values[highs[h1 - 1]] <= v:
            h1 -= 1
        highs[h1] = i
        h1 += 1
        while l1 > l0 and values[lows[l1 - 1]] >= v:
            l1 -= 1
        lows[l1] = i
        l1 += 1
        while h1 > h0 and highs[h0] <= i - window:
            h0 += 1
        while l1 > l0 and lows[l0] <= i - window:
            l0 += 1
        if i + 1 >= window:
            top = values[highs[h0]]
            bottom = values[lows[l0]]
            allowed = slack * top if relative else slack
            if top - bottom <= allowed:
                out[i - window // 2] = True
