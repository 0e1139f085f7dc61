"""Stages without gate clamp or bulk capacitor.

Who checks whom: no clamp against one that never conducts, no bulk capacitor against Ohm's law.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.storage import load
from burstwise.core.studies.remedy_kinds import KINDS

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
CLAMP = "drive.direct.clamp_fitted"
BULK = "supply.bulk_fitted"


@pytest.fixture(scope="module")
def direct():
    return load(EXAMPLES / "classroom-direct-continuous.burstwise")


@pytest.fixture(scope="module")
def gated():
    return load(EXAMPLES / "classroom-gated-interrupted.burstwise")


def test_no_gate_clamp_is_a_clamp_that_never_conducts(direct):
    wide = {"drive.direct.clamp_high": 40.0, "drive.direct.clamp_low": 40.0}
    without = evaluate(with_values(direct, {CLAMP: False}), verify=False)
    far = evaluate(with_values(direct, wide), verify=False)
    assert float(without.load.gate_peak) < 40.0
    assert without.carrier.frequency == pytest.approx(far.carrier.frequency, rel=1e-9)
    assert without.average_power == pytest.approx(far.average_power, rel=1e-6)
    assert without.carrier.losses.get("gate_clamp", 0.0) == 0.0
    assert without.carrier.residual < 1e-6


def test_the_gate_of_an_unclamped_stage_goes_beyond_its_rating(direct):
    clamped = evaluate(direct, verify=False)
    without = evaluate(with_values(direct, {CLAMP: False}), verify=False)
    assert float(without.load.gate_peak) > 2 * float(clamped.load.gate_peak)
    assert "exceeded-gate-voltage" in {finding.code for finding in without.findings}


def test_what_is_left_out_is_offered_as_a_remedy(direct, gated):
    kinds = {kind.name: kind for kind in KINDS}
    bare = with_values(direct, {CLAMP: False, BULK: False})
    for name, path in (("gate_clamp", CLAMP), ("bulk", BULK)):
        ((text, edits),) = kinds[name].edits(bare)
        assert text.endswith("fitted")
        assert edits == {path: True}
        assert all(path not in edits for _, edits in kinds[name].edits(direct))
    assert list(kinds["gate_clamp"].edits(gated)) == []
    assert list(kinds["bulk_ripple"].edits(bare)) == list(kinds["bulk_voltage"].edits(bare)) == []


def test_without_bulk_capacitor_the_source_resistance_makes_the_sag(gated):
    without = evaluate(with_values(gated, {BULK: False}), verify=False)
    drawn = without.operation.bus.source_peak
    assert without.droop == pytest.approx(drawn * gated.supply.source_resistance, rel=1e-3)
    whole = evaluate(gated, verify=False)
    assert drawn > whole.operation.bus.source_peak
    ratings = {limit.rating for limit in without.limits}
    assert not ratings & {"bulk_voltage", "bulk_ripple"}
    assert {"bulk_voltage", "bulk_ripple"} <= {limit.rating for limit in whole.limits}
    assert "no-bulk" in {finding.code for finding in without.findings}
    course = without.course.bus_voltage
    assert course.min() == pytest.approx(gated.supply.voltage - without.droop, rel=1e-3)
    assert course.max() == pytest.approx(gated.supply.voltage, rel=1e-6)
