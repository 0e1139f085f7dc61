"""Ratings: margins by hand, one point against many, sentences, derating."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest

from burstwise.core.design.device import SafePoint
from burstwise.core.design.document import with_values
from burstwise.core.design.supply import LowVoltageSupply
from burstwise.core.limits.derating import junction_network, safe_area_current, usable_current
from burstwise.core.limits.device_classes import devices_by_name
from burstwise.core.limits.load import Load
from burstwise.core.limits.ratings import RATINGS, Verdict, limits, margins, title_of


@pytest.fixture
def design(small_design):
    return with_values(small_design, {"cooling.ambient": 25.0})


@pytest.fixture
def load():
    values = {field.name: 0.0 for field in fields(Load)}
    values |= {
        "supply_voltage": 36.0, "bus_voltage": 35.0, "drain_voltage_peak": 300.0,
        "gate_peak": 12.0, "gate_valley": -1.0, "drain_current_peak": 4.0,
        "drain_current_rms": 1.0, "heat": 10.0, "burst_heat": 30.0, "junction_peak": 100.0,
        "junction_mean": 90.0, "case": 60.0, "heat_sink": 50.0, "on_time": 2e-3,
        "period": 6e-3, "source_current_peak": 1.0, "supply_current_mean": 0.5,
        "bulk_ripple": 1.0, "turn_withstand": np.nan, "gap_withstand": np.nan,
        "strike_withstand": np.nan,
    }  # fmt: skip
    return Load(**values)


def of(found, name):
    return next(item for item in found if item.rating == name)


def test_plain_margin_and_sentence(design, load):
    item = of(limits(design, load), "drain_voltage")
    assert (item.value, item.limit, item.margin) == (300.0, 600.0, 0.5)
    assert item.verdict is Verdict.HOLDS
    assert item.text == "Peak drain voltage: 300 V of 600 V allowed, 8.3 times the supply."


def test_share_of_the_rating(design, load):
    careful = with_values(design, {"device.voltage_use": 0.8})
    item = of(limits(careful, load), "drain_voltage")
    assert (item.limit, item.derating) == (480.0, 0.8)
    assert item.margin == pytest.approx(1 - 300 / 480)


def test_temperatures_count_from_ambient(design, load):
    item = of(limits(design, load), "junction_peak")
    assert item.margin == pytest.approx((150 - 100) / (150 - 25))


def test_heat_and_current_shrink_with_the_case(design, load):
    found = limits(design, load)
    assert of(found, "device_power").limit == pytest.approx(35.0 * (150 - 60) / 125)
    # 35 W in 1.8 ohm, 2.4 times that when hot, allow 2.846 A of the printed 4 A.
    usable = (35.0 / (1.8 * 2.4)) ** 0.5
    assert of(found, "continuous_current").limit == pytest.approx(usable * (90 / 125) ** 0.5)
    assert "2.8" in of(found, "continuous_current").text
    assert of(found, "device_power").derating == pytest.approx(0.72)


def test_the_printed_current_counts_where_the_power_rating_allows_more(design, load):
    cool = with_values(design, {"device.power_rating": 150.0})
    limit = of(limits(cool, load), "continuous_current").limit
    assert limit == pytest.approx(4.0 * (90 / 125) ** 0.5)


def test_full_packs_carry_what_their_power_rating_allows():
    """Figures by hand from power rating and hot on-resistance, sqrt(P/R)."""
    devices = devices_by_name()
    told = {
        "600 V, 4 A planar, full-pack": 2.8,
        "650 V, 13 A superjunction, full-pack": 6.9,
        "800 V, 11 A superjunction, full-pack": 5.3,
        "250 V, 8 A planar, full-pack": 8.0,
    }
    for name, amps in told.items():
        assert usable_current(devices[name]) == pytest.approx(amps, abs=0.05)


def test_both_signs_of_the_gate_have_their_own_limit(design, load):
    """An older file has one rating for both signs."""
    swung = replace(load, gate_valley=-15.3)
    item = of(limits(design, swung), "gate_negative")
    assert (item.value, item.limit) == (15.3, design.device.gate_voltage_rating)
    carbide = with_values(design, {"device.negative_gate_rating": 8.0})
    item = of(limits(carbide, swung), "gate_negative")
    assert item.limit == 8.0
    assert item.verdict is Verdict.EXCEEDED
    assert of(limits(carbide, swung), "gate_voltage").value == 12.0
    assert of(limits(carbide, replace(load, gate_valley=2.0)), "gate_negative").value == 0.0


def test_avalanche_current_counts_where_it_is_printed_and_nothing_catches_the_drain(design, load):
    assert "avalanche_current" not in {item.rating for item in limits(design, load)}
    printed = with_values(design, {"device.avalanche_current": 2.0})
    item = of(limits(printed, load), "avalanche_current")
    assert (item.value, item.limit) == (4.0, 2.0)
    clamped = with_values(printed, {"protection.drain_clamp": {"voltage": 500.0}})
    assert "avalanche_current" not in {item.rating for item in limits(clamped, load)}
    late = with_values(printed, {"protection.drain_clamp": {"voltage": 800.0}})
    assert "avalanche_current" in {item.rating for item in limits(late, load)}


def test_runaway_is_exceeded_and_first(design, load):
    hot = replace(load, junction_peak=np.inf, junction_mean=np.inf, case=np.inf, heat_sink=np.inf)
    found = limits(design, hot)
    assert found[0].verdict is Verdict.EXCEEDED
    assert "runs away" in of(found, "junction_peak").text
    assert of(found, "device_power").margin == -np.inf


def test_many_points_as_one(design, load):
    """The same rules serve a map: a field of points gives what each point gives alone."""
    drains, cases = np.array([100.0, 300.0, 700.0]), np.array([30.0, 60.0, 140.0])
    many = margins(design, replace(load, drain_voltage_peak=drains, case=cases))
    for place in range(3):
        alone = limits(design, replace(load, drain_voltage_peak=drains[place], case=cases[place]))
        for name in many.names:
            assert many.of(name)[place] == pytest.approx(of(alone, name).margin)
        assert many.names[many.first[place]] == alone[0].rating
        assert many.smallest[place] == pytest.approx(alone[0].margin)


def test_parts_that_are_not_there(design, load):
    names = {item.rating for item in limits(design, load)}
    assert not names & {"turn_insulation", "flashover", "strike", "clamp_power", "regulator_input",
                        "pull_down_current", "avalanche_energy"}  # fmt: skip
    direct = with_values(design, {"drive.kind": "direct"})
    names = {item.rating for item in limits(direct, load)}
    assert "pull_down_current" in names
    assert not names & {"driver_current", "driver_junction"}
    without = with_values(design, {"protection.fuse_rating": None})
    assert "fuse" not in {item.rating for item in limits(without, load)}


def test_regulator(design, load):
    fitted = with_values(design, {"supply.low_voltage": LowVoltageSupply()})
    found = limits(fitted, replace(load, low_current=0.05))
    assert of(found, "regulator_input").margin == pytest.approx((35 - 36) / 35)
    heat = (36 - 12) * 0.05 + 36 * 5e-3
    assert of(found, "regulator_junction").value == pytest.approx(25 + 65 * heat)


def test_driver(design, load):
    found = limits(design, replace(load, driver_heat=0.5, driver_current_peak=5.0))
    assert of(found, "driver_junction").value == pytest.approx(25 + 0.5 * 110)
    assert of(found, "driver_current").margin == pytest.approx((4 - 5) / 4)


def test_burst_against_impedance(design, load):
    network = junction_network(design.device)
    Z = float(np.sum(network.resistance * (1 - np.exp(-2e-3 / network.time_constant))))
    assert of(limits(design, load), "safe_area_single").limit == pytest.approx(90 / Z)


def test_entered_safe_area_lowers_the_limit(design, load):
    points = tuple(
        SafePoint(pulse_length=t, voltage=v, current=i)
        for t, v, i in ((1e-3, 10, 16), (1e-3, 600, 0.3), (1e-2, 10, 8), (1e-2, 600, 0.1))
    )
    entered = with_values(design, {"device.safe_area": points})
    item = of(limits(entered, load), "safe_area_single")
    current = float(safe_area_current(points, 35.0, 2e-3))
    assert item.limit == pytest.approx(min(current * 35.0 * 90 / 125, of(
        limits(design, load), "safe_area_single").limit))  # fmt: skip
    assert item.limit < of(limits(design, load), "safe_area_single").limit


def test_names_are_unique_and_have_words():
    names = [rating.name for rating in RATINGS]
    assert len(set(names)) == len(names) >= 20
    assert all(title_of(name) for name in names)


def test_a_junction_kept_lower_leaves_the_thermal_resistance_alone() -> None:
    # Worked by hand: 35 W at 25 °C and 150 °C are 125 K/35 W = 3.571 K/W; from a case at 60 °C to
    # a junction at 110 °C that is 50 K/3.571 K/W = 14.0 W. Taken for the printed maximum the lower
    # limit would give 35 W (110 - 60)/(110 - 25) = 20.6 W.
    from burstwise.core.limits.derating import derated_current, derated_power

    allowed = derated_power(35.0, case=60.0, junction_limit=150.0, kept=110.0)
    assert float(allowed) == pytest.approx(14.0)
    assert float(derated_power(35.0, case=60.0, junction_limit=110.0)) == pytest.approx(
        20.59, abs=0.01
    )
    # The current goes with the root of the heat: 4 A times the root of 14 W over 35 W.
    amps = derated_current(4.0, case=60.0, junction_limit=150.0, kept=110.0)
    assert float(amps) == pytest.approx(4.0 * (14.0 / 35.0) ** 0.5)
    # One kept above the printed maximum changes nothing.
    assert float(derated_power(35.0, case=60.0, junction_limit=150.0, kept=175.0)) == (
        float(derated_power(35.0, case=60.0, junction_limit=150.0))
    )


def test_a_stage_without_a_pause_has_no_bursts_to_be_judged(design, load):
    """Its heat is that of the junction's steady state and of the device's power rating."""
    steady = replace(load, on_time=np.inf, period=np.inf, burst_heat=30.0)
    names = {item.rating for item in limits(design, steady)}
    assert not names & {"safe_area_single", "safe_area_repeated", "safe_area_steady"}
    assert {"device_power", "junction_mean"} <= names
    assert {"safe_area_single", "safe_area_repeated"} <= {
        item.rating for item in limits(design, load)
    }
    assert not any("burst" in item.title.lower() for item in limits(design, steady))


def test_the_longest_line_of_a_safe_area_judges_a_stage_without_a_pause(design, load):
    """By hand: 2 A at 35 V on the line without end, derated with the case at 60 °C by 90/125."""
    points = (
        SafePoint(pulse_length=1e-3, voltage=10.0, current=30.0),
        SafePoint(pulse_length=1e-3, voltage=100.0, current=10.0),
        SafePoint(pulse_length=10.0, voltage=10.0, current=2.0),
        SafePoint(pulse_length=10.0, voltage=100.0, current=2.0),
    )
    entered = with_values(design, {"device.safe_area": points})
    steady = replace(load, on_time=np.inf, period=np.inf, burst_heat=30.0)
    item = of(limits(entered, steady), "safe_area_steady")
    assert item.limit == pytest.approx(2.0 * 35.0 * 90.0 / 125.0)
    assert item.margin == pytest.approx(1.0 - 30.0 / item.limit)
    assert "safe_area_steady" not in {one.rating for one in limits(entered, load)}


def test_a_row_of_duties_up_to_one_judges_bursts_where_there_are_some(design, load):
    row = replace(load, on_time=np.array([2e-3, np.inf]), period=np.array([6e-3, 6e-3]))
    many = margins(design, row)
    assert many.of("safe_area_single")[0] < 1.0
    assert many.of("safe_area_single")[1] == 1.0
    assert many.of("safe_area_repeated")[1] == 1.0
