"""A fuse judged by the heat in its wire, against a sum over time and a case worked by hand."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from burstwise.core.burst.droop import bus_voltage
from burstwise.core.design.document import with_values
from burstwise.core.evaluate.evaluation import evaluate
from burstwise.core.limits.fuse import (
    CARRIED,
    RATED_CURRENTS,
    THERMAL_TIME,
    fuse_for,
    heating_current,
)
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"


@pytest.mark.parametrize(
    ("resistance", "series", "farad"), [(0.5, 0.02, 4.7e-3), (1.5, 0.2, 1e-3), (0.3, 0.05, 1e-7)]
)
def test_square_of_the_source_current_against_a_sum_over_time(resistance, series, farad):
    """Euler steps of the first-order circuit, many periods, no formula of the project."""
    volts, current, on, off = 36.0, 3.0, 5e-3, 25e-3
    found = bus_voltage(
        volts, current, on_time=on, off_time=off, source_resistance=resistance,
        capacitance=farad, series_resistance=series,
    )  # fmt: skip
    step = min(2e-7, 0.02 * farad * (resistance + series))
    count = round((on + off) / step)
    held, total = volts, 0.0
    for period in range(3 if farad < 1e-5 else 12):
        total = 0.0
        for k in range(0, count, 200_000):
            times = np.arange(k, min(k + 200_000, count)) * step
            drawn = np.where(times < on, current, 0.0)
            # v' = (floor - v)/tau with a constant floor in each part: exact step by step
            for part in (drawn > 0, drawn == 0):
                if not part.any():
                    continue
                load = float(drawn[part][0])
                floor = volts - load * resistance
                tau = (resistance + series) * farad
                n = np.arange(part.sum()) * step
                v = floor + (held - floor) * np.exp(-n / tau)
                bus = v + (floor - v) / (resistance + series) * series
                source = (volts - bus) / resistance
                total += float((source**2).sum()) * step
                held = floor + (held - floor) * np.exp(-(n[-1] + step) / tau)
        del period
    assert float(found.source_square) == pytest.approx(total, rel=5e-3)


def test_a_burst_without_capacitor_heats_by_its_square():
    """15 % of 1.89 A: mean 0.284 A, RMS 0.733 A; a fuse of 0.5 A does not hold."""
    drawn, duty, period = 1.893, 0.15, 1.0 / 100.0
    rms = float(heating_current(drawn**2 * duty * period, period, drawn))
    assert rms == pytest.approx(drawn * np.sqrt(duty), rel=1e-9)
    assert rms > CARRIED * 0.5
    assert fuse_for(rms) == 1.0


def test_a_slow_burst_counts_over_the_wires_own_time():
    on, period = 0.05, 2.0
    rms = float(heating_current(4.0 * on, period, 2.0))
    assert rms == pytest.approx(np.sqrt(4.0 * on / THERMAL_TIME))
    assert float(heating_current(4.0 * 1.0, period, 2.0)) == 2.0


def test_no_fuse_is_named_where_none_carries_the_current():
    assert fuse_for(CARRIED * RATED_CURRENTS[-1] + 1e-9) is None


def test_the_rating_of_a_design_uses_the_rms_current():
    design = with_values(
        load(EXAMPLES / "classroom-gated-interrupted.burstwise"),
        {"interrupter.duty": 0.15, "supply.bulk_fitted": False, "protection.fuse_rating": 0.5},
    )
    results = evaluate(design, verify=False)
    item = next(item for item in results.limits_as_designed if item.rating == "fuse")
    drawn = float(results.carrier.supply_current_mean)
    assert item.value == pytest.approx(drawn * np.sqrt(0.15), rel=0.03)
    assert item.limit == pytest.approx(0.375)
    assert item.margin < 0.0
