"""Random valid designs: none crashes, each has closed books or says why it is not to be trusted."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from burstwise.core.coil.resolve import resolved_coil
from burstwise.core.design.document import Design
from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.findings import Severity
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import RESIDUAL_LIMIT, carrier
from burstwise.core.stage.diagnosis import diagnose

BLOCK = 50
UNSOLVED = {"driver-chatter", "too-quick-to-solve"}
MOST_STOPPED = 2


@pytest.mark.parametrize(
    "first",
    [
        pytest.param(first, marks=[pytest.mark.slow] if first >= 400 else [])
        for first in range(0, 1000, BLOCK)
    ],
)
def test_a_thousand_designs_have_closed_books_or_are_stopped(
    first: int, random_design: Callable[[int], Design], figure: Callable[..., None]
) -> None:
    """Books are open only where a solve was stopped; those are few, counted and said to be so."""
    residuals, stopped, oscillating = [], 0, 0
    for seed in range(first, first + BLOCK):
        design = random_design(seed)
        run = carrier(stage_circuit(design, resolved_coil(design.coil)))
        oscillating += run.oscillates
        codes = {item.code for item in run.findings if item.severity is Severity.STOP}
        if codes & UNSOLVED:
            stopped += 1
            continue
        residuals.append(run.residual)
        assert math.isfinite(run.input_power), seed
        if not run.oscillates and seed % 10 == 0:
            assert any(item.severity is Severity.STOP for item in diagnose(run)), seed
    block = f"random designs {first} to {first + BLOCK - 1}"
    source = "conservation of energy"
    figure(f"energy books of {block}, worst open part", max(residuals), limit="1e-4", source=source)
    figure(f"solves stopped, {block}", stopped, limit=f"at most {MOST_STOPPED}", source="count")
    figure(f"oscillating, {block}", oscillating, limit="at least 5", source="count")
    assert max(residuals) <= RESIDUAL_LIMIT
    assert stopped <= MOST_STOPPED
    assert oscillating >= 5


@pytest.mark.parametrize("seed", range(2000, 2016))
def test_whole_evaluations_of_random_designs_have_only_numbers(
    seed: int, random_design: Callable[[int], Design]
) -> None:
    results = evaluate(random_design(seed))
    report = results_object(results)
    residual = report["carrier"]["energy_residual"]
    unsolved = UNSOLVED & {item.code for item in results.findings}
    assert unsolved or (residual is not None and residual <= RESIDUAL_LIMIT)
    for name, value in report["burst"].items():
        assert value is None or math.isfinite(value), name
    powers = results.curves.average_power
    assert (powers >= -1e-6).all()
    if results.junction_peak == math.inf:
        assert "thermal-runaway" in [item.code for item in results.findings]
