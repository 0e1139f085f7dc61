"""Bands of build tolerance: against builds evaluated one by one, and against closed forms."""

from __future__ import annotations

from math import exp

import numpy as np
import pytest
from builds_by_hand import given_by_values, numbered
from scipy.stats import norm

from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.stage.elements import Monitor
from burstwise.core.stopping import StoppedError, stoppable
from burstwise.core.studies.bands import BAND_DUTIES, bands, middle_part, scattered_stage
from burstwise.core.studies.spread import draws

TAIL = 1.2816
"""10 % point of the standard normal distribution (NIST handbook of statistics, from memory)."""
DUTY = float(BAND_DUTIES[12])
BY_HAND = 10
MANY = 4000


@pytest.fixture(scope="module")
def plain(interrupted):
    """A stage whose heat does not follow its temperature, with a supply that does not sag."""
    design = with_values(
        given_by_values(interrupted),
        {
            "device.hot_resistance_ratio": 1.0,
            "supply.source_resistance": 0.0,
            "interrupter.duty": DUTY,
        },
    )
    return evaluate(design, verify=False)


@pytest.fixture(scope="module")
def stage(plain):
    return scattered_stage(plain)


def only(*names):
    """Numbers of many builds that are nominal but in some inputs."""
    drawn = draws(MANY, seed=1)
    return {name: drawn[name] * (name in names) for name in drawn}


def test_tail_is_that_of_the_normal_distribution():
    assert norm.ppf(0.9) == pytest.approx(TAIL, abs=1e-4)


def test_power_scatters_as_the_duty_does(plain, stage):
    """Long bursts far from the ring-up: average power goes with the duty, 4 % of log-normal."""
    found = bands(plain, stage, only("duty"))
    power, at = found.duty_curves["average_power"], 16
    own = np.interp(power.at[at], plain.curves.duty, plain.curves.average_power)
    assert power.low[at] / own == pytest.approx(exp(-0.04 * TAIL), rel=4e-3)
    assert power.high[at] / own == pytest.approx(exp(0.04 * TAIL), rel=4e-3)


def test_junction_scatters_with_the_ambient(plain, stage):
    """Four kelvin of normal scatter around, and nothing else: the band is 2 x 1.28 x 4 K wide."""
    found = bands(plain, stage, only("ambient"))
    for name in ("junction_mean", "junction_peak"):
        band = found.duty_curves[name]
        assert band.high - band.low == pytest.approx(2 * TAIL * 4.0, rel=0.05)
    power = found.duty_curves["average_power"]
    np.testing.assert_allclose(power.high, power.low, rtol=1e-9)


def test_continuous_drive_has_no_duty_to_scatter(plain, stage):
    power = bands(plain, stage, only("duty")).duty_curves["average_power"]
    assert power.at[-1] == 1.0
    assert power.high[-1] == pytest.approx(power.low[-1], rel=1e-12)


@pytest.mark.slow
def test_bands_against_builds_evaluated_one_by_one(interrupted, figure):
    """Second and last but one of ten builds, each a design of its own."""
    results = evaluate(
        with_values(given_by_values(interrupted), {"interrupter.duty": DUTY}), verify=False
    )
    numbers = draws(BY_HAND, seed=3)
    alone = []
    for place in range(BY_HAND):
        alone.append(evaluate(numbered(results.design, numbers, place), verify=False))
    found = bands(results, scattered_stage(results), numbers).duty_curves
    worst = 0.0
    for name, read in (
        ("average_power", lambda one: one.average_power),
        ("peak_current", lambda one: one.carrier.drain_current_peak),
        ("junction_peak", lambda one: one.junction_peak),
    ):
        ranked = sorted(float(read(one)) for one in alone)
        for end, true in ((found[name].low[12], ranked[0]), (found[name].high[12], ranked[8])):
            worst = max(worst, abs(end / true - 1.0))
    figure("ends of the bands of ten builds, worst", worst, limit="0.04",
           source="evaluating the builds")  # fmt: skip
    assert worst < 0.04


def test_waveforms_lie_among_the_scattered_runs(plain, stage):
    """Without scatter of the supply the ends are order statistics of engine runs, by a library."""
    found = bands(plain, stage, only("ambient"))
    tops = [run.envelope[run.envelope[:, 0] <= run.ring_up.time[-1], 1][-1]
            for run in stage.response.runs]  # fmt: skip
    low, high = np.quantile(tops, (0.1, 0.9), method="inverted_cdf")
    assert found.ring_up.low[-1] == pytest.approx(low, rel=0.01)
    assert found.ring_up.high[-1] == pytest.approx(high, rel=0.01)
    drain = found.cycle[Monitor.DRAIN]
    own = plain.carrier.trace
    np.testing.assert_allclose(drain.at, own.time - own.time[0])
    assert found.runs == len(stage.response.runs) == 64
    assert (drain.low <= drain.high).all()
    inside = (own.signal(Monitor.DRAIN) >= drain.low) & (own.signal(Monitor.DRAIN) <= drain.high)
    assert inside.mean() > 0.7


def test_voltages_go_with_the_supply_and_the_gate_does_not(plain, stage):
    """All builds on a supply one deviation, 2 %, too high."""
    nominal = bands(plain, stage, only())
    raised = bands(plain, stage, only() | {"supply": np.ones(MANY)})
    for one, other in (
        (nominal.ring_up, raised.ring_up),
        (nominal.ring_down, raised.ring_down),
        (nominal.cycle[Monitor.DRAIN], raised.cycle[Monitor.DRAIN]),
    ):
        assert len(one.at) > 2
        np.testing.assert_allclose(other.high, exp(0.02) * one.high)
        np.testing.assert_allclose(other.low, exp(0.02) * one.low)
    gates = (nominal.cycle[Monitor.GATE].high, raised.cycle[Monitor.GATE].high)
    np.testing.assert_array_equal(*gates)


def test_many_builds_that_run_away_leave_no_upper_end():
    low, high = middle_part(np.array([[1.0], [2.0], [3.0], [np.inf], [np.inf]]))
    assert (float(low[0]), float(high[0])) == (1.0, np.inf)


def test_runs_serve_another_duty_but_not_another_stage(plain, stage):
    def serves(edits):
        return stage.serves(evaluate(with_values(plain.design, edits), verify=False))

    assert serves({"interrupter.duty": 0.2})
    assert not serves({"supply.voltage": 1.1 * plain.design.supply.voltage})
    assert not serves({"coil.measured.coupling": 1.05 * plain.coil.coupling})


def test_a_stage_that_does_not_run_has_no_bands(plain, stage):
    dead = evaluate(with_values(plain.design, {"supply.voltage": 1.0}), verify=False)
    assert not dead.carrier.oscillates
    assert bands(dead, stage) is None


def test_bands_stop_when_told(plain, stage):
    with stoppable(lambda: True), pytest.raises(StoppedError):
        bands(plain, stage)
