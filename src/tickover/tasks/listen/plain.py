"""A listening as the book keeps it, and back: what is needed to show it and to compare it later.

Marks are left out: a minute at idle has thousands, and nothing later asks for them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, fields
from typing import Any

from tickover.tasks.listen.listening import HalfOrder, Listening, Measures, Slot, SpeedSummary
from tickover.tasks.listen.waterfall import Waterfall

MOST_TRACK = 600


def thinned(track: tuple[tuple[float, float, float], ...]) -> tuple[tuple[float, ...], ...]:
    """At most 600 rows of a track, evenly chosen, rounded to what is known."""
    step = -(-len(track) // MOST_TRACK) or 1
    return tuple((round(s, 2), round(rpm, 1), round(sure, 2)) for s, rpm, sure in track[::step])


def kept_listening(heard: Listening) -> dict[str, Any]:
    """Plain values of a listening that was not refused.

    Parameters
    ----------
    heard : Listening

    Returns
    -------
    dict
        What `listening_of` reads.
    """
    return {
        "duration_s": round(heard.duration_s, 3),
        "firing_angles_deg": list(heard.firing_angles_deg),
        "about_rpm": heard.about_rpm,
        "begins_s": round(heard.begins_s, 3),
        "speed_rpm": _plain(heard.speed_rpm),
        "idle_rpm": _plain(heard.idle_rpm),
        "idle_share": round(heard.idle_share, 3),
        "track": [list(row) for row in thinned(heard.track)],
        "variation_percent": heard.variation_percent,
        "variation_interval": heard.variation_interval and list(heard.variation_interval),
        "slots": heard.slots and [asdict(slot) for slot in heard.slots],
        "weak_slot": heard.weak_slot,
        "weakest_depth": heard.weakest_depth,
        "pulses": [[float(f"{value:.4g}") for value in row] for row in heard.pulses],
        "half_orders": heard.half_orders and [asdict(order) for order in heard.half_orders],
        "half_orders_mean_weakness": heard.half_orders_mean_weakness,
        "blips": [asdict(blip) for blip in heard.blips],
        "drift": _plain(heard.drift),
        "why": dict(heard.why),
        "remarks": list(heard.remarks),
        "measures": _plain(heard.measures),
    }


def listening_of(kept: Mapping[str, Any]) -> Listening:
    """The listening back from what the book keeps.

    Parameters
    ----------
    kept : Mapping
        As `kept_listening` made it.

    Returns
    -------
    Listening
        Without marks.

    Raises
    ------
    KeyError, TypeError
        It was not made by `kept_listening`.
    """
    from tickover.physics.sound.steadiness import Blip, Drift

    return Listening(
        refused=None,
        duration_s=kept["duration_s"],
        firing_angles_deg=tuple(kept["firing_angles_deg"]),
        about_rpm=kept["about_rpm"],
        begins_s=kept["begins_s"],
        speed_rpm=_made(SpeedSummary, kept["speed_rpm"]),
        idle_rpm=_made(SpeedSummary, kept["idle_rpm"]),
        idle_share=kept["idle_share"],
        track=tuple((s, rpm, sure) for s, rpm, sure in kept["track"]),
        variation_percent=kept["variation_percent"],
        variation_interval=kept["variation_interval"] and tuple(kept["variation_interval"]),
        slots=kept["slots"] and tuple(_made(Slot, slot) for slot in kept["slots"]),
        weak_slot=kept["weak_slot"],
        weakest_depth=kept["weakest_depth"],
        pulses=tuple(tuple(row) for row in kept["pulses"]),
        half_orders=(
            kept["half_orders"] and tuple(_made(HalfOrder, row) for row in kept["half_orders"])
        ),
        half_orders_mean_weakness=kept["half_orders_mean_weakness"],
        blips=tuple(_made(Blip, blip) for blip in kept["blips"]),
        drift=_made(Drift, kept["drift"]),
        why=dict(kept["why"]),
        remarks=tuple(kept["remarks"]),
        measures=_made(Measures, kept["measures"]),
    )


def kept_waterfall(fall: Waterfall | None) -> dict[str, Any] | None:
    """Plain values of an order waterfall."""
    if fall is None:
        return None
    return {"times_s": list(fall.times_s), "levels": list(fall.levels)}


def waterfall_of(kept: Mapping[str, Any] | None) -> Waterfall | None:
    """The order waterfall back from what the book keeps."""
    if kept is None:
        return None
    return Waterfall(tuple(kept["times_s"]), tuple(kept["levels"]))


def _plain(thing: Any) -> dict[str, Any] | None:
    return None if thing is None else asdict(thing)


def _made(kind: type[Any], kept: Mapping[str, Any] | None) -> Any:
    if kept is None:
        return None
    return kind(**{each.name: kept[each.name] for each in fields(kind) if each.name in kept})
