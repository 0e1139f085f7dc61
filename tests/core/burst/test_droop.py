"""Bus voltage against reference figures and against stepping the circuit."""

from __future__ import annotations

import numpy as np
import pytest
from interrupter_formulas import constant_power_end, resistive_end

from burstwise.core.burst.droop import bus_voltage


@pytest.fixture
def expected(table_rows):
    return {
        (row["id"], row["result"]): float(row["value"])
        for row in table_rows("interrupter_supply.csv")
    }


def test_pulse_from_a_full_capacitor(expected):
    # A source so weak that it adds nothing within the pulse, and time enough to fill up before.
    weak = {"source_resistance": 1e5, "capacitance": 4.7e-3}
    bare = bus_voltage(24.0, 20.0, on_time=5e-4, off_time=1e5, series_resistance=0.0, **weak)
    assert float(24.0 - bare.end) == pytest.approx(expected["N-DROOP-1", "dV_cap_V"], rel=1e-5)
    real = bus_voltage(24.0, 20.0, on_time=5e-4, off_time=1e5, series_resistance=0.03, **weak)
    assert float(24.0 - real.end) == pytest.approx(expected["N-DROOP-1", "dV_total_V"], rel=1e-5)


def test_constant_power_and_resistor(expected):
    end = constant_power_end(325.0, 500.0, 0.01, capacitance=1e-3)
    assert end == pytest.approx(expected["N-DROOP-2", "V_end_V"], rel=1e-9)
    end = resistive_end(24.0, 2.0, 1e-3, capacitance=1e-3)
    assert end == pytest.approx(expected["N-DROOP-3", "V_end_V"], rel=1e-9)


def test_pulse_train_on_a_source_of_constant_current(expected):
    # A high voltage behind a high resistance is a source of constant current.
    bus = bus_voltage(
        1.5e6, 15.0, on_time=1e-3, off_time=9e-3, source_resistance=1e6, capacitance=2.2e-3,
        series_resistance=0.0,
    )  # fmt: skip
    ripple = expected["N-DROOP-4", "dV_pp_V"]
    assert float(bus.start - bus.end) == pytest.approx(ripple, rel=1e-4)
    assert float(bus.capacitor_rms) == pytest.approx(expected["N-DROOP-4", "I_cap_rms_A"], rel=1e-4)


def test_against_stepping_the_circuit():
    Vs, current, Rs, C, esr = 36.0, 3.0, 0.4, 1e-3, 0.08
    on, period, steps = 2e-3, 6e-3, 30000
    dt, v, course, flow = period / steps, Vs, np.zeros(steps), np.zeros(steps)
    for _ in range(12):
        for i in range(steps):
            load = current if i * dt < on else 0.0
            into = (Vs - v - load * Rs) / (Rs + esr)
            course[i], flow[i] = v + into * esr, into
            v += into / C * dt
    bus = bus_voltage(
        Vs, current, on_time=on, off_time=period - on, source_resistance=Rs, capacitance=C,
        series_resistance=esr,
    )  # fmt: skip
    inside = course[: round(on / dt)]
    assert float(bus.start) == pytest.approx(inside[0], rel=1e-4)
    assert float(bus.end) == pytest.approx(inside[-1], rel=1e-4)
    assert float(bus.mean) == pytest.approx(inside.mean(), rel=1e-4)
    assert float(bus.capacitor_rms) == pytest.approx(np.sqrt((flow**2).mean()), rel=1e-3)
    assert float(bus.source_peak) == pytest.approx((Vs - inside[-1]) / Rs, rel=1e-3)


def test_never_off_is_a_plain_divider():
    bus = bus_voltage(
        24.0, 2.0, on_time=1.0, off_time=0.0, source_resistance=0.5, capacitance=1e-3,
        series_resistance=0.1,
    )  # fmt: skip
    assert float(bus.start) == float(bus.end) == pytest.approx(23.0)
    assert float(bus.capacitor_rms) == 0.0
