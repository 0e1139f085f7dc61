"""Worst case, random builds, drift: against builds drawn and timed by separate code."""

import math
import random

import numpy as np
import pytest

from burstwise.core.design.timer_wish import TimerWish
from burstwise.core.errors import InputError
from burstwise.core.interrupter.circuits import CIRCUITS, circuit_named
from burstwise.core.interrupter.random_builds import random_builds
from burstwise.core.interrupter.sizing import size_timer
from burstwise.core.interrupter.tolerance import (
    influences,
    spreads_of,
    temperature_drift,
    temperature_limits,
    travel_bands,
)


def best(name, low=0.02, high=0.9, **options):
    answer = size_timer(
        TimerWish(frequency=15.0, duty_low=low, duty_high=high, circuits=(name,), **options)
    )
    return answer.sets[0]


@pytest.fixture(scope="module")
def steered():
    return best("astable-steered-discharge")


RANGES = {"astable-classic": (0.7, 0.7), "two-timer": (0.02, 0.5)}


def separately_coded_builds(one, count):
    """Frequency and both duties of random builds: scalar code, its own random numbers."""
    rng = random.Random(20240607)
    parts = {part.role: part for part in one.parts}
    timer = one.timer

    def draw(value, tolerance):
        return value * (1 + tolerance * (2 * rng.random() - 1))

    frequencies, lows, highs = [], [], []
    for _ in range(count):
        v = {role: draw(part.value, part.tolerance) for role, part in parts.items()}
        supply = draw(one.supply, one.given.supply_tolerance)
        up = supply * draw(2 / 3, timer.threshold_tolerance)
        down = supply * draw(1 / 3, timer.threshold_tolerance)
        sat = draw(timer.discharge_saturation, timer.level_spread)
        ron = draw(timer.discharge_resistance, timer.level_spread)
        d1, d2 = (one.diode.drop + one.diode.spread * (2 * rng.random() - 1) for _ in range(2))
        end = one.potentiometer.end_fraction * rng.random()
        ra, rb, c = v["charge_resistor"], v["discharge_resistor"], v["timing_capacitor"]
        found = []
        for travel in (0.0, 0.5, 1.0):
            rise = v["potentiometer"] * (end + (1 - 2 * end) * travel)
            fall = v["potentiometer"] - rise
            high = (ra + rise) * c * math.log((supply - d1 - down) / (supply - d1 - up))
            node = (sat / ron + supply / ra) / (1 / ron + 1 / ra)
            total = rb + fall + 1 / (1 / ron + 1 / ra)
            low = total * c * math.log((up - d2 - node) / (down - d2 - node))
            found.append((high / (high + low), 1 / (high + low)))
        lows.append(found[0][0])
        frequencies.append(found[1][1])
        highs.append(found[2][0])
    return np.array(frequencies), np.array(lows), np.array(highs)


def test_random_builds_cover_a_separate_simulation(steered, figure):
    bands = random_builds(steered, count=10_000).share_band()
    for band, values in zip(bands, separately_coded_builds(steered, 1000), strict=True):
        inside = np.mean((values >= band.low) & (values <= band.high))
        figure(
            f"1,000 separately coded builds inside the 95 % band around {band.nominal:.3g}",
            inside,
            limit="0.95 ± 0.028",
            source="second simulation",
        )
        # 1,000 builds put the share within 0.95 +- 4 standard deviations of 0.7 %
        assert inside == pytest.approx(0.95, abs=0.028)
        assert band.nominal == pytest.approx(np.median(values), rel=0.02)


@pytest.mark.parametrize("name", list(CIRCUITS))
@pytest.mark.parametrize("distribution", ["uniform", "normal"])
def test_worst_case_holds_every_random_build_and_is_not_far_out(name, distribution):
    low, high = RANGES.get(name, (0.02, 0.9))
    one = best(name, low, high)
    builds = random_builds(one, count=20_000, distribution=distribution)
    for values, band in (
        (builds.frequency, one.frequency),
        (builds.duty_low, one.duty_low),
        (builds.duty_high, one.duty_high),
    ):
        assert values.min() >= band.low * (1 - 1e-9)
        assert values.max() <= band.high * (1 + 1e-9)
        assert values.max() - values.min() > 0.25 * (band.high - band.low)


@pytest.mark.parametrize("name", list(CIRCUITS))
def test_worst_case_is_reached_in_a_corner_of_the_box(name):
    """Random corners of the box: none beyond the band, the best close to it."""
    low, high = RANGES.get(name, (0.02, 0.9))
    one = best(name, low, high)
    spreads = spreads_of(one)
    rng = np.random.default_rng(7)
    build = dict(one.build())
    for role, limits in spreads.items():
        side = rng.integers(0, 2, 40_000).astype(bool)
        build[role] = np.where(side, limits.high, limits.low)
    cycle = CIRCUITS[name].cycle(build, 0.0)
    duty = np.broadcast_to(cycle.duty, (40_000,))
    assert duty.min() >= one.duty_low.low * (1 - 1e-9)
    assert duty.max() <= one.duty_low.high * (1 + 1e-9)
    reached = (duty.max() - duty.min()) / (one.duty_low.high - one.duty_low.low)
    assert reached > 0.8


def test_travel_bands_agree_with_the_set_at_the_stops(steered):
    bands = travel_bands(steered, np.linspace(0, 1, 51))
    assert bands.duty[0] == pytest.approx(steered.duty_low.nominal)
    assert bands.duty_low[0] == pytest.approx(steered.duty_low.low)
    assert bands.duty_high[-1] == pytest.approx(steered.duty_high.high)
    assert bands.frequency[25] == pytest.approx(steered.frequency.nominal)
    assert np.all(np.diff(bands.duty) > 0)
    assert np.all(bands.duty_low < bands.duty)
    assert np.all(bands.duty < bands.duty_high)
    with pytest.raises(InputError, match="travel"):
        travel_bands(steered, 1.2)


def test_a_logarithmic_track_gives_fine_setting_of_short_bursts():
    one = best("astable-steered-discharge", taper="logarithmic")
    bands = travel_bands(one, [0.0, 0.5, 1.0])
    share = (bands.duty[1] - bands.duty[0]) / (bands.duty[2] - bands.duty[0])
    assert share == pytest.approx(0.15, abs=0.01)


def test_influences_rank_the_potentiometer_first_and_add_up(steered):
    ranked = influences(steered)
    assert ranked[0].role in {"potentiometer", "pot_end"}
    assert sum(one.share for one in ranked) == pytest.approx(1.0)
    shares = [one.share for one in ranked]
    assert shares == sorted(shares, reverse=True)
    capacitor = next(one for one in ranked if one.role == "timing_capacitor")
    assert capacitor.frequency == pytest.approx(0.05, rel=1e-6)
    assert capacitor.duty_low == pytest.approx(0.0, abs=1e-12)


def test_drift_of_the_capacitor_alone_moves_the_frequency_by_its_coefficient(steered):
    limits = temperature_limits(steered, 0.0, 60.0)
    alone = {"timing_capacitor": limits["timing_capacitor"]}
    reach = next(p.drift for p in steered.parts if p.role == "timing_capacitor") * 35
    assert influences(steered, spreads=alone)[0].frequency == pytest.approx(reach, rel=1e-6)


def test_drift_grows_with_the_range_and_stays_below_the_worst_case(steered):
    small, large = temperature_drift(steered, low=20, high=30), temperature_drift(steered)
    assert small.frequency.high - small.frequency.low < large.frequency.high - large.frequency.low
    assert large.frequency.low > steered.frequency.low
    assert large.duty_low.low <= large.duty_low.nominal <= large.duty_low.high
    with pytest.raises(InputError, match="temperature"):
        temperature_drift(steered, low=60, high=0)


def test_random_builds_repeat_with_the_seed_and_refuse_bad_input(steered):
    one, two = (random_builds(steered, count=50, seed=s) for s in (3, 3))
    assert np.array_equal(one.frequency, two.frequency)
    with pytest.raises(InputError, match="distribution"):
        random_builds(steered, distribution="triangle")
    with pytest.raises(InputError, match="count"):
        random_builds(steered, count=0)


def test_a_cap_that_sleeps_at_nominal_counts_in_the_corners():
    wish = TimerWish(
        frequency=90.0,
        duty_low=0.03,
        duty_high=0.6,
        supply=9.0,
        circuits=("astable-capped-output",),
    )
    chosen = size_timer(wish).sets[0]
    spreads = spreads_of(chosen)
    bands = travel_bands(chosen, [1.0])
    rng = np.random.default_rng(5)
    build = dict(chosen.build())
    for role, limits in spreads.items():
        build[role] = np.where(rng.random(40_000) < 0.5, limits.low, limits.high)
    duty = circuit_named(chosen.circuit).cycle(build, 1.0).duty
    assert duty.max() <= bands.duty_high[0] * (1 + 1e-12)
    assert duty.min() >= bands.duty_low[0] * (1 - 1e-12)
