"""Sounds that are no engine, each with a name; none had a part in choosing the limits."""

from __future__ import annotations

import io
import shutil
import subprocess
from collections.abc import Callable, Iterator
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, lfilter, resample_poly, sosfilt

RATE = 16_000
Sound = NDArray[np.float32]

SENTENCES = {
    "de": "Der Vergaser war innen ganz gruen. Wir haben ihn zerlegt, gereinigt und wieder "
    "zusammengebaut. Danach lief der Motor im Leerlauf, aber nicht sehr lange.",
    "fr": "Le moteur tournait mal ce matin. Nous avons regarde la bougie, puis le fil, puis la "
    "bobine, et enfin nous avons trouve une masse oxydee sous le reservoir.",
    "es": "El cable del acelerador estaba seco. Lo engrasamos, comprobamos el juego y luego "
    "montamos otra vez las piezas, una por una, sin prisa ninguna.",
    "it": "La catena era troppo tesa. Abbiamo misurato il gioco nel punto peggiore e poi "
    "abbiamo stretto il perno con la chiave, come dice il manuale.",
    "sv": "Vi lyssnade noga, men det var bara vinden. Sedan startade vi om och skrev ner "
    "allting i boken, med blyerts och med stora siffror.",
    "pl": "Zawory byly za ciasne. Zmierzylismy wszystkie szczeliny, a potem kupilismy nowe "
    "podkladki i zlozylismy glowice jeszcze raz.",
}


def speech_available() -> bool:
    """Whether espeak-ng is installed."""
    return shutil.which("espeak-ng") is not None


def speech(language: str, speed: int, pitch: int, seconds: float = 12.0) -> Sound:
    """Spoken text; needs espeak-ng."""
    import soundfile

    said = subprocess.run(
        ["espeak-ng", "-v", language, "-s", str(speed), "-p", str(pitch), "--stdout",
         SENTENCES[language.split("+")[0]]],
        check=True, capture_output=True,
    ).stdout  # fmt: skip
    samples, rate = soundfile.read(io.BytesIO(said))
    return _at_level(resample_poly(samples, RATE, rate)[: int(seconds * RATE)])


def _at_level(samples: NDArray[np.float64], level: float = 0.4) -> Sound:
    return (level * samples / np.max(np.abs(samples))).astype(np.float32)


def _time(seconds: float) -> NDArray[np.float64]:
    return np.arange(int(seconds * RATE)) / RATE


def bell_music(seed: int, beat_s: float) -> Sound:
    """Frequency modulated bells over a walking bass."""
    chance = np.random.default_rng(seed)
    total = np.zeros(12 * RATE)
    for number, start in enumerate(np.arange(0.0, 11.0, beat_s)):
        ring = _time(0.9)
        pitch = 220.0 * 2.0 ** (chance.choice([0, 2, 4, 7, 9, 12, 14]) / 12.0)
        bell = np.sin(
            2 * np.pi * pitch * ring
            + 2.0 * np.exp(-3 * ring) * np.sin(2 * np.pi * 1.41 * pitch * ring)
        )
        bass = np.sin(2 * np.pi * (55.0 if number % 4 < 2 else 73.4) * ring)
        first = int(start * RATE)
        count = min(ring.size, total.size - first)
        total[first : first + count] += (bell * np.exp(-4 * ring) + 0.7 * bass * np.exp(-2 * ring))[
            :count
        ]
    return _at_level(total)


def organ(seed: int) -> Sound:
    """Slow chords with tremolo."""
    chance = np.random.default_rng(seed)
    pieces = []
    for _ in range(4):
        when = _time(3.0)
        root = 98.0 * 2.0 ** (chance.choice([0, 3, 5, 8]) / 12.0)
        chord = sum(
            np.sin(2 * np.pi * root * ratio * when + chance.uniform(0, 6))
            for ratio in (1, 1.5, 2, 2.52, 3, 4)
        )
        pieces.append(chord * (1.0 + 0.3 * np.sin(2 * np.pi * 5.8 * when)))
    return _at_level(np.concatenate(pieces))


def guitar_and_brushes(seed: int, beat_s: float) -> Sound:
    """Plucked strings (a delay line with noise in it) over brushed noise."""
    chance = np.random.default_rng(seed)
    total = np.zeros(12 * RATE)
    for start in np.arange(0.0, 11.0, beat_s):
        delay = int(RATE / (82.4 * 2.0 ** (chance.integers(0, 20) / 12.0)))
        poles = np.zeros(delay + 2)
        poles[0], poles[delay], poles[delay + 1] = 1.0, -0.496, -0.496
        pluck = np.zeros(RATE)
        pluck[:delay] = chance.standard_normal(delay)
        string = lfilter([1.0], poles, pluck)
        brush = chance.standard_normal(RATE) * np.exp(-_time(1.0) * 25.0)
        first = int(start * RATE)
        count = min(RATE, total.size - first)
        total[first : first + count] += (string + 0.4 * brush)[:count]
    return _at_level(total)


def rain(seed: int) -> Sound:
    """Drops: sparse impulses through a ringing filter, over hiss."""
    chance = np.random.default_rng(seed)
    drops = (chance.random(12 * RATE) < 0.01) * chance.exponential(1.0, 12 * RATE)
    return _at_level(sosfilt(butter(2, [300, 1500], "band", fs=RATE, output="sos"), drops)
                     + 0.02 * chance.standard_normal(12 * RATE))  # fmt: skip


def clock(per_second: float) -> Sound:
    """A clock or an indicator relay, as even as they are."""
    total = np.zeros(12 * RATE)
    ring = _time(0.03)
    for number, start in enumerate(np.arange(0.2, 11.8, 1.0 / per_second)):
        tick = np.sin(2 * np.pi * (900.0 if number % 2 else 1100.0) * ring) * np.exp(-ring * 150)
        total[int(start * RATE) : int(start * RATE) + ring.size] += tick
    return _at_level(total + 0.003 * np.random.default_rng(1).standard_normal(total.size))


def hand_drill(seed: int) -> Sound:
    """A motor with whine, its speed pulled about by hand."""
    chance = np.random.default_rng(seed)
    knots = chance.uniform(180.0, 320.0, 14)
    pitch = np.interp(_time(12.0), np.arange(14), knots)
    phase = 2 * np.pi * np.cumsum(pitch) / RATE
    whine = sum(np.sin(number * phase + number) / number for number in (1, 2, 3, 7))
    return _at_level(whine + 0.5 * chance.standard_normal(phase.size))


def drone(seed: int) -> Sound:
    """A bowed drone with vibrato."""
    chance = np.random.default_rng(seed)
    when = _time(12.0)
    pitch = chance.uniform(60, 110) * (1 + 0.012 * np.sin(2 * np.pi * 5.5 * when))
    phase = np.cumsum(pitch) / RATE
    return _at_level((phase % 1.0) - 0.5 + 0.02 * chance.standard_normal(when.size))


def footsteps(seed: int) -> Sound:
    """Someone walking on gravel."""
    chance = np.random.default_rng(seed)
    total = 0.01 * chance.standard_normal(12 * RATE)
    now = 0.3
    while now < 11.5:
        burst = _time(0.16)
        first = int(now * RATE)
        total[first : first + burst.size] += chance.standard_normal(burst.size) * np.sin(
            np.pi * burst / 0.16
        )
        now += 0.55 * (1 + 0.06 * chance.standard_normal())
    return _at_level(total)


def hum(hertz: float) -> Sound:
    """A transformer: mains harmonics with a slow beat."""
    when = _time(12.0)
    total = sum(np.sin(2 * np.pi * hertz * k * when + k) / k for k in (1, 2, 3, 4, 6, 8, 10))
    noise = 0.05 * np.random.default_rng(3).standard_normal(when.size)
    return _at_level(total * (1 + 0.1 * np.sin(2 * np.pi * 0.3 * when)) + noise)


def noise(seed: int, slope: float) -> Sound:
    """Noise falling with frequency to some power."""
    chance = np.random.default_rng(seed)
    spectrum = np.fft.rfft(chance.standard_normal(12 * RATE))
    spectrum *= np.maximum(np.arange(spectrum.size), 30.0) ** -slope
    return _at_level(np.fft.irfft(spectrum, 12 * RATE))


def bundled(speed: int) -> Sound:
    """Three people talking at once; needs espeak-ng."""
    voices = [speech(f"{language}+f2", speed, 50).astype(float) for language in ("de", "fr", "es")]
    least = min(voice.size for voice in voices)
    return _at_level(sum(voice[:least] for voice in voices))


def tone(hertz: float) -> Sound:
    """One pure tone."""
    return _at_level(np.sin(2 * np.pi * hertz * _time(12.0)))


def last_bit() -> Sound:
    """Nothing but the last bit of a 16 bit recorder flipping."""
    return (3e-5 * np.sign(np.sin(_time(12.0) * 700))).astype(np.float32)


def clipped(make: Callable[[int, float], Sound], seed: int, how: float) -> Sound:
    """Another sound, thirty times too loud for the recorder."""
    return np.clip(30.0 * make(seed, how), -0.5, 0.5)


def sounds(draw: int = 0) -> Iterator[tuple[str, str, Callable[[], Sound]]]:
    """Kind, name and maker of every sound to refuse, 12 s each at `RATE`.

    Another `draw` gives other voices, tunes, speeds and noises of the same kinds.
    """
    chance = np.random.default_rng(draw)
    shift, pull = 1000 * draw, 1.0 if draw == 0 else float(chance.uniform(0.8, 1.25))
    if speech_available():
        for language in SENTENCES:
            yield (
                "speech",
                f"{language} slow",
                partial(speech, language, int(125 * pull), 25 + draw % 9),
            )
            yield (
                "speech",
                f"{language} quick",
                partial(speech, language, int(190 * pull), 70 + draw % 9),
            )
        yield "speech", "three at once", partial(bundled, int(160 * pull))
    for seed, beat in ((11, 0.22), (12, 0.3), (13, 0.5), (14, 0.125)):
        yield "music", f"bells {beat}", partial(bell_music, seed + shift, beat * pull)
        yield "music", f"strings {beat}", partial(guitar_and_brushes, seed + shift, beat * pull)
    for seed in (21, 22, 23):
        yield "music", f"organ {seed}", partial(organ, seed + shift)
        yield "music", f"drone {seed}", partial(drone, seed + shift)
    for seed in (31, 32):
        yield "noise", f"rain {seed}", partial(rain, seed + shift)
        yield "noise", f"steps {seed}", partial(footsteps, seed + shift)
        yield "motor", f"drill {seed}", partial(hand_drill, seed + shift)
    for slope in (0.0, 0.5, 1.0):
        yield "noise", f"slope {slope}", partial(noise, 41 + shift, slope)
    for per_second in (2.0, 5.0, 8.0):
        yield "motor", f"clock {per_second:.0f}", partial(clock, per_second * pull)
    for hertz in (50.0, 60.0, 49.97):
        yield "hum", f"{hertz}", partial(hum, hertz)
    for pitch in (70.0, 220.0, 1000.0):
        yield "tone", f"{pitch:.0f} Hz", partial(tone, pitch * pull)
    yield "silence", "zero", partial(np.zeros, 12 * RATE, dtype=np.float32)
    yield "silence", "last bit", last_bit
    yield "clipped", "noise", partial(clipped, noise, 51 + shift, 0.5)
    yield "clipped", "strings", partial(clipped, guitar_and_brushes, 52 + shift, 0.3)
