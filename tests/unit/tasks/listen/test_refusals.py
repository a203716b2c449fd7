"""What is refused, with which reason, and that every refusal says what to do."""

import numpy as np
import pytest
from scipy.signal import fftconvolve
from support_sound import refuse

from tickover.physics.sound.synthesise import synthesise
from tickover.tasks.listen import analyse

PATTERNS = ((0.0,), (0.0, 360.0), (0.0, 180.0, 360.0, 540.0))


def test_too_short() -> None:
    found = analyse(np.ones(8000), 8000, (0,))
    assert found.refused is not None
    assert found.refused.code == "too_short"


def test_silence() -> None:
    found = analyse(np.zeros(80_000), 8000, (0,))
    assert found.refused is not None
    assert found.refused.code == "silent"


def test_hum_alone_is_called_hum() -> None:
    found = analyse(refuse.hum(50.0) + 0.02 * refuse.noise(1, 0.0), refuse.RATE, (0.0, 360.0))
    assert found.refused is not None
    assert found.refused.code == "hum"
    assert "50 Hz" in found.refused.reason


def test_overload() -> None:
    sound = np.clip(30.0 * refuse.noise(2, 0.5), -0.5, 0.5)
    found = analyse(sound, refuse.RATE, (0,))
    assert found.refused is not None
    assert found.refused.code == "clipped"


def test_a_tone_is_too_even_or_nothing() -> None:
    found = analyse(refuse.noise(3, 0.5) * 0.01 + np.sin(np.arange(192_000) * 0.07), refuse.RATE,
                    (0, 360))  # fmt: skip
    assert found.refused is not None
    assert found.refused.code in {"too_even", "no_engine", "echo"}


def test_an_echoing_room_is_refused_or_remarked() -> None:
    made = synthesise([0, 360], duration_s=8.0, rate=16_000, seed=5)
    chance = np.random.default_rng(6)
    tail = chance.standard_normal(24_000) * np.exp(-np.arange(24_000) / 5000.0)
    room = np.concatenate([[1.0], 0.06 * tail])
    found = analyse(fftconvolve(made.samples, room)[:128_000] * 0.3, 16_000, (0, 360), 1000)
    told = found.refused is not None or "slots" in found.why or "dies away" in str(found.remarks)
    assert told


def test_a_wrong_number_of_cylinders_is_told_by_the_rough_speed() -> None:
    made = synthesise([0, 180, 360, 540], speed_rpm=1100.0, duration_s=8.0, rate=16_000, seed=7)
    found = analyse(made.samples, made.rate, (0.0,), about_rpm=1100)
    assert found.refused is not None
    assert found.refused.code == "cylinders"
    assert "engine file" in found.refused.what_to_do


def test_too_fast_for_an_idle_is_told_without_a_rough_speed() -> None:
    made = synthesise([0, 360], speed_rpm=4000.0, duration_s=6.0, rate=16_000, seed=8)
    found = analyse(made.samples, made.rate, (0, 360))
    assert found.refused is not None
    assert found.refused.code == "cylinders"
    assert analyse(made.samples, made.rate, (0, 360), about_rpm=4000).refused is None


def test_every_refusal_says_what_to_do_and_gives_no_numbers() -> None:
    for sound in (refuse.organ(3), refuse.rain(4), refuse.drone(5), refuse.footsteps(6)):
        found = analyse(sound, refuse.RATE, (0, 360))
        assert found.refused is not None
        assert len(found.refused.what_to_do) > 20
        assert found.speed_rpm is None
        assert found.track == ()
        assert found.slots is None


def test_fewer_than_a_tenth_of_the_things_to_refuse_pass() -> None:
    """A quarter of the sounds of the long table, eight seconds of each, as two engines."""
    tried = passed = 0
    for number, (_, _, make) in enumerate(refuse.sounds()):
        if number % 4:
            continue
        sound = make()[: 8 * refuse.RATE]
        for angles in (PATTERNS[number // 4 % 2], PATTERNS[2]):
            tried += 1
            passed += analyse(sound, refuse.RATE, angles).refused is None
    assert tried >= 20
    assert passed < 0.1 * tried


@pytest.mark.skipif(not refuse.speech_available(), reason="espeak-ng is not installed")
@pytest.mark.parametrize("language", ["de", "pl"])
def test_speech_is_refused(language: str) -> None:
    spoken = refuse.speech(language, 150, 45)
    for angles in PATTERNS:
        assert analyse(spoken, refuse.RATE, angles).refused is not None
        assert analyse(spoken, refuse.RATE, angles, about_rpm=1100).refused is not None
