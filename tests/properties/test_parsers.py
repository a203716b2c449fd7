"""Whatever a parser is given, it is read or refused in words: no other error, ever.

`python bench/fuzz.py` does the same for longer, led by the code each input reaches.
"""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support_parsers import PARSERS, feed

from tickover.quantities import parse

NAMES = sorted(PARSERS)
some = settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


@pytest.mark.parametrize("name", NAMES)
def test_the_samples_are_read(name: str) -> None:
    samples = PARSERS[name].samples()
    assert samples
    if name == "quantity":  # each sample is of one kind, and is asked for all
        return
    assert [sample for sample in samples if not feed(name, sample)] == []


@pytest.mark.parametrize("name", NAMES)
@some
@given(data=st.binary(max_size=300) | st.text(max_size=200).map(str.encode))
def test_anything_is_read_or_refused_in_words(name: str, data: bytes) -> None:
    feed(name, data)


@pytest.mark.parametrize("name", NAMES)
@some
@given(data=st.data())
def test_spoilt_samples_are_read_or_refused_in_words(name: str, data: st.DataObject) -> None:
    sample = bytearray(data.draw(st.sampled_from(PARSERS[name].samples())))
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(0, max(len(sample) - 1, 0)))
        kind = data.draw(st.sampled_from(("flip", "cut", "put", "again")))
        if kind == "flip" and sample:
            sample[at] ^= data.draw(st.integers(1, 255))
        elif kind == "cut":
            del sample[at : at + data.draw(st.integers(1, 40))]
        elif kind == "put":
            sample[at:at] = data.draw(st.binary(max_size=12))
        else:
            sample[at:at] = sample[at : at + 30]
    feed(name, bytes(sample))


@pytest.mark.parametrize(
    ("name", "food"),
    [
        # found by bench/fuzz.py: a raised 2 is a digit to str.isdigit and none to int
        ("compression readings", "place,kind,value,unit,note\ncyl\u00b2,dry,10,bar,\n"),
        ("compression readings", "place,kind,value,unit,note\ntest,strokes,\u00b2,,\n"),
        # and a separator is a blank to a pattern, and none to int
        ("compression readings", "place,kind,value,unit,note\ncyl\x1e9,dry,10,bar,\n"),
        ("quick line", "mixture 1/4 \u00b2\u00b2\u00b2\u00b2 0.93"),
    ],
)
def test_what_once_broke_a_parser_is_refused_in_words(name: str, food: str) -> None:
    assert not feed(name, food.encode())


@pytest.mark.parametrize("blank", [" ", "\t", "\v", "\r", "\u2003", "  "])
def test_any_blank_parts_the_whole_from_the_fraction(blank: str) -> None:
    assert parse(f"9{blank}3/5 in", "length").value_si == pytest.approx(9.6 * 0.0254)


@pytest.mark.parametrize("name", ["number", "quantity", "range"])
@pytest.mark.parametrize("form", ["{}", "1/{}", "0.{}", "{} mm", "{}-{}"])
def test_a_number_beyond_all_sense_is_refused_in_words(name: str, form: str) -> None:
    # Python itself refuses to read more than 4300 digits, with an error of its own
    assert not feed(name, form.replace("{}", "7" * 5000).encode())
