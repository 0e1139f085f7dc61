"""Quantities in and out: what people write, units, limits, and the way back."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import InputError
from core.units import limits_text, quantity, shown


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("36V", "V", 36.0),
        ("36 V", "V", 36.0),
        ("36", "V", 36.0),
        ("4k7", "Ω", 4700.0),
        ("4.7k", "Ω", 4700.0),
        ("4.7 kΩ", "Ω", 4700.0),
        ("4.7 kohm", "Ω", 4700.0),
        ("0R47", "Ω", 0.47),
        ("2n2", "F", 2.2e-9),
        ("2.2nF", "F", 2.2e-9),
        ("47µ", "F", 47e-6),
        ("47 µF", "F", 47e-6),
        ("47uF", "F", 47e-6),
        ("15 Hz", "Hz", 15.0),
        ("1.5kHz", "Hz", 1500.0),
        ("1.5 ms", "s", 1.5e-3),
        ("0.5", "", 0.5),
        ("50%", "", 0.5),
        ("50 %", "", 0.5),
        ("2,5 V", "V", 2.5),
        ("−40 °C", "°C", -40.0),
        ("25", "°C", 25.0),
        ("1.2 K/W", "K/W", 1.2),
        ("2 in", "m", 0.0508),
        ("110 mm", "m", 0.11),
        ("1e-3", "H", 1e-3),
        ("8 µH", "H", 8e-6),
    ],
)
def test_what_people_write(text, unit, value):
    assert quantity(text, unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit"),
    [("", "V"), ("abc", "V"), ("36 A", "V"), ("4k7 F", "Ω"), ("1..2", "V"), ("--3", "V"),
     ("nan", "V"), ("inf", "V"), ("50%", "V"), ("half", ""), ("2n2 V", "F")],
)  # fmt: skip
def test_what_cannot_be_read_names_the_field(text, unit):
    with pytest.raises(InputError) as caught:
        quantity(text, unit, field="here")
    assert caught.value.field == "here"


def test_limits_are_closed():
    assert quantity("1 V", "V", low=1, high=400) == 1
    assert quantity("400 V", "V", low=1, high=400) == 400
    for text in ("0.99 V", "401 V"):
        with pytest.raises(InputError, match="between 1 V and 400 V"):
            quantity(text, "V", low=1, high=400)
    with pytest.raises(InputError, match="at least 0 A"):
        quantity(-1.0, "A", low=0)


def test_numbers_pass_in_si():
    assert quantity(36, "V") == 36.0
    for value in (math.nan, math.inf):
        with pytest.raises(InputError, match="finite"):
            quantity(value, "V")


def test_words_for_limits():
    assert limits_text(1.0, 1000.0, "V") == "between 1 V and 1 kV"
    assert limits_text(-math.inf, 85.0, "°C") == "at most 85 °C"


def test_shown_has_prefix_unit_and_digits():
    assert shown(4700.0, "Ω") == "4.7 kΩ"
    assert shown(47e-6, "F") == "47 µF"
    assert shown(0.5, "%") == "50 %"
    assert shown(math.nan, "V") == "not known V"
    assert shown(-math.inf, "V") == "−∞ V"
    assert shown(12.3456, "V", digits=3) == "12.3 V"


@given(
    st.floats(1e-13, 1e8).flatmap(lambda x: st.sampled_from([x, -x])),
    st.sampled_from(["V", "A", "Ω", "F", "H", "s", "W", "Hz", "J", "m"]),
)
def test_what_is_shown_can_be_read_back(value, unit):
    """Four figures survive the way out and in again, sign and prefix included."""
    assert quantity(shown(value, unit), unit) == pytest.approx(value, rel=5.1e-4)
