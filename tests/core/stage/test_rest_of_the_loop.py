"""Leads, common-source inductance, gate resistance on the die and a driver that minds the slew.

Each against a closed form of linear circuits, worked out beside the check; the whole of them
against circuit simulators in `test_outside_simulator.py`.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from burstwise.core.stage import kernel
from burstwise.core.stage.charge import ChargeSegments
from burstwise.core.stage.circuit import ClampValues, CoilValues, SwitchValues
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.engine import Engine
from burstwise.core.stage.kernel.layout import QUEUED
from burstwise.core.stage.network import Network
from burstwise.core.stage.stamps import OFF, SATURATED, inductor_names

constant = ChargeSegments.constant


def modes(circuit, channel, level):
    """Natural frequencies of a region with all clamps at rest [rad/s]."""
    network = Network(circuit)
    resting = (1,) * len(network.elements) + (0, 0)
    system = network.region(network.code(channel, resting, level)).matrix[:-1, :-1]
    return np.linalg.eigvals(system)


def ringing(circuit):
    """Frequencies of all undamped modes with the device off, from the lowest [Hz]."""
    found = modes(circuit, OFF, 0).imag / (2 * math.pi)
    return np.unique(np.round(found[found > 2e4], 3))


@pytest.mark.parametrize("lead", [0.0, 2e-7, 3e-6])
def test_ring_of_the_leads_with_the_output_capacitance(short_base, lead) -> None:
    """Next to no coupling: 1/(2 pi sqrt((L1 + Lx) Coss))."""
    coil = CoilValues(8e-6, 12e-3, 1e-7, 0.0, 0.0, 14e-12, lead_inductance=lead)
    switch = SwitchValues(1.0, 3.5, 50.0, 1e-12, constant(0.0), constant(80e-12))
    found = ringing(short_base(coil, switch=switch))
    expected = [0.5 / (math.pi * math.sqrt(lc)) for lc in (12e-3 * 14e-12, (8e-6 + lead) * 80e-12)]
    assert found == pytest.approx(expected, rel=1e-6)


def test_leads_dilute_the_coupling(short_base, figure) -> None:
    """(f1^2 - f^2)(f2^2 - f^2) = k^2 f^4, Terman (1943), from memory.

    In the matrix of inductances L1 + Lx stands for L1 and M stays, so k falls as 1/sqrt(L1 + Lx).
    """
    l1, lx, l2, c1, c2, k = 8e-6, 2e-6, 12e-3, 3e-9, 14e-12, 0.2
    coil = CoilValues(l1, l2, k, 0.0, 0.0, c2, lead_inductance=lx)
    switch = SwitchValues(1.0, 3.5, 50.0, 1e-12, constant(0.0), constant(c1))
    circuit = short_base(coil, switch=switch)
    less = k**2 * l1 / (l1 + lx)
    first, second = (0.25 / (math.pi**2 * lc) for lc in ((l1 + lx) * c1, l2 * c2))
    squares = np.roots([1.0 - less, -(first + second), first * second])
    error = np.abs(ringing(circuit) / np.sort(np.sqrt(squares)) - 1.0).max()
    figure(
        "split frequencies with lead inductance, worst error",
        error,
        limit="1e-7",
        source="Terman, Radio Engineers' Handbook (1943), from memory; inductances in series",
    )
    assert error < 1e-7
    assert circuit.coil.loop_coupling == pytest.approx(math.sqrt(less))
    # Secondary shorted: L1 (1 - k^2) + Lx is left.
    assert circuit.coil.stray_inductance == pytest.approx((l1 + lx) * (1.0 - less))


def saturated_stage(circuits, inductance):
    """Driver of 5 ohm into 600 pF, drain held up by a huge snubber, channel saturated."""
    switch = SwitchValues(0.01, 3.5, 4.0, 600e-12, constant(0.0), constant(50e-12))
    feed = replace(circuits.gated.feed, pull_up_resistance=5.0)
    held = ClampValues(snubber_resistance=1e-6, snubber_capacitance=1.0)
    stage = replace(circuits.gated, switch=switch, feed=feed, clamps=held, shunt_resistance=0.0)
    return replace(stage, source_inductance=inductance)


@pytest.mark.parametrize("inductance", [1e-9, 1e-8, 4e-8])
def test_source_inductance_slows_the_gate(circuits, inductance, figure) -> None:
    """(1 + s R C)(1 + s^2 Ls Cds) + s^2 Ls C + s Ls gm = 0 with the drain held.

    Gate loop: V = R i + v + v_s with i = s C v; source: v_s = s Ls (i + gm v - s Cds v_s).
    """
    ohms, c, cds, gm = 5.0, 600e-12, 50e-12, 4.0
    stage = saturated_stage(circuits, inductance)
    found = modes(stage, SATURATED, 1)
    cubic = [ohms * c * inductance * cds, inductance * (cds + c), ohms * c + gm * inductance, 1.0]
    worst = max(min(abs(found / root - 1.0)) for root in np.roots(cubic))
    figure(
        f"modes of the gate loop with {inductance * 1e9:g} nH in the source, worst error",
        worst,
        limit="1e-4",
        source="characteristic equation of gate loop and source, by hand",
    )
    assert worst < 1e-4
    assert stage.gate_time_constant == pytest.approx(
        0.5 * (ohms + stage.feed.pull_down_resistance) * c + gm * inductance
    )


def test_source_inductance_takes_its_drop_from_the_gate_alone_that_the_rating_sees(
    circuits,
) -> None:
    """Die's own gate voltage against terminals: it differs by the drop, and the books close."""
    stage = replace(circuits.gated, source_inductance=2e-8, shunt_resistance=0.0)
    engine = Engine(stage)
    engine.enable(True)
    before = engine.stored
    apart, largest = 0.0, 0.0
    for _ in range(4000):
        engine.run(2e-9)
        region = engine.network.region(engine.code)
        signals = region.rows @ engine.state
        at = engine.network.nodes.index
        terminal, die = signals[at("gate")], signals[at("die")]
        own = float(engine.values()[Monitor.GATE])
        assert own == pytest.approx(terminal - die, abs=1e-9)
        # Ls di/dt of the current that the network itself has in the source.
        rate = (region.rows @ np.append(region.matrix[:-1] @ engine.state, 0.0))[-1]
        apart = max(apart, abs(die - 2e-8 * rate))
        largest = max(largest, abs(die))
    assert largest > 0.5
    assert apart < 1e-6 * largest
    assert engine.close_books(before).residual < 1e-9


def test_gate_empties_through_the_resistance_on_the_die(circuits) -> None:
    """Direct stage held down: exp(-t/RC), and heat shared as the resistances in series."""
    inside, c = 4.0, 600e-12
    switch = SwitchValues(
        1.0, 30.0, 2.5, c, constant(0.0), constant(50e-12), internal_gate_resistance=inside
    )
    coil = replace(circuits.direct.coil, coupling=1e-6, secondary_inductance=1e3)
    stage = replace(circuits.direct, switch=switch, shunt_resistance=0.0, coil=coil)
    feed = replace(stage.feed, bias_voltage=0.0, bias_resistance=1e7, clamp_high=math.inf)
    engine = Engine(replace(stage, feed=feed))
    code = engine.network.code(OFF, (1,) * len(engine.network.elements) + (0, 0), 0)
    # All but the terminal, whose voltage follows from the others.
    names = [*engine.network.nodes, *inductor_names(stage)]
    wanted = {"gate": 10.0, "drain": stage.supply_voltage}
    kept = [place for place, name in enumerate(names) if name != "terminal"]
    signals = engine.network.region(code).rows[kept]
    volts = np.array([wanted.get(names[place], 0.0) for place in kept])
    inner = np.linalg.lstsq(signals[:, :-1], volts - signals[:, -1], rcond=None)[0]
    engine.set_state(np.append(inner, 1.0), code)
    ohms = inside + 1.0 / (1.0 / feed.pull_down_resistance + 1e-7)
    before, time = engine.stored, ohms * c
    engine.run(time)
    gate = 10.0 * math.exp(-engine.time / time)
    # The secondary's inductance keeps the base current away meanwhile.
    assert engine.values()[Monitor.GATE] == pytest.approx(gate, rel=1e-3)
    engine.run(8 * time)
    lost = engine.close_books(before).lost
    assert lost["internal_gate"] == pytest.approx(0.5 * c * 100.0 * inside / ohms, rel=2e-3)
    assert lost["pull_down"] / lost["internal_gate"] == pytest.approx(5.0 / inside, rel=1e-3)


def test_gate_clamp_of_a_direct_stage_holds_the_terminals_not_the_die(circuits) -> None:
    """What the clamp sees lies before the resistance on the die and the source's inductance."""
    direct = replace(circuits.direct, source_inductance=1e-8)
    direct = replace(direct, switch=replace(direct.switch, internal_gate_resistance=4.0))
    engine = Engine(direct)
    engine.enable(True)
    engine.run(20 / direct.coil.resonance, trace=True)
    trace, feed = engine.trace(), direct.feed
    seen, gate = trace.signal(Monitor.INPUT), trace.signal(Monitor.GATE)
    current = direct.coil.base_current_ratio * 3.0
    assert feed.clamp_high < seen.max() < feed.clamp_high + feed.clamp_resistance * current
    assert np.abs(seen - gate).max() > 0.1


def first_answer(circuit):
    """Time at which the input first falls below its threshold, and when the drive answers [s]."""
    engine = Engine(circuit)
    engine.enable(True)
    engine.run(4 / circuit.coil.resonance, trace=True)
    trace = engine.trace()
    values = trace.signal(Monitor.INPUT)
    first = int(np.flatnonzero(values < circuit.feed.threshold_low)[0])
    # The level of a point is the one that held up to it.
    answer = first + int(np.flatnonzero(trace.level[first:] != trace.level[first])[0]) - 1
    return float(trace.time[first]), float(trace.time[answer])


def test_slow_input_answers_later(circuits) -> None:
    """The drive answers the table's delay behind the input, at the slew that the input has."""
    gated = circuits.gated
    feed = replace(gated.feed, fast_slew=2e9, slow_slew=1e7, slow_delay=250e-9)
    crossed, plain = first_answer(gated)
    again, slow = first_answer(replace(gated, feed=feed))
    assert again == pytest.approx(crossed, abs=1e-12)
    assert plain - crossed == pytest.approx(feed.delay, abs=3e-10)
    engine = Engine(gated)
    engine.enable(True)
    engine.run(crossed)
    region = engine.network.region(engine.code)
    rates = region.rows @ np.append(region.matrix[:-1] @ engine.state, 0.0)
    slew = abs(rates[engine.network.nodes.index("input")])
    assert 3e7 < slew < 1.5e9
    expected = np.interp(1.0 / slew, [1 / 2e9, 1 / 1e7], [feed.delay, 250e-9])
    assert slow - crossed == pytest.approx(expected, abs=4e-10)
    late = Engine(replace(gated, feed=feed))
    late.enable(True)
    late.run(crossed + 1e-9)
    assert late.driver_delays[0] == pytest.approx(expected, abs=4e-10)


def test_quick_edge_overtakes_slow_ones() -> None:
    """Transport delay: what would arrive after a later edge is not heard of any more."""
    numbers = np.zeros(kernel.STATE_SIZE, dtype=np.int64)
    events = np.zeros((kernel.EVENT_SLOTS, 2), dtype=np.int64)
    for when, level in ((100, 1), (300, 0), (250, 1), (260, 0)):
        assert kernel.schedule(when, level, numbers, events)
    kept = events[: numbers[QUEUED]]
    assert kept.tolist() == [[100, 1], [250, 1], [260, 0]]


def test_too_many_coordinates_are_refused(circuits) -> None:
    full = replace(circuits.gated, clamps=circuits.clamps, source_inductance=1e-8)
    with pytest.raises(ValueError, match="at most 8 coordinates"):
        Network(full)


def test_resistor_from_gate_to_source_divides_the_drivers_voltage(circuits) -> None:
    """Driver held high at rest: gate at V R/(R + Rup), from the two resistors in series."""
    held, up = 200.0, circuits.gated.feed.pull_up_resistance
    coil = replace(circuits.gated.coil, coupling=1e-6)
    feed = replace(circuits.gated.feed, hold_resistance=held, bias_voltage=5.0)
    stage = replace(circuits.gated, coil=coil, feed=feed, shunt_resistance=0.0, supply_voltage=1.0)
    engine = Engine(stage)
    engine.enable(True)
    before = engine.stored
    engine.run(4e-6)
    assert engine.values()[Monitor.GATE] == pytest.approx(
        feed.supply * held / (held + up), rel=1e-4
    )
    lost = engine.close_books(before).lost
    assert lost["gate_hold"] == pytest.approx((feed.supply * held / (held + up)) ** 2 / held * 4e-6,
                                              rel=0.05)  # fmt: skip
