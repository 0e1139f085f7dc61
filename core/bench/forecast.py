"""Supply at which each rating is reached, with its interval, from readings at lower supplies."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.bench.bootstrap import DRAWS, column_errors, drawn_crossings, row_noise, turns
from burstwise.core.bench.derived import BenchSetup, derived_table
from burstwise.core.bench.forecast_findings import forecast_findings, refusal, rows_above_ratings
from burstwise.core.bench.instruments import Accuracy
from burstwise.core.bench.reached import Forecast, Rating, Reached
from burstwise.core.bench.readings import Reading, ReadingsTable
from burstwise.core.bench.trend import Trend, trend
from burstwise.core.errors import InputError
from burstwise.core.findings import heaviest_first

SIDE_LOAD: Final = 0.12
"""Rise of current and spike at unchanged supply when a hand or damp air loads the coil [-].

Common practice, no source: it lowers the supply at which dissipation is reached by some 8 to 10
per cent, which is what builders allow."""
EXTRAPOLATION: Final = 1.5
"""Highest forecast supply over highest measured supply that is not marked as extrapolated [-]."""
TAIL: Final = 0.05
"""Chance left out at each end of an interval: 5 % and 5 % leave 90 %."""
_SAME_DUTY: Final = 0.03


def forecast(
    table: ReadingsTable,
    setup: BenchSetup,
    ratings: Mapping[Rating, float],
    *,
    side_load: float = SIDE_LOAD,
) -> Forecast:
    """Forecast of the supply at which each rating is reached.

    Current and dissipation follow from the shunt, the voltage from the drain peak. Each is fitted
    with a power law and a straight line (`burstwise.core.bench.trend`); intervals come from a
    parametric bootstrap (`burstwise.core.bench.bootstrap`) that redraws the scatter of the rows,
    the law and its drift, and the errors of instruments and shunt. Current and dissipation share
    their draws, as they come from the same meter. Random numbers are the same at each call.

    Parameters
    ----------
    table : ReadingsTable
        At least four usable rows at three or more supplies.
    setup : BenchSetup
        Shunt, on-resistance and instruments.
    ratings : mapping of Rating to float
        Limits in V, A (RMS current) and W (dissipation in the device).
    side_load : float
        Rise of current and spike at unchanged supply under side loading [-].

    Returns
    -------
    Forecast
        Ratings in the order in which they are reached.

    Raises
    ------
    InputError
        No rating, a rating not above zero, or too few usable rows for every rating.

    Examples
    --------
    >>> from burstwise.core.bench.instruments import Shunt
    >>> rows = [
    ...     Reading(supply=volt, shunt_rms=0.005 * volt, drain_peak=6.0 * volt)
    ...     for volt in (20.0, 30.0, 40.0, 50.0)
    ... ]
    >>> table = ReadingsTable(tuple(rows))
    >>> told = forecast(
    ...     table, BenchSetup(Shunt(0.1), 2.0), {Rating.VOLTAGE: 400.0, Rating.POWER: 18.0}
    ... )
    >>> [(entry.rating.value, round(entry.supply, 1)) for entry in told.reached]
    [('power', 60.0), ('voltage', 66.7)]
    """
    _check(ratings, side_load)
    rows, others = rows_at_one_duty(table.rows)
    trends: dict[Rating, Trend] = {}
    refused: dict[Rating, InputError] = {}
    for rating in ratings:
        try:
            trends[rating] = _trend_of(rating, rows, setup)
        except InputError as error:
            refused[rating] = error
    if not trends:
        raise next(iter(refused.values()))
    drawn = np.stack(
        [_drawn_supplies(name, fitted, ratings[name], setup) for name, fitted in trends.items()]
    )
    first = drawn.min(axis=0)
    reached = tuple(
        sorted(
            (
                _reached(
                    name, fitted, ratings[name], setup, draws, first=first, side_load=side_load
                )
                for (name, fitted), draws in zip(trends.items(), drawn, strict=True)
            ),
            key=lambda entry: entry.supply,
        )
    )
    derived = derived_table(table.rows, setup)
    findings = [
        *rows_above_ratings(derived.rows, table.rows, ratings),
        *(refusal(rating, error) for rating, error in refused.items()),
        *table.findings,
        *derived.findings,
        *forecast_findings(reached, others, setup, side_load),
    ]
    return Forecast(
        derived=derived,
        reached=reached,
        first_low=_quantile(first, TAIL),
        first_high=_quantile(first, 1.0 - TAIL),
        side_load=side_load,
        findings=heaviest_first(findings),
    )


def rows_at_one_duty(rows: Iterable[Reading]) -> tuple[tuple[Reading, ...], tuple[Reading, ...]]:
    """Rows at the duty that most rows have, and the others.

    Average current and dissipation go with the duty, so rows at different duties are no trend.

    Examples
    --------
    >>> same, others = rows_at_one_duty([Reading(duty=0.5), Reading(duty=0.505), Reading()])
    >>> len(same), len(others)
    (2, 1)
    """
    kept = tuple(rows)
    if not kept:
        return (), ()
    duties = np.array([_duty(row) for row in kept])
    rising = np.sort(duties)
    low, high = ((1.0 + sign * _SAME_DUTY) * duties for sign in (-1, 1))
    sizes = np.searchsorted(rising, high, "right") - np.searchsorted(rising, low, "left")
    seed = int(np.argmax(sizes))
    same = [bool(low[seed] <= duty <= high[seed]) for duty in duties]
    return (
        tuple(row for row, one in zip(kept, same, strict=True) if one),
        tuple(row for row, one in zip(kept, same, strict=True) if not one),
    )


def _duty(row: Reading) -> float:
    return 1.0 if row.duty is None else row.duty


def _check(ratings: Mapping[Rating, float], side_load: float) -> None:
    if not ratings:
        raise InputError("rating", "none", f"one or more of {', '.join(Rating)}")
    for rating, limit in ratings.items():
        if not 0.0 < limit < math.inf:
            raise InputError(f"rating {rating}", limit, f"above 0 {rating.unit}")
    if not 0.0 <= side_load < 1.0:
        raise InputError("side loading", side_load, "at least 0 and below 100 %")


def _trend_of(rating: Rating, rows: Iterable[Reading], setup: BenchSetup) -> Trend:
    pairs = [
        (row.supply, value)
        for row in rows
        if row.supply is not None and (value := row.value(rating.column)) is not None
    ]
    supply, measured = np.array(pairs, dtype=np.float64).reshape(-1, 2).T
    amplitude = measured if rating is Rating.VOLTAGE else measured / setup.shunt.resistance
    return trend(supply, amplitude, name=f"readings of supply and {rating.column.label}")


def _amplitude(rating: Rating, limit: float, on_resistance: float) -> float:
    """Drain voltage [V] or RMS current [A] at which a rating is reached."""
    return math.sqrt(limit / on_resistance) if rating is Rating.POWER else limit


def _drawn_supplies(rating: Rating, fitted: Trend, limit: float, setup: BenchSetup) -> Array:
    """Supplies at which a rating may be reached, one per draw [V]."""
    meters = setup.instruments
    amplitude = _amplitude(rating, limit, setup.on_resistance)
    turn = turns(fitted, stream=16) if rating is Rating.VOLTAGE else None
    if rating is Rating.VOLTAGE:
        targets = column_errors(meters.drain_peak, stream=11).readings(amplitude)
        noise = row_noise(fitted, stream=1)
    else:
        shunt = column_errors(Accuracy(setup.shunt.tolerance), stream=12)
        voltage = shunt.true(np.full(DRAWS, setup.shunt.resistance)) * amplitude
        if rating is Rating.POWER:
            hot = column_errors(Accuracy(setup.on_resistance_tolerance), stream=13)
            voltage = voltage / np.sqrt(hot.true(np.ones(DRAWS)))
        read = column_errors(meters.shunt_rms, stream=14).readings(voltage)
        targets = read / setup.shunt.resistance
        noise = row_noise(fitted, stream=2)
    crossings = drawn_crossings(fitted, targets, noise, turn=turn)
    return column_errors(meters.supply, stream=15).true(crossings)


def _reached(
    rating: Rating,
    fitted: Trend,
    limit: float,
    setup: BenchSetup,
    drawn: Array,
    *,
    first: Array,
    side_load: float,
) -> Reached:
    amplitude = _amplitude(rating, limit, setup.on_resistance)
    supply = fitted.supply_at(amplitude)
    return Reached(
        rating=rating,
        limit=limit,
        supply=supply,
        low=_quantile(drawn, TAIL),
        high=_quantile(drawn, 1.0 - TAIL),
        side_loaded_supply=fitted.supply_at(amplitude / (1.0 + side_load)),
        probability_first=float(np.mean((drawn <= first) & np.isfinite(drawn))),
        extrapolated=supply > EXTRAPOLATION * float(fitted.supply.max()),
        trend=fitted,
    )


def _quantile(drawn: Array, part: float) -> float:
    """Quantile that may be infinite, without interpolation between infinities."""
    return float(np.sort(drawn)[min(int(part * len(drawn)), len(drawn) - 1)])
