"""Load of the parts against sums over a dense time course and against worked examples."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest
from scipy.signal import lfilter

from burstwise.core.burst.droop import BusVoltage, bus_voltage
from burstwise.core.burst.operation import Operation
from burstwise.core.coil.resolve import resolved_coil
from burstwise.core.design.document import with_values
from burstwise.core.evaluate.load import Figures, load_from
from burstwise.core.stage.elements import Monitor

FREQUENCY, DUTY = 1e3, 0.25
CARRIER = 100e3
PEAK = 8.0
"""Half sines of this height in each carrier cycle of the on-time [A]."""
POINTS = 200
"""Points of one carrier cycle."""


def course() -> tuple[np.ndarray, float]:
    """Current over one interrupter period, half sines while on, and its time step."""
    count = round(CARRIER / FREQUENCY) * POINTS
    step = 1.0 / FREQUENCY / count
    time = (np.arange(count) + 0.5) * step
    wave = np.maximum(PEAK * np.sin(2 * np.pi * CARRIER * time), 0.0)
    return np.where(time < DUTY / FREQUENCY, wave, 0.0), step


def rms(signal: np.ndarray) -> float:
    return float(np.sqrt(np.mean(np.square(signal))))


def point(bus: BusVoltage | None = None, *, duty: float = DUTY) -> Operation:
    """Operation of which a load needs duty, heat and bus alone; the rest is at rest."""
    values = {item.name: np.zeros(1) for item in fields(Operation)}
    values |= {
        "duty": np.array([duty]),
        "on_time": np.array([duty / FREQUENCY]),
        "voltage": np.array([36.0]),
        "bus": bus or BusVoltage(*np.zeros((6, 1))),
    }
    return Operation(**values)


def figures(**given: float) -> Figures:
    return Figures(
        **({item.name: 0.0 for item in fields(Figures)} | {"oscillates": 1.0, "frequency": CARRIER})
        | given
    )


@pytest.fixture
def load(small_design):
    """Load of a design at a point, with some figures of the carrier given."""

    def made(changes=None, *, at=None, **given):
        design = with_values(
            small_design,
            {"interrupter.given_by": "numbers", "interrupter.frequency": FREQUENCY,
             "interrupter.duty": DUTY} | (changes or {}),
        )  # fmt: skip
        coil = resolved_coil(design.coil)
        return load_from(design, coil, figures(**given), at or point(), source_voltage=36.0)

    return made


def test_rms_drain_current_of_bursts_of_half_sines(load):
    current, _ = course()
    on = current[: round(DUTY * len(current))]
    found = load(drain_current_rms=rms(on)).drain_current_rms
    # A half sine has half its peak, 4 A; a quarter of the time the root of a quarter: 2 A.
    assert rms(current) == pytest.approx(2.0, rel=1e-3)
    assert float(found[0]) == pytest.approx(rms(current), rel=1e-6)


@pytest.mark.parametrize(("source", "within"), [(50.0, 0.003), (2.0, 0.02)])
def test_current_of_the_bulk_capacitor_with_every_carrier_cycle_in_it(load, source, within):
    """Step the capacitor behind its source through bursts of half sines.

    The tool takes all of the carrier's ripple from the capacitor; the part ESR/(ESR + source) that
    the source really gives is what `within` allows for.
    """
    current, step = course()
    capacitance, esr = 1e-3, 0.01
    tau = (source + esr) * capacitance
    # Into the capacitor: (Vs - v - i Rs)/(Rs + ESR), over the mean, which no periodic state holds.
    drive = -(current - current.mean()) * source
    periods = int(np.ceil(12 * tau * FREQUENCY))
    lag = -np.expm1(-step / tau)
    volts = lfilter([0.0, lag], [1.0, lag - 1.0], np.tile(drive, periods))[-len(current) :]
    flow = (drive - volts) / (source + esr)
    on = current[: round(DUTY * len(current))]
    bus = bus_voltage(
        [36.0], on.mean(), on_time=DUTY / FREQUENCY, off_time=(1 - DUTY) / FREQUENCY,
        source_resistance=source, capacitance=capacitance, series_resistance=esr,
    )  # fmt: skip
    found = load(
        at=point(bus), supply_current_rms=rms(on), supply_current_mean=float(on.mean())
    ).bulk_ripple
    assert float(found[0]) == pytest.approx(rms(flow), rel=within)


def test_current_of_the_bulk_capacitor_worked_out(load):
    # Half sines of 8 A: mean 8/pi = 2.546 A, RMS 4 A, ripple sqrt(16 - 6.485) = 3.085 A while on,
    # a quarter of the time. Source of constant current: 2.546 sqrt(0.25 0.75) = 1.103 A at the
    # interrupter's frequency. Both: sqrt(1.103^2 + 0.25 3.085^2) = sqrt(1.216 + 2.379) = 1.896 A.
    bus = BusVoltage(*np.zeros((5, 1)), capacitor_rms=np.array([1.1027]))
    found = load(at=point(bus), supply_current_rms=4.0, supply_current_mean=8 / np.pi).bulk_ripple
    assert float(found[0]) == pytest.approx(1.896, abs=1e-3)
    # Never off: the ripple of the carrier alone.
    still = BusVoltage(*np.zeros((6, 1)))
    found = load(
        at=point(still, duty=1.0), supply_current_rms=4.0, supply_current_mean=8 / np.pi
    ).bulk_ripple
    assert float(found[0]) == pytest.approx(3.085, abs=1e-3)


def test_heat_of_shunt_and_clamp_is_a_mean_over_the_whole_period(load):
    current, _ = course()
    heat = 0.1 * np.square(current)
    on = heat[: round(DUTY * len(heat))]
    found = load(shunt_power=float(on.mean()), clamp_power=2.0)
    # 0.1 ohm and 2 A RMS over the whole period: 0.4 W. A clamp with 2 W a quarter of the time.
    assert float(heat.mean()) == pytest.approx(0.4, rel=1e-3)
    assert float(found.shunt_power[0]) == pytest.approx(float(heat.mean()), rel=1e-6)
    assert float(found.clamp_power[0]) == pytest.approx(0.5)


DRIVER = {
    "drive.gated.driver_supply": 12.0,
    "drive.gated.gate_resistor": 5.0,
    "device.internal_gate_resistance": 1.0,
    "drive.gated.quiescent_current": 3e-3,
}


def driver(up: float, down: float) -> dict[str, object]:
    return DRIVER | {"drive.gated.pull_up_resistance": up, "drive.gated.pull_down_resistance": down}


def test_heat_and_supply_current_of_the_driver_worked_out(load):
    # Inside (3 + 1)/2 = 2 ohm, outside 5 + 1 = 6 ohm: a quarter of the gate loop's heat is the
    # driver's. 0.8 W in the loop while on, a quarter of the time: 0.2 W, 50 mW of it inside, with
    # 12 V 3 mA = 36 mW at rest: 86 mW. 0.96 W from 12 V while on: 80 mA, 20 mA in the mean, and
    # 3 mA at rest.
    found = load(driver(3.0, 1.0), gate_power=0.8, auxiliary_power=0.96)
    assert float(found.driver_heat[0]) == pytest.approx(0.086)
    assert float(found.low_current[0]) == pytest.approx(0.023)
    always = load(driver(3.0, 1.0), at=point(duty=1.0), gate_power=0.8, auxiliary_power=0.96)
    assert float(always.driver_heat[0]) == pytest.approx(0.236)
    assert float(always.low_current[0]) == pytest.approx(0.083)


@pytest.mark.parametrize(("up", "down"), [(3.0, 1.0), (1.0, 3.0)])
def test_peak_current_of_the_driver_is_that_of_its_stronger_side(load, up, down):
    """Charge and discharge the gate through either side, step by step."""
    capacitance, step, supply, outside = 1e-9, 1e-12, 12.0, 6.0
    highest = 0.0
    for resistance, target, volts in ((up, supply, 0.0), (down, 0.0, supply)):
        for _ in range(20_000):
            current = (target - volts) / (resistance + outside)
            volts += current / capacitance * step
            highest = max(highest, abs(current))
    found = load(driver(up, down)).driver_current_peak
    # 12 V over 1 + 6 ohm.
    assert highest == pytest.approx(12.0 / 7.0)
    assert float(found) == pytest.approx(highest)


def test_direct_drive_has_no_driver(load):
    found = load({"drive.kind": "direct"}, gate_power=0.8, auxiliary_power=0.96)
    for value in (found.driver_current_peak, found.driver_heat, found.low_current):
        assert not np.any(value)


def test_whole_evaluation_against_sums_over_the_traced_cycle(interrupted):
    """The engine's trace, summed by the trapezoid rule, at the duty of the design."""
    trace, load, duty = interrupted.carrier.trace, interrupted.load, 0.3
    span = trace.time[-1] - trace.time[0]

    def mean(signal):
        return float(np.trapezoid(signal, trace.time)) / span

    drain, drawn = trace.signal(Monitor.DRAIN_CURRENT), trace.signal(Monitor.PRIMARY_CURRENT)
    assert load.drain_current_rms == pytest.approx(np.sqrt(duty * mean(drain**2)), rel=0.03)
    # The gate's current goes through the shunt as well.
    assert load.shunt_power == pytest.approx(0.1 * duty * mean(drain**2), rel=0.04)
    carrier_part = duty * (mean(drawn**2) - mean(drawn) ** 2)
    slow = interrupted.operation.bus.capacitor_rms**2
    assert carrier_part > 5 * slow
    assert load.bulk_ripple == pytest.approx(np.sqrt(carrier_part + slow), rel=0.03)
    # Driver of 12 V, 2 and 1.5 ohm, behind 4.7 and 3 ohm: 12/(1.5 + 7.7) A at most, and
    # 1.75/(1.75 + 7.7) of the loop's heat, on the die as well, 30 % of the time, 24 mW at rest.
    assert load.driver_current_peak == pytest.approx(12.0 / 9.2)
    loop = sum(interrupted.carrier.losses[name] for name in ("gate_drive", "internal_gate"))
    assert load.driver_heat == pytest.approx(0.3 * loop * 1.75 / 9.45 + 0.024, rel=1e-3)


def test_only_a_top_that_breaks_out_strikes(load, small_design) -> None:
    """Without a discharge there is nothing that grows towards the primary."""
    breakout = resolved_coil(small_design.coil).breakout_voltage
    assert float(load(top_voltage_peak=1.2 * breakout).strike_voltage) == 1.2 * breakout
    assert float(load(top_voltage_peak=0.8 * breakout).strike_voltage) == 0.0
