"""Interrupter of a design: numbers, parts and knob, and sets that go in and come out again."""

from dataclasses import replace

import numpy as np
import pytest

from burstwise.core.design.document import design_from, with_value, with_values
from burstwise.core.design.interrupter import CircuitName, TimerParts
from burstwise.core.design.timer_wish import TimerWish
from burstwise.core.errors import InputError
from burstwise.core.interrupter.circuits import CIRCUITS
from burstwise.core.interrupter.report import set_report
from burstwise.core.interrupter.resolve import (
    knob_curve,
    resolved_interrupter,
    timer_set,
    travel_for_duty,
)
from burstwise.core.interrupter.sizing import size_timer

MEASURED = {
    "primary_inductance": 2.5e-6, "primary_resistance": 0.05, "secondary_inductance": 12e-3,
    "secondary_capacitance": 9e-12, "quality_factor": 150.0, "coupling": 0.2,
    "breakout_voltage": 20e3,
}  # fmt: skip


@pytest.fixture
def design():
    return design_from({"coil": {"measured": MEASURED}})


@pytest.fixture
def by_parts(design):
    return with_value(design, "interrupter.given_by", "parts")


def test_every_circuit_can_be_named_in_a_design_and_has_fields_for_its_roles():
    assert set(CircuitName.__args__) == set(CIRCUITS)
    for circuit in CIRCUITS.values():
        assert set(circuit.roles) <= set(TimerParts.model_fields)


def test_typed_numbers_pass_through(design):
    set_ = with_values(design, {"interrupter.duty": "50%", "interrupter.frequency": "80 Hz"})
    found = resolved_interrupter(set_)
    assert (found.duty, found.frequency, found.chosen, found.findings) == (0.5, 80.0, None, ())
    off = with_value(set_, "interrupter.enabled", False)
    assert resolved_interrupter(off).duty == 1.0


@pytest.mark.parametrize("circuit", CIRCUITS)
@pytest.mark.parametrize("travel", [0.0, 0.31, 1.0])
def test_parts_give_what_an_event_simulation_gives(by_parts, simulation, circuit, travel):
    parts = {"interrupter.parts.circuit": circuit, "interrupter.parts.travel": travel}
    found = resolved_interrupter(with_values(by_parts, parts))
    values = {part.role: part.value for part in found.chosen.parts}
    on, period = simulation(circuit, values, set_report(found.chosen)["model"], travel)
    if on < period:
        assert found.frequency == pytest.approx(1 / period, rel=1e-6)
        assert found.duty == pytest.approx(on / period, rel=1e-6)
    assert found.duty_band.low <= found.duty <= found.duty_band.high
    assert found.frequency_band.low < found.frequency < found.frequency_band.high


def test_the_frequency_knob_of_two_timers_counts(by_parts, simulation):
    parts = {
        "circuit": "two-timer", "charge_resistor": 47e3, "frequency_potentiometer": 220e3,
        "pulse_capacitor": 10e-9,
    }  # fmt: skip
    fast, slow = (
        resolved_interrupter(
            with_values(
                by_parts,
                {f"interrupter.parts.{k}": v for k, v in parts.items()}
                | {"interrupter.parts.frequency_travel": travel},
            )
        )
        for travel in (1.0, 0.0)
    )
    # End resistance of half a per cent at either stop: (RA + pot e + 2 RB) against pot (1 - e).
    ratio = (47e3 + 220e3 * 0.995 + 2 * 3900) / (47e3 + 220e3 * 0.005 + 2 * 3900)
    assert fast.frequency / slow.frequency == pytest.approx(ratio, rel=2e-3)
    assert fast.duty / fast.frequency == pytest.approx(slow.duty / slow.frequency, rel=1e-9)


@pytest.mark.parametrize(
    "circuits", [(name,) for name in CIRCUITS if name != "astable-classic"], ids=lambda c: c[0]
)
def test_a_ranked_set_comes_out_of_the_design_as_it_went_in(circuits):
    wish = TimerWish(frequency=90.0, duty_low=0.03, duty_high=0.6, supply=9.0, circuits=circuits)
    for one in size_timer(wish).sets[:3]:
        again = timer_set(one.given.model_copy(update={"travel": 0.2}))
        before = {part.role: part for part in one.parts}
        assert {part.role for part in again.parts} == set(before)
        for back in again.parts:
            part = before[back.role]
            assert back.value == part.value
            if not part.role.startswith("trigger"):
                assert replace(back, series=part.series) == part
        for name in ("frequency", "duty_low", "duty_high"):
            for side in ("nominal", "low", "high"):
                assert getattr(getattr(again, name), side) == pytest.approx(
                    getattr(getattr(one, name), side), rel=1e-9
                )
        assert set(again.findings) >= set(one.findings)


@pytest.mark.parametrize(
    "changes",
    [
        {"capacitors": ("x7r",), "supply_tolerance": 0.1, "resistor_tolerance": 0.02},
        {"taper": "logarithmic", "diode": "schottky", "potentiometer_tolerance": 0.1},
        {"duty_low": 0.6, "resistor_series": "E96"},
    ],
    ids=lambda changes: next(iter(changes)),
)
def test_stock_that_was_wished_for_comes_into_the_design(changes):
    wish = {"frequency": 90.0, "duty_low": 0.03, "duty_high": 0.6, "supply": 9.0} | changes
    for one in size_timer(TimerWish(**wish)).sets[:3]:
        again = timer_set(one.given)
        for name in ("frequency", "duty_low", "duty_high"):
            for side in ("nominal", "low", "high"):
                assert getattr(getattr(again, name), side) == pytest.approx(
                    getattr(getattr(one, name), side), rel=1e-9
                )


def test_parts_have_the_tolerances_of_the_design_and_the_first_series_that_holds_them():
    """Series by IEC 60063: 3.9 is in E12 and not in E6, 3.3 in E6 and not in E3, 2.5 in none."""
    given = TimerParts(
        charge_resistor=3900.0, resistor_tolerance=0.005,
        potentiometer=250e3, potentiometer_tolerance=0.1,
        timing_capacitor=330e-9, timing_capacitor_tolerance=0.02,
    )  # fmt: skip
    found = {part.role: part for part in timer_set(given).parts}
    told = {role: (part.unit, part.series, part.tolerance) for role, part in found.items()}
    assert told["charge_resistor"] == ("ohm", "E12", 0.005)
    assert told["potentiometer"] == ("ohm", "1-2.5-5", 0.1)
    assert told["timing_capacitor"] == ("F", "E6", 0.02)


def test_a_stuck_output_is_told_and_counts_as_what_it_is(by_parts):
    stuck = with_values(
        by_parts,
        {
            "interrupter.parts.circuit": "astable-steered-output",
            "interrupter.parts.timer": "bipolar",
            "interrupter.parts.supply": 5.0,
        },
    )
    found = resolved_interrupter(stuck)
    assert found.duty == 1.0
    assert [(f.severity, f.code) for f in found.findings] == [("stop", "no-oscillation")]


def test_pulse_that_never_ends_is_a_stop():
    # Through 1.7 ohm the discharge switch holds more than two thirds of the supply.
    parts = TimerParts(
        circuit="astable-capped-output", timer="bipolar", supply=2.93, pulse_resistor=1.7,
        charge_resistor=573e3, discharge_resistor=3.5e3, potentiometer=58e6,
        timing_capacitor=3.5e-11,
    )  # fmt: skip
    one = timer_set(parts)
    assert (one.frequency.high, one.duty_high.high, one.duty_middle) == (0.0, 0.0, 0.0)
    assert one.findings[0].code == "no-oscillation"


def test_pulse_that_never_ends_in_a_corner_gives_bands_down_to_nothing():
    parts = TimerParts(
        circuit="two-timer", timer="cmos", supply=1.47, supply_tolerance=0.25, pulse_resistor=1.0,
        charge_resistor=1e8, discharge_resistor=5e3,
    )  # fmt: skip
    one = timer_set(parts)
    assert one.frequency.low == 0.0
    assert 0.0 < one.frequency.nominal < one.frequency.high


def test_a_far_frequency_is_told(by_parts):
    found = resolved_interrupter(with_value(by_parts, "interrupter.parts.timing_capacitor", 100e-6))
    assert "interrupter-frequency" in {finding.code for finding in found.findings}


def test_control_voltage_outside_the_supply_is_refused(by_parts):
    with pytest.raises(InputError, match="control_voltage must be between"):
        with_value(by_parts, "interrupter.parts.control_voltage", 11.9)
    held = with_value(by_parts, "interrupter.parts.control_voltage", 6.0)
    assert timer_set(held.interrupter.parts).timer.upper == pytest.approx(0.5)
    assert timer_set(held.interrupter.parts).given.control_voltage == 6.0


@pytest.mark.parametrize("duty", [0.1, 0.5, 0.93])
def test_the_knob_finds_a_duty_and_ends_at_its_stops(duty):
    one = timer_set(TimerParts())
    travel = travel_for_duty(one, duty)
    curve = knob_curve(one)
    assert np.interp(travel, curve.travel, curve.duty) == pytest.approx(duty, abs=1e-6)
    assert (travel_for_duty(one, 0.001), travel_for_duty(one, 0.999)) == (0.0, 1.0)
