"""Engine against CVODE and Radau on equations written by hand, both drives.

Waveforms and losses; the solvers restart at every toggle of the driver.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from burstwise.core.stage.charge import ChargeSegments
from burstwise.core.stage.circuit import ClampValues
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.engine import Engine

LOSSES = {
    "channel": "channel",
    "primary_winding": "primary_winding",
    "secondary_winding": "secondary_winding",
    "shunt": "shunt",
    "body_diode": "body_diode",
    "avalanche": "avalanche",
    "breakout": "breakout",
    "clamp": ("gate_clamp", "input_clamp"),
    "gate_feed": ("gate_drive", "pull_down", "internal_gate"),
    "bias": "bias",
    "drain_clamp": "drain_clamp",
    "snubber": "snubber",
    "reservoir_diode": "reservoir_diode",
    "reservoir_bleed": "reservoir_bleed",
}


def variants(circuits):
    gated, direct = circuits.both
    low = replace(gated.coil, breakout_voltage=4e3)
    clamp = ClampValues(300.0, 4.0)
    return {
        "gated": gated,
        "direct": direct,
        "gated without shunt, breakout, drain clamp": replace(
            gated, shunt_resistance=0.0, coil=low, clamps=clamp
        ),
        "direct with large shunt, breakout, avalanche": replace(
            direct,
            shunt_resistance=1.0,
            coil=low,
            switch=replace(direct.switch, avalanche_voltage=350.0),
        ),
        "gated inverting, swapped": replace(
            gated,
            feed=replace(gated.feed, inverting=True, bias_voltage=0.0),
            reversed_sense=True,
        ),
        "gated, everything fitted": replace(
            gated,
            coil=replace(low, base_current_ratio=1.09),
            clamps=replace(circuits.clamps, drain_voltage=150.0, reservoir_resistance=2.2e3),
        ),
        "gated, leads, gate resistance, slow edges": replace(
            gated,
            coil=replace(gated.coil, lead_inductance=0.8e-6),
            switch=replace(gated.switch, internal_gate_resistance=3.0),
            feed=replace(gated.feed, fast_slew=2e9, slow_slew=1e8, slow_delay=250e-9),
        ),
        "direct, bending charges, reservoir": replace(
            direct,
            coil=replace(direct.coil, base_current_ratio=1.09),
            clamps=replace(circuits.clamps, reservoir_resistance=2.2e3),
            switch=replace(
                direct.switch,
                drain_source_capacitance=ChargeSegments((5.0, 20.0), (1e-9, 3e-10, 5e-11)),
                gate_drain_capacitance=ChargeSegments((0.0, 10.0), (2e-10, 3e-11, 5e-12)),
            ),
        ),
    }


NAMES = (
    "gated",
    "direct",
    "gated without shunt, breakout, drain clamp",
    "direct with large shunt, breakout, avalanche",
    "gated inverting, swapped",
    "gated, everything fitted",
    "direct, bending charges, reservoir",
    "gated, leads, gate resistance, slow edges",
)


def engine_run(circuit, duration, **options):
    engine = Engine(circuit, **options)
    engine.enable(True)
    before = engine.stored
    engine.run(duration, trace=True)
    return engine, engine.trace(), engine.close_books(before)


def waveform_errors(trace, rows):
    """Error of each waveform in parts of its full scale.

    The largest for top voltage and primary current; the RMS one for drain and gate, whose steep
    edges turn a picosecond of the driver's edge into percents at a single point.
    """
    found = {}
    for name, monitor, column in (
        ("top", Monitor.TOP, 2),
        ("drain", Monitor.DRAIN, 3),
        ("gate", Monitor.GATE, 4),
        ("primary", Monitor.PRIMARY_CURRENT, 0),
    ):
        wave = trace.signal(monitor)
        error = np.abs(wave - rows[:, column])
        size = error.max() if name in ("top", "primary") else np.sqrt(np.mean(error**2))
        found[name] = float(size / np.abs(wave).max())
    return found


@pytest.mark.parametrize("name", NAMES)
def test_waveforms_and_losses_agree_with_cvode(circuits, nodal, name, figure):
    circuit = variants(circuits)[name]
    duration = 8 / circuit.coil.resonance
    engine, trace, books = engine_run(circuit, duration)
    rows = nodal.Reference(circuit, "cvode", rtol=1e-10).run(trace.time)
    errors = waveform_errors(trace, rows)
    figure(
        f"worst waveform error against CVODE, {name}",
        max(errors.values()),
        limit="1e-3",
        source="second model by hand; CVODE of scikit-sundae, rtol 1e-10",
    )
    assert max(errors.values()) < 1e-3, errors
    # At the end of the run, after all crossings.
    for monitor, column, part in (
        (Monitor.TOP, 2, 1e-4),
        (Monitor.DRAIN, 3, 1e-3),
        (Monitor.PRIMARY_CURRENT, 0, 2e-4),
    ):
        scale = np.abs(trace.signal(monitor)).max()
        assert abs(engine.values()[monitor] - rows[-1, column]) < part * scale
    energy = dict(zip(nodal.ENERGIES, rows[-1, nodal.STATES :], strict=True))
    total = energy["supplied"]
    assert books.supplied["main"] == pytest.approx(total, rel=1e-4)
    assert books.charge == pytest.approx(energy["charge"], rel=1e-4)
    assert books.squares[Monitor.PRIMARY_CURRENT] == pytest.approx(
        energy["primary_square"], rel=2e-4
    )
    worst = 0.0
    for theirs, ours in LOSSES.items():
        names = (ours,) if isinstance(ours, str) else ours
        lost = sum(books.lost.get(each, 0.0) for each in names)
        worst = max(worst, abs(lost - energy[theirs]) / total)
        assert lost == pytest.approx(energy[theirs], abs=1e-4 * total), theirs
    figure(
        f"worst loss against CVODE over energy supplied, {name}",
        worst,
        limit="1e-4",
        source="second model by hand; CVODE of scikit-sundae, rtol 1e-10",
    )
    # Where a capacitance jumps the state is moved by what lies between step end and border.
    assert books.residual < (1e-6 if "bending" in name else 1e-8)


@pytest.mark.parametrize("drive", ["gated", "direct"])
def test_waveforms_agree_with_radau(circuits, nodal, drive, figure):
    circuit = getattr(circuits, drive)
    _, trace, _ = engine_run(circuit, 2.5 / circuit.coil.resonance)
    rows = nodal.Reference(circuit, "radau", rtol=1e-9, energies=False).run(trace.time)
    worst = max(waveform_errors(trace, rows).values())
    figure(
        f"worst waveform error against Radau, {drive}",
        worst,
        limit="1e-3",
        source="second model by hand; Radau of SciPy, rtol 1e-9",
    )
    assert worst < 1e-3


def test_second_model_balances_its_own_energy(circuits, nodal):
    """Guards the model that guards the engine: its losses add up too."""
    for circuit in circuits.both:
        time = 6 / circuit.coil.resonance
        run = nodal.Reference(circuit, "cvode", rtol=1e-10)
        rows = run.run(np.array([time]))
        coil, switch = circuit.coil, circuit.switch

        def stored(x, coil=coil, switch=switch, values=run.values):
            i1, i2, top, v_ds, v_gs, v_in = x[:6]  # nothing else is fitted
            magnetic = values.l1 * i1**2 + values.l2 * i2**2 + 2 * values.m * i1 * i2
            electric = (
                coil.secondary_capacitance * top**2
                + switch.drain_source_capacitance.farads[0] * v_ds**2
                + switch.gate_source_capacitance * v_gs**2
                + switch.gate_drain_capacitance.farads[0] * (v_gs - v_ds) ** 2
                + (values.c_in * v_in**2 if values.gated else 0.0)
            )
            return 0.5 * (magnetic + electric)

        energy = dict(zip(nodal.ENERGIES, rows[-1, nodal.STATES :], strict=True))
        lost = sum(energy[name] for name in LOSSES)
        change = stored(rows[-1]) - stored(run.rest())
        # Bias and driver give a little on top of the main supply.
        assert energy["supplied"] == pytest.approx(lost + change, rel=5e-3)
