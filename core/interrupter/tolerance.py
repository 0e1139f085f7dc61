"""Tolerance of a set of parts: worst case, many random builds, temperature, what matters most."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import truncnorm

from core.errors import InputError
from core.interrupter.build import Build, Circuit, Cycle
from core.interrupter.circuits import circuit_named
from core.interrupter.halfcycle import FloatArray
from core.interrupter.sets import Band, TimerSet
from core.interrupter.stock import DiodeStock
from core.interrupter.timer import Timer


@dataclass(frozen=True, slots=True)
class Limits:
    """Lowest and highest value of one quantity of a build."""

    low: FloatArray | float
    high: FloatArray | float


Spreads = Mapping[str, Limits]
"""Limits by role."""


@dataclass(frozen=True, slots=True)
class CycleBands:
    """Nominal cycle and the corners of the tolerance box, of the shape of the evaluation."""

    nominal: Cycle
    frequency_low: FloatArray
    frequency_high: FloatArray
    duty_low: FloatArray
    duty_high: FloatArray


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


def level_spreads(timer: Timer, build: Build, diode: DiodeStock) -> dict[str, Limits]:
    """Limits of what is not a bought value: thresholds, levels, drops, in `build`'s shapes."""
    spreads = {
        role: relative_limits(build[role], timer.threshold_tolerance)
        for role in ("upper", "lower", "pulse_upper")
    }
    for role in (
        "discharge_saturation", "discharge_resistance", "output_high_drop",
        "output_high_resistance", "output_low", "output_low_resistance",
    ):  # fmt: skip
        spreads[role] = relative_limits(build[role], timer.level_spread)
    for role in ("charge_drop", "discharge_drop"):
        drop = np.asarray(build[role], float)
        spreads[role] = Limits(np.maximum(drop - diode.spread, 0.0), drop + diode.spread)
    return spreads


def spreads_of(chosen: TimerSet) -> dict[str, Limits]:
    """Limits of everything in the set, by role."""
    build = chosen.build()
    spreads = level_spreads(chosen.timer, build, chosen.diode)
    spreads["supply"] = relative_limits(build["supply"], chosen.supply_tolerance)
    spreads |= {p.role: relative_limits(p.value, p.tolerance) for p in chosen.parts}
    if any(part.role.endswith("potentiometer") for part in chosen.parts):
        spreads["pot_end"] = Limits(0.0, chosen.potentiometer.end_fraction)
    return spreads


def corner_bands(
    evaluate: Callable[[Build], Cycle], nominal: Build, *, spreads: Spreads
) -> CycleBands:
    """Worst case of frequency and duty over a box of limits.

    Each quantity moves frequency and duty one way over its own range (checked by random builds
    in the tests), so the extremes lie in corners of the box, one corner for each side of each
    result; the way is found by moving one quantity at a time.
    """
    corners: list[dict[str, ArrayLike]] = [dict(nominal) for _ in range(4)]
    for role, limits in spreads.items():
        low, high = (evaluate({**nominal, role: side}) for side in (limits.low, limits.high))
        for corner, rises in zip(
            corners,
            (
                high.frequency < low.frequency,
                high.frequency >= low.frequency,
                high.duty < low.duty,
                high.duty >= low.duty,
            ),
            strict=True,
        ):
            corner[role] = np.where(rises, limits.high, limits.low)
    ends = [evaluate(corner) for corner in corners]
    return CycleBands(
        evaluate(nominal), ends[0].frequency, ends[1].frequency, ends[2].duty, ends[3].duty
    )


@dataclass(frozen=True, slots=True)
class TravelBands:
    """Duty and frequency along the knob's travel, nominal and worst case."""

    travel: FloatArray
    frequency: FloatArray
    frequency_low: FloatArray
    frequency_high: FloatArray
    duty: FloatArray
    duty_low: FloatArray
    duty_high: FloatArray


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


def _shaped(values: FloatArray, like: FloatArray) -> FloatArray:
    return np.broadcast_to(values, like.shape)


def _uniform(rng: np.random.Generator, count: int) -> FloatArray:
    return rng.uniform(-1.0, 1.0, count)


def _bell(rng: np.random.Generator, count: int) -> FloatArray:
    return np.asarray(truncnorm.rvs(-3, 3, scale=1 / 3, size=count, random_state=rng))


DISTRIBUTIONS: Final[Mapping[str, Callable[[np.random.Generator, int], FloatArray]]] = (
    MappingProxyType({"uniform": _uniform, "normal": _bell})
)
"""Spread of a part inside its limits: even, or a normal one cut at 3 sigma = limit."""


@dataclass(frozen=True, slots=True)
class Builds:
    """Random builds of one set: frequency at half travel [Hz] and duty at the end stops."""

    frequency: FloatArray
    duty_low: FloatArray
    duty_high: FloatArray

    def share_band(self, share: float = 0.95) -> tuple[Band, Band, Band]:
        """Median and central band that holds `share` of the builds: frequency, both duties."""
        tails = (0.5, (1 - share) / 2, (1 + share) / 2)
        middle, low, high = (
            np.quantile([self.frequency, self.duty_low, self.duty_high], q, axis=1) for q in tails
        )
        bands = [Band(*map(float, triple)) for triple in zip(middle, low, high, strict=True)]
        return bands[0], bands[1], bands[2]


def random_builds(
    chosen: TimerSet, *, count: int = 10_000, distribution: str = "uniform", seed: int = 1
) -> Builds:
    """Frequency and duty of `count` builds with every part drawn inside its limits.

    Raises
    ------
    InputError
        Unknown distribution; count below 1.
    """
    if distribution not in DISTRIBUTIONS:
        raise InputError("distribution", distribution, "one of " + ", ".join(DISTRIBUTIONS))
    if count < 1:
        raise InputError("count", count, "at least 1")
    rng = np.random.default_rng(seed)
    build: dict[str, ArrayLike] = dict(chosen.build())
    for role, limits in spreads_of(chosen).items():
        middle, half = (limits.high + limits.low) / 2, (limits.high - limits.low) / 2
        build[role] = (middle + half * DISTRIBUTIONS[distribution](rng, count))[:, np.newaxis]
    cycle = circuit_named(chosen.circuit).cycle(build, np.array([0.0, 0.5, 1.0]))
    frequency = np.broadcast_to(cycle.frequency, (count, 3))
    return Builds(frequency[:, 1], cycle.duty[:, 0], cycle.duty[:, 2])


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
    swings: dict[str, FloatArray] = {}
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


def _three(circuit: Circuit, build: Build) -> FloatArray:
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


def bands_of(chosen: TimerSet, spreads: Spreads) -> tuple[Band, Band, Band]:
    """Frequency over the whole travel, duty at the low and at the high end stop."""
    circuit = circuit_named(chosen.circuit)
    at = np.array([0.0, 0.5, 1.0])
    bands = corner_bands(lambda build: circuit.cycle(build, at), chosen.build(), spreads=spreads)
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
