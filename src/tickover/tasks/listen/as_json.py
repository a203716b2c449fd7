"""A listening and a comparison as plain data for `--json`."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from tickover.tasks.listen.comparison import Change, Comparison
from tickover.tasks.listen.listening import Listening, SpeedSummary


def listening_data(heard: Listening) -> dict[str, Any]:
    """Plain data of a listening.

    Parameters
    ----------
    heard : Listening

    Returns
    -------
    dict
        `refused` null or the reason, `speed_rpm` {median, low, high}, `track`
        [[s, rpm, confidence], ...], `variation_percent`, `slots` [{strength, interval}] or null
        with the reason under `why`, `half_orders`, and more beside them.
    """
    refused = None if heard.refused is None else asdict(heard.refused)
    return {
        "refused": refused,
        "duration_s": round(heard.duration_s, 3),
        "firing_angles_deg": list(heard.firing_angles_deg),
        "about_rpm": heard.about_rpm,
        "speed_rpm": _summary(heard.speed_rpm),
        "idle_rpm": _summary(heard.idle_rpm),
        "idle_share": round(heard.idle_share, 3),
        "track": [[round(s, 4), round(rpm, 1), round(sure, 3)] for s, rpm, sure in heard.track],
        "marks_s": [[round(mark, 5) for mark in row] for row in heard.marks_s],
        "variation_percent": _rounded(heard.variation_percent, 3),
        "variation_interval": (
            None
            if heard.variation_interval is None
            else [round(end, 3) for end in heard.variation_interval]
        ),
        "slots": _slots(heard),
        "weak_slot": heard.weak_slot,
        "weakest_depth": _rounded(heard.weakest_depth, 3),
        "half_orders": (
            None
            if heard.half_orders is None
            else [
                {"order": o.order, "healthy": round(o.healthy, 4), "heard": round(o.heard, 4)}
                for o in heard.half_orders
            ]
        ),
        "half_orders_mean_weakness": heard.half_orders_mean_weakness,
        "blips": [
            {name: _rounded_any(value) for name, value in asdict(blip).items()}
            for blip in heard.blips
        ],
        "drift": (
            None
            if heard.drift is None
            else {name: round(value, 1) for name, value in asdict(heard.drift).items()}
        ),
        "why": dict(heard.why),
        "remarks": list(heard.remarks),
        "measures": None if heard.measures is None else asdict(heard.measures),
        "cautions": list(heard.cautions),
    }


def comparison_data(change: Comparison) -> dict[str, Any]:
    """Plain data of a comparison.

    Parameters
    ----------
    change : Comparison

    Returns
    -------
    dict
    """
    return {
        "refused": change.refused,
        "idle_rpm": _change(change.idle_rpm),
        "variation_percent": _change(change.variation_percent),
        "slots": None if change.slots is None else [_change(slot) for slot in change.slots],
        "changed_slots": list(change.changed_slots),
        "rotation": change.rotation,
        "rotation_clear": change.rotation_clear,
        "why": list(change.why),
    }


def _slots(heard: Listening) -> list[dict[str, Any]] | None:
    if heard.slots is None:
        return None
    return [
        {
            "angle_deg": slot.angle_deg,
            "strength": round(slot.strength, 3),
            "interval": [round(slot.low, 3), round(slot.high, 3)],
        }
        for slot in heard.slots
    ]


def _change(change: Change | None) -> dict[str, Any] | None:
    if change is None:
        return None
    return {
        "before": round(change.before, 3),
        "after": round(change.after, 3),
        "difference": round(change.difference, 3),
        "interval": [round(change.low, 3), round(change.high, 3)],
        "sure": change.sure,
    }


def _summary(summary: SpeedSummary | None) -> dict[str, float] | None:
    if summary is None:
        return None
    return {name: round(value, 1) for name, value in asdict(summary).items()}


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)


def _rounded_any(value: Any) -> Any:
    return round(value, 3) if isinstance(value, float) else value
