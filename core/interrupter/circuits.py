"""Timer circuits: what a build's parts make of on-time and off-time at any travel of the knob."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from burstwise.core.arrays import Array
from burstwise.core.errors import InputError
from burstwise.core.interrupter.build import (
    Build,
    Circuit,
    Cycle,
    discharge_switch,
    pulse_time,
    tracks,
)
from burstwise.core.interrupter.halfcycle import WIRE, ConstantDrop, Diode, Path, ShockleyDiode


@dataclass(frozen=True, slots=True)
class _Astable:
    """One timer that switches between its two levels.

    Parameters
    ----------
    diode : ShockleyDiode or None
        Diode law of the steering diodes; None takes the constant drops of the build.
    """

    diode: ShockleyDiode | None = None

    @property
    def timers(self) -> int:
        """One."""
        return 1

    @property
    def on_while_charging(self) -> bool:
        """The output is high while the capacitor charges."""
        return True

    def pulse_resistance(self, build: Build, travel: ArrayLike) -> Array | None:
        """No monostable."""
        return None

    def timing_paths(self, build: Build, travel: ArrayLike = 0.5) -> tuple[Path, Path]:
        raise NotImplementedError

    def cycle(self, build: Build, travel: ArrayLike = 0.5) -> Cycle:
        """On while the capacitor charges from the lower to the upper level, off on the way back."""
        charge, discharge = self.timing_paths(build, travel)
        lower = np.multiply(build["supply"], build["lower"])
        upper = np.multiply(build["supply"], build["upper"])
        capacitance = build["timing_capacitor"]
        return Cycle(
            charge.time(capacitance, lower, upper), discharge.time(capacitance, upper, lower)
        )

    def free_cycle(self, build: Build, travel: ArrayLike = 0.5) -> Cycle:
        """As `cycle`."""
        return self.cycle(build, travel)

    def _law(self, drop: ArrayLike) -> Diode:
        return self.diode or ConstantDrop(np.asarray(drop, float))


@dataclass(frozen=True, slots=True)
class ClassicAstable(_Astable):
    """Charge through two resistors, discharge through the second; on for more than half.

    An optional potentiometer works as a rheostat in series with the first resistor.
    """

    name: str = "astable-classic"
    label: str = "classic astable"
    roles: tuple[str, ...] = (
        "charge_resistor", "discharge_resistor", "potentiometer", "timing_capacitor",
    )  # fmt: skip
    diodes: int = 0
    steered: bool = False
    output_driven: bool = False

    def timing_paths(self, build: Build, travel: ArrayLike = 0.5) -> tuple[Path, Path]:
        """Supply through RA + RB; RB into the discharge switch, which RA pulls up."""
        rising, _ = tracks(build, travel)
        RA = np.add(build["charge_resistor"], rising)
        RB = build["discharge_resistor"]
        switch = discharge_switch(build, RA)
        return (
            Path(np.asarray(build["supply"], float), np.add(RA, RB), WIRE),
            Path(switch.source, np.add(switch.resistance, RB), WIRE),
        )


@dataclass(frozen=True, slots=True)
class SteeredDischarge(_Astable):
    """Potentiometer between two steering diodes, charged from the pull-up of the discharge pin.

    Charge: supply, charge resistor, diode, rising share of the track. Discharge: falling share,
    discharge resistor, diode, discharge switch, which the charge resistor pulls up meanwhile.
    """

    name: str = "astable-steered-discharge"
    label: str = "diode-steered astable, discharge pin"
    roles: tuple[str, ...] = (
        "charge_resistor", "discharge_resistor", "potentiometer", "timing_capacitor",
    )  # fmt: skip
    diodes: int = 2
    steered: bool = True
    output_driven: bool = False

    def timing_paths(self, build: Build, travel: ArrayLike = 0.5) -> tuple[Path, Path]:
        """Paths through the charging and the discharging diode."""
        rising, falling = tracks(build, travel)
        switch = discharge_switch(build, build["charge_resistor"])
        falling_side = np.add(build["discharge_resistor"], falling)
        return (
            Path(
                np.asarray(build["supply"], float),
                np.add(build["charge_resistor"], rising),
                self._law(build["charge_drop"]),
            ),
            Path(
                switch.source,
                np.add(switch.resistance, falling_side),
                self._law(build["discharge_drop"]),
            ),
        )


@dataclass(frozen=True, slots=True)
class SteeredOutput(_Astable):
    """Potentiometer between two steering diodes, driven by the timer's output."""

    name: str = "astable-steered-output"
    label: str = "diode-steered astable, output-driven"
    roles: tuple[str, ...] = (
        "charge_resistor", "discharge_resistor", "potentiometer", "timing_capacitor",
    )  # fmt: skip
    diodes: int = 2
    steered: bool = True
    output_driven: bool = True

    def timing_paths(self, build: Build, travel: ArrayLike = 0.5) -> tuple[Path, Path]:
        """Paths from output high and to output low."""
        rising, falling = tracks(build, travel)
        charge = np.add(build["charge_resistor"], rising)
        discharge = np.add(build["discharge_resistor"], falling)
        return (
            Path(
                np.subtract(build["supply"], build["output_high_drop"]),
                np.add(build["output_high_resistance"], charge),
                self._law(build["charge_drop"]),
            ),
            Path(
                np.asarray(build["output_low"], float),
                np.add(build["output_low_resistance"], discharge),
                self._law(build["discharge_drop"]),
            ),
        )


@dataclass(frozen=True, slots=True)
class Capped:
    """Astable followed by a monostable that is reset with it: the shorter of both on-times.

    The astable's output holds the reset pin of the second timer and, through a small RC, its
    trigger: at the rising edge the trigger is still low, so the pulse starts; it ends with the
    astable's on-time or after the monostable's own time, whichever comes first.
    """

    astable: SteeredDischarge | SteeredOutput

    @property
    def name(self) -> str:
        """Name of the astable with its cap."""
        return self.astable.name.replace("steered", "capped")

    @property
    def label(self) -> str:
        """Words for lists."""
        return self.astable.label + ", with on-time cap"

    @property
    def roles(self) -> tuple[str, ...]:
        """Roles of the astable, the pulse timer and its trigger."""
        pulse = ("pulse_resistor", "pulse_capacitor", "trigger_resistor", "trigger_capacitor")
        return self.astable.roles + pulse

    @property
    def timers(self) -> int:
        """Astable and monostable."""
        return 2

    @property
    def diodes(self) -> int:
        """Steering diodes."""
        return self.astable.diodes

    @property
    def steered(self) -> bool:
        """As the astable."""
        return self.astable.steered

    @property
    def output_driven(self) -> bool:
        """As the astable."""
        return self.astable.output_driven

    @property
    def on_while_charging(self) -> bool:
        """As the astable."""
        return True

    def pulse_resistance(self, build: Build, travel: ArrayLike) -> Array | None:
        """The fixed resistor that sets the cap."""
        del travel
        return np.asarray(build["pulse_resistor"], float)

    def timing_paths(self, build: Build, travel: ArrayLike = 0.5) -> tuple[Path, Path]:
        """Paths of the astable."""
        return self.astable.timing_paths(build, travel)

    def cycle(self, build: Build, travel: ArrayLike = 0.5) -> Cycle:
        """The astable's period with the on-time capped; a stuck astable gives no cycle."""
        free = self.astable.cycle(build, travel)
        on = np.minimum(free.on, pulse_time(build, build["pulse_resistor"]))
        return Cycle.within(free.period, on)

    def free_cycle(self, build: Build, travel: ArrayLike = 0.5) -> Cycle:
        """As `cycle`."""
        return self.cycle(build, travel)


@dataclass(frozen=True, slots=True)
class TwoTimer:
    """Classic astable for the frequency, its falling edge triggers a monostable for the on-time.

    Two knobs that do not touch each other: `travel` sets the on-time, the build's
    ``frequency_travel`` sets the frequency (1 is the highest).
    """

    name: str = "two-timer"
    label: str = "two timers, frequency and on-time independent"
    roles: tuple[str, ...] = (
        "charge_resistor", "discharge_resistor", "frequency_potentiometer", "timing_capacitor",
        "pulse_resistor", "potentiometer", "pulse_capacitor",
        "trigger_resistor", "trigger_capacitor",
    )  # fmt: skip
    timers: int = 2
    diodes: int = 1
    steered: bool = False
    output_driven: bool = False
    on_while_charging: bool = False

    def pulse_resistance(self, build: Build, travel: ArrayLike) -> Array:
        """Fixed resistor and the on-time knob as a rheostat."""
        return np.add(build["pulse_resistor"], tracks(build, travel)[0])

    def timing_paths(self, build: Build, travel: ArrayLike = 0.5) -> tuple[Path, Path]:
        """Paths of the astable; `travel` has no say in them."""
        del travel
        rising, _ = tracks(
            {**build, "potentiometer": build["frequency_potentiometer"], "pot_middle": 0.5},
            np.subtract(1.0, build["frequency_travel"]),
        )
        return ClassicAstable().timing_paths(
            {**build, "charge_resistor": np.add(build["charge_resistor"], rising)} | _NO_POT, 0.0
        )

    def cycle(self, build: Build, travel: ArrayLike = 0.5) -> Cycle:
        """Pulse of the monostable; a pulse longer than the period swallows the next trigger."""
        free = self.free_cycle(build, travel)
        period = np.asarray(free.period)
        taken = np.ceil(np.where(np.isfinite(period), free.on, 0.0) / period)
        return Cycle.within(period * np.maximum(taken, 1.0), free.on)

    def free_cycle(self, build: Build, travel: ArrayLike = 0.5) -> Cycle:
        """Pulse and period on their own; the off-time is negative where the pulse is longer."""
        charge, discharge = self.timing_paths(build, travel)
        lower = np.multiply(build["supply"], build["lower"])
        upper = np.multiply(build["supply"], build["upper"])
        capacitance = build["timing_capacitor"]
        period = np.add(
            charge.time(capacitance, lower, upper), discharge.time(capacitance, upper, lower)
        )
        on = pulse_time(build, self.pulse_resistance(build, travel))
        return Cycle.within(period, on)


_NO_POT: Final = MappingProxyType({"potentiometer": 0.0, "pot_end": 0.0, "pot_middle": 0.5})


CIRCUITS: Final[Mapping[str, Circuit]] = MappingProxyType(
    {
        circuit.name: circuit
        for circuit in (
            ClassicAstable(),
            SteeredDischarge(),
            SteeredOutput(),
            Capped(SteeredDischarge()),
            Capped(SteeredOutput()),
            TwoTimer(),
        )
    }
)
"""Timer circuits by name."""


def circuit_named(name: str) -> Circuit:
    """Circuit of that name.

    Raises
    ------
    InputError
        No such circuit.

    Examples
    --------
    >>> circuit_named("two-timer").timers
    2
    """
    try:
        return CIRCUITS[name]
    except KeyError:
        raise InputError("interrupter.circuit", name, "one of " + ", ".join(CIRCUITS)) from None
