"""Random valid designs: none crashes, each has closed books or says why it is not to be trusted."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from core.coil.resolve import resolved_coil
from core.design.document import Design
from core.evaluate import evaluate, results_object
from core.findings import Severity
from core.stage.build import stage_circuit
from core.stage.carrier import RESIDUAL_LIMIT, carrier
from core.stage.diagnosis import diagnose

BLOCK = 50


@pytest.mark.parametrize("first", range(0, 1000, BLOCK))
def test_a_thousand_designs_have_closed_books_or_a_finding(
    first: int, random_design: Callable[[int], Design], figure: Callable[..., None]
) -> None:
    worst = 0.0
    for seed in range(first, first + BLOCK):
        design = random_design(seed)
        run = carrier(stage_circuit(design, resolved_coil(design.coil)))
        stops = [item for item in run.findings if item.severity is Severity.STOP]
        assert run.residual <= RESIDUAL_LIMIT or stops, seed
        assert math.isfinite(run.input_power) or stops, seed
        if not run.residual > RESIDUAL_LIMIT:
            worst = max(worst, run.residual)
        if not run.oscillates and seed % 10 == 0:
            assert any(item.severity is Severity.STOP for item in diagnose(run)), seed
    figure(
        f"energy books of random designs {first} to {first + BLOCK - 1}, worst open part",
        worst,
        limit="1e-4",
        source="conservation of energy",
    )


@pytest.mark.parametrize("seed", range(2000, 2024))
def test_whole_evaluations_of_random_designs_have_only_numbers(
    seed: int, random_design: Callable[[int], Design]
) -> None:
    results = evaluate(random_design(seed))
    report = results_object(results)
    residual = report["carrier"]["energy_residual"]
    assert results.stopped or (residual is not None and residual <= RESIDUAL_LIMIT)
    for name, value in report["burst"].items():
        assert value is None or math.isfinite(value), name
    powers = results.curves.average_power
    assert (powers >= -1e-6).all()
    if results.junction_peak == math.inf:
        assert "thermal-runaway" in [item.code for item in results.findings]
