"""What the lists of equations share: the reason of a number, and influences from the table."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import KW_ONLY, dataclass

from burstwise.core.evaluate.results import Results
from burstwise.core.explain.explanation import Explanation, Influence, Term, term_influences

ENGINE = "the stage solved as a piecewise-linear network (docs/theory)"
ENGINE_VALIDITY = "Lumped coil, stiff bus over a cycle; see the sheet's assumptions."
_SUPPLY_STEP = 0.02


@dataclass(frozen=True, slots=True)
class Reason:
    """What an explanation says beside the number itself, as in `Explanation`.

    The influences are those of its own terms unless others are given; `exists` is false where the
    number has no meaning.
    """

    expression: str
    terms: Sequence[Term]
    _: KW_ONLY
    source: str
    validity: str
    words: str = ""
    influences: tuple[Influence, ...] | None = None
    exists: bool = True

    def of(self, path: str, title: str, value: float | None, unit: str) -> Explanation:
        """Explanation of a number by its key, name, value and unit."""
        known = self.exists and value is not None and math.isfinite(value)
        influences = self.influences
        if influences is None:
            own = known and self.expression
            influences = term_influences(self.expression, self.terms) if own else ()
        return Explanation(
            path,
            title,
            value if known else None,
            unit,
            self.expression if known else "",
            tuple(self.terms) if known else (),
            self.words,
            self.source,
            self.validity,
            influences,
        )


Explainer = Callable[[Results], Reason]


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
