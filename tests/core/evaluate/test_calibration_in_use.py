"""What a calibration in use means to tables, remedies, solves, findings and the build sheet."""

from __future__ import annotations

from typing import Any
from unittest.mock import Mock

import numpy as np
import pytest

from burstwise.core.coil.resolve import coil_of
from burstwise.core.design.document import Design, design_from, with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.report.assumptions import assumptions
from burstwise.core.studies.coil_proposals import Goal, proposal, used_overrides
from burstwise.core.studies.remedy_kinds import KINDS
from burstwise.core.studies.stage_table import StageTable

FIT = {"coupling": 0.22, "on_resistance": 2.2, "source": "six rows"}


@pytest.fixture
def design() -> Design:
    return design_from({"coil": {"given_by": "geometry"}})


def test_a_table_serves_only_the_calibration_that_it_was_made_with(design: Design) -> None:
    fitted = with_values(design, {"calibration": {"coupling": 0.22}})
    table: Any = Mock(voltages=np.array([10.0, 100.0]))
    ready = StageTable(fitted, coil_of(fitted), table, (), Mock())
    assert ready.serves(fitted, highest=50.0)
    assert not ready.serves(design, highest=50.0)
    assert not ready.serves(with_values(fitted, {"calibration.coupling": 0.23}), highest=50.0)
    assert not ready.serves(with_values(fitted, {"calibration.active": False}), highest=50.0)
    assert ready.serves(with_values(fitted, {"calibration.source": "rows"}), highest=50.0)


def test_no_remedy_moves_a_coupling_that_a_fit_holds(design: Design) -> None:
    def moved(one: Design) -> set[str]:
        return {path for kind in KINDS for _, edits in kind.edits(one) for path in edits}

    wanted = {"coil.measured.coupling", "coil.geometry.primary.inner_radius"}
    assert moved(design) & wanted
    assert not moved(with_values(design, {"calibration": {"coupling": 0.22}})) & wanted


def test_a_solve_says_that_a_fit_hides_what_it_changes(design: Design) -> None:
    fitted = with_values(design, {"calibration": {"coupling": 0.22}})
    assert used_overrides(fitted, ("coupling", "quality_factor")) == ("coupling",)
    remark = proposal(fitted, Goal.COUPLING_BY_HEIGHT, 0.3).remark
    assert remark.startswith("The fitted coupling overrides the geometry")


def test_findings_and_sheet_call_fitted_what_was_fitted(design: Design) -> None:
    results = evaluate(with_values(design, {"calibration": FIT}), verify=False)
    by_code = {finding.code: finding for finding in results.findings}
    assert "coupling 0.22 in place of" in by_code["calibration-in-use"].text
    assert "2.2 Ω" in by_code["calibration-device"].text
    assert not [code for code in by_code if code.startswith("measured-")]
    said = " ".join(assumptions(results))
    assert "Fitted to six rows" in said
    assert "coupling entered" not in said
