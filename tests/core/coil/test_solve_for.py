"""Solves hit their target when put back into the forward model, and say so when they cannot."""

from dataclasses import replace

import pytest

from burstwise.core.coil.bounded_solve import nearest_solution
from burstwise.core.coil.geometry import TopLoad, TopLoadKind
from burstwise.core.coil.resonator import secondary_resonator
from burstwise.core.coil.summary import coil_constants
from burstwise.core.errors import InputError
from burstwise.core.studies.coil_solving import (
    primary_height_for_coupling,
    primary_turns_for_coupling,
    scaled_top_load,
    top_load_for_breakout,
    turns_for_resonance,
)


def test_turns_reach_the_wanted_resonance(example):
    found = turns_for_resonance(
        350e3, example.secondary, example.top_load, base_height=0.1, low=200, high=2000
    )
    turned = replace(example.secondary, turns=found.value)
    frequency = secondary_resonator(turned, example.top_load, 0.1).fundamental.frequency
    assert frequency == pytest.approx(350e3, rel=1e-3)
    assert found.reached == pytest.approx(350e3, rel=1e-6)


def test_resonance_out_of_reach_names_the_reach(example):
    with pytest.raises(InputError, match=r"coil\.resonance must be between .* can reach") as caught:
        turns_for_resonance(1e9, example.secondary, example.top_load, base_height=0.1)
    assert "1 GHz" in str(caught.value)


def test_primary_turns_reach_the_wanted_coupling(example):
    found = primary_turns_for_coupling(
        0.32, example.primary, example.secondary, example.top_load, base_height=0.1, high=12
    )
    values = coil_constants(
        replace(example.primary, turns=found.value),
        example.secondary,
        example.top_load,
        base_height=0.1,
    )
    assert values.coupling == pytest.approx(0.32, rel=2e-3)


def test_primary_height_reaches_the_wanted_coupling_nearest_to_where_it_is(example):
    args = (example.secondary, example.top_load)
    low = primary_height_for_coupling(0.3, example.primary, *args, base_height=0.1)
    high = primary_height_for_coupling(
        0.3, replace(example.primary, start_height=0.25), *args, base_height=0.1
    )
    assert low.value < 0.0 < high.value
    assert low.reached == pytest.approx(high.reached)


def test_impossible_coupling_is_refused(example):
    with pytest.raises(InputError, match=r"coil\.coupling must be between"):
        primary_height_for_coupling(
            0.9, example.primary, example.secondary, example.top_load, base_height=0.1
        )


def test_top_load_scale_reaches_the_wanted_breakout(example):
    found = top_load_for_breakout(320e3, example.secondary, example.top_load, base_height=0.1)
    grown = scaled_top_load(example.top_load, found.value)
    values = coil_constants(example.primary, example.secondary, grown, base_height=0.1)
    assert values.breakout_voltage == pytest.approx(320e3, rel=5e-3)


def test_breakout_needs_a_top_load_and_a_range(example):
    with pytest.raises(InputError, match=r"coil\.top_load\.kind must be"):
        top_load_for_breakout(100e3, example.secondary, TopLoad(TopLoadKind.NONE), base_height=0.1)
    with pytest.raises(InputError, match=r"coil\.breakout_voltage must be between"):
        top_load_for_breakout(50e6, example.secondary, example.top_load, base_height=0.1)


def test_a_top_load_is_not_sought_beyond_the_domain(example):
    """A ball of 2 m may grow to 5 m, not to the 8 m that would hold the voltage."""
    ball = TopLoad(TopLoadKind.SPHERE, 2.0, centre_height=1.05)
    large = coil_constants(
        example.primary, example.secondary, scaled_top_load(ball, 4.0), base_height=0.1
    )
    with pytest.raises(InputError, match=r"coil\.breakout_voltage must be between"):
        top_load_for_breakout(large.breakout_voltage, example.secondary, ball, base_height=0.1)
    found = top_load_for_breakout(
        0.5 * large.breakout_voltage, example.secondary, ball, base_height=0.1
    )
    assert found.value < 2.5


def test_nearest_of_several_roots_and_gaps():
    def wavy(x: float) -> float:
        if 4.2 < x < 4.8:
            raise InputError("x", x, "outside the gap")
        return (x - 1) * (x - 3) * (x - 7)

    found = nearest_solution(wavy, 0.0, low=0, high=9.6, start=6, field="y", unit="")
    assert found.value == pytest.approx(7.0)
    found = nearest_solution(wavy, 0.0, low=0, high=9.6, start=1.4, field="y", unit="")
    assert found.value == pytest.approx(1.0)


def test_range_without_any_valid_geometry_is_refused():
    def never(x: float) -> float:
        raise InputError("x", x, "something else")

    with pytest.raises(InputError, match="reachable by a geometry whose parts clear"):
        nearest_solution(never, 1.0, low=0, high=1, start=0, field="y", unit="")
