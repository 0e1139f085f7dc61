"""What the timer circuits share: builds, cycles, the potentiometer's tracks, the pulse.

A build is a mapping of role to value; each value is a number or an array, so one call evaluates
a whole search, a travel curve or thousands of builds by broadcasting.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike

from burstwise.core.arrays import Array
from burstwise.core.interrupter.halfcycle import WIRE, Path, loaded_switch
from burstwise.core.interrupter.stock import taper_fraction
from burstwise.core.interrupter.timer import Timer

Build = Mapping[str, ArrayLike]
"""Values by role, in SI units; see `Circuit.roles` and `timer_values`."""


@dataclass(frozen=True, slots=True)
class Cycle:
    """One period of the output: on-time and off-time [s]; infinite where it never switches."""

    on: Array
    off: Array

    @classmethod
    def within(cls, period: ArrayLike, on: ArrayLike) -> Cycle:
        """On-time within a period; the off-time is infinite where one of the two never ends."""
        ends = np.isfinite(period) & np.isfinite(on)
        rest = np.subtract(np.where(ends, period, np.inf), np.where(ends, on, 0.0))
        return cls(np.asarray(on, float)[()], np.asarray(rest)[()])

    @property
    def period(self) -> Array:
        """Sum of both half-cycles [s]."""
        return np.asarray(np.add(self.on, self.off))[()]

    @property
    def frequency(self) -> Array:
        """Inverse of the period [Hz]; 0 where it does not oscillate."""
        return np.asarray(1 / self.period)[()]

    @property
    def duty(self) -> Array:
        """Share of the on-time, 0 to 1; 0 where it does not oscillate."""
        period = np.asarray(self.period, float)
        runs = np.isfinite(period) & (period > 0)
        on = np.where(runs, self.on, 0.0)
        return np.asarray(on / np.where(runs, period, 1.0))[()]


class Circuit(Protocol):
    """What every timer circuit offers; see `burstwise.core.interrupter.circuits.CIRCUITS`."""

    def __hash__(self) -> int: ...

    @property
    def name(self) -> str:
        """Key in `CIRCUITS`."""
        ...

    @property
    def label(self) -> str:
        """Words for lists."""
        ...

    @property
    def roles(self) -> tuple[str, ...]:
        """Roles of the parts that set its timing."""
        ...

    @property
    def timers(self) -> int:
        """Number of timers."""
        ...

    @property
    def diodes(self) -> int:
        """Number of diodes."""
        ...

    @property
    def steered(self) -> bool:
        """Whether diodes steer charge and discharge through different resistances."""
        ...

    @property
    def output_driven(self) -> bool:
        """Whether the timing capacitor is charged from the timer's output."""
        ...

    @property
    def on_while_charging(self) -> bool:
        """Whether an on-time starts at the lower level; else at the upper one."""
        ...

    def pulse_resistance(self, build: Build, travel: ArrayLike) -> Array | None:
        """Resistance that charges the monostable's capacitor [ohm]; None without one."""
        ...

    def cycle(self, build: Build, travel: ArrayLike = 0.5) -> Cycle:
        """On-time and off-time at a travel of 0 (shortest on-time) to 1."""
        ...

    def free_cycle(self, build: Build, travel: ArrayLike = 0.5) -> Cycle:
        """As `cycle`, but smooth: a pulse longer than its period gives a duty above 1."""
        ...

    def timing_paths(self, build: Build, travel: ArrayLike = 0.5) -> tuple[Path, Path]:
        """Charging and discharging path of the timing capacitor."""
        ...


def pulse_time(build: Build, resistance: ArrayLike) -> Array:
    """On-time of the monostable [s]: from the closed discharge switch up to the upper level.

    t = R C ln[(Vcc - V0)/(Vcc - Vupper)], V0 the switch voltage with R as its load; ln 3 for an
    ideal timer.
    """
    switch = discharge_switch(build, resistance)
    path = Path(np.asarray(build["supply"], float), np.asarray(resistance, float), WIRE)
    end = np.multiply(build["supply"], build["pulse_upper"])
    return path.time(build["pulse_capacitor"], switch.source, end)


def timer_values(timer: Timer, supply: float) -> dict[str, float]:
    """Part of a build that the timer and its supply give, by role."""
    return {
        "supply": supply,
        "upper": timer.upper,
        "lower": timer.lower,
        "pulse_upper": timer.upper,
        "discharge_saturation": timer.discharge_saturation,
        "discharge_resistance": timer.discharge_resistance,
        "output_high_drop": timer.output_high_drop,
        "output_high_resistance": timer.output_high_resistance,
        "output_low": timer.output_low,
        "output_low_resistance": timer.output_low_resistance,
        "frequency_travel": 1.0,
    }


def tracks(build: Build, travel: ArrayLike) -> tuple[Array, Array]:
    """Rising and falling share of the potentiometer [ohm], with residual resistance at the ends."""
    share = taper_fraction(travel, middle=build["pot_middle"])
    end = np.asarray(build["pot_end"], float)
    rising = np.multiply(build["potentiometer"], end + (1 - 2 * end) * share)
    return rising, np.subtract(build["potentiometer"], rising)


def discharge_switch(build: Build, load: ArrayLike) -> Path:
    """Closed discharge switch with `load` [ohm] from the supply, as source and resistance."""
    return loaded_switch(
        build["discharge_saturation"],
        build["discharge_resistance"],
        supply=build["supply"],
        load=load,
    )
