"""A second synthetic engine, built differently from the one in the package.

The crank is a flywheel: each firing gives it an uneven push and the load takes it back, so the
cycle lengths wander as consequences, not as dice. The exhaust pulse is gas leaving a cylinder
through an opening valve. Pipes are travelling waves with a fractional delay, a silencer chamber
follows, the tail radiates. Valve ticks, intake puffs, wind and traffic are laid over; a yard or
a shed answers through `pyroomacoustics` when wanted; the telephone cuts the bass steeply.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, fftconvolve, lfilter, sosfilt

EXHAUST_OPENS, EXHAUST_CLOSES = 0.19, 0.52  # of a cycle after firing


@dataclass(frozen=True)
class SecondRecording:
    """Samples with the true moment of every firing, shape (cycles, slots) [s]."""

    samples: NDArray[np.float32]
    rate: int
    firing_times_s: NDArray[np.float64]

    def mean_speed_rpm(self, times_s: NDArray[np.float64], over_s: float) -> NDArray[np.float64]:
        """True mean speed over a time centred on each moment [1/min]."""
        slots = self.firing_times_s.shape[1]
        lengths = np.diff(self.firing_times_s[:, 0])[:, None]
        places = np.median((self.firing_times_s[:-1] - self.firing_times_s[:-1, :1]) / lengths, 0)
        count = (np.arange(len(self.firing_times_s))[:, None] + places).ravel()
        knots = self.firing_times_s.ravel()
        assert count.size == knots.size
        assert slots == places.size
        high, low = np.interp([times_s + over_s / 2, times_s - over_s / 2], knots, count)
        return np.asarray(120.0 * (high - low) / over_s)

    def cycle_variation(self) -> float:
        """True cycle to cycle variation, slow wandering over 17 cycles taken out [1]."""
        values = []
        for slot in range(self.firing_times_s.shape[1]):
            lengths = np.diff(self.firing_times_s[:, slot])
            slow = np.asarray([lengths[max(0, i - 8) : i + 9].mean() for i in range(lengths.size)])
            values.append(np.mean((lengths / slow - 1.0) ** 2) * 17.0 / 16.0)
        return float(np.sqrt(np.median(values)))


def second_engine(
    firing_angles_deg: tuple[float, ...],
    *,
    speed: tuple[tuple[float, float], ...] | float = 1050.0,
    duration_s: float = 12.0,
    rate: int = 24_000,
    seed: int = 0,
    strengths: tuple[float, ...] | None = None,
    unevenness: float = 0.25,
    push: float = 0.05,
    pipe_spread: float = 0.1,
    signal_to_noise_db: float = 10.0,
    hum_hz: float | None = None,
    room: str | None = None,
) -> SecondRecording:
    """One recording.

    `unevenness` is the relative scatter of each firing's work, `push` one firing's share of the
    kinetic energy. `pipe_spread`: lengths evenly from 1 +- this, loudness from 1 +- half of it,
    the same meaning as in the package. `room` None, 'yard' or 'shed'.
    """
    chance = np.random.default_rng(seed)
    places = np.sort(np.asarray(firing_angles_deg)) / 720.0
    force = np.ones(places.size) if strengths is None else np.asarray(strengths, dtype=float)
    corners = ((0.0, float(speed)),) if isinstance(speed, int | float) else speed
    times, works = _flywheel(places, force, corners, duration_s, unevenness, push, chance)
    size = int(duration_s * rate)
    engine = np.zeros(size)
    turned = (np.arange(len(times))[:, None] + places).ravel()
    for slot in range(places.size):
        at = np.arange(len(times)) + places[slot]
        opens = np.interp(at + EXHAUST_OPENS, turned, times.ravel())
        closes = np.interp(at + EXHAUST_CLOSES, turned, times.ravel())
        engine += _one_pipe(opens, closes, works[:, slot], size, rate, pipe_spread, chance)
    engine = _silencer(engine, rate)
    engine += 0.05 * np.std(engine) * _ticks(times, places, size, rate, chance)
    if room is not None:
        engine = fftconvolve(engine, room_response(room, rate, seed))[:size]
    phone = butter(4, chance.uniform(70.0, 140.0), "high", fs=rate, output="sos")
    engine = sosfilt(phone, engine)
    noise = sosfilt(phone, _outdoors(size, rate, chance))
    loud = float(np.std(engine))
    noise *= loud * 10.0 ** (-signal_to_noise_db / 20.0) / float(np.std(noise))
    mixed = engine + noise
    if hum_hz is not None:
        seconds = np.arange(size) / rate
        drift = hum_hz * seconds + 0.01 * np.sin(seconds / 3.0)
        mixed = mixed + 0.15 * loud * np.sign(np.sin(2 * np.pi * drift))
    mixed *= chance.uniform(0.2, 0.8) / np.max(np.abs(mixed))
    return SecondRecording(mixed.astype(np.float32), rate, times)


def _flywheel(
    places: NDArray[np.float64],
    force: NDArray[np.float64],
    corners: tuple[tuple[float, float], ...],
    duration_s: float,
    unevenness: float,
    push: float,
    chance: np.random.Generator,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    seconds, speeds = zip(*corners, strict=True)
    gaps = np.diff(np.append(places, 1.0))
    mean = float(np.mean(force))
    energy, now = 1.0, 0.03
    rows, works = [], []
    while now < duration_s - 0.25:
        row, work = [], []
        for slot in range(places.size):
            row.append(now)
            given = force[slot] * max(0.0, 1.0 + unevenness * chance.standard_normal())
            work.append(given)
            # The load takes the mean work back, more of it when running fast.
            taken = mean * gaps[slot] * places.size * (1.0 + 4.0 * (energy - 1.0))
            before = energy
            energy = max(0.3, energy + push * (given - taken))
            wanted = float(np.interp(now, seconds, speeds))
            turning = 0.5 * (np.sqrt(before) + np.sqrt(energy)) * wanted / 120.0
            now += gaps[slot] / turning
        rows.append(row)
        works.append(work)
    return np.asarray(rows), np.asarray(works)


def _one_pipe(
    openings: NDArray[np.float64],
    closings: NDArray[np.float64],
    works: NDArray[np.float64],
    size: int,
    rate: int,
    spread: float,
    chance: np.random.Generator,
) -> NDArray[np.float64]:
    length_m = (
        chance.uniform(0.8, 1.4) if spread == 0 else 1.05 * (1 + spread * chance.uniform(-1, 1))
    )
    loudness = 1.0 + 0.5 * spread * chance.uniform(-1.0, 1.0)
    flow = np.zeros(size)
    jet = np.zeros(size)
    for opens, closes, work in zip(openings, closings, works, strict=True):
        first = int(np.ceil(opens * rate))
        count = int((closes - opens) * rate)
        if count < 4 or first + count >= size:
            break
        after = (first + np.arange(count)) / rate - opens
        lift = np.sin(np.pi * np.clip(after / (closes - opens), 0.0, 1.0)) ** 2
        # Residual pressure never vanishes: a cylinder without fire still pumps a little.
        charge = np.cumsum(lift) / rate
        pressure = np.exp(-charge * 1800.0)
        puff = (0.06 + 0.94 * np.sqrt(work)) * np.sqrt(work + 1e-3) * lift * pressure
        flow[first : first + count] += puff
        jet[first : first + count] += puff**1.5
    source = flow + 0.25 * jet * chance.standard_normal(size)
    delay = 2.0 * length_m / chance.uniform(480.0, 560.0) * rate
    whole = int(delay)
    part = delay - whole
    dull, back = 0.45, 0.7
    poles = np.zeros(whole + 3)
    poles[0], poles[1] = 1.0, -dull
    poles[whole] += back * (1.0 - dull) * (1.0 - part)
    poles[whole + 1] += back * (1.0 - dull) * part
    return loudness * np.asarray(lfilter([1.0, -dull], poles, source))


def _silencer(signal: NDArray[np.float64], rate: int) -> NDArray[np.float64]:
    chamber = butter(1, [95.0, 165.0], "band", fs=rate, output="sos")
    dull = butter(2, 1600.0, "low", fs=rate, output="sos")
    passed = 0.6 * sosfilt(dull, signal) + 0.8 * sosfilt(chamber, signal)
    radiated = np.diff(passed, prepend=0.0) * rate / 3000.0
    return np.asarray(0.4 * passed + radiated)


def _ticks(
    times: NDArray[np.float64],
    places: NDArray[np.float64],
    size: int,
    rate: int,
    chance: np.random.Generator,
) -> NDArray[np.float64]:
    ring = np.arange(int(0.006 * rate)) / rate
    sound = np.zeros(size)
    turned = (np.arange(len(times))[:, None] + places).ravel()
    for slot in range(times.shape[1]):
        pitch = chance.uniform(2000.0, 3500.0)
        tick = np.sin(2 * np.pi * pitch * ring) * np.exp(-ring * 900.0)
        for part in (0.52, 0.83):
            at = np.arange(len(times) - 1) + places[slot] + part
            for place in (np.interp(at, turned, times.ravel()) * rate).astype(int):
                if place < size - ring.size:
                    sound[place : place + ring.size] += tick * chance.uniform(0.5, 1.5)
    return sound / max(float(np.std(sound)), 1e-12)


def _outdoors(size: int, rate: int, chance: np.random.Generator) -> NDArray[np.float64]:
    hiss = chance.standard_normal(size)
    rumble = lfilter([1.0], [1.0, -0.97], chance.standard_normal(size))
    gusts = np.interp(
        np.arange(size) / rate,
        np.arange(0.0, size / rate + 2.0, 0.8),
        chance.uniform(0.4, 1.6, int(size / rate / 0.8) + 4)[
            : len(np.arange(0.0, size / rate + 2.0, 0.8))
        ],
    )
    return np.asarray(0.25 * hiss + gusts * rumble / np.std(rumble))


def room_response(kind: str, rate: int, seed: int) -> NDArray[np.float64]:
    """Impulse response between exhaust and telephone, direct sound first.

    'yard': open to the sky, two walls, hard ground. 'shed': five metres of bare walls.
    """
    import pyroomacoustics as pra

    chance = np.random.default_rng(seed + 77)
    if kind == "yard":
        size = [14.0, 11.0, 6.0]
        materials = {
            "ceiling": pra.Material(1.0),
            "floor": pra.Material(0.1),
            "east": pra.Material(0.25),
            "west": pra.Material(1.0),
            "north": pra.Material(0.25),
            "south": pra.Material(1.0),
        }
        order = 5
    else:
        size = [5.0, 4.0, 2.6]
        materials = {
            wall: pra.Material(0.15)
            for wall in ("ceiling", "floor", "east", "west", "north", "south")
        }
        order = 12
    room = pra.ShoeBox(size, fs=rate, materials=materials, max_order=order)
    source = [2.0 + chance.uniform(0, 0.5), 2.0 + chance.uniform(0, 0.5), 0.4]
    room.add_source(source)
    room.add_microphone([source[0] + chance.uniform(0.8, 1.6), source[1] + 0.5, 1.2])
    room.compute_rir()
    response = np.asarray(room.rir[0][0])
    first = int(np.argmax(np.abs(response) > 0.3 * np.max(np.abs(response))))
    return response[first:] / np.max(np.abs(response))
