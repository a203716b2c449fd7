"""Controls: grip, levers and cables; what to try, how far the slides follow the grip."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.controls import Controls
from tickover.physics.cable import grip_angle_to_open
from tickover.quantities import show
from tickover.tasks.finding import Check, Finding, Stage, Wanted
from tickover.tasks.simple import simple_finding

SNAPS_SHUT = "throttle snaps shut"
FULL_OPENING = "throttle opens fully"
THROTTLE_PLAY = "throttle free play"
PULL = "throttle pull"
CLUTCH_PLAY = "clutch free play"
COLD_START = "cold-start travel"
FULL_LOCK = "idle at full lock"
PROOF_PULL = "cable proof-pulled"

THROTTLE_CHECKS = (SNAPS_SHUT, FULL_OPENING, THROTTLE_PLAY, PULL, FULL_LOCK)
"""What work on carburettors, cables or bars makes void."""

PULL_SHARE = 0.1
"""How far the turn of the grip may differ from the one worked out: our assumption."""
COMFORTABLE_TURN_DEG = 90.0
"""About a quarter turn is comfortable (common practice, no source)."""

_START: frozenset[Stage] = frozenset({"first start", "riding", "hand-over"})
_RIDE: frozenset[Stage] = frozenset({"riding", "hand-over"})
_PLAY_SPREAD_M = 0.00025
_TURN_SPREAD_DEG = 2.0


@dataclass(frozen=True, slots=True)
class Pull:
    """The grip worked out: turn to full opening, drum, travel, and pull for each degree.

    turn_deg counts from where the slides begin to move. low_deg, high_deg: what still agrees.
    """

    turn_deg: float
    low_deg: float
    high_deg: float
    drum_radius_m: float
    cable_m: float
    comfortable: bool


def throttle_pull(controls: Controls) -> Pull | None:
    """The turn of the grip from where the slides begin to move to fully open.

    Parameters
    ----------
    controls : Controls

    Returns
    -------
    Pull or None
        None without the drum's diameter and the slide travel.

    Notes
    -----
    (slide travel / pull ratio) / drum radius, `tickover.physics.cable.grip_angle_to_open`.
    """
    if controls.grip_drum_diameter_m is None or controls.slide_travel_m is None:
        return None
    radius = 0.5 * controls.grip_drum_diameter_m
    cable = controls.slide_travel_m / controls.pull_ratio
    turn = math.degrees(grip_angle_to_open(cable, radius))
    return Pull(
        turn, turn * (1.0 - PULL_SHARE), turn * (1.0 + PULL_SHARE), radius, cable,
        turn <= COMFORTABLE_TURN_DEG,
    )  # fmt: skip


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """The checks of grip, levers and cables; none of the grip without [controls]."""
    found = _grip(engine.controls, engine) if engine.controls is not None else []
    for cable in engine.cables:
        if not cable.home_made:
            continue
        unit = engine.show.unit("force")
        load = (
            f"to {show(cable.proof_load_n, unit, 'force')}"
            if cable.proof_load_n is not None
            else "to the load the maker of the cable states (not in the engine file yet)"
        )
        found.append(
            Check(
                PROOF_PULL, cable.name, f"{_capital(cable.name)}, proof-pulled",
                "that both nipples hold before a hand depends on them",
                f"Hook one nipple, pull the other {load}, steadily, through a spring balance or "
                "weights. Then look at both ends: nothing may have moved.",
                _START,
                cautions=(
                    "Stand aside and wear goggles: a cable that lets go whips.",
                    "Brake cables are not made at home.",
                ),
                minutes=10.0, risk=3, group="controls",
                wanted=Wanted("yes", prompt=f"{cable.name} held"),
            )
        )  # fmt: skip
    return tuple(found)


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the latest readings say of the controls."""
    found = (simple_finding(engine, check, state) for check in checks(engine, state))
    return tuple(each for each in found if each is not None)


def _grip(controls: Controls, engine: EngineFile) -> list[Check]:
    found = [
        Check(
            SNAPS_SHUT, "", "Throttle snaps shut",
            "that the engine can be shut down by letting go",
            "Engine off. Open fully and let go: bars straight, full left, full right. The slides "
            "must reach their stop each time, at once and with a click.",
            _START, cautions=("Never start an engine whose throttle does not snap shut.",),
            minutes=3.0, risk=3, group="controls",
            wanted=Wanted("yes", prompt="snaps shut in all three"),
        ),
        Check(
            FULL_OPENING, "", "Throttle opens fully",
            "that the slides clear the bore, and that the grip stops before the cable does",
            "Engine off, filters off. Grip to its stop, look into each carburettor: slide or "
            "plate fully out of the way, cable not at the end of its tether.",
            _START, needs=(SNAPS_SHUT,), minutes=5.0, risk=1, group="controls",
            wanted=Wanted("yes", prompt="all open fully"),
        ),
        _play(
            THROTTLE_PLAY, "Throttle free play", controls.throttle_free_play_m,
            "that bars and bends cannot open the throttle by themselves",
            "Mark the rim of the grip; turn until the slides just begin to move; measure along "
            "the rim. Adjuster out takes play, in gives it.",
            _START, 3,
        ),
    ]  # fmt: skip
    pull = throttle_pull(controls)
    if pull is not None:
        found.append(
            Check(
                PULL, "", "Turn of the grip to full opening",
                "that the slides follow the grip: no slipping casing, no stretch, the right drum",
                "Angle of the grip from where the slides begin to move to where they stop. About "
                f"{pull.turn_deg:.0f}° is worked out from drum and travel.",
                _RIDE, needs=(THROTTLE_PLAY,), minutes=5.0, risk=1, group="controls",
                wanted=Wanted("value", "angle", pull.low_deg, pull.high_deg, _TURN_SPREAD_DEG,
                              prompt="turn of the grip, in degrees"),
            )
        )  # fmt: skip
    if controls.hand_clutch:
        found.append(
            _play(
                CLUTCH_PLAY, "Clutch free play", controls.clutch_free_play_m,
                "that the clutch neither slips nor drags",
                "At the end of the lever, to where the springs begin to be felt; try again with "
                "the bars on both locks.",
                _START, 2,
            )
        )  # fmt: skip
    if controls.cold_start:
        found.append(
            _play(
                COLD_START, "Cold-start device", controls.cold_start_travel_m,
                "that it opens far enough to start and closes all the way to run",
                "Work it by its knob or lever and measure at the plunger or flap arm; look that "
                "it is right home when shut.",
                _START, 1,
            )
        )  # fmt: skip
    found.append(
        Check(
            FULL_LOCK, "", "Idle at full lock",
            "that no bend of a cable opens the throttle when the bars are turned",
            "Engine idling, machine on its stand: bars slowly to full left, then full right. The "
            "speed must not rise.",
            _RIDE, needs=(SNAPS_SHUT, THROTTLE_PLAY),
            cautions=(
                "In the open air only: exhaust gas kills without smell.",
                "In neutral, wheel clear of the ground, stop switch under the thumb.",
            ),
            minutes=2.0, risk=3, group="controls",
            wanted=Wanted("yes", prompt="does not rise either side"),
        )
    )  # fmt: skip
    return found


def _play(
    name: str,
    title: str,
    limits: tuple[float, float] | None,
    proves: str,
    how: str,
    required: frozenset[Stage],
    risk: int,
) -> Check:
    wanted = Wanted("yes", prompt="as the manual says")
    if limits is not None:
        wanted = Wanted("value", "length", *limits, _PLAY_SPREAD_M, prompt=title.lower())
    return Check(
        name, "", title, proves, how, required, minutes=3.0, risk=risk, group="controls",
        wanted=wanted,
    )  # fmt: skip


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
