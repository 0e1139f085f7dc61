"""Report of a forecast under the names that scripts rely on, ready for a JSON writer."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path

from burstwise.core.bench.derived import BenchSetup, DerivedRow
from burstwise.core.bench.forecast import forecast
from burstwise.core.bench.reached import Forecast, Rating, Reached
from burstwise.core.bench.readings_text import load_readings
from burstwise.core.errors import InputError
from burstwise.core.units import quantity

JsonValue = None | bool | int | float | str | list["JsonValue"] | dict[str, "JsonValue"]
"""What a JSON writer takes; numbers are SI and the unit ends each key."""


def forecast_of_file(
    path: str | Path, setup: BenchSetup, ratings: Mapping[Rating, float]
) -> Forecast:
    """Forecast from a file of readings.

    Raises
    ------
    FileError
        The file cannot be read.
    InputError
        Too few usable rows, or a rating that is not above zero.
    """
    return forecast(load_readings(path), setup, ratings)


def rating_from_text(text: str) -> tuple[Rating, float]:
    """Rating as a person writes it on a command line.

    Examples
    --------
    >>> rating_from_text("voltage=600V")
    (<Rating.VOLTAGE: 'voltage'>, 600.0)
    """
    name, separator, value = text.partition("=")
    plain = name.strip().lower()
    if not separator or plain not in tuple(Rating):
        limit = f"NAME=VALUE with a name of {', '.join(Rating)}"
        raise InputError("rating", text, limit)
    rating = Rating(plain)
    return rating, quantity(value, rating.unit, field=f"rating {rating}")


def forecast_report(told: Forecast) -> dict[str, JsonValue]:
    r"""Rows, ratings in the order in which they are reached, and findings.

    A supply that is never reached is None.

    Examples
    --------
    >>> from burstwise.core.bench.instruments import Shunt
    >>> from burstwise.core.bench.readings_text import parse_readings
    >>> text = "supply [V],shunt rms [V]\n20,.1\n30,.15\n40,.2\n50,.25\n"
    >>> setup = BenchSetup(Shunt(0.1), on_resistance=2.0)
    >>> told = forecast(parse_readings(text), setup, {Rating.POWER: 18.0})
    >>> [round(entry["supply_V"], 1) for entry in forecast_report(told)["reached"]]
    [60.0]
    """
    return {
        "rows": [_row(row) for row in told.derived.rows],
        "reached": [_reached(entry) for entry in told.reached],
        "first": {
            "low_V": _finite(told.first_low),
            "high_V": _finite(told.first_high),
            "side_load": told.side_load,
        },
        "findings": [dict(finding.as_object()) for finding in told.findings],
    }


def _row(row: DerivedRow) -> dict[str, JsonValue]:
    reading = row.reading
    return {
        "line": reading.line,
        "supply_V": reading.supply,
        "drain_peak_V": reading.drain_peak,
        "current_rms_A": row.current_rms.value,
        "current_rms_uncertainty_A": row.current_rms.uncertainty,
        "current_mean_A": row.current_mean.value,
        "mean_assumed": row.mean_assumed,
        "input_power_W": row.input_power.value,
        "input_power_uncertainty_W": row.input_power.uncertainty,
        "coil_resistance_ohm": row.coil_resistance.value,
        "coil_resistance_uncertainty_ohm": row.coil_resistance.uncertainty,
        "device_power_W": row.device_power.value,
        "device_power_uncertainty_W": row.device_power.uncertainty,
        "efficiency": row.efficiency.value,
    }


def _reached(entry: Reached) -> dict[str, JsonValue]:
    return {
        "rating": str(entry.rating),
        "limit": entry.limit,
        "supply_V": _finite(entry.supply),
        "low_V": _finite(entry.low),
        "high_V": _finite(entry.high),
        "side_loaded_supply_V": _finite(entry.side_loaded_supply),
        "probability_first": entry.probability_first,
        "law": str(entry.trend.best.law),
        "extrapolated": entry.extrapolated,
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
