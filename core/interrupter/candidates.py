"""Candidates for a wish: the full grid of stock values, cut down to those that can win.

Duty and frequency separate: with C = 1 F the grid of resistors and potentiometers gives the duty
and the period per farad, then the two neighbours of the ideal capacitor in each kind follow by
bisection. What is dropped on the way has a duty error alone that is larger than the whole
duty error of everything kept.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.interrupter.build import Build, Circuit, Cycle, pulse_time, timer_values
from core.interrupter.circuits import TwoTimer
from core.interrupter.halfcycle import FloatArray
from core.interrupter.sets import TimerWish, absent_parts, diode_and_stop_values
from core.interrupter.stock import CapacitorKind
from core.interrupter.timer import Timer

TRAVEL: Final = np.array([0.0, 0.5, 1.0])
_KEPT: Final = 2000
"""Grid points kept for the choice of capacitor."""
_PER_KIND: Final = 2
"""Candidates kept for each potentiometer and kind of capacitor."""
BIAS_MARGIN: Final = 20.0
"""Smallest ratio of timing current to input bias and leakage at the switching levels."""
LOWEST_DUTY: Final = 1e-3
"""Duty below which, or within which of 1, no end stop is looked for."""


@dataclass(frozen=True, slots=True)
class Candidates:
    """Columns of equal length: values by role, and the kind of each capacitor by role."""

    values: dict[str, FloatArray]
    kinds: dict[str, list[CapacitorKind]]

    def __len__(self) -> int:
        return len(next(iter(self.values.values())))


def odds(duty: ArrayLike) -> FloatArray:
    """Logarithm of duty/(1 - duty), the same scale near 0 and near 1.

    Examples
    --------
    >>> float(odds(0.5)), bool(np.isclose(odds(0.98), -odds(0.02)))
    (0.0, True)
    """
    held = np.clip(duty, 1e-12, 1 - 1e-12)
    return np.asarray(np.log(held / (1 - held)))[()]


def base_build(wish: TimerWish, timer: Timer) -> dict[str, float]:
    """Build without its parts: timer, supply, diodes, end stops."""
    return (
        timer_values(timer, wish.supply)
        | absent_parts()
        | diode_and_stop_values(wish.diode, wish.potentiometers)
    )


def duty_targets(wish: TimerWish) -> tuple[float, float, float]:
    """Duty wanted at the low stop, at half travel of a linear knob, and at the high stop."""
    low, high = (
        float(np.clip(duty, LOWEST_DUTY, 1 - LOWEST_DUTY))
        for duty in (wish.duty_low, wish.duty_high)
    )
    return low, (low + high) / 2, high


@lru_cache(maxsize=8)
def astable_candidates(wish: TimerWish, circuit: Circuit, timer: Timer) -> Candidates | None:
    """Best grid points of an astable with each potentiometer and each kind of capacitor."""
    base = base_build(wish, timer)
    resistors = wish.resistors.values()
    pots = np.array([0.0]) if wish.fixed_duty else np.array(wish.potentiometers.values)
    grid: dict[str, ArrayLike] = {
        **base,
        "charge_resistor": resistors[:, np.newaxis, np.newaxis],
        "discharge_resistor": resistors[np.newaxis, :, np.newaxis],
        "potentiometer": pots[np.newaxis, np.newaxis, :],
        "timing_capacitor": 1.0,
    }
    low, _, high = duty_targets(wish)
    at_low, at_high = circuit.cycle(grid, 0.0), circuit.cycle(grid, 1.0)
    error = np.abs(_cycle_odds(at_low) - odds(low)) + np.abs(_cycle_odds(at_high) - odds(high))
    allowed = _currents_hold(wish, circuit, timer, grid)
    error = np.where(allowed, error, np.inf)
    flat = np.flatnonzero(np.isfinite(error))
    if flat.size == 0:
        return None
    if flat.size > _KEPT:
        flat = flat[np.argpartition(error.ravel()[flat], _KEPT)[:_KEPT]]
    i, j, k = np.unravel_index(flat, error.shape)
    rows: dict[str, ArrayLike] = {
        **base,
        "charge_resistor": resistors[i],
        "discharge_resistor": resistors[j],
        "potentiometer": pots[k],
    }
    return _with_capacitor(wish, circuit, timer, rows, error.ravel()[flat])


def _cycle_odds(cycle: Cycle) -> FloatArray:
    with np.errstate(invalid="ignore"):
        return np.asarray(np.nan_to_num(np.log(cycle.on / cycle.off), nan=np.inf))


def _currents_hold(wish: TimerWish, circuit: Circuit, timer: Timer, grid: Build) -> FloatArray:
    """Whether pin currents stay in the level models and timing currents far above the bias."""
    lower, upper = wish.supply * timer.lower, wish.supply * timer.upper
    least = BIAS_MARGIN * timer.bias_current
    charge_slow, discharge_fast = circuit.timing_paths(grid, 1.0)
    charge_fast, discharge_slow = circuit.timing_paths(grid, 0.0)
    holds = (charge_slow.current(upper) >= least) & (discharge_slow.current(lower) >= least)
    if circuit.output_driven:
        limit = timer.output_limit
        sunk = discharge_fast.current(upper)
        return np.asarray(holds & (charge_fast.current(lower) <= limit) & (sunk <= limit))
    sunk = discharge_fast.current(upper) + wish.supply / np.asarray(grid["charge_resistor"])
    return np.asarray(holds & (sunk <= timer.discharge_limit))


def _with_capacitor(
    wish: TimerWish, circuit: Circuit, timer: Timer, rows: Build, duty_error: FloatArray
) -> Candidates | None:
    """Neighbours of the ideal capacitor in each kind, then the best per potentiometer and kind."""
    per_farad = _periods(circuit.cycle(_columns({**rows, "timing_capacitor": 1.0}), TRAVEL))
    ideal = 1 / (wish.frequency * per_farad[:, 1])
    least_current = _least_current(wish, circuit, timer, rows)
    chosen_rows: list[NDArray[np.int_]] = []
    chosen_values: list[FloatArray] = []
    kinds: list[CapacitorKind] = []
    pots = np.asarray(rows["potentiometer"], float)
    for kind in wish.capacitors:
        stock = kind.values()
        above = np.clip(np.searchsorted(stock, ideal), 1, len(stock) - 1)
        row = np.tile(np.arange(len(ideal)), 2)
        C = np.concatenate([stock[above - 1], stock[above]])
        periods = per_farad[row] * C[:, np.newaxis]
        frequency_error = np.abs(np.log(wish.frequency * periods)).max(axis=1)
        score = (
            wish.weights.frequency * frequency_error / wish.frequency_tolerance
            + wish.weights.duty * duty_error[row] / 2 / wish.duty_tolerance
        )
        leak = BIAS_MARGIN * kind.leakage * C * wish.supply * timer.upper
        score = np.where(leak <= least_current[row], score, np.inf)
        for pot in np.unique(pots):
            member = np.flatnonzero((pots[row] == pot) & np.isfinite(score))
            best = member[np.argsort(score[member], kind="stable")[:_PER_KIND]]
            chosen_rows.append(row[best])
            chosen_values.append(C[best])
            kinds += [kind] * len(best)
    picked = np.concatenate(chosen_rows)
    if picked.size == 0:
        return None
    roles = ("charge_resistor", "discharge_resistor", "potentiometer")
    values = {role: np.asarray(rows[role], float)[picked] for role in roles}
    return Candidates(
        values | {"timing_capacitor": np.concatenate(chosen_values)}, {"timing_capacitor": kinds}
    )


def _least_current(wish: TimerWish, circuit: Circuit, timer: Timer, rows: Build) -> FloatArray:
    charge, _ = circuit.timing_paths(rows, 1.0)
    _, discharge = circuit.timing_paths(rows, 0.0)
    upper, lower = wish.supply * timer.upper, wish.supply * timer.lower
    return np.asarray(np.minimum(charge.current(upper), discharge.current(lower)))


def _columns(rows: Build) -> dict[str, ArrayLike]:
    return {
        role: np.asarray(v)[:, np.newaxis] if np.ndim(v) == 1 else v for role, v in rows.items()
    }


def _periods(cycle: Cycle) -> FloatArray:
    return np.asarray(np.broadcast_to(cycle.period, np.broadcast(cycle.period, TRAVEL).shape))


@dataclass(frozen=True, slots=True)
class _Pulse:
    resistor: float
    potentiometer: float
    capacitor: float
    kind: CapacitorKind
    error: float


def capped_candidates(
    wish: TimerWish, circuit: Circuit, timer: Timer, *, astable: Circuit
) -> Candidates | None:
    """Candidates of the astable with the tightest monostable that caps the on-time."""
    del circuit
    from_astable = astable_candidates(wish, astable, timer)
    if from_astable is None:
        return None
    cap = wish.on_time_cap or 1.5 * duty_targets(wish)[2] / wish.frequency
    pulses = _pulses(wish, timer, cap, cap, pots=np.array([0.0]))
    if not pulses:
        return None
    best = pulses[0]
    return _joined(from_astable, [best], wish)


def two_timer_candidates(wish: TimerWish, circuit: Circuit, timer: Timer) -> Candidates | None:
    """Every good pair of a frequency part and an on-time part."""
    periods = _period_rows(wish, timer)
    low, _, high = duty_targets(wish)
    pots = np.array([0.0]) if wish.fixed_duty else np.array(wish.potentiometers.values)
    pulses = _pulses(wish, timer, low / wish.top_frequency, high / wish.top_frequency, pots=pots)
    if periods is None or not pulses:
        return None
    return _joined(periods, pulses[:8], wish)


def _joined(first: Candidates, pulses: list[_Pulse], wish: TimerWish) -> Candidates:
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
    trigger = min(wish.capacitors, key=lambda kind: abs(math.log(kind.low / 1e-9)))
    kinds = {role: [k for k in col for _ in range(times)] for role, col in first.kinds.items()}
    kinds["pulse_capacitor"] = [p.kind for p in pulses] * count
    kinds["trigger_capacitor"] = [trigger] * (count * times)
    return Candidates(values, kinds)


def _pulses(
    wish: TimerWish, timer: Timer, shortest: float, longest: float, *, pots: FloatArray
) -> list[_Pulse]:
    """Monostable parts for on-times from `shortest` to `longest`, best first."""
    base = base_build(wish, timer)
    resistors = wish.resistors.values()
    most = wish.supply * (1 - timer.upper) / (BIAS_MARGIN * timer.bias_current)
    found: list[_Pulse] = []
    end = wish.potentiometers.end_fraction / 2
    R = resistors[:, np.newaxis]
    R_low, R_high = R + pots * end, R + pots * (1 - end)
    unit = {**base, "pulse_capacitor": 1.0}
    time_low, time_high = pulse_time(unit, R_low), pulse_time(unit, R_high)
    holds = (R_high <= most) & (wish.supply / R_low <= timer.discharge_limit)
    for kind in wish.capacitors:
        values = kind.values()
        ideal = np.sqrt(shortest * longest / (time_low * time_high))
        at = np.clip(np.searchsorted(values, ideal), 1, len(values) - 1)
        for C in (values[at - 1], values[at]):
            error = np.abs(np.log(time_low * C / shortest)) + np.abs(
                np.log(time_high * C / longest)
            )
            leak = BIAS_MARGIN * kind.leakage * C * wish.supply * timer.upper
            keeps = holds & (leak <= wish.supply * (1 - timer.upper) / R_high)
            error = np.where(keeps, error + kind.tolerance, np.inf)
            for flat in np.argsort(error, axis=None)[:_PER_KIND]:
                i, k = np.unravel_index(flat, error.shape)
                if np.isfinite(error[i, k]):
                    found.append(
                        _Pulse(
                            float(resistors[i]), float(pots[k]), float(C[i, k]), kind,
                            float(error[i, k]),
                        )
                    )  # fmt: skip
    return sorted(found, key=lambda pulse: pulse.error)


def _period_rows(wish: TimerWish, timer: Timer) -> Candidates | None:
    """Equal charge and discharge resistors, frequency knob and capacitor for the period."""
    resistors = wish.resistors.values()
    knob = wish.frequency_high is not None
    pots = np.array(wish.potentiometers.values) if knob else np.array([0.0])
    R, P = (np.ravel(grid) for grid in np.meshgrid(resistors, pots, indexing="ij"))
    rows: dict[str, ArrayLike] = {
        **base_build(wish, timer),
        "charge_resistor": R,
        "discharge_resistor": R,
        "frequency_potentiometer": P,
        "pulse_resistor": 1e3,
        "pulse_capacitor": 1e-15,
        "timing_capacitor": 1.0,
    }
    circuit = TwoTimer()
    fastest = circuit.cycle({**rows, "frequency_travel": 1.0}, 0.0).period
    slowest = circuit.cycle({**rows, "frequency_travel": 0.0}, 0.0).period
    most = wish.supply * (1 - timer.upper) / (BIAS_MARGIN * timer.bias_current)
    holds = (most >= 2 * R + P) & (2 * wish.supply / R <= timer.discharge_limit)
    picked: list[tuple[int, float, CapacitorKind, float]] = []
    for kind in wish.capacitors:
        values = kind.values()
        ideal = 1 / np.sqrt(wish.frequency * wish.top_frequency * fastest * slowest)
        at = np.clip(np.searchsorted(values, ideal), 1, len(values) - 1)
        for C in (values[at - 1], values[at]):
            error = np.abs(np.log(wish.top_frequency * fastest * C)) + np.abs(
                np.log(wish.frequency * slowest * C)
            )
            leak = BIAS_MARGIN * kind.leakage * C * wish.supply * timer.upper
            keeps = holds & (leak <= wish.supply * (1 - timer.upper) / (2 * R + P))
            error = np.where(keeps, error + kind.tolerance, np.inf)
            best = np.argsort(error, kind="stable")[:_PER_KIND]
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
