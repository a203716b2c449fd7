"""What listening to one recording gives, as frozen data."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # the book asks for these words without the signal processing behind them
    from tickover.physics.sound.steadiness import Blip, Drift

CAUTIONS = (
    "Run the engine outdoors, or with an extraction hose to the outside: carbon monoxide kills "
    "and has no smell. An open door or a fan is not enough.",
    "Wear ear protection near an open exhaust; no recording needs your ear beside it.",
    "Keep hands, sleeves and the microphone lead away from chain, belts, fan and hot pipes.",
    "The engine's own service manual and local rules come first.",
)


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why nothing is said about a recording, and what to do instead.

    `code` one of: silent, too_short, clipped, hum, pauses, no_engine, unsteady, too_even,
    echo, cylinders.
    """

    code: str
    reason: str
    what_to_do: str


@dataclass(frozen=True, slots=True)
class SpeedSummary:
    """Median, and the range that holds nine tenths of the frames [1/min]."""

    median: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Slot:
    """One firing slot: strength against the upper middle one, with its interval [1].

    Slots come in firing order, but nobody can hear where the order starts on an even pattern:
    which cylinder it is needs a reference. `deviation` is the standard error from chance alone.
    """

    angle_deg: float
    strength: float
    low: float
    high: float
    deviation: float


@dataclass(frozen=True, slots=True)
class HalfOrder:
    """An order with its amplitude in a healthy engine of this pattern and in this recording."""

    order: float
    healthy: float
    heard: float


@dataclass(frozen=True, slots=True)
class Measures:
    """The numbers behind accepting or refusing, for whoever asks why.

    `score` median likeness of frames to the combs; `agreement` of the marks with the track;
    `fit` power explained by the average pulses; `pauses` share of the time in silences;
    `swing_db` how far loudness moves in half a second at idle; `wander` how far speed moves in
    a quarter second; `fill_db` quiet part of the cycle against the loud part; `clipped` share
    of samples in flat tops; `hum_share` of the power, at `hum_hz`.
    """

    score: float
    agreement: float
    fit: float
    pauses: float
    swing_db: float
    wander: float
    fill_db: float
    clipped: float
    hum_share: float
    hum_hz: float | None = None


@dataclass(frozen=True, slots=True)
class Listening:
    """Everything heard in one recording; fields are None where the recording cannot say.

    `track` rows of (time [s], speed [1/min], confidence 0 to 1); `marks_s` one row a cycle of
    the moment of each firing [s]; `begins_s` where the sound begins [s]; `why`
    says for every None field why it is None.
    """

    refused: Refusal | None
    duration_s: float
    firing_angles_deg: tuple[float, ...]
    about_rpm: float | None
    begins_s: float = 0.0
    speed_rpm: SpeedSummary | None = None
    idle_rpm: SpeedSummary | None = None
    idle_share: float = 0.0
    track: tuple[tuple[float, float, float], ...] = ()
    marks_s: tuple[tuple[float, ...], ...] = ()
    variation_percent: float | None = None
    variation_interval: tuple[float, float] | None = None
    slots: tuple[Slot, ...] | None = None
    weak_slot: int | None = None
    weakest_depth: float | None = None
    pulses: tuple[tuple[float, ...], ...] = ()
    half_orders: tuple[HalfOrder, ...] | None = None
    half_orders_mean_weakness: bool = False
    blips: tuple[Blip, ...] = ()
    drift: Drift | None = None
    why: dict[str, str] = field(default_factory=dict)
    remarks: tuple[str, ...] = ()
    measures: Measures | None = None
    cautions: tuple[str, ...] = CAUTIONS
