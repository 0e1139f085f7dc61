"""Tolerance of a set of parts: worst case, many random builds, temperature, what matters most."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from burstwise.core.arrays import Array
from burstwise.core.errors import InputError
from burstwise.core.interrupter.build import Build, Circuit, Cycle
from burstwise.core.interrupter.circuits import circuit_named
from burstwise.core.interrupter.sets import Band, TimerSet
from burstwise.core.interrupter.stock import DiodeStock
from burstwise.core.interrupter.timer import Timer


@dataclass(frozen=True, slots=True)
class Limits:
    """Lowest and highest value of one quantity of a build."""

    low: Array | float
    high: Array | float


Spreads = Mapping[str, Limits]
"""Limits by role."""
_SWEEPS: Final = 4
"""Most rounds of flips; in practice the second finds nothing to flip."""
_GAIN: Final = 1e-12
"""Relative gain below which a flip is rounding."""


@dataclass(frozen=True, slots=True)
class CycleBands:
    """Nominal cycle and the corners of the tolerance box, of the shape of the evaluation."""

    nominal: Cycle
    frequency_low: Array
    frequency_high: Array
    duty_low: Array
    duty_high: Array


def relative_limits(value: ArrayLike, tolerance: ArrayLike) -> Limits:
    """Limits of a value with a relative tolerance on both sides.

    Examples
    --------
    >>> relative_limits(100.0, 0.05).high
    np.float64(105.0)
    """
    return Limits(
        np.multiply(value, np.subtract(1.0, tolerance)), np.multiply(value, np.add(1.0, tolerance))
    )


def level_spreads(
    circuit: Circuit, timer: Timer, build: Build, *, diode: DiodeStock
) -> dict[str, Limits]:
    """Limits of what is not a bought value and matters: thresholds, levels, drops."""
    second = circuit.timers > 1
    levels = ["upper", "lower", *(["pulse_upper"] if second else [])]
    spreads = {role: relative_limits(build[role], timer.threshold_tolerance) for role in levels}
    if circuit.output_driven:
        levels = ["output_high_drop", "output_high_resistance", "output_low"]
        levels.append("output_low_resistance")
    else:
        levels = []
    if second or not circuit.output_driven:
        levels += ["discharge_saturation", "discharge_resistance"]
    spreads |= {role: relative_limits(build[role], timer.level_spread) for role in levels}
    for role in ("charge_drop", "discharge_drop") if circuit.steered else ():
        drop = np.asarray(build[role], float)
        spreads[role] = Limits(np.maximum(drop - diode.spread, 0.0), drop + diode.spread)
    return spreads


def spreads_of(chosen: TimerSet) -> dict[str, Limits]:
    """Limits of everything in the set, by role."""
    build = chosen.build()
    spreads = level_spreads(circuit_named(chosen.circuit), chosen.timer, build, diode=chosen.diode)
    spreads["supply"] = relative_limits(build["supply"], chosen.given.supply_tolerance)
    spreads |= {p.role: relative_limits(p.value, p.tolerance) for p in chosen.parts}
    if any(part.role.endswith("potentiometer") for part in chosen.parts):
        spreads["pot_end"] = Limits(0.0, chosen.potentiometer.end_fraction)
    return spreads


def corner_bands(
    evaluate: Callable[[Build], Cycle], nominal: Build, *, spreads: Spreads
) -> CycleBands:
    """Worst case of frequency and duty over a box of limits.

    The extremes lie in corners of the box, one for each side of each result. The corner starts
    with the way in which each quantity moves the result on its own, then quantities are flipped
    one after the other as long as that worsens the result: near an end stop the way of one
    quantity can depend on another (potentiometer and its end resistance), and a cap on the on-time
    that does nothing at nominal can do so in a corner.
    """
    middle = evaluate(nominal)
    sides = _single_ways(evaluate, nominal, spreads)
    shape = (4, *np.broadcast_shapes(np.shape(middle.frequency), np.shape(middle.duty)))
    corners: dict[str, ArrayLike] = dict(nominal)
    for role, high in sides.items():
        sides[role] = np.broadcast_to(high, shape).copy()
        corners[role] = np.where(sides[role], spreads[role].high, spreads[role].low)
    worst = _extremes(evaluate(corners), shape)
    live = dict(spreads)
    for _ in range(_SWEEPS):
        flipped = False
        for role, limits in tuple(live.items()):
            other = np.where(sides[role], limits.low, limits.high)
            found = _extremes(evaluate({**corners, role: other}), shape)
            if np.array_equal(found, worst):
                del live[role]
            better = found > worst * (1 + _GAIN * np.sign(worst))
            if better.any():
                flipped = True
                worst = np.where(better, found, worst)
                sides[role] ^= better
                corners[role] = np.where(sides[role], limits.high, limits.low)
        if not flipped:
            break
    return CycleBands(middle, -worst[0], worst[1], -worst[2], worst[3])


def _single_ways(
    evaluate: Callable[[Build], Cycle], nominal: Build, spreads: Spreads
) -> dict[str, NDArray[np.bool_]]:
    """For each quantity, whether its high side worsens each of the four results.

    What does not move a result starts on the side that lengthens the on-time for the high duty.
    """
    sides: dict[str, NDArray[np.bool_]] = {}
    for role, limits in spreads.items():
        low, high = (evaluate({**nominal, role: side}) for side in (limits.low, limits.high))
        faster, longer = high.frequency > low.frequency, high.duty >= low.duty
        ways = np.broadcast_arrays(~faster, faster, ~longer, longer)
        sides[role] = np.stack(ways)
    return sides


def _extremes(cycle: Cycle, shape: tuple[int, ...]) -> Array:
    """What each of the four corners is after: -f, f, -duty, duty."""
    frequency, duty = (np.broadcast_to(v, shape) for v in (cycle.frequency, cycle.duty))
    return np.stack([-frequency[0], frequency[1], -duty[2], duty[3]])


@dataclass(frozen=True, slots=True)
class TravelBands:
    """Duty and frequency along the knob's travel, nominal and worst case."""

    travel: Array
    frequency: Array
    frequency_low: Array
    frequency_high: Array
    duty: Array
    duty_low: Array
    duty_high: Array


def travel_bands(chosen: TimerSet, travel: ArrayLike) -> TravelBands:
    """Duty and frequency with their worst case at each travel of 0 to 1.

    Raises
    ------
    InputError
        Travel outside 0 to 1.
    """
    at = np.atleast_1d(np.asarray(travel, float))
    if at.size == 0 or at.min() < 0 or at.max() > 1:
        raise InputError("travel", travel, "0 to 1")
    circuit = circuit_named(chosen.circuit)
    bands = corner_bands(
        lambda build: circuit.cycle(build, at), chosen.build(), spreads=spreads_of(chosen)
    )
    nominal = bands.nominal
    return TravelBands(
        at,
        _shaped(nominal.frequency, at),
        _shaped(bands.frequency_low, at),
        _shaped(bands.frequency_high, at),
        _shaped(nominal.duty, at),
        _shaped(bands.duty_low, at),
        _shaped(bands.duty_high, at),
    )


def _shaped(values: Array, like: Array) -> Array:
    return np.broadcast_to(values, like.shape)


@dataclass(frozen=True, slots=True)
class Influence:
    """How much one quantity moves the results between its limits, each as half the swing.

    Parameters
    ----------
    role : str
        Part or timer property.
    frequency, duty_low, duty_high : float
        Relative half-swings.
    share : float
        Share of the sum of squared half-swings of frequency and both duties.
    """

    role: str
    frequency: float
    duty_low: float
    duty_high: float
    share: float


def influences(chosen: TimerSet, *, spreads: Spreads | None = None) -> tuple[Influence, ...]:
    """What moves frequency and duty most, strongest first: the part to buy tighter."""
    circuit = circuit_named(chosen.circuit)
    build = chosen.build()
    swings: dict[str, Array] = {}
    for role, limits in (spreads_of(chosen) if spreads is None else spreads).items():
        low, high = (_three(circuit, {**build, role: side}) for side in (limits.low, limits.high))
        swings[role] = (high - low) / (high + low)
    total = sum(float(swing @ swing) for swing in swings.values()) or 1.0
    ranked = (
        Influence(
            role,
            float(abs(swing[0])),
            float(abs(swing[1])),
            float(abs(swing[2])),
            float(swing @ swing) / total,
        )
        for role, swing in swings.items()
    )
    return tuple(sorted(ranked, key=lambda one: -one.share))


def _three(circuit: Circuit, build: Build) -> Array:
    cycle = circuit.cycle(build, np.array([0.0, 0.5, 1.0]))
    frequency = np.broadcast_to(cycle.frequency, (3,))
    return np.array([frequency[1], cycle.duty[0], cycle.duty[2]])


@dataclass(frozen=True, slots=True)
class Drift:
    """Worst-case bands over a range of temperature, with parts at their nominal values."""

    temperature_low: float
    temperature_high: float
    frequency: Band
    duty_low: Band
    duty_high: Band


def temperature_limits(chosen: TimerSet, low: float, high: float) -> dict[str, Limits]:
    """Limits of each quantity between two temperatures [C], against 25 C."""
    build = chosen.build()
    reach = max(abs(low - 25.0), abs(high - 25.0))
    limits = {part.role: relative_limits(part.value, part.drift * reach) for part in chosen.parts}
    for role in ("upper", "lower", "pulse_upper"):
        limits[role] = relative_limits(build[role], chosen.timer.threshold_drift * reach)
    ends = sorted(chosen.diode.drift * (t - 25.0) for t in (low, high))
    for role in ("charge_drop", "discharge_drop"):
        limits[role] = Limits(build[role] + ends[0], build[role] + ends[1])
    return limits


def temperature_drift(chosen: TimerSet, *, low: float = 0.0, high: float = 60.0) -> Drift:
    """Bands of frequency and duty between two temperatures [C].

    Raises
    ------
    InputError
        Range that is empty or outside -40 to 125 C.
    """
    if not -40 <= low < high <= 125:
        raise InputError("temperature range", (low, high), "rising within -40 to 125 °C")
    return Drift(low, high, *bands_of(chosen, temperature_limits(chosen, low, high)))


def bands_of(chosen: TimerSet, spreads: Spreads, *, free: bool = False) -> tuple[Band, Band, Band]:
    """Frequency over the whole travel, duty at the low and at the high end stop.

    With `free`, a pulse longer than its period gives a duty above 1 (see `Circuit.free_cycle`).
    """
    circuit = circuit_named(chosen.circuit)
    cycle = circuit.free_cycle if free else circuit.cycle
    at = np.array([0.0, 0.5, 1.0])
    bands = corner_bands(lambda build: cycle(build, at), chosen.build(), spreads=spreads)
    frequency, low, high = (
        np.broadcast_to(values, at.shape)
        for values in (bands.nominal.frequency, bands.frequency_low, bands.frequency_high)
    )
    duty = bands.nominal.duty
    return (
        Band(float(frequency[1]), float(low.min()), float(high.max())),
        Band(float(duty[0]), float(bands.duty_low[0]), float(bands.duty_high[0])),
        Band(float(duty[2]), float(bands.duty_low[2]), float(bands.duty_high[2])),
    )
