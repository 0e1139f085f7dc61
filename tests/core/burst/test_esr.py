"""Step of the bus in the bulk capacitor's ESR: a whole evaluation against stepping the circuit."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from interrupter_formulas import limited_burst

from burstwise.core.burst.droop import bus_voltage
from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.interrupter.bulk import pulse_train
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
SOURCE, ESR, BULK, VOLTS = 0.4, 0.25, 2e-3, 36.0
PERIOD, ON = 1 / 150.0, 0.3 / 150.0
STEPS = 20_000


@pytest.fixture(scope="module")
def results():
    design = with_values(
        load(EXAMPLES / "classroom-gated-interrupted.burstwise"),
        {"supply.source_resistance": SOURCE, "supply.bulk_esr": ESR,
         "supply.bulk_capacitance": BULK, "supply.voltage": VOLTS},
    )  # fmt: skip
    return evaluate(design, verify=False)


@pytest.fixture(scope="module")
def stepped(results):
    """Times, bus voltage and source current over one period, by the mid-point rule."""
    current = results.average_power / (0.3 * results.operation.voltage)
    step = PERIOD / STEPS
    time = (np.arange(STEPS) + 0.5) * step
    load_current = np.where(time < ON, current, 0.0)
    volts, bus = VOLTS, np.zeros(STEPS)
    for _ in range(8):  # the time constant is a fifth of the period
        for i, drawn in enumerate(load_current):
            into = (VOLTS - volts - drawn * SOURCE) / (SOURCE + ESR)
            middle = volts + 0.5 * step * into / BULK
            into = (VOLTS - middle - drawn * SOURCE) / (SOURCE + ESR)
            bus[i] = middle + into * ESR
            volts += step * into / BULK
    return time, bus, (VOLTS - bus) / SOURCE, current


def test_bus_of_an_evaluation_against_stepping_the_circuit(results, stepped):
    time, bus, source, current = stepped
    on = time < ON
    found = results.operation.bus
    # The load's current finds ESR and source side by side: 0.25 * 0.4/0.65 = 0.154 ohm.
    assert VOLTS - bus[0] > current * 0.15
    assert found.start == pytest.approx(bus[0], abs=2e-3)
    assert found.end == pytest.approx(bus[on][-1], abs=2e-3)
    assert found.mean == pytest.approx(bus[on].mean(), abs=2e-3)
    assert found.source_peak == pytest.approx(source.max(), abs=5e-3)
    assert found.source_square == pytest.approx(np.mean(source**2) * PERIOD, rel=2e-3)
    assert results.droop == pytest.approx(VOLTS - bus[on][-1], abs=2e-3)


def test_course_of_the_bus_against_stepping_the_circuit(results, stepped):
    """Steps down with the load and up again without it, and what lies between."""
    time, bus, _, current = stepped
    course = results.course
    found, on = course.bus_voltage, course.time <= ON
    # Apart from the two moments at which the load comes and goes.
    assert found[on][1:] == pytest.approx(
        np.interp(course.time[on][1:], time[time < ON], bus[time < ON]), abs=3e-3
    )
    assert found[~on] == pytest.approx(
        np.interp(course.time[~on], time[time > ON], bus[time > ON]), abs=3e-3
    )
    rise = found[~on][0] - found[on][-1]
    # The first point after the burst is 1/240 of the pause later: some hundredths of the recharge.
    assert rise == pytest.approx(current * ESR * SOURCE / (SOURCE + ESR), rel=0.1)


def test_weak_source_leaves_the_whole_step_to_the_esr():
    # 20 A for 0.5 ms from 4.7 mF with 30 mohm: 0.6 V at once, 2.128 V more at the end, mean
    # halfway between, 1.664 V below. A source of 1 Mohm gives nothing meanwhile.
    bus = bus_voltage(
        24.0, 20.0, on_time=5e-4, off_time=1e6, source_resistance=1e6, capacitance=4.7e-3,
        series_resistance=0.03,
    )  # fmt: skip
    assert 24.0 - float(bus.start) == pytest.approx(0.6, abs=1e-3)
    assert 24.0 - float(bus.end) == pytest.approx(2.7277, abs=1e-3)
    assert 24.0 - float(bus.mean) == pytest.approx(1.6638, abs=1e-3)


def test_stiff_source_knows_no_esr():
    bus = bus_voltage(
        24.0, 20.0, on_time=5e-4, off_time=5e-4, source_resistance=0.0, capacitance=4.7e-3,
        series_resistance=0.03,
    )  # fmt: skip
    assert float(bus.start) == float(bus.end) == float(bus.mean) == 24.0
    assert float(bus.source_peak) == 20.0


def test_esr_of_the_interrupter_s_bulk_worked_out():
    # 15 A a tenth of the time: 15 sqrt(0.09) = 4.5 A RMS; 0.45 V and 0.6075 W in 30 mohm.
    train = pulse_train(15.0, 1e-3, 10e-3, capacitance=2.2e-3, esr=0.03)
    assert train.esr_step == pytest.approx(0.45)
    assert train.esr_power == pytest.approx(0.6075)
    # The capacitor gives 8 A of 10 A: 1.7021 V from 4.7 mF in 1 ms, 0.24 V in 30 mohm.
    burst = limited_burst(
        24.0, 10.0, on_time=1e-3, off_time=9e-3, capacitance=4.7e-3, esr=0.03, supply_limit=2.0
    )
    assert burst.lowest == pytest.approx(24.0 - 1.7021 - 0.24, abs=1e-4)
