from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burstwise.app.plots.ranges import Span, held_span, nice_span, nice_step

ends = st.floats(-1e9, 1e9).filter(lambda value: value == 0.0 or abs(value) > 1e-9)


@given(ends, ends)
def test_a_nice_span_holds_the_data_and_ends_on_steps(one: float, other: float) -> None:
    low, high = min(one, other), max(one, other)
    span = nice_span(low, high)
    assert span.holds(Span(low, high))
    width = span.width
    assert width > 0.0
    if high - low > 1e-6 * max(abs(low), abs(high)):
        assert width <= 2.2 * (high - low)


@given(st.floats(1e-12, 1e12))
def test_a_nice_step_gives_five_to_thirteen_steps(width: float) -> None:
    steps = width / nice_step(width)
    assert 5 - 1e-6 <= steps <= 13
    mantissa = nice_step(width) / 10 ** math.floor(math.log10(nice_step(width)) + 1e-9)
    assert any(math.isclose(mantissa, nice, rel_tol=1e-5) for nice in (1, 2, 2.5, 5))


def test_small_changes_keep_the_range_and_large_ones_do_not() -> None:
    held = held_span(None, 0.0, 37.0)
    for high in (36.0, 39.0, 25.0, 40.0):
        assert held_span(held, 0.0, high) is held
    assert held_span(held, 0.0, 40.5).high > 40.0
    assert held_span(held, 0.0, 10.0).high < 20.0


@pytest.mark.parametrize(("value", "zero"), [(5.0, False), (0.0, False), (5.0, True), (-3.0, True)])
def test_constant_data_get_a_range_with_width(value: float, zero: bool) -> None:
    span = nice_span(value, value, from_zero=zero)
    assert span.low <= value <= span.high
    assert span.width > 0
    if zero:
        assert span.low <= 0.0 <= span.high
