"""The figures in the cautions of the start card, against the documents they come from."""

from __future__ import annotations

import re

import pytest
from support_start import ROW, small

from tickover.errors import InputError
from tickover.pages.building import start_card_of
from tickover.pages.start import CAUTIONS
from tickover.physics.exposure import noise_minutes

WORDS = {line.source: line.words for line in CAUTIONS}


def caution(word: str) -> tuple[str, str]:
    (line,) = [line for line in start_card_of(ROW, small()).cautions if word in line.words]
    return line.words, line.source


def test_carbon_monoxide_limits() -> None:
    """NIOSH criteria document 1972: 35 ppm over 8 h, ceiling 200 ppm. 29 CFR 1910.1000: 50 ppm.

    The OSHA figure was seen in a reproduced fact sheet, not in the regulation itself.
    """
    words, source = caution("Carbon monoxide")
    assert re.search(r"35 ppm over 8 h, never above 200 ppm \(NIOSH\)", words)
    assert re.search(r"50 ppm over 8 h \(OSHA\)", words)
    assert "1910.1000" in source


def test_no_time_indoors_is_ever_given() -> None:
    """NIOSH publication 96-118: open doors and windows do not make it right."""
    words, _ = caution("Carbon monoxide")
    assert "open doors or not" in words
    assert words.startswith("Outdoors")
    assert not re.search(r"\d+ ?(min|minutes|s|seconds)\b", words)


@pytest.mark.parametrize(
    ("level", "minutes"), [(85, 480), (88, 240), (91, 120), (94, 60), (97, 30), (100, 15)]
)
def test_niosh_noise_table(level: float, minutes: float) -> None:
    """NIOSH publication 98-126, recommended exposure limit: 85 dB(A), 3 dB exchange."""
    assert noise_minutes(level) == pytest.approx(minutes, rel=1e-12)


def test_niosh_noise_between_the_rows() -> None:
    """T = 480 / 2^((L - 85)/3): 4.72 minutes at 105 dB(A), print rounding 0.01."""
    assert noise_minutes(105.0) == pytest.approx(4.72, abs=0.01)


def test_osha_noise() -> None:
    """29 CFR 1910.95: 90 dB(A) for 8 h, 5 dB exchange, so 100 dB(A) for 2 h."""
    assert noise_minutes(90.0, 90.0, 5.0) == 480.0
    assert noise_minutes(100.0, 90.0, 5.0) == pytest.approx(120.0, rel=1e-12)


def test_noise_on_the_card() -> None:
    words, _ = caution("dB(A)")
    assert "85 dB(A) is the limit for 8 h and every 3 dB halve the time" in words
    assert "15 minutes at 100 dB(A)" in words
    assert "90 dB(A) and 5 dB" in words


def test_noise_refuses_what_no_ear_may_bear() -> None:
    for level, exchange in ((140.0, 3.0), (float("nan"), 3.0), (90.0, 0.0)):
        with pytest.raises(InputError):
            noise_minutes(level, 85.0, exchange)


def test_petrol_is_class_b_and_never_water() -> None:
    """29 CFR 1910.157(d): class B extinguishers within 50 ft (15.2 m) of the hazard."""
    words, source = caution("Petrol")
    assert "class B" in words
    assert "never water" in words
    assert float(re.search(r"(\d+) m at most", words)[1]) <= 50 * 0.3048
    assert "1910.157(d)" in source


def test_hydrogen_limit() -> None:
    """OSHA interpretation of 26 January 1976: lower limit 4.1 % by volume."""
    words, source = caution("hydrogen")
    assert "4.1 %" in words
    assert "1976" in source


def test_what_has_no_document_says_so() -> None:
    assert WORDS["common practice, no source"]
    for line in CAUTIONS:
        assert line.source == "common practice, no source" or re.search(r"NIOSH|CFR|OSHA",
                                                                        line.source)  # fmt: skip
