"""Bands of warm-up, other heat sinks and interrupter period: against builds on their own.

Each build of `alone` is a design with its own fields, evaluated by itself; ends are ranked here by
hand. The closed form is the step response of a resistance and a capacity (common practice, no
source).
"""

from __future__ import annotations

import numpy as np
import pytest
from builds_by_hand import given_by_values, numbered

from burstwise.core.burst.warmup import COURSE_POINTS
from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.stopping import StoppedError, stoppable
from burstwise.core.studies.bands import BAND_DUTIES, ScatteredStage, bands, scattered_stage
from burstwise.core.studies.cooling import OTHER_SINKS
from burstwise.core.studies.quick import warm_up_of
from burstwise.core.studies.spread import SPREADS, draws

BUILDS = 10
LOW, HIGH = 0, 8
"""Ranks of the ends of ten builds: one in ten at or below, one in ten above."""
ON_END = COURSE_POINTS - 1
SINK = "cooling.sink_resistance"


def beside_the_stage(count, seed):
    """Numbers of builds that differ in everything but the stage at carrier scale."""
    drawn = draws(count, seed=seed)
    return {item.name: drawn[item.name] * (not item.stage) for item in SPREADS}


NUMBERS = beside_the_stage(BUILDS, 3)


@pytest.fixture(scope="module")
def own(interrupted):
    return evaluate(given_by_values(interrupted), verify=False)


@pytest.fixture(scope="module")
def stage(own):
    return scattered_stage(own)


@pytest.fixture(scope="module")
def alone(own):
    return [
        evaluate(numbered(own.design, NUMBERS, place), table=own.table, verify=False)
        for place in range(BUILDS)
    ]


@pytest.fixture(scope="module")
def found(own, stage):
    return bands(own, stage, NUMBERS)


def assert_ends(band, place, values, **within):
    """Ends of a band at a place are those of ten values."""
    ranked = sorted(float(value) for value in values)
    assert band.low[place] == pytest.approx(ranked[LOW], **within)
    assert band.high[place] == pytest.approx(ranked[HIGH], **within)


def test_builds_warm_up_as_each_alone_does(found, alone) -> None:
    courses = [warm_up_of(one) for one in alone]
    for name in ("heat_sink", "junction_peak"):
        band = found.warm_up[name]
        for place in (60, 120, 140):
            values = [np.interp(band.at[place], it.time, getattr(it, name)) for it in courses]
            assert_ends(band, place, values, abs=0.02)


def test_warm_builds_stand_where_their_evaluation_does(found, alone) -> None:
    """After six time constants of the design a quarter of a per cent of the rise is left."""
    rise = max(one.operation.heat_sink for one in alone) - 25.0
    sinks = [one.operation.heat_sink for one in alone]
    assert_ends(found.warm_up["heat_sink"], -1, sinks, abs=0.02 * rise)
    assert_ends(found.warm_up["junction_peak"], -1, [o.junction_peak for o in alone], abs=0.1)


@pytest.mark.parametrize("place", [0, 7, 12])
def test_other_sinks_are_evaluations_with_those(found, alone, own, place) -> None:
    share = OTHER_SINKS[2 * place]
    others = []
    for one in alone:
        resistance = share * one.design.cooling.sink_resistance
        design = with_values(one.design, {SINK: resistance})
        others.append(evaluate(design, table=own.table, verify=False))
    for name, read in (
        ("junction_peak", lambda one: one.junction_peak),
        ("heat_sink", lambda one: one.operation.heat_sink),
    ):
        band = found.sinks[name]
        assert band.at[place] == pytest.approx(share * own.design.cooling.sink_resistance)
        assert_ends(band, place, [read(one) for one in others], abs=0.02)


def test_period_ends_its_bursts_as_each_build_does(found, alone, own) -> None:
    """Peak of the junction and sag of the bus come from closed forms of their own."""
    period = found.period
    np.testing.assert_array_equal(period["junction"].at, own.course.time)
    assert_ends(period["junction"], ON_END, [o.junction_peak for o in alone], abs=0.01)
    assert_ends(period["junction"], 0, [o.operation.junction_valley for o in alone], abs=0.01)
    assert_ends(period["bus_voltage"], ON_END, [o.operation.bus.end for o in alone], rel=1e-4)
    drawn = [o.operation.average_power / o.operation.voltage / o.duty for o in alone]
    assert_ends(period["supply_current"], ON_END, drawn, rel=0.03)
    assert period["supply_current"].high[-1] == 0.0


def test_period_in_between_is_that_of_each_build(found, alone) -> None:
    for name in ("supply_current", "bus_voltage", "junction"):
        band = found.period[name]
        for place in (150, ON_END + 60):
            values = [getattr(one.course, name)[place] for one in alone]
            assert_ends(band, place, values, rel=1e-4)


def test_warm_up_against_the_step_of_resistance_and_capacity(interrupted, stage) -> None:
    """Heat that does not follow the temperature, a stiff supply, and sinks alone that scatter."""
    edits = {"device.hot_resistance_ratio": 1.0, "supply.source_resistance": 0.0}
    plain = evaluate(with_values(given_by_values(interrupted), edits), verify=False)
    numbers = {name: values * 0.0 for name, values in NUMBERS.items()}
    numbers["sink_resistance"] = np.linspace(-2.0, 2.0, BUILDS)
    band = bands(plain, ScatteredStage(plain, stage.response), numbers).warm_up["heat_sink"]
    cooling = plain.design.cooling
    for end, place in ((band.low, LOW), (band.high, HIGH)):
        R = cooling.sink_resistance * np.exp(0.15 * numbers["sink_resistance"][place])
        rise = plain.operation.device_power * R
        rise = rise * -np.expm1(-band.at / (R * cooling.sink_heat_capacity))
        np.testing.assert_allclose(end, cooling.ambient + rise, atol=0.01)


def test_builds_that_run_away_leave_no_upper_end(interrupted, stage) -> None:
    """A sink so small that some builds find no stable temperature, and others do."""
    hot = evaluate(
        with_values(given_by_values(interrupted), {SINK: 60.0, "device.hot_resistance_ratio": 3.0}),
        verify=False,
    )
    own = bands(hot, ScatteredStage(hot, stage.response), NUMBERS)
    away = [
        not np.isfinite(
            evaluate(numbered(hot.design, NUMBERS, k), table=hot.table, verify=False).junction_peak
        )
        for k in range(BUILDS)
    ]
    assert 2 <= sum(away) < BUILDS
    assert np.isinf(own.period["junction"].high).all()
    assert np.isfinite(own.period["junction"].low).all()
    assert np.isinf(own.warm_up["junction_peak"].high[-1])
    assert np.isfinite(own.warm_up["junction_peak"].high[0])
    assert np.isinf(own.sinks["heat_sink"].high[-1])
    assert np.isfinite(own.sinks["heat_sink"].high[0])


@pytest.mark.parametrize("before", range(3))
def test_each_part_asks_whether_to_go_on(own, stage, before) -> None:
    asked = []

    def stop() -> bool:
        asked.append(None)
        return len(asked) > len(BAND_DUTIES) + before

    with stoppable(stop), pytest.raises(StoppedError):
        bands(own, stage, NUMBERS)
    assert len(asked) == len(BAND_DUTIES) + before + 1
