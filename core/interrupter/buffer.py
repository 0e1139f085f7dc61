"""Buffer transistor between the timer and the driver, and the two ways to gate the driver."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, caution, stop
from burstwise.core.series import value_below
from burstwise.core.units import shown


def base_resistance(
    drive: float, collector_current: float, *, gain: float, overdrive: float = 3.0, vbe: float = 0.7
) -> float:
    """Largest base resistance that saturates the transistor [ohm].

    R = (drive - VBE) hFE/(overdrive IC), with the smallest gain of the class.

    Raises
    ------
    InputError
        Drive voltage not above VBE, or a current, gain or overdrive that is not positive.

    Examples
    --------
    >>> round(base_resistance(10.3, 0.02, gain=100.0, overdrive=4.0, vbe=0.7), 6)
    12000.0
    """
    positive("buffer.collector_current", collector_current, "A")
    positive("buffer.gain", gain, "")
    positive("buffer.overdrive", overdrive, "")
    if drive <= vbe:
        raise InputError("buffer.drive", drive, f"above the base-emitter voltage of {vbe:g} V")
    return (drive - vbe) * gain / (overdrive * collector_current)


def storage_time(
    base_on: float, base_off: float, *, collector_current: float, gain: float, lifetime: float
) -> float:
    """Delay before a saturated transistor leaves saturation [s], by charge control.

    ts = tau ln[(IB1 + IB2)/(IC/hFE + IB2)], IB2 the current drawn out of the base.

    Examples
    --------
    >>> round(storage_time(1e-3, 1e-4, collector_current=0.02, gain=200.0, lifetime=2e-7), 10)
    3.409e-07
    """
    positive("buffer.gain", gain, "")
    held = collector_current / gain
    return lifetime * math.log((base_on + base_off) / (held + base_off)) if base_on > held else 0.0


def edge_time(resistance: float, capacitance: float) -> float:
    """Rise or fall time from 10 % to 90 % of an RC [s], t = ln 9 R C.

    Examples
    --------
    >>> round(edge_time(1000.0, 1e-9), 10)
    2.1972e-06
    """
    return math.log(9.0) * resistance * capacitance


@dataclass(frozen=True, slots=True)
class Buffer:
    """Buffer transistor behind the timer.

    Parameters
    ----------
    collector_resistor : float
        Pull-up, or the load that it switches [ohm].
    gain_min, gain_typical : float
        Smallest current gain of the class, and the usual one.
    vbe, saturation : float
        Base-emitter and collector saturation voltage [V].
    lifetime : float
        Storage time constant [s].
    overdrive : float
        Base current over the smallest that saturates.
    load_capacitance : float
        At the collector [F].
    """

    collector_resistor: float = 1e3
    gain_min: float = 100.0
    gain_typical: float = 200.0
    vbe: float = 0.7
    saturation: float = 0.15
    lifetime: float = 200e-9
    overdrive: float = 4.0
    load_capacitance: float = 50e-12


@dataclass(frozen=True, slots=True)
class BufferResult:
    """Buffer as sized: base resistor [ohm], currents [A], delays [s], dissipation [W]."""

    base_resistor: float
    base_current: float
    collector_current: float
    overdrive: float
    delay_on: float
    delay_off: float
    dissipation: float
    findings: tuple[Finding, ...]


def sized_buffer(
    buffer: Buffer,
    *,
    output_high: float,
    output_low: float,
    supply: float,
    output_limit: float,
) -> BufferResult:
    """Base resistor of the E24 series, saturation and switching delays.

    Parameters
    ----------
    buffer : Buffer
        Transistor and its load.
    output_high, output_low : float
        Timer's output levels [V].
    supply : float
        Supply of the collector [V].
    output_limit : float
        Largest output current of the timer [A].

    Examples
    --------
    >>> sized_buffer(Buffer(), output_high=10.3, output_low=0.05, supply=12.0,
    ...              output_limit=0.03).base_resistor
    20000.0
    """
    if buffer.gain_typical < buffer.gain_min or buffer.overdrive < 1:
        raise InputError("buffer", buffer, "of a usual gain from the smallest on and overdriven")
    collector = (supply - buffer.saturation) / buffer.collector_resistor
    largest = base_resistance(
        output_high, collector, gain=buffer.gain_min, overdrive=buffer.overdrive, vbe=buffer.vbe
    )
    resistor = value_below(largest, series="E24")
    base = (output_high - buffer.vbe) / resistor
    drawn = max(buffer.vbe - output_low, 0.0) / resistor
    storage = storage_time(
        base, drawn, collector_current=collector, gain=buffer.gain_typical, lifetime=buffer.lifetime
    )
    findings: list[Finding] = []
    if base > output_limit:
        findings.append(
            stop(
                "timer-output-current",
                "buffer.base_resistor",
                f"The base takes {shown(base, 'A')}, the timer gives {shown(output_limit, 'A')}.",
            )
        )
    if output_low > buffer.vbe - 0.2:
        findings.append(
            caution(
                "buffer-does-not-turn-off",
                "buffer.base_resistor",
                f"Output low of {output_low:.2g} V is close to the base-emitter voltage: add a "
                "resistor from base to emitter.",
            )
        )
    return BufferResult(
        resistor,
        base,
        collector,
        base * buffer.gain_min / collector,
        buffer.lifetime * math.log(1 / (1 - 0.9 * collector / (buffer.gain_typical * base))),
        storage + edge_time(buffer.collector_resistor, buffer.load_capacitance),
        buffer.saturation * collector + buffer.vbe * base,
        tuple(findings),
    )


@dataclass(frozen=True, slots=True)
class GatingDelays:
    """Delays from the timer's edge to the driver working and to it resting [s], inrush [A]."""

    on: float
    off: float
    inrush: float


class Gating(Protocol):
    """A way in which the timer turns the driver on and off."""

    def delays(self, *, supply: float, lockout: float, load: float) -> GatingDelays:
        """Delays for a driver supply [V], its lock-out [V] and its mean current [A]."""
        ...


@dataclass(frozen=True, slots=True)
class EnableGating:
    """The timer moves the driver's enable input: only propagation [s] counts."""

    propagation: float = 50e-9

    def delays(self, *, supply: float, lockout: float, load: float) -> GatingDelays:
        """The same delay both ways, no inrush.

        Examples
        --------
        >>> EnableGating().delays(supply=12.0, lockout=8.0, load=0.03).on
        5e-08
        """
        del supply, lockout, load
        return GatingDelays(self.propagation, self.propagation, 0.0)


@dataclass(frozen=True, slots=True)
class SupplyGating:
    """The timer switches the driver's supply; its decoupling capacitor delays both edges.

    Parameters
    ----------
    resistance : float
        Of the switch and what is in series with it [ohm].
    capacitance : float
        Decoupling behind the switch [F].
    """

    resistance: float = 10.0
    capacitance: float = 1e-6

    def delays(self, *, supply: float, lockout: float, load: float) -> GatingDelays:
        """On: R C ln[V/(V - Vlock)]; off: C (V - Vlock)/I; inrush V/R.

        Raises
        ------
        InputError
            Supply not above the lock-out.

        Examples
        --------
        >>> delays = SupplyGating().delays(supply=12.0, lockout=8.0, load=0.03)
        >>> round(delays.on, 9), round(delays.off, 9)
        (1.0986e-05, 0.000133333)
        """
        if supply <= lockout:
            raise InputError("driver.supply", supply, f"above the lock-out of {lockout:g} V")
        positive("driver.load", load, "A")
        return GatingDelays(
            self.resistance * self.capacitance * math.log(supply / (supply - lockout)),
            self.capacitance * (supply - lockout) / load,
            supply / self.resistance,
        )


def positive(name: str, value: float, unit: str) -> None:
    """Check of an input.

    Raises
    ------
    InputError
        Not above 0, or not finite.
    """
    if not 0 < value < math.inf:
        raise InputError(name, value, f"above 0 {unit}".rstrip())
