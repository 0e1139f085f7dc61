"""Current transformer and antenna at a driver's input, against hand calculation and field laws."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from burstwise.core.stage.carrier import RESIDUAL_LIMIT, carrier
from burstwise.core.stage.circuit import StageCircuit
from burstwise.core.stage.diagnosis import diagnose
from burstwise.core.stage.elements import Monitor

TURNS, BURDEN, WINDING, BIAS = 20.0, 4700.0, 2e-3, 2.4
ANTENNA, ANTENNA_BIAS = 0.5e-12, 10e3
OPEN = {"clamp_high": math.inf, "clamp_low": math.inf}


def transformed(circuit: StageCircuit, **changes: float) -> StageCircuit:
    values = {
        "turns": TURNS, "bias_resistance": BURDEN, "inductance": WINDING, "bias_voltage": BIAS,
    } | changes  # fmt: skip
    return replace(circuit, feed=replace(circuit.feed, **values))


def aerial(circuit: StageCircuit, **changes: float) -> StageCircuit:
    values = {"antenna": ANTENNA, "bias_resistance": ANTENNA_BIAS, "bias_voltage": BIAS} | changes
    return replace(circuit, feed=replace(circuit.feed, **values), reversed_sense=True)


def amplitude(run) -> float:
    return 0.5 * float(run.peaks[Monitor.INPUT] - run.valleys[Monitor.INPUT])


def harmonic(run, monitor: Monitor, order: int) -> float:
    """Mean (order 0) or amplitude of a harmonic of a signal, by quadrature of its trace.

    The trace ends within the last step of a cycle; its first point closes the cycle.
    """
    period = 1.0 / run.frequency
    time = np.append(run.trace.time - run.trace.time[0], period)
    signal = np.append(run.trace.signal(monitor), run.trace.signal(monitor)[0])
    turn = np.exp(-2j * math.pi * order * time / period)
    return (2.0 if order else 1.0) / period * abs(np.trapezoid(signal * turn, time))


def test_swing_behind_a_current_transformer_is_current_over_turns_times_impedance(circuits) -> None:
    # By hand: I = 2 pi f C V at the foot, over 20 turns, into 4.7 kohm, 2 mH and 30 pF.
    run = carrier(transformed(circuits.gated, **OPEN), trace=True)
    pace = 2 * math.pi * run.frequency
    foot = pace * circuits.gated.coil.secondary_capacitance * harmonic(run, Monitor.TOP, 1)
    met = 1 / abs(1 / BURDEN + 1j * pace * 30e-12 + 1 / (1j * pace * WINDING))
    assert run.oscillates
    assert harmonic(run, Monitor.INPUT, 1) == pytest.approx(foot / TURNS * met, rel=0.01)
    assert run.residual < RESIDUAL_LIMIT


def test_swing_behind_an_antenna_is_that_of_a_divider(circuits) -> None:
    # By hand: 0.5 pF from the top, 10 kohm and 30 pF from the input to what does not move.
    run = carrier(aerial(circuits.gated, **OPEN), trace=True)
    pace = 2 * math.pi * run.frequency
    share = abs(pace * ANTENNA / (1 / ANTENNA_BIAS + 1j * pace * (30e-12 + ANTENNA)))
    wanted = share * harmonic(run, Monitor.TOP, 1)
    assert run.oscillates
    assert harmonic(run, Monitor.INPUT, 1) == pytest.approx(wanted, rel=0.01)
    assert run.residual < RESIDUAL_LIMIT


def test_a_winding_holds_the_input_s_mean_at_its_bias(circuits) -> None:
    # Faraday: no mean voltage on an inductor in a steady state, however unlike the clamps are.
    means = {}
    for name, henry in (("winding", WINDING), ("ideal", math.inf)):
        circuit = transformed(circuits.gated, clamp_high=4.0, inductance=henry)
        run = carrier(circuit, trace=True)
        means[name] = harmonic(run, Monitor.INPUT, 0)
        assert run.oscillates
        assert run.residual < RESIDUAL_LIMIT
    assert means["winding"] == pytest.approx(BIAS, abs=0.05)
    assert means["ideal"] < BIAS - 0.4


def test_burden_takes_the_heat_of_its_voltage(circuits) -> None:
    run = carrier(transformed(circuits.gated, **OPEN))
    assert run.losses["burden"] == pytest.approx(amplitude(run) ** 2 / 2 / BURDEN, rel=0.05)
    assert "input_clamp" not in run.losses


def test_an_antenna_wants_the_other_winding_sense(circuits) -> None:
    wrong = replace(aerial(circuits.gated), reversed_sense=False)
    assert "winding-sense" in {item.code for item in diagnose(carrier(wrong))}
    assert not diagnose(carrier(aerial(circuits.gated)))
    assert not diagnose(carrier(transformed(circuits.gated)))


def test_a_feedback_that_is_too_weak_is_named(circuits) -> None:
    weak = carrier(transformed(circuits.gated, bias_resistance=2200.0, inductance=1e-3))
    assert not weak.oscillates
    assert "feedback-too-weak" in {item.code for item in diagnose(weak)}
