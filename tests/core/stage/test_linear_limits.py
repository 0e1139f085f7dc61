"""The engine where the stage is linear, against closed forms and reference figures."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from burstwise.core.stage.charge import ChargeSegments
from burstwise.core.stage.circuit import CoilValues, SwitchValues
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.engine import Engine
from burstwise.core.stage.stamps import OFF, OHMIC

constant = ChargeSegments.constant


def coupled(short_base, first, second, coupling):
    """Lossless resonators: primary with the drain's capacitance, secondary with its own."""
    l1, l2 = 1e-5, 1e-2
    coil = CoilValues(l1, l2, coupling, 0.0, 0.0, 1 / (l2 * (2 * math.pi * second) ** 2))
    drain = 1 / (l1 * (2 * math.pi * first) ** 2)
    return short_base(
        coil,
        switch=SwitchValues(1.0, 3.5, 50.0, 1e-12, constant(0.0), constant(drain)),
    )


def off_code(engine):
    return engine.network.code(OFF, (1,) * len(engine.network.elements) + (0, 0), 0)


def test_mode_frequencies_of_coupled_resonators(short_base, reference, figure):
    worst = 0.0
    for row in reference("coupled_modes"):
        circuit = coupled(
            short_base, float(row["first_Hz"]), float(row["second_Hz"]), float(row["coupling"])
        )
        engine = Engine(circuit)
        modes = np.linalg.eigvals(engine.network.region(off_code(engine)).matrix[:-1, :-1])
        found = np.unique(np.round(modes.imag[modes.imag > 1e4] / (2 * math.pi), 3))
        expected = [float(row["low_Hz"]), float(row["high_Hz"])]
        worst = max(worst, *(abs(a / b - 1) for a, b in zip(found, expected, strict=True)))
        assert found == pytest.approx(expected, rel=1e-7), row["id"]
    figure(
        "split frequencies of coupled resonators, worst error",
        worst,
        limit="1e-7",
        source="Terman, Radio Engineers' Handbook (1943), from memory; numpy eigenvalues",
    )


def secondary_share(engine, circuit):
    """Part of the stored energy that sits in the top capacitance and the base current."""
    region = engine.network.region(engine.code)
    base = float(region.rows[len(engine.network.nodes) + 1] @ engine.state)
    top = engine.values()[Monitor.TOP]
    primary = engine.values()[Monitor.PRIMARY_CURRENT]
    drain = engine.values()[Monitor.DRAIN] - circuit.supply_voltage
    coil = circuit.coil
    second = coil.secondary_capacitance * top**2 + coil.secondary_inductance * base**2
    first = circuit.switch.drain_source_capacitance.farads[0] * drain**2
    first += coil.primary_inductance * primary**2
    return second / (first + second)


def test_energy_goes_over_completely_at_commensurate_couplings(short_base, state_of, reference):
    frequency = 200e3
    for row in reference("full_transfer"):
        k = float(row["coupling"])
        circuit = coupled(short_base, frequency, frequency, k)
        engine = Engine(circuit)
        code = off_code(engine)
        engine.set_state(state_of(engine, code, drain=41.0), code)
        assert secondary_share(engine, circuit) < 1e-12
        beat = frequency * (1 / math.sqrt(1 - k) - 1 / math.sqrt(1 + k))
        engine.run(0.5 / beat)
        assert secondary_share(engine, circuit) > 1 - 1e-5, row["n"]


def test_transfer_time_of_the_reference_pairs(short_base, state_of, reference):
    """Elsewhere the share still peaks at the time when both modes are in antiphase."""
    for row in reference("coupled_modes"):
        if not row["transfer_s"]:
            continue
        circuit = coupled(
            short_base, float(row["first_Hz"]), float(row["second_Hz"]), float(row["coupling"])
        )
        engine = Engine(circuit)
        code = off_code(engine)
        engine.set_state(state_of(engine, code, drain=41.0), code)
        engine.run(float(row["transfer_s"]))
        assert secondary_share(engine, circuit) > 0.97


def test_ring_down_of_the_secondary(short_base, state_of):
    """Top voltage of a damped resonator released at rest: cos and sin under exp(-t R/2L)."""
    coil = CoilValues(1e-5, 12e-3, 1e-7, 0.1, 300.0, 14e-12)
    circuit = short_base(coil)
    engine = Engine(circuit)
    code = off_code(engine)
    engine.set_state(state_of(engine, code, top=2000.0), code)
    decay = coil.secondary_resistance / (2 * coil.secondary_inductance)
    pace = math.sqrt(1 / (coil.secondary_inductance * coil.secondary_capacitance) - decay**2)
    for _ in range(7):
        engine.run(3.3e-6)
        t = engine.time
        swing = math.cos(pace * t) + decay / pace * math.sin(pace * t)
        expected = 2000.0 * math.exp(-decay * t) * swing
        assert engine.values()[Monitor.TOP] == pytest.approx(expected, abs=2e-5 * 2000)


def test_current_ramp_into_the_primary(short_base):
    """Switch closed on L and R: i = V/R (1 - exp(-t R/L)), and I^2 R in each resistance."""
    coil = CoilValues(20e-6, 12e-3, 1e-7, 0.4, 300.0, 14e-12)
    circuit = short_base(coil, shunt_resistance=0.6, supply_voltage=10.0)
    engine = Engine(circuit)
    level_up = engine.network.code(OHMIC, (1,) * len(engine.network.elements) + (0, 0), 1)
    # The drive is raised by hand, the coil's feedback being too weak to speak.
    engine.set_state(state_for_closed(engine, level_up), level_up)
    resistance = 0.4 + 0.6 + circuit.switch.on_resistance
    before = engine.stored
    for _ in range(5):
        engine.run(4e-6, book=True)
        rise = 1 - math.exp(-engine.time * resistance / coil.primary_inductance)
        current = circuit.supply_voltage / resistance * rise
        assert engine.values()[Monitor.PRIMARY_CURRENT] == pytest.approx(current, rel=1e-5)
    books = engine.close_books(before)
    square = books.squares[Monitor.PRIMARY_CURRENT]
    tau, end = coil.primary_inductance / resistance, books.duration
    final = circuit.supply_voltage / resistance
    closed = final**2 * (
        end - 2 * tau * (1 - math.exp(-end / tau)) + tau / 2 * (1 - math.exp(-2 * end / tau))
    )
    assert square == pytest.approx(closed, rel=1e-5)
    assert books.lost["primary_winding"] == pytest.approx(0.4 * closed, rel=1e-5)
    assert books.lost["shunt"] == pytest.approx(0.6 * closed, rel=1e-5)
    assert books.lost["channel"] == pytest.approx(closed, rel=1e-5)


def state_for_closed(engine, code):
    """Gate up, drain down, no current."""
    network = engine.network
    region = network.region(code)
    wanted = np.zeros(region.rows.shape[0])
    wanted[network.nodes.index("gate")] = 12.0
    inner = np.linalg.lstsq(region.rows[:, :-1], wanted - region.rows[:, -1], rcond=None)[0]
    return np.append(inner, 1.0)


def test_avalanche_energy_of_a_dumped_inductor(short_base, state_of, reference):
    """Clamp at BV with the supply still pushing: E = L I^2/2 BV/(BV - Vdd)."""
    for row in reference("avalanche"):
        coil = CoilValues(float(row["inductance_H"]), 12e-3, 1e-7, 0.0, 300.0, 14e-12)
        breakdown = float(row["breakdown_V"])
        switch = SwitchValues(
            1.0, 3.5, 50.0, 1e-12, constant(0.0), constant(20e-12),
            avalanche_voltage=breakdown, avalanche_resistance=1e-3,
        )  # fmt: skip
        circuit = short_base(coil, switch=switch, supply_voltage=float(row["supply_V"]))
        engine = Engine(circuit)
        code = engine.network.code(OFF, (2, 1, 1, 0, 0), 0)
        current = float(row["current_A"])
        engine.set_state(
            state_of(engine, code, primary=current, drain=breakdown + 1e-3 * current), code
        )
        before = engine.stored
        engine.run(float(row["time_s"]))
        assert abs(engine.values()[Monitor.PRIMARY_CURRENT]) < 1e-3 * current
        engine.run(0.2 * float(row["time_s"]))
        books = engine.close_books(before)
        assert books.lost["avalanche"] == pytest.approx(float(row["energy_J"]), rel=2e-4)


def test_conduction_and_output_capacitance_losses(short_base, reference):
    rows = {row["id"]: row for row in reference("losses")}
    row = rows["H-COND-1"]
    current, hot = float(row["first"]), float(row["second"]) * float(row["third"])
    coil = CoilValues(1e-6, 12e-3, 1e-7, 1.0, 300.0, 14e-12)
    switch = SwitchValues(hot, 3.5, 50.0, 1e-12, constant(0.0), constant(1e-12))
    circuit = short_base(coil, switch=switch, supply_voltage=current * (1.0 + hot))
    engine = Engine(circuit)
    code = engine.network.code(OHMIC, (1, 1, 1, 0, 0), 1)
    engine.set_state(state_for_closed(engine, code), code)
    engine.run(30e-6)
    engine.close_books(engine.stored)
    engine.run(50e-6)
    books = engine.close_books(engine.stored)
    assert books.lost["channel"] / books.duration == pytest.approx(float(row["power_W"]), rel=1e-6)

    row = rows["H-COSS-1"]
    capacitance, volts = float(row["first"]), float(row["second"])
    coil = CoilValues(1e-3, 12e-3, 1e-7, 1.0, 300.0, 14e-12)
    switch = SwitchValues(1.0, 3.5, 50.0, 1e-12, constant(0.0), constant(capacitance))
    engine = Engine(short_base(coil, switch=switch, supply_voltage=volts))
    shut = engine.network.rest_state(0)[0]
    # The driver's output goes up with the drain still charged.
    engine.set_state(shut, engine.network.code(OFF, (1, 1, 1, 0, 0), 1))
    before = engine.stored
    engine.run(20e-9)
    energy = engine.close_books(before).lost["channel"]
    assert energy * float(row["third"]) == pytest.approx(float(row["power_W"]), rel=2e-3)


def test_reservoir_and_snubber_only_add_capacitance_at_rest(circuits):
    """Every clamp has the drain at the supply and nothing flowing when the drive is off."""
    for circuit in circuits.both:
        engine = Engine(replace(circuit, clamps=circuits.clamps))
        engine.run(5 / circuit.coil.resonance)
        assert engine.values()[Monitor.DRAIN] == pytest.approx(circuit.supply_voltage, rel=1e-9)
        assert abs(engine.values()[Monitor.PRIMARY_CURRENT]) < 1e-9
