"""Chain page on results of the real core."""

from __future__ import annotations

import pytest

from burstwise.app.screens.interrupter.chain_page import chain_groups, failure_text, polarity_text
from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.chain import chain_of, longest_burst


@pytest.fixture(scope="module")
def values():
    return {
        "interrupter.given_by": "parts",
        "interrupter.chain.buffer": {},
        "interrupter.chain.active_level": "low",
        "supply.voltage": 24.0,
        "supply.low_voltage": {},
    }


def test_every_figure_has_a_unit_and_the_way_is_told(small_design, values):
    results = evaluate(with_values(small_design, values), verify=False)
    report = chain_of(results)
    assert "buffer transistor (inverts)" in polarity_text(report)
    assert "on while the timer is high" in polarity_text(report)
    assert "stays high" in failure_text(report)
    groups = {group.title: group for group in chain_groups(report)}
    assert {"Gate driver", "Buffer transistor", "Low-voltage supply"} <= set(groups)
    supply = {figure.name: figure.value for figure in groups["Low-voltage supply"].figures}
    heat = (24 - 12) * report.low_load + 24 * 5e-3
    assert report.low_supply.dissipation == pytest.approx(heat)
    assert supply["Heat"].endswith("W")


def test_longest_burst_is_where_the_junction_reaches_its_limit(small_design):
    from burstwise.core.burst.foster import transient_impedance

    results = evaluate(small_design, verify=False)
    hot = with_values(small_design, {"device.junction_limit": 80.0})
    time = longest_burst(hot, results.carrier, results.path, sink=60.0)
    rise = results.carrier.device_power * transient_impedance(results.path.network, time)
    assert float(rise) == pytest.approx(20.0, rel=1e-3)
    assert longest_burst(small_design, results.carrier, results.path, sink=-1e4) == float("inf")
