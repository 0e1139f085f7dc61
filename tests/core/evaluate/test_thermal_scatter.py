"""Scatter of the thermal path in random builds against sums of resistances by hand."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.limits.ratings import Margins
from burstwise.core.studies.chance import LINES, build_margins, stage_response
from burstwise.core.studies.spread import SPREADS, draws
from burstwise.core.studies.stage_table import stage_table

AMBIENT, SINK_LIMIT, JUNCTION_LIMIT = 25.0, 85.0, 150.0
TO_CASE, INTERFACE, SINK = 0.08 + 0.4 + 1.0 + 2.3, 0.5, 2.5
"""Thermal resistances of the classroom example [K/W]."""
MOVED = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])


@pytest.fixture(scope="module")
def builds(example):
    """Margins of builds of a stage whose heat does not follow its temperature."""
    design = with_values(
        example("classroom-gated-interrupted"),
        {"device.hot_resistance_ratio": 1.0},
    )
    results = evaluate(design, verify=False)
    volts = 1.1 * design.supply.voltage
    ready = stage_table(design, volts, lines=LINES, refine=0)
    found = stage_response(results, ready, SPREADS)

    def made(numbers: Mapping[str, np.ndarray]) -> Margins:
        return build_margins(design, ready, found, numbers, SPREADS)

    return results, made


def sink_rise(margin: np.ndarray) -> np.ndarray:
    """Heat sink over ambient [K], from a margin that counts from 25 °C up to 85 °C."""
    return (1.0 - margin) * (SINK_LIMIT - AMBIENT)


def junction_rise(margin: np.ndarray) -> np.ndarray:
    return (1.0 - margin) * (JUNCTION_LIMIT - AMBIENT)


@pytest.mark.parametrize(
    ("name", "deviation"),
    [("junction_resistance", 0.12), ("interface_resistance", 0.25), ("sink_resistance", 0.15)],
)
def test_each_thermal_resistance_scatters_by_its_own_figure(builds, name, deviation):
    """One resistance in log-normal steps, all else nominal: rises are heat times their sum."""
    results, made = builds
    numbers = {item.name: np.zeros(len(MOVED)) for item in SPREADS} | {name: MOVED}
    found = made(numbers)
    ways = {
        part: resistance * np.exp(deviation * MOVED * (part == name))
        for part, resistance in (
            ("junction_resistance", TO_CASE),
            ("interface_resistance", INTERFACE),
            ("sink_resistance", SINK),
        )
    }
    # The table of the builds and that of the evaluation hold the heat to some per cent.
    heat = float(sink_rise(found.of("heat_sink"))[2]) / SINK
    assert heat == pytest.approx(results.operation.device_power, rel=0.03)
    assert sink_rise(found.of("heat_sink")) == pytest.approx(
        heat * ways["sink_resistance"], rel=1e-3
    )
    assert junction_rise(found.of("junction_mean")) == pytest.approx(
        heat * sum(ways.values()), rel=1e-3
    )


def test_ambient_scatters_by_four_kelvin(builds):
    _, made = builds
    numbers = {item.name: np.zeros(len(MOVED)) for item in SPREADS} | {"ambient": MOVED}
    found = made(numbers)
    for rise in (sink_rise(found.of("heat_sink")), junction_rise(found.of("junction_mean"))):
        assert rise - rise[2] == pytest.approx(4.0 * MOVED, abs=0.02)


def test_scatter_of_the_sink_shows_in_random_builds(builds):
    """Slope of the rise's logarithm over the sink's own number, all inputs scattering at once."""
    _, made = builds
    numbers = draws(4000, seed=5)
    # The ambient adds kelvins, no factor.
    rise = sink_rise(made(numbers).of("heat_sink")) - 4.0 * numbers["ambient"]
    own = numbers["sink_resistance"]
    slope = np.cov(own, np.log(rise))[0, 1] / np.var(own)
    assert slope == pytest.approx(0.15, abs=0.015)
