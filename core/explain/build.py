"""Small maker of explanations, shared by the lists of equations."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from burstwise.core.evaluate.results import Results
from burstwise.core.explain.explanation import Explanation, Influence, Term, term_influences

Explainer = Callable[[Results], Explanation]

ENGINE = "the stage solved as a piecewise-linear network (docs/theory)"
ENGINE_VALIDITY = "Lumped coil, stiff bus over a cycle; see the sheet's assumptions."
_SUPPLY_STEP = 0.02


def made(
    path: str,
    title: str,
    value: float | None,
    unit: str,
    expression: str,
    terms: Sequence[Term],
    *,
    words: str = "",
    source: str,
    validity: str,
    influences: tuple[Influence, ...] | None = None,
) -> Explanation:
    """Explanation whose influences are those of its own terms unless others are given."""
    known = value is not None and np.isfinite(value)
    if influences is None:
        influences = term_influences(expression, terms) if known and expression else ()
    return Explanation(
        path,
        title,
        float(value) if value is not None and known else None,
        unit,
        expression if known else "",
        tuple(terms) if known else (),
        words,
        source,
        validity,
        influences,
    )


def table_influences(results: Results, name: str) -> tuple[Influence, ...]:
    """Influence of supply voltage and on-resistance on a solved quantity, from the carrier table.

    Parameters
    ----------
    results : Results
        Evaluated design.
    name : str
        Quantity of the carrier table.
    """
    table, point = results.table, results.operation
    V, R = point.voltage, point.on_resistance
    here = float(table.value(name, V, R))
    if here == 0.0 or len(table.voltages) < 2:
        return ()
    step = _SUPPLY_STEP

    def moved(voltage: float, resistance: float) -> float:
        return (float(table.value(name, voltage, resistance)) / here - 1.0) / step

    found = [
        Influence("supply voltage", -moved(V * (1.0 - step), R)),
        Influence("on-resistance of the device", moved(V, R * (1.0 + step))),
    ]
    return tuple(sorted(found, key=lambda item: -abs(item.percent)))
