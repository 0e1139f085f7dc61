"""Remedies keep what they promise when applied."""

from __future__ import annotations

import re

import pytest

from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.limits.device_classes import devices_by_name
from burstwise.core.stopping import StoppedError
from burstwise.core.studies.remedies import Remedy, ranked, remedies
from burstwise.core.studies.remedy_kinds import KINDS


@pytest.fixture(scope="module")
def found(spiking):
    classes = {
        name: device
        for name, device in devices_by_name().items()
        if name in ("650 V, 30 A superjunction, non-isolated", "60 V, 40 A trench logic level")
    }
    return list(remedies(spiking, classes=classes))


@pytest.mark.slow
def test_each_raises_the_margin(spiking, found):
    assert len(found) >= 4
    for item in found:
        assert item.margin > spiking.first_limit.margin
        assert item.oscillates


@pytest.mark.slow
def test_each_keeps_its_promise_when_applied(spiking, found, figure):
    """Applied like a person does it and evaluated anew, through a table of its own."""
    rating = spiking.first_limit.rating
    worst = 0.0
    for item in found:
        after = with_values(spiking.design, item.edits)
        again = evaluate(after, verify=False)
        margin = next(
            (limit.margin for limit in again.limits if limit.rating == rating), item.margin
        )
        worst = max(worst, abs(margin - item.margin))
    figure("remedies: promised against applied margin", worst, limit="0.02",
           source="second path of evaluation")  # fmt: skip
    assert worst < 0.02


@pytest.mark.slow
def test_best_first(found):
    margins = [min(item.smallest_margin, 0.2) for item in ranked(found)]
    assert margins == sorted(margins, reverse=True)


def test_enough_margin_first_then_the_least_price_then_the_own_margin():
    def made(name: str, smallest: float, price: float, margin: float) -> Remedy:
        return Remedy(name, name, {}, margin, smallest, "", price, 0.0, True)

    given = [
        made("short of it", 0.10, +0.1, 0.9),
        made("dear", 0.50, -0.3, 0.9),
        made("cheap", 0.25, -0.1, 0.3),
        made("cheap too, more margin", 0.30, -0.1, 0.4),
        made("free", 0.21, +0.2, 0.2),
    ]
    names = [item.kind for item in ranked(given)]
    assert names == ["free", "cheap too, more margin", "cheap", "dear", "short of it"]


def test_kinds_cover_what_can_be_moved():
    names = {kind.name for kind in KINDS}
    assert {"duty", "frequency", "heat_sink", "snubber", "clamp", "primary_turns", "coupling",
            "gate_resistor", "bulk", "reservoir_clamp", "breakout_point",
            "top_load"} <= names  # fmt: skip


def test_a_clamp_is_a_row_of_suppressors_that_are_sold(spiking):
    (clamp,) = (kind for kind in KINDS if kind.name == "clamp")
    for text, edits in clamp.edits(spiking.design):
        fitted = edits["protection.drain_clamp"]
        assert re.search(r"\d in series of .* transient suppressor", text)
        # Half of the mean power of the row; no single suppressor has more than some 8 W.
        assert 10.0 <= fitted["power_rating"] <= 0.5 * 8.0 * 10


def test_reservoir_clamp_point_and_larger_top_load_are_edits_that_fit(spiking):
    by_name = {kind.name: kind for kind in KINDS}
    for name in ("reservoir_clamp", "breakout_point", "top_load"):
        tried = list(by_name[name].edits(spiking.design))
        assert tried
        for _, edits in tried:
            assert with_values(spiking.design, edits) != spiking.design
    # A point that is fitted already becomes higher; a measured breakout is lowered instead.
    geometry = spiking.design.coil.geometry
    for _, edits in by_name["breakout_point"].edits(spiking.design):
        assert edits["coil.geometry.top_load.point_height"] > geometry.top_load.point_height * (
            geometry.top_load.point_fitted
        )
    measured = with_values(spiking.design, {"coil.measured.breakout_voltage": 20e3})
    mild = next(iter(by_name["breakout_point"].edits(measured)))
    assert mild[1] == {"coil.measured.breakout_voltage": 14e3}


def test_hot_stage_is_helped_by_cooling_and_by_duty(hot_direct, monkeypatch):
    hot = evaluate(with_values(hot_direct, {"supply.voltage": 34.0}), verify=False)
    assert hot.first_limit.rating in ("junction_peak", "junction_mean", "device_power",
                                      "safe_area_repeated", "safe_area_single")  # fmt: skip
    few = tuple(kind for kind in KINDS if kind.name in ("duty", "heat_sink"))
    monkeypatch.setattr("burstwise.core.studies.remedies.KINDS", few)
    assert [item.kind for item in remedies(hot)] == ["duty", "heat_sink"]


def test_stops_when_told(spiking):
    with pytest.raises(StoppedError):
        list(remedies(spiking, ask=lambda share: False))
