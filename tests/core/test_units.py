"""Quantities in and out: what people write, units, limits, and the way back."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burstwise.core.errors import InputError
from burstwise.core.units import in_unit, limits_text, percent, quantity, shown, shown_in


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
        ("2,5 mm", "m", 2.5e-3),
        ("0,125 mm", "m", 0.125e-3),
        ("1234,567 V", "V", 1234.567),
        ("50 V/ns", "V/s", 50e9),
        ("0.4 kV/us", "V/s", 0.4e9),
        ("1.2 °C/W", "K/W", 1.2),
        ("35 mK/W", "K/W", 0.035),
        ("2 J/°C", "J/K", 2.0),
        ("30 mJ", "J", 0.03),
        ("12 uJ", "J", 12e-6),
        ("23 nC", "C", 23e-9),
        ("7 A/V", "S", 7.0),
        ("1013 hPa", "Pa", 101.3e3),
        ("5 cm", "m", 0.05),
        ("4V7", "V", 4.7),
        ("47K", "Ω", 47e3),
        ("0,5", "", 0.5),
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


@pytest.mark.parametrize(
    ("text", "unit", "limit"),
    [
        (",5", "m", "a digit before the comma, e.g. 0,5"),
        ("5,", "m", "a digit behind the comma"),
        ("5:6", "m", "a quantity in m"),
        ("lambda: 1", "m", "a quantity in m"),
        ("x = 1", "m", "a quantity in m"),
        ("4R", "V", "a quantity in V"),
        ("4R7", "V", "a quantity in V"),
        ("1.2 K", "K/W", "a quantity in K/W"),
        ("5 V/K", "V/s", "a quantity in V/s"),
        ("5²", "m", "a quantity in m"),
        ("\N{ARABIC-INDIC DIGIT FIVE}", "m", "a quantity in m"),
        ("5\ud800", "m", "a quantity in m"),
        ("1_000", "V", "a quantity in V"),
        ("1" * 309, "V", "at most 100 characters"),
        ("1" * 4400, "V", "at most 100 characters"),
        ("1e400", "V", "a finite number"),
        ("1,234,567 V", "V", "without marks between thousands"),
        ("1,234.5 V", "V", "without marks between thousands"),
        ("1.234,5 V", "V", "without marks between thousands"),
        ("1m5", "m", "1.5 mm or 1.5 m"),
    ],
)
def test_nothing_is_read_in_part(text, unit, limit):
    """Refused in one line that anything can print."""
    with pytest.raises(InputError) as caught:
        quantity(text, unit, field="here")
    told = str(caught.value)
    assert limit in told
    assert "\n" not in told
    assert len(told) < 320
    told.encode("utf-8")


@pytest.mark.parametrize(
    ("text", "ways"),
    [
        ("1,234 mm", "1.234 mm or 1234 mm"),
        ("-12,345 mm", "-12.345 mm or -12345 mm"),
        ("123,456", "123.456 m or 123456 m"),
        ("1,234e3 mm", "1.234e3 mm or 1234e3 mm"),
    ],
)
def test_a_comma_before_three_figures_is_refused_with_both_readings(text, ways):
    with pytest.raises(InputError, match=ways):
        quantity(text, "m")


def test_integers_that_no_float_holds():
    for number in (10**309, 10**4400):
        with pytest.raises(InputError, match="a finite number"):
            quantity(number, "V")


def test_a_number_without_unit_is_in_si_unless_a_unit_is_on_show():
    assert quantity("75", "m") == 75.0
    assert quantity("75", "m", bare="mm") == 0.075
    assert quantity("2", "m", bare="mm") == 0.002
    assert quantity("2 m", "m", bare="mm") == 2.0
    assert quantity("50", "V/s", bare="V/ns") == 50e9
    with pytest.raises(InputError, match=r"1\.234 mm or 1234 mm"):
        quantity("1,234", "m", bare="mm")


@pytest.mark.parametrize(
    ("text", "unit", "low", "high", "near", "meant"),
    [
        ("75", "m", 0.005, 5.0, None, "did you mean 75 mm?"),
        ("75 m", "m", 0.005, 5.0, None, "did you mean 75 mm?"),
        (75, "m", 0.005, 5.0, None, "did you mean 75 mm?"),
        ("2", "F", 0.0, 1e-6, 3e-9, "did you mean 2 nF?"),
        ("2", "F", 0.0, 1e-6, None, "did you mean 2 pF or 2 nF?"),
        ("50", "V/s", 1e6, 1e12, 60e9, "did you mean 50 V/ns?"),
        ("50", "", 0.0, 1.0, None, "did you mean 50 %?"),
        ("15 mHz", "Hz", 1e3, 1e8, None, "did you mean 15 kHz or 15 MHz?"),
    ],
)
def test_a_refusal_names_the_prefix_that_would_do(text, unit, low, high, near, meant):
    with pytest.raises(InputError) as caught:
        quantity(text, unit, low=low, high=high, near=near)
    assert meant in str(caught.value)


@pytest.mark.parametrize(
    ("text", "unit", "low", "high"),
    [("8000 V", "V", 1.0, 400.0), ("7", "", 3.0, 5.0), ("-5", "A", 0.0, 1.0)],
)
def test_no_prefix_is_named_where_none_helps(text, unit, low, high):
    with pytest.raises(InputError) as caught:
        quantity(text, unit, low=low, high=high)
    assert "did you mean" not in str(caught.value)


def test_shown_in_a_chosen_unit():
    assert shown_in(2.0, "mm", "m") == "2000 mm"
    assert shown_in(0.0005, "mm", "m") == "0.5 mm"
    assert in_unit(0.075, "mm", "m") == pytest.approx(75.0, rel=1e-15)
    with pytest.raises(ValueError, match="no unit of"):
        in_unit(1.0, "V", "m")


@given(st.decimals("0.001", "999.999", places=3), st.sampled_from(["pF", "nF", "µF", "F"]))
def test_the_float_is_the_nearest_one_to_what_was_written(number, unit):
    """Against Python's own reading of the whole decimal: no rounding by a product of floats."""
    power = {"pF": -12, "nF": -9, "µF": -6, "F": 0}[unit]
    assert quantity(f"{number} {unit}", "F") == float(f"{number}e{power}")


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
    assert shown(math.nan, "V") == "not known"
    assert shown(-math.inf, "V") == "−∞ V"
    assert shown(12.3456, "V", digits=3) == "12.3 V"


@given(
    st.floats(1e-13, 1e8).flatmap(lambda x: st.sampled_from([x, -x])),
    st.sampled_from(["V", "A", "Ω", "F", "H", "s", "W", "Hz", "J", "m"]),
)
def test_what_is_shown_can_be_read_back(value, unit):
    """Four figures survive the way out and in again, sign and prefix included."""
    assert quantity(shown(value, unit), unit) == pytest.approx(value, rel=5.1e-4)


@pytest.mark.parametrize(
    ("ratio", "how", "text"),
    [
        (3.5, {"digits": 2, "signed": True}, "+350 %"),  # not 3.5e+02
        (-0.62, {"digits": 2, "signed": True}, "−62 %"),
        (8.99, {"digits": 3, "signed": True}, "+899 %"),
        (9.0, {"digits": 3, "signed": True}, "10 times"),  # 1 + 9 = 10
        (13.23, {"decimals": 1, "signed": True}, "14 times"),
        (9.994, {}, "999 %"),
        (9.996, {}, "10 times"),  # rounds to 1000 %
        (14.23, {"digits": 3}, "14.2 times"),
        (123456.0, {"digits": 2}, "120000 times"),
        (-0.0004, {"decimals": 1}, "0.0 %"),
        (-0.0004, {"decimals": 1, "signed": True}, "0.0 %"),
        (0.0, {"digits": 2, "signed": True}, "0 %"),
        (4.3e-5, {"digits": 2, "signed": True}, "+0.0043 %"),
        (2e-7, {"digits": 2}, "0 %"),  # not 2e-05
        (math.inf, {"digits": 2}, "∞ %"),
    ],
)
def test_percent_without_powers_of_ten_or_a_signed_zero(ratio, how, text):
    assert percent(ratio, **how) == text


@given(
    st.floats(-1e6, 1e6),
    st.sampled_from([{"decimals": 0}, {"decimals": 1}, {"digits": 2}, {"digits": 3}]),
    st.booleans(),
)
def test_percent_can_be_read_back_and_never_surprises(ratio, how, signed):
    text = percent(ratio, **how, signed=signed)
    number, unit = text.replace("−", "-").split(" ")
    assert "e" not in number
    assert not (float(number) == 0.0 and number[0] in "+-")
    if unit == "%":
        assert abs(float(number) + 100.0 * signed) < 1000.0
        read = float(number) / 100.0
        slack = 0.5 * 10.0 ** -how["decimals"] / 100.0 if "decimals" in how else 0.0
    else:
        assert unit == "times"
        read, slack = float(number) - signed, 0.0
    assert read == pytest.approx(ratio, rel=0.061, abs=slack + 1.1e-5)


def test_a_margin_of_many_times_is_no_percentage():
    assert shown(14.23, "%") == "14.23 times"
    assert shown(-14.23, "%", digits=3) == "-14.2 times"
    assert shown(5.0, "%") == "500 %"
    assert shown(-0.0, "%") == "0 %"
