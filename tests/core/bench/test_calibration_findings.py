"""What a fit at the end of a range, or far off, has to say; and what becomes of it afterwards."""

from __future__ import annotations

import numpy as np
import pytest

from burstwise.core.bench.calibrate_findings import calibration_findings
from burstwise.core.bench.calibration_result import Calibrated, FittedParameter
from burstwise.core.bench.fault_stage import believed, sound_stage
from burstwise.core.bench.fit_parameters import Parameter
from burstwise.core.coil.resolve import coil_of
from burstwise.core.design.calibration import Calibration, doubts
from burstwise.core.design.document import Design, design_from, with_values


def result(*, at_bound: bool, misfit: float) -> Calibrated:
    found = FittedParameter(Parameter.COUPLING, 0.3201, 0.4989, 0.01, at_bound=at_bound)
    return Calibrated(
        parameters=(found,),
        comparisons=(),
        correlation=np.ones((1, 1)),
        singular_values=np.ones(1),
        misfit_before=40.0,
        misfit_after=misfit,
        findings=calibration_findings((found,), (), np.ones((1, 1)), misfit),
        runs=1,
    )


@pytest.fixture
def design() -> Design:
    return design_from({"coil": {"given_by": "geometry"}})


def test_a_fit_at_the_end_of_its_range_points_at_instruments_and_keeps_its_mark() -> None:
    fit = result(at_bound=True, misfit=14.0)
    (said,) = [f for f in fit.findings if f.code == "calibration-at-bound"]
    assert said.field == "calibration.coupling"
    for word in ("0.4989", "0.3201", "shunt", "probe factor"):
        assert word in said.text
    layer = fit.layer("4 rows")
    assert (layer.at_bound, layer.misfit) == (("coupling",), 14.0)
    assert len(doubts(layer)) == 2
    assert doubts(result(at_bound=False, misfit=1.9).layer()) == ()


def test_the_diagnosis_leaves_a_doubtful_fit_out_and_takes_a_good_one(design: Design) -> None:
    own = coil_of(design).coupling
    for layer, expected in (
        (Calibration(coupling=0.4989, misfit=14.0), own),
        (Calibration(coupling=0.4989, misfit=1.0), 0.4989),
        (Calibration(coupling=0.4989, misfit=1.0, at_bound=("coupling",)), own),
        (Calibration(coupling=0.4989, misfit=14.0, active=False), own),
    ):
        fitted = with_values(design, {"calibration": layer})
        assert sound_stage(fitted).coil.coupling == expected
        assert coil_of(believed(fitted)).coupling == expected
