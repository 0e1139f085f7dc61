"""Tables that are moved from one network to another: the same numbers as built anew."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import expm

from burstwise.core.stage import kernel
from burstwise.core.stage.carrier import carrier
from burstwise.core.stage.charge import ChargeSegments
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.engine import Engine, common_regions
from burstwise.core.stage.network import Network
from burstwise.core.stage.region_tables import RegionTables, SpareTables
from burstwise.core.stage.stamps import OHMIC, SATURATED

TICK = 1e-7 / kernel.TICKS


def numbers(tables: RegionTables, code: int) -> list[np.ndarray]:
    """All that the stepping and the books read of one region."""
    slot = tables.slot(code)
    depth = tables._depths[slot]
    parts = [tables._steps, tables._views, tables._bounds, tables._read_outs, tables._matrices]
    return [*(part[slot] for part in parts), tables._halves[slot, :depth]]


def equal(one: RegionTables, other: RegionTables, codes: list[int]) -> bool:
    return all(
        np.array_equal(a, b)
        for code in codes
        for a, b in zip(numbers(one, code), numbers(other, code), strict=True)
    )


@pytest.mark.parametrize("what", ["supply", "on-resistance", "coil", "tick"])
def test_moved_tables_are_those_built_anew(circuits, what: str) -> None:
    for circuit in circuits.both:
        after, tick = circuit, TICK
        if what == "supply":
            after = circuit.with_supply(1.3 * circuit.supply_voltage)
        elif what == "on-resistance":
            after = circuit.with_on_resistance(2.1 * circuit.switch.on_resistance)
        elif what == "coil":
            after = replace(circuit, coil=replace(circuit.coil, coupling=0.3))
        else:
            tick = 0.7 * TICK
        moved = RegionTables(Network(circuit), TICK)
        codes = common_regions(moved.network)
        moved.build(codes)
        moved.move_to(Network(after), tick)
        assert moved.slot(codes[0]) < 0
        moved.build(codes)
        anew = RegionTables(Network(after), tick)
        anew.build(codes)
        assert equal(moved, anew, codes)


@pytest.mark.parametrize("parts", [1, 16, 255, 4096, 4096 * 13, kernel.TICKS])
def test_a_step_is_the_matrix_exponential(circuits, parts: int) -> None:
    """Against scipy.linalg.expm of the augmented system (scaling and squaring with Pade)."""
    levels = {kernel.TICKS: kernel.FULL, 1: 45, 16: 30, 4096: 0, 4096 * 13: 12}
    if parts not in levels:
        levels[parts] = 30 + 14  # 15 units of 16 ticks, and 15 single ones behind
    for circuit in circuits.both:
        tables = RegionTables(Network(circuit), TICK)
        codes = common_regions(tables.network)
        tables.build(codes)
        order = tables.network.order
        for code in codes:
            step = tables._steps[tables.slot(code)]
            matrix = tables.network.region(code).matrix
            true = expm(matrix * (TICK * parts))
            found = np.eye(kernel.WIDTH)
            for place in [levels[parts]] if parts != 255 else [30 + 14, 45 + 14]:
                block = np.eye(kernel.WIDTH)
                block[:, :-1] = step[place]
                found = found @ block
            scale = np.abs(true).max()
            inner = [*range(order), kernel.INNER]
            assert pytest.approx(true, abs=1e-11 * scale) == found[np.ix_(inner, inner)].T


def test_what_ran_before_changes_nothing(circuits) -> None:
    """A run on tables that others left gives the very same course and books, to the last bit."""
    for circuit in circuits.both:
        first = carrier(circuit)
        other = carrier(circuit.with_supply(0.6 * circuit.supply_voltage))
        carrier(circuit.with_on_resistance(1.7 * circuit.switch.on_resistance))
        for again in (carrier(circuit), carrier(circuit, hint=other.regions)):
            assert np.array_equal(first.envelope, again.envelope)
            assert np.array_equal(first.worst_peaks, again.worst_peaks)
            assert np.array_equal(first.ring_up.device_heat, again.ring_up.device_heat)
            assert (first.input_power, first.residual) == (again.input_power, again.residual)
            assert first.losses == again.losses


def test_spare_tables_go_to_networks_that_they_fit_only(circuits) -> None:
    spare = SpareTables(room=2)
    gated, direct = Network(circuits.gated), Network(circuits.direct)
    tables = spare.take(gated, TICK)
    spare.give(tables)
    assert spare.take(direct, TICK) is not tables
    assert spare.take(gated, 2 * TICK) is tables
    assert spare.take(gated, TICK) is not tables
    for _ in range(5):
        spare.give(RegionTables(gated, TICK))
    assert len(spare._spare) == 2


def test_tables_that_fit_nothing_leave_their_room(circuits) -> None:
    """The oldest goes first; what it holds is void, so the numbers are those built anew."""
    spare = SpareTables(room=2)
    gated, direct = Network(circuits.gated), Network(circuits.direct)
    codes = common_regions(direct)
    first, second = RegionTables(gated, TICK), RegionTables(gated, TICK)
    for tables in (first, second):
        tables.build(common_regions(gated))
        spare.give(tables)
    found, anew = spare.take(direct, TICK), RegionTables(direct, TICK)
    assert found._steps is first._steps
    assert spare.take(gated, TICK) is second
    for tables in (found, anew):
        tables.build(codes)
    assert equal(found, anew, codes)


@pytest.mark.parametrize("slots", [12, 48])
def test_little_room_changes_nothing(circuits, monkeypatch, slots: int) -> None:
    """Slots of a network before are given up first, then the tables grow, within a run too."""
    for circuit in circuits.both:
        known = carrier(circuit)
        monkeypatch.setattr("burstwise.core.stage.carrier._SPARE", SpareTables(room=1))
        monkeypatch.setattr("burstwise.core.stage.region_tables._SLOTS", slots)
        carrier(circuit.with_on_resistance(1.7 * circuit.switch.on_resistance))
        again = carrier(circuit)
        monkeypatch.undo()
        assert known.losses == again.losses
        assert np.array_equal(known.ring_up.device_heat, again.ring_up.device_heat)
        assert known.regions == again.regions


def test_slots_out_of_use_are_given_up_before_tables_grow(circuits, monkeypatch) -> None:
    network = Network(circuits.gated)
    codes = common_regions(network)
    monkeypatch.setattr("burstwise.core.stage.region_tables._SLOTS", len(codes))
    tables = RegionTables(network, TICK)
    tables.build(codes)
    others = [code for code in range(len(codes) + 8) if code not in codes][:4]
    tables.move_to(network, TICK)
    tables.build([*others, *codes[4:]])
    assert not tables.large
    assert tables.slot(codes[0]) < 0
    anew = RegionTables(network, TICK)
    anew.build(others)
    assert equal(tables, anew, others)
    tables.build(codes)
    assert tables.large
    assert equal(tables, anew, others)


def test_books_of_one_stretch_know_nothing_of_the_one_before(circuits) -> None:
    """A stretch from the same state has the same books, whatever stands in the room for sums."""
    period = 1.0 / circuits.direct.coil.resonance
    one, other = Engine(circuits.direct), Engine(circuits.direct)
    one.enable(True)
    one.run(20.3 * period)
    one.close_books(0.0)
    before = one.stored
    other.set_state(one.state, one.code)
    other.regions._sums[:] = np.nan
    other.enable(True)
    found = []
    for engine in (one, other):
        engine.run(7.7 * period)
        found.append(engine.close_books(before))
    assert found[0].lost == pytest.approx(found[1].lost, rel=1e-9)
    assert found[0].duration == pytest.approx(found[1].duration, rel=1e-9)
    assert found[1].residual < 1e-9


@pytest.fixture
def bending(circuits) -> Network:
    """Network whose drain passes knots at 5 and 20 V, and at 0, 10 and 40 V above the gate."""
    switch = replace(
        circuits.gated.switch,
        drain_source_capacitance=ChargeSegments((5.0, 20.0), (1e-9, 3e-10, 5e-11)),
        gate_drain_capacitance=ChargeSegments((0.0, 10.0, 40.0), (2e-10, 9e-11, 3e-11, 5e-12)),
    )
    return Network(replace(circuits.gated, switch=switch))


def levels_at(drain: float, gate: float) -> np.ndarray:
    levels = np.zeros(len(Monitor))
    levels[Monitor.DRAIN], levels[Monitor.GATE] = drain, gate
    levels[Monitor.DRAIN_GATE] = drain - gate
    return levels


@pytest.mark.parametrize(
    ("rising", "volts"), [(True, (14.0, 25.0, 50.0)), (False, (4.0, 1.0))], ids=["up", "down"]
)
def test_regions_ahead_are_those_that_the_drain_enters_next(bending, rising, volts) -> None:
    """With the gate at 3 V the knots lie at 3, 5, 13, 20 and 43 V of the drain."""
    levels = levels_at(7.0, 3.0)
    code = bending.code(SATURATED, bending.segments_at(levels), 1)
    entered = [
        bending.code(SATURATED, bending.segments_at(levels_at(drain, 3.0)), 1) for drain in volts
    ]
    for count in (2, 9):
        found = bending.along_drain(code, levels, rising=rising, count=count)
        assert found == entered[:count]


def test_a_region_is_bounded_by_the_knots_around_it(bending) -> None:
    levels = levels_at(15.0, 3.0)
    for level in (0, 1):
        region = bending.region(bending.code(OHMIC, bending.segments_at(levels), level))
        assert region.bounds[:, Monitor.DRAIN].tolist() == [5.0, 20.0]
        assert region.bounds[:, Monitor.DRAIN_GATE].tolist() == [10.0, 40.0]
        low, high = region.bounds
        assert np.all(low < levels)
        assert np.all(levels < high)
    clamped = levels_at(800.0, 3.0)
    region = bending.region(bending.code(OHMIC, bending.segments_at(clamped), 1))
    low, high = region.bounds[:, Monitor.DRAIN]
    assert 690.0 <= low < 800.0
    assert high == np.inf


def test_half_steps_take_twice_as_many_on_the_same_tables(circuits) -> None:
    engine = Engine(circuits.gated)
    finer = engine.halved()
    assert finer.regions is engine.regions
    assert finer.step == 0.5 * engine.step
    for one in (engine, finer):
        one.reset()
        one.run(50 * engine.step)
    assert engine.counts["steps"] >= 50
    assert finer.counts["steps"] == 2 * engine.counts["steps"]


def test_no_look_is_spent_on_borders_that_there_are_none_of(circuits) -> None:
    """A swing below the gate's threshold with all clamps far away needs one product a step."""
    engine = Engine(circuits.gated)
    engine.reset()
    engine.run(500 * engine.step)
    counts = engine.counts
    assert counts["products"] <= 1.1 * counts["steps"]
