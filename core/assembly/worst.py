"""What the worst corner in which the stage runs asks of the parts."""

from __future__ import annotations

from dataclasses import fields, replace

from burstwise.core.evaluate.results import Results
from burstwise.core.limits.load import Load
from burstwise.core.stage.carrier import Carrier


def worst_load(results: Results) -> Load:
    """Load with each figure that of the corner that asks most, the lowest gate voltage with it.

    Parameters
    ----------
    results : Results
        Evaluated design; without corners its own load is what comes out.
    """
    loads = [results.load, *(item.load for item in results.corners)]
    names = [item.name for item in fields(Load)]
    most = {name: max(float(getattr(one, name)) for one in loads) for name in names}
    return replace(Load(**most), gate_valley=min(float(one.gate_valley) for one in loads))


def loss(results: Results, name: str) -> float:
    """Mean loss in one place, in the corner where it is largest [W]; 0 where there is none."""
    return burst_loss(results, name) * results.duty


def burst_loss(results: Results, name: str) -> float:
    """The same while the drive is on [W]."""
    return max(run.losses.get(name, 0.0) for run in stage_runs(results))


def stage_runs(results: Results) -> list[Carrier]:
    """Runs of the stage as designed and in each corner."""
    return [results.carrier, *(item.run for item in results.corners)]
