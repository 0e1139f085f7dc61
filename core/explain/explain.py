"""Explanations by the key of a result."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from burstwise.core.errors import InputError
from burstwise.core.evaluate.report import figures_object
from burstwise.core.evaluate.result_rows import RESULT_ROWS, result_value
from burstwise.core.evaluate.results import Results
from burstwise.core.explain.build import Explainer
from burstwise.core.explain.burst_numbers import BURST_NUMBERS, limit_explanation
from burstwise.core.explain.carrier_numbers import CARRIER_NUMBERS
from burstwise.core.explain.coil_numbers import COIL_NUMBERS
from burstwise.core.explain.explanation import Explanation
from burstwise.core.explain.sources import Source, bibliography, keys_of

EXPLAINERS: Final[Mapping[str, Explainer]] = MappingProxyType(
    dict((*COIL_NUMBERS, *CARRIER_NUMBERS, *BURST_NUMBERS))
)
"""Explainers by the result's key; a limit is asked for as ``limits.<rating>``."""

_ROWS: Final = {row.path: row for row in RESULT_ROWS}


def explained_paths(results: Results) -> tuple[str, ...]:
    """Keys of everything that can be explained for these results."""
    return (*EXPLAINERS, *(f"limits.{limit.rating}" for limit in results.limits))


def explain(results: Results, path: str) -> Explanation:
    """Explanation of one number.

    Parameters
    ----------
    results : Results
        Evaluated design.
    path : str
        Key of the result, e.g. ``"thermal.junction_peak_C"`` or ``"limits.drain_voltage"``.

    Raises
    ------
    InputError
        No such result.
    """
    return replace(_explained(results, path), keys=keys_of(results, path))


def sources_of(results: Results) -> tuple[Source, ...]:
    """Sources that the figures of these results stand on, in the bibliography's order.

    Parameters
    ----------
    results : Results
        Evaluated design.
    """
    used = {key for path in explained_paths(results) for key in keys_of(results, path)}
    used.add("codata-2022")
    if results.coil.constants is not None:  # the field around a coil, and its distances
        used.add("icnirp-2010")
    return tuple(source for key, source in bibliography().items() if key in used)


def _explained(results: Results, path: str) -> Explanation:
    if path in EXPLAINERS:
        row = _ROWS[path]
        shown = row.without_carrier or results.carrier.oscillates
        value = result_value(figures_object(results), path) if shown else None
        return EXPLAINERS[path](results).of(path, row.title, value, row.unit)
    head, _, rating = path.partition(".")
    for limit in results.limits:
        if head == "limits" and limit.rating == rating:
            return limit_explanation(results, limit)
    raise InputError("explanation", path, "the key of a result")
