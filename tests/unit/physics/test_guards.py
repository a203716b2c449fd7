"""Numbers no part can have are refused with what was given."""

import math

import numpy as np
import pytest

from tickover.errors import InputError
from tickover.physics import guards


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_positive_refuses(bad):
    with pytest.raises(InputError) as caught:
        guards.positive("Rod length", bad, "m")
    assert "Rod length" in str(caught.value)
    assert caught.value.given.endswith(" m")


@pytest.mark.parametrize("bad", [-1e-9, math.nan, math.inf])
def test_not_negative_refuses(bad):
    with pytest.raises(InputError):
        guards.not_negative("Length", bad)


def test_not_negative_takes_zero():
    guards.not_negative("Length", 0.0)


@pytest.mark.parametrize("bad", [-0.1, 1.1, math.nan])
def test_within_refuses_and_names_the_range(bad):
    with pytest.raises(InputError, match="0 to 1"):
        guards.within("Share", bad, 0.0, 1.0)


def test_one_bad_value_in_an_array_is_named():
    with pytest.raises(InputError) as caught:
        guards.positive("Diameter", np.array([1.0, -2.0, 3.0]), "m")
    assert caught.value.given == "-2 m"
