"""Turns, spacing and length agree with the geometry that is built from them."""

import math

import pytest

from core.coil import SecondaryGeometry
from core.coil.winding_length import spacing_for_length, turns_in_length
from core.errors import InputError


def test_turns_and_spacing_give_the_length_back():
    turns = turns_in_length(0.3, 0.0004, spacing=0.0001)
    assert SecondaryGeometry(0.1, 0.00035, 0.0004, turns, 0.0001).length == pytest.approx(0.3)
    spacing = spacing_for_length(0.3, 0.0004, turns=500)
    assert SecondaryGeometry(0.1, 0.00035, 0.0004, 500, spacing).length == pytest.approx(0.3)


def test_close_winding_has_no_spacing():
    assert spacing_for_length(0.36, 0.00036, turns=1000) == pytest.approx(0.0, abs=1e-12)


def test_turns_that_do_not_fit_name_the_length():
    with pytest.raises(InputError, match=r"coil\.secondary\.length must be at least 0\.36 m"):
        spacing_for_length(0.35, 0.00036, turns=1000)


@pytest.mark.parametrize("length", [0.0, -0.1, math.nan, 50.0])
def test_absurd_lengths_are_refused(length):
    with pytest.raises(InputError, match=r"coil\.secondary\.length"):
        turns_in_length(length, 0.0004)
