"""How long a noise may be borne without protection, by the two usual rules."""

from __future__ import annotations

from tickover.errors import InputError

_LOUDEST = 140.0
"""No time at all is allowed from here on [dB(A)]."""


def noise_minutes(level: float, limit: float = 85.0, exchange: float = 3.0) -> float:
    """Longest time at a steady level in one working day.

    Parameters
    ----------
    level : float
        A-weighted [dB]
    limit : float
        Level allowed for eight hours [dB]
    exchange : float
        Rise that halves the time [dB]

    Returns
    -------
    float
        [min]

    Raises
    ------
    InputError
        Above 140 dB(A), where no time is allowed, or an exchange that is not positive.

    Notes
    -----
    NIOSH publication 98-126 (1998): 85 dB(A) for 8 h and 3 dB exchange, T = 480 / 2^((L-85)/3)
    minutes. OSHA, 29 CFR 1910.95: 90 dB(A) and 5 dB. Checked in
    tests/published/test_start_cautions.py.

    Examples
    --------
    >>> print(f"{noise_minutes(100.0):.0f} min")
    15 min
    """
    if not exchange > 0.0:
        raise InputError("The exchange rate must be above zero", given=f"{exchange} dB")
    if not level < _LOUDEST:
        raise InputError("No time is allowed at this level", given=f"{level} dB(A)",
                         allowed="below 140 dB(A)")  # fmt: skip
    return 480.0 / float(2.0 ** ((level - limit) / exchange))
