"""Whole result set as CSV or JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from typing import Any

from burstwise.core.evaluate import results_object
from burstwise.core.evaluate.results import Results
from burstwise.core.report.sheet import design_hash
from burstwise.core.table_text import csv_text
from burstwise.core.version import VERSION


def whole_object(results: Results) -> dict[str, Any]:
    """Results' object with the design, its hash, the curves over duty and the period's course."""
    curves, course = results.curves, results.course
    return {
        "program": f"Burstwise {VERSION}",
        "design_hash": design_hash(results.design),
        "design": results.design.model_dump(mode="json"),
        "results": results_object(results),
        "curves": {
            "duty": _numbers(curves.duty),
            "average_power_W": _numbers(curves.average_power),
            "peak_current_A": _numbers(curves.peak_current),
            "junction_mean_C": _numbers(curves.junction_mean),
            "junction_peak_C": _numbers(curves.junction_peak),
            "top_voltage_V": _numbers(curves.top_voltage),
        },
        "period": {
            "time_s": _numbers(course.time),
            "supply_current_A": _numbers(course.supply_current),
            "bus_voltage_V": _numbers(course.bus_voltage),
            "junction_C": _numbers(course.junction),
        },
    }


def results_json(results: Results) -> str:
    """JSON text of the whole result set; a value that does not exist is null."""
    return json.dumps(whole_object(results), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def results_csv(results: Results) -> str:
    """CSV text: key, unit and value of every single result, then the curves, by position."""
    whole = whole_object(results)
    whole["results"].pop("name")
    lines = [["key", "unit", "value"], ["design_hash", "", whole["design_hash"]]]
    for part in ("results", "curves", "period"):
        for key, value in _leaves(whole[part]):
            unit = key.rpartition("_")[2] if "_" in key else ""
            known = unit if unit in _UNITS else ""
            lines.append([key, known, value])
    return csv_text(lines)


_UNITS = frozenset({"H", "F", "Hz", "A", "V", "W", "J", "s", "m", "C", "K", "ohm", "percent"})


def _leaves(here: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    if isinstance(here, dict):
        for name, value in here.items():
            yield from _leaves(value, f"{path}.{name}" if path else name)
    elif isinstance(here, list):
        for number, value in enumerate(here):
            yield from _leaves(value, f"{path}[{number}]")
    else:
        yield path, here


def _numbers(values: Any) -> list[float | None]:
    return [float(value) if math.isfinite(value) else None for value in values]
