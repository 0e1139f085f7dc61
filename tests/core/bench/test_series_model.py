"""Powers against loss figures worked out apart, circuit simulation by numbers, and Monte Carlo."""

import math

import numpy as np
import pytest

from burstwise.core.bench.derived import BenchSetup, derived_row, derived_table
from burstwise.core.bench.instruments import Accuracy, Instruments, Shunt
from burstwise.core.bench.readings import Reading
from burstwise.core.bench.series_explanation import series_explanation
from burstwise.core.bench.series_model import (
    Load,
    Switching,
    conduction_loss,
    effective_coil_resistance,
    input_power,
    output_capacitance_loss,
    overlap_loss,
    power_split,
)
from burstwise.core.errors import InputError


def test_losses_against_reference_figures(table_rows):
    expected = {row["id"]: float(row["expected"]) for row in table_rows("bench_losses.csv")}
    assert conduction_loss(5.0, 0.045 * 1.7) == pytest.approx(expected["H-COND-1"], rel=1e-9)
    assert output_capacitance_loss(2e-10, 100.0, 2e5) == pytest.approx(
        expected["H-COSS-1"], rel=1e-9
    )


@pytest.mark.parametrize("load", list(Load))
def test_overlap_loss_against_the_integral_of_the_ramps(load):
    """v and i ramp over t: together (resistive), or one after the other over half of t each."""
    voltage, current, span, frequency = 80.0, 3.0, 2e-7, 3e5
    part = np.linspace(0.0, 1.0, 20_001)
    if load is Load.RESISTIVE:
        power = voltage * part * current * (1.0 - part)
    else:
        power = np.where(
            part < 0.5, voltage * 2 * part * current, voltage * current * 2 * (1 - part)
        )
    energy = np.trapezoid(power, part) * span
    assert overlap_loss(
        voltage, current, transition_time=span, frequency=frequency, load=load
    ) == pytest.approx(energy * frequency, rel=1e-6)


def test_three_resistances_in_series_solve_like_a_circuit():
    """Nodal solution of the series circuit by linear algebra gives the same figures."""
    coil, shunt, channel, supply = 16.0, 0.1, 1.5, 48.0
    conductance = np.array(
        [[1 / coil + 1 / channel, -1 / channel], [-1 / channel, 1 / channel + 1 / shunt]]
    )
    drain, source = np.linalg.solve(conductance, [supply / coil, 0.0])
    current = source / shunt
    split = power_split(
        supply, mean_current=current, rms_current=current, shunt=shunt, on_resistance=channel
    )
    assert split.coil_resistance == pytest.approx(coil, rel=1e-12)
    assert split.device_power == pytest.approx((drain - source) * current, rel=1e-12)
    assert split.coil_power == pytest.approx((supply - drain) * current, rel=1e-12)


def test_input_power_is_the_mean_of_supply_times_current():
    """Half-sine pulses sampled finely: RMS times supply is high by pi/2 at half the period."""
    phase = (np.arange(100_000) + 0.5) / 100_000
    current = np.where(phase < 0.5, 4.0 * np.sin(2 * np.pi * phase), 0.0)
    rms, mean = math.sqrt(np.mean(current**2)), float(np.mean(current))
    told = series_explanation(
        50.0, rms_current=rms, mean_current=mean, shunt=0.05, on_resistance=1.0
    )
    assert told.honest.input_power == pytest.approx(float(np.mean(50.0 * current)), rel=1e-12)
    assert told.form_factor == pytest.approx(math.pi / 2, rel=1e-8)
    assert told.overstated_power == pytest.approx(50.0 * (rms - mean))


def test_power_in_equals_power_out_with_switching():
    edges = Switching(
        frequency=3e5,
        output_capacitance=1e-10,
        turn_on_voltage=90.0,
        edge_voltage=60.0,
        edge_current=2.0,
        edge_time=1e-7,
    )
    told = series_explanation(
        60.0, rms_current=3.0, mean_current=2.0, shunt=0.1, on_resistance=1.5, switching=edges
    )
    honest = told.honest
    assert honest.input_power == pytest.approx(
        honest.shunt_loss + honest.device_power + honest.coil_power
    )
    assert honest.coil_power == pytest.approx(honest.coil_resistance * 3.0**2)
    assert told.missing_device_power == pytest.approx(edges.loss)
    assert "1.5" in told.sentences[0]
    assert "switching" in told.sentences[1]


def test_no_mean_is_said():
    told = series_explanation(
        60.0, rms_current=3.0, mean_current=None, shunt=0.1, on_resistance=1.5
    )
    assert told.form_factor == 1.0
    assert "upper bound" in told.sentences[0]


def test_trade_figure_of_input_power(table_rows):
    """250 W and 3.45 A belong to 72 V: P = V I (common practice, no source)."""
    trade = {row["quantity"]: float(row["low"]) for row in table_rows("bench_trade_windows.csv")}
    assert input_power(72.0, trade["current"]) == pytest.approx(trade["input_power"], rel=0.01)
    assert trade["input_power"] / trade["current"] == pytest.approx(72.5, abs=0.5)


@pytest.mark.parametrize("with_mean", [True, False])
def test_uncertainties_against_monte_carlo(with_mean):
    """First-order propagation agrees with 200,000 redrawn readings through the same model."""
    meters = Instruments(
        supply=Accuracy(0.01),
        shunt_rms=Accuracy(0.02, 0.001),
        shunt_mean=Accuracy(0.015),
    )
    setup = BenchSetup(Shunt(0.1, 0.02), 2.0, on_resistance_tolerance=0.05, instruments=meters)
    reading = Reading(supply=50.0, shunt_rms=0.3, shunt_mean=0.2 if with_mean else None)
    row = derived_row(reading, setup)
    random = np.random.default_rng(7)

    def drawn(value, half):
        return random.uniform(value - half, value + half, 200_000)

    supply = drawn(50.0, 0.5)
    rms = drawn(0.3, 0.02 * 0.3 + 0.001)
    mean = drawn(0.2, 0.003) if with_mean else rms
    shunt, channel = drawn(0.1, 0.002), drawn(2.0, 0.1)
    power = supply * mean / shunt
    coil = power / (rms / shunt) ** 2 - shunt - channel
    lost = (rms / shunt) ** 2 * (shunt + channel)
    for estimate, cloud in [
        (row.current_rms, rms / shunt),
        (row.current_mean, mean / shunt),
        (row.input_power, power),
        (row.device_power, (rms / shunt) ** 2 * channel),
        (row.coil_resistance, coil),
        (row.efficiency, 1.0 - lost / power),
    ]:
        assert estimate.value == pytest.approx(float(np.median(cloud)), rel=2e-3)
        assert estimate.uncertainty == pytest.approx(float(np.std(cloud)), rel=0.02)


def test_derived_table_says_what_it_assumed():
    rows = [
        Reading(supply=24.0, shunt_rms=0.1, line=2),
        Reading(supply=24.0, shunt_rms=3.0, line=3),
    ]
    table = derived_table([*rows, Reading(supply=24.0)], BenchSetup(Shunt(0.1), 2.0))
    assert len(table.rows) == 2
    assert [finding.code for finding in table.findings] == [
        "coil-resistance-negative",
        "mean-assumed",
    ]
    assert "line 3" in table.findings[0].field


@pytest.mark.parametrize(
    "bad",
    [
        lambda: Shunt(0.0),
        lambda: Shunt(0.1, 0.9),
        lambda: Accuracy(-0.1),
        lambda: Accuracy(0.01, -1.0),
        lambda: BenchSetup(Shunt(0.1), 0.0),
        lambda: BenchSetup(Shunt(0.1), 1.0, on_resistance_tolerance=1.0),
        lambda: effective_coil_resistance(10.0, 0.0, shunt=0.1, on_resistance=1.0),
        lambda: power_split(0.0, mean_current=1, rms_current=1, shunt=0.1, on_resistance=1),
    ],
)
def test_values_that_make_no_sense_are_refused(bad):
    with pytest.raises(InputError):
        bad()
