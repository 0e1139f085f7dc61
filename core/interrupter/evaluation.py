"""Bands, errors and scores of all candidates of one circuit at once; the best become sets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from burstwise.core.arrays import Array
from burstwise.core.design.interrupter import TimerParts
from burstwise.core.interrupter.build import Circuit
from burstwise.core.interrupter.candidates import (
    DUTY_TOLERANCE,
    FREQUENCY_TOLERANCE,
    TRAVEL,
    Attempt,
    Candidates,
    duty_targets,
    odds,
)
from burstwise.core.interrupter.sets import Band, Part, TimerSet, part_from
from burstwise.core.interrupter.stock import Stock
from burstwise.core.interrupter.tolerance import (
    Limits,
    corner_bands,
    level_spreads,
    relative_limits,
)
from burstwise.core.interrupter.validity import WIDEST_PULSE, set_findings

_BEST: Final = 12
"""Candidates of one circuit and timer that become sets, by score."""
_CLOSEST: Final = 3
"""Candidates that become sets for coming closest to the wish, whatever their score."""
_MIDDLE, _END = 1, 2


@dataclass(frozen=True, slots=True)
class _Lines:
    """Nominal, lowest and highest, each one row per candidate and one column per travel."""

    nominal: Array
    low: Array
    high: Array

    def over_travel(self, row: int) -> Band:
        """At half travel, with the extremes over the whole travel."""
        return Band(
            float(self.nominal[row, _MIDDLE]),
            float(self.low[row].min()),
            float(self.high[row].max()),
        )

    def at(self, row: int, column: int) -> Band:
        """At one travel."""
        return Band(
            float(self.nominal[row, column]),
            float(self.low[row, column]),
            float(self.high[row, column]),
        )


@dataclass(frozen=True, slots=True)
class _Evaluation:
    fast: _Lines
    slow: _Lines | None
    duty: _Lines
    frequency_error: Array
    duty_errors: Array
    part_count: NDArray[np.int_]
    score: Array
    order: NDArray[np.int_]


def evaluated_sets(attempt: Attempt, candidates: Candidates) -> list[TimerSet]:
    """Sets of the best candidates, with their bands, errors, score and findings."""
    found = _evaluation(attempt, candidates)
    return [_set(attempt, candidates, found, int(row)) for row in found.order]


def _evaluation(attempt: Attempt, candidates: Candidates) -> _Evaluation:
    wish, circuit = attempt.wish, attempt.circuit
    build: dict[str, ArrayLike] = {
        **attempt.bare(),
        **{role: values[:, np.newaxis] for role, values in candidates.values.items()},
    }
    spreads = _spreads(attempt, candidates, build)
    fast, duty = _lines(circuit, build, spreads, len(candidates))
    frequency_error = _frequency_error(fast, wish.top_frequency)
    slow: _Lines | None = None
    if wish.frequency_high is not None:
        slow, _ = _lines(circuit, {**build, "frequency_travel": 0.0}, spreads, len(candidates))
        frequency_error = np.maximum(frequency_error, _frequency_error(slow, wish.frequency))
    errors = np.abs(odds(duty.nominal) - odds(np.array(duty_targets(wish))))
    count = (
        2 * circuit.timers
        + circuit.diodes
        + sum((values > 0).astype(int) for values in candidates.values.values())
    )
    spread = (fast.high[:, _MIDDLE] - fast.low[:, _MIDDLE]) / 2 / fast.nominal[:, _MIDDLE]
    weights = wish.weights
    score = (
        weights.frequency * frequency_error / FREQUENCY_TOLERANCE
        + weights.duty * (errors[:, 0] + errors[:, _END]) / 2 / DUTY_TOLERANCE
        + weights.middle * errors[:, _MIDDLE] / DUTY_TOLERANCE
        + weights.spread * spread / 0.25
        + weights.parts * count / 10
    )
    duty_error = np.maximum(errors[:, 0], errors[:, _END])
    miss = frequency_error / FREQUENCY_TOLERANCE + duty_error / DUTY_TOLERANCE
    fails = frequency_error > np.log1p(FREQUENCY_TOLERANCE)
    fails |= duty_error > np.log1p(DUTY_TOLERANCE)
    fails |= (duty.high[:, _END] > WIDEST_PULSE) & ("pulse_resistor" in candidates.values)
    best = np.lexsort((score, fails))[:_BEST]
    order = np.unique(np.concatenate([best, np.argsort(miss, kind="stable")[:_CLOSEST]]))
    return _Evaluation(fast, slow, duty, frequency_error, errors, np.asarray(count), score, order)


def _lines(
    circuit: Circuit, build: Mapping[str, ArrayLike], spreads: Mapping[str, Limits], count: int
) -> tuple[_Lines, _Lines]:
    bands = corner_bands(lambda b: circuit.free_cycle(b, TRAVEL), build, spreads=spreads)
    shape = (count, len(TRAVEL))
    frequency, low, high, duty, duty_low, duty_high = (
        np.broadcast_to(values, shape)
        for values in (
            bands.nominal.frequency, bands.frequency_low, bands.frequency_high,
            bands.nominal.duty, bands.duty_low, bands.duty_high,
        )
    )  # fmt: skip
    return _Lines(frequency, low, high), _Lines(duty, duty_low, duty_high)


def _frequency_error(lines: _Lines, wanted: float) -> Array:
    floor = np.finfo(float).tiny
    return np.asarray(np.abs(np.log(np.maximum(lines.nominal, floor) / wanted)).max(axis=1))


def _spreads(
    attempt: Attempt, candidates: Candidates, build: Mapping[str, ArrayLike]
) -> dict[str, Limits]:
    wish, stock = attempt.wish, attempt.stock
    spreads = level_spreads(attempt.circuit, attempt.timer, build, diode=stock.diode)
    spreads["supply"] = relative_limits(wish.supply, wish.supply_tolerance)
    for role in candidates.values:
        spreads[role] = relative_limits(build[role], _tolerance(stock, candidates, role))
    if any(_is_pot(role) for role in candidates.values):
        spreads["pot_end"] = Limits(0.0, stock.potentiometers.end_fraction)
    return spreads


def _tolerance(stock: Stock, candidates: Candidates, role: str) -> ArrayLike:
    if role in candidates.kinds:
        return np.array([kind.tolerance for kind in candidates.kinds[role]])[:, np.newaxis]
    return stock.potentiometers.tolerance if _is_pot(role) else stock.resistors.tolerance


def _is_pot(role: str) -> bool:
    return role.endswith("potentiometer")


def _set(attempt: Attempt, candidates: Candidates, found: _Evaluation, row: int) -> TimerSet:
    roles = [role for role, values in candidates.values.items() if values[row] > 0]
    errors = found.duty_errors[row]
    one = TimerSet(
        given=_given(attempt, candidates, row),
        parts=tuple(_part(attempt.stock, candidates, role, row) for role in roles),
        frequency=found.fast.over_travel(row),
        frequency_range=None if found.slow is None else found.slow.over_travel(row),
        duty_low=found.duty.at(row, 0),
        duty_high=found.duty.at(row, _END),
        duty_middle=float(found.duty.nominal[row, _MIDDLE]),
        part_count=int(found.part_count[row]),
        frequency_error=float(found.frequency_error[row]),
        duty_error=float(max(errors[0], errors[_END])),
        score=float(found.score[row]),
    )
    return replace(one, findings=set_findings(one))


def _given(attempt: Attempt, candidates: Candidates, row: int) -> TimerParts:
    """A candidate as a design holds it; roles that its circuit has not keep their defaults."""
    wish, pots = attempt.wish, attempt.stock.potentiometers
    values: dict[str, Any] = {
        "circuit": attempt.circuit.name,
        "timer": attempt.timer.name,
        "potentiometer": 0.0,
    }
    values |= {role: float(column[row]) for role, column in candidates.values.items()}
    for role in candidates.kinds.keys() & {"timing_capacitor", "pulse_capacitor"}:
        kind = candidates.kinds[role][row]
        values |= {f"{role}_kind": kind.name, f"{role}_tolerance": kind.tolerance}
    return TimerParts.model_construct(
        **values,
        supply=wish.supply,
        supply_tolerance=wish.supply_tolerance,
        resistor_tolerance=wish.resistor_tolerance,
        potentiometer_tolerance=pots.tolerance,
        potentiometer_end=pots.end_fraction,
        potentiometer_middle=pots.middle,
        diode=wish.diode,
    )


def _part(stock: Stock, candidates: Candidates, role: str, row: int) -> Part:
    value = float(candidates.values[role][row])
    if _is_pot(role):
        return part_from(role, value, stock.potentiometers)
    sort = candidates.kinds[role][row] if role in candidates.kinds else stock.resistors
    return part_from(role, value, sort, series="" if sort.listed else sort.series)
