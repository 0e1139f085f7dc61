"""Carrier table between its lines, against exact engine runs."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from carrier_grid import carrier_table

from burstwise.core.burst.table import curve_of
from burstwise.core.stage.carrier import carrier
from burstwise.core.stage.charge import ChargeSegments
from burstwise.core.stage.circuit import CoilValues, GatedFeed, StageCircuit, SwitchValues
from burstwise.core.stopping import StoppedError

constant = ChargeSegments.constant

LINES = [14.0, 18.0, 22.0, 26.0, 30.0, 36.0]
OHMS = [0.25, 0.45, 0.75]


@pytest.fixture(scope="module")
def circuit() -> StageCircuit:
    return StageCircuit(
        supply_voltage=36.0,
        coil=CoilValues(4e-6, 11e-3, 0.16, 0.05, 300.0, 9e-12, breakout_voltage=9e3),
        switch=SwitchValues(0.3, 3.5, 9.0, 0.9e-9, constant(3e-12), constant(60e-12)),
        feed=GatedFeed(12.0, 6.7, 6.2, 40e-9, False, 2.1, 1.2, 30e-12, 5.6, 0.6, 2.0, 5.0, 10e3),
    )


@pytest.fixture(scope="module")
def table(circuit):
    return carrier_table(circuit, LINES, OHMS)


def test_on_its_lines_it_is_exact(table):
    for v, volts in enumerate(LINES):
        for r, ohms in enumerate(OHMS):
            run = table.results[v][r]
            assert float(table.value("input_power", volts, ohms)) == pytest.approx(
                run.input_power, rel=1e-9
            )
            assert float(table.value("drain_voltage_peak", volts, ohms)) == pytest.approx(
                run.drain_voltage_peak, rel=1e-9
            )


def test_between_its_lines(circuit, table, figure):
    names = ("input_power", "device_power", "drain_current_peak", "drain_voltage_peak",
             "top_voltage_peak", "supply_current_mean")  # fmt: skip
    worst = dict.fromkeys(names, 0.0)
    for volts, ohms in ((16.1, 0.33), (20.3, 0.6), (24.2, 0.3), (28.4, 0.5), (33.3, 0.4)):
        run = carrier(circuit.with_supply(volts).with_on_resistance(ohms))
        for name in names:
            found = float(table.value(name, volts, ohms))
            worst[name] = max(worst[name], abs(found / getattr(run, name) - 1))
    for name, error in worst.items():
        figure(f"carrier table between lines, {name}", error, limit="2 %", source="engine runs")
    assert max(worst.values()) < 0.02, worst


def test_energy_goes_on_at_the_steady_power(table):
    part = table.at(np.array([30.0]))
    late = table.curves.time[-1] * np.array([1.0, 2.0])
    shape = (2, 1, len(OHMS))
    energy = part.energies(np.broadcast_to(late[:, None, None], shape).copy()[0])
    twice = part.energies(np.broadcast_to(late[:, None, None], shape).copy()[1])
    grown = (twice - energy)[0, :, 0] / table.curves.time[-1]
    assert grown == pytest.approx(part.rows("input_power")[0], rel=1e-9)


@pytest.mark.parametrize("marks", [2, 3])
def test_a_ring_up_goes_on_at_the_steady_power_however_few_its_marks(marks):
    """A straight line by hand: 3 uJ after 2 us, then 4 W, so 11 uJ after 4 us."""
    time = np.linspace(0.0, 2e-6, marks)
    run = SimpleNamespace(
        oscillates=True,
        input_power=4.0,
        device_power=0.0,
        ring_up=SimpleNamespace(time=time, supplied=np.linspace(0.0, 3e-6, marks)),
    )
    energy = curve_of(run, "supplied", np.array([2e-6, 4e-6]))
    assert energy == pytest.approx([3e-6, 11e-6])
    run.oscillates = False
    assert curve_of(run, "supplied", np.array([0.5])) == pytest.approx([2.0])


def test_asked_to_stop(circuit):
    with pytest.raises(StoppedError):
        carrier_table(circuit, [30.0, 36.0], [0.3, 0.5], progress=lambda share: False)
