"""Candidates of the circuits with a monostable: on-time parts, period parts and their pairs."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from burstwise.core.arrays import Array
from burstwise.core.interrupter.build import Circuit, pulse_time
from burstwise.core.interrupter.candidates import (
    BIAS_MARGIN,
    PER_KIND,
    Attempt,
    Candidates,
    astable_candidates,
    duty_targets,
)
from burstwise.core.interrupter.stock import CapacitorKind, Stock


@dataclass(frozen=True, slots=True)
class _Pulse:
    resistor: float
    potentiometer: float
    capacitor: float
    kind: CapacitorKind
    error: float


def capped_candidates(attempt: Attempt, *, astable: Circuit) -> Candidates | None:
    """Candidates of the astable with the tightest monostable that caps the on-time."""
    from_astable = astable_candidates(replace(attempt, circuit=astable))
    if from_astable is None:
        return None
    cap = attempt.wish.on_time_cap or attempt.wish.usual_cap
    pulses = _pulses(attempt, cap, cap, pots=np.array([0.0]))
    if not pulses:
        return None
    return _joined(from_astable, pulses[:1], attempt.stock)


def two_timer_candidates(attempt: Attempt) -> Candidates | None:
    """Every good pair of a frequency part and an on-time part."""
    wish = attempt.wish
    periods = _period_rows(attempt)
    low, _, high = duty_targets(wish)
    pots = np.array([0.0] if wish.fixed_duty else attempt.stock.potentiometers.values)
    pulses = _pulses(attempt, low / wish.top_frequency, high / wish.top_frequency, pots=pots)
    if periods is None or not pulses:
        return None
    return _joined(periods, pulses[:8], attempt.stock)


def _joined(first: Candidates, pulses: list[_Pulse], stock: Stock) -> Candidates:
    """All pairs of rows and pulses, with the trigger's fixed parts."""
    count, times = len(first), len(pulses)
    values = {role: np.repeat(v, times) for role, v in first.values.items()}
    values |= {
        "pulse_resistor": np.tile([p.resistor for p in pulses], count),
        "pulse_capacitor": np.tile([p.capacitor for p in pulses], count),
        "trigger_resistor": np.full(count * times, 10e3),
        "trigger_capacitor": np.full(count * times, 1e-9),
    }
    if any(p.potentiometer for p in pulses):
        values["potentiometer"] = np.tile([p.potentiometer for p in pulses], count)
    trigger = min(stock.capacitors, key=lambda kind: abs(math.log(kind.low / 1e-9)))
    kinds = {role: [k for k in col for _ in range(times)] for role, col in first.kinds.items()}
    kinds["pulse_capacitor"] = [p.kind for p in pulses] * count
    kinds["trigger_capacitor"] = [trigger] * (count * times)
    return Candidates(values, kinds)


def _pulses(attempt: Attempt, shortest: float, longest: float, *, pots: Array) -> list[_Pulse]:
    """Monostable parts for on-times from `shortest` to `longest`, best first."""
    timer, supply = attempt.timer, attempt.wish.supply
    resistors = attempt.stock.resistors.values()
    upper = attempt.levels[1]
    most = (supply - upper) / (BIAS_MARGIN * timer.bias_current)
    found: list[_Pulse] = []
    end = attempt.stock.potentiometers.end_fraction / 2
    R = resistors[:, np.newaxis]
    R_low, R_high = R + pots * end, R + pots * (1 - end)
    unit = {**attempt.bare(), "pulse_capacitor": 1.0}
    time_low, time_high = pulse_time(unit, R_low), pulse_time(unit, R_high)
    holds = (R_high <= most) & (supply / R_low <= timer.discharge_limit)
    for kind in attempt.stock.capacitors:
        values = kind.values()
        ideal = np.sqrt(shortest * longest / (time_low * time_high))
        at = np.clip(np.searchsorted(values, ideal), 1, len(values) - 1)
        for C in (values[at - 1], values[at]):
            error = np.abs(np.log(time_low * C / shortest)) + np.abs(
                np.log(time_high * C / longest)
            )
            leak = BIAS_MARGIN * kind.leakage * C * upper
            keeps = holds & (leak <= (supply - upper) / R_high)
            error = np.where(keeps, error + kind.tolerance, np.inf)
            for flat in np.argsort(error, axis=None)[:PER_KIND]:
                i, k = np.unravel_index(flat, error.shape)
                if np.isfinite(error[i, k]):
                    found.append(
                        _Pulse(
                            float(resistors[i]), float(pots[k]), float(C[i, k]), kind,
                            float(error[i, k]),
                        )
                    )  # fmt: skip
    return sorted(found, key=lambda pulse: pulse.error)


def _period_rows(attempt: Attempt) -> Candidates | None:
    """Equal charge and discharge resistors, frequency knob and capacitor for the period."""
    wish, timer, supply = attempt.wish, attempt.timer, attempt.wish.supply
    resistors = attempt.stock.resistors.values()
    knob = wish.frequency_high is not None
    pots = np.array(attempt.stock.potentiometers.values if knob else [0.0])
    R, P = (np.ravel(grid) for grid in np.meshgrid(resistors, pots, indexing="ij"))
    rows: dict[str, ArrayLike] = {
        **attempt.bare(),
        "charge_resistor": R,
        "discharge_resistor": R,
        "frequency_potentiometer": P,
        "pulse_resistor": 1e3,
        "pulse_capacitor": 1e-15,
        "timing_capacitor": 1.0,
    }
    fastest, slowest = (
        attempt.circuit.cycle({**rows, "frequency_travel": travel}, 0.0).period
        for travel in (1.0, 0.0)
    )
    upper = attempt.levels[1]
    most = (supply - upper) / (BIAS_MARGIN * timer.bias_current)
    holds = (most >= 2 * R + P) & (2 * supply / R <= timer.discharge_limit)
    picked: list[tuple[int, float, CapacitorKind, float]] = []
    for kind in attempt.stock.capacitors:
        values = kind.values()
        ideal = 1 / np.sqrt(wish.frequency * wish.top_frequency * fastest * slowest)
        at = np.clip(np.searchsorted(values, ideal), 1, len(values) - 1)
        for C in (values[at - 1], values[at]):
            error = np.abs(np.log(wish.top_frequency * fastest * C)) + np.abs(
                np.log(wish.frequency * slowest * C)
            )
            leak = BIAS_MARGIN * kind.leakage * C * upper
            keeps = holds & (leak <= (supply - upper) / (2 * R + P))
            error = np.where(keeps, error + kind.tolerance, np.inf)
            best = np.argsort(error, kind="stable")[:PER_KIND]
            picked += [(int(i), float(C[i]), kind, float(error[i])) for i in best]
    picked = sorted((p for p in picked if math.isfinite(p[3])), key=lambda p: p[3])[:8]
    if not picked:
        return None
    index = np.array([p[0] for p in picked])
    values_by_role = {
        "charge_resistor": R[index],
        "discharge_resistor": R[index],
        "timing_capacitor": np.array([p[1] for p in picked]),
    }
    if knob:
        values_by_role["frequency_potentiometer"] = P[index]
    return Candidates(values_by_role, {"timing_capacitor": [p[2] for p in picked]})
