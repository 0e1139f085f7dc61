"""Half-cycles of a timing capacitor: charge or discharge through a resistance and a diode.

The capacitor sits behind a source, a resistance and at most one diode in series. With the voltage
u across resistance and diode, C du/dt = -i(u) on the way from `start` to `end`, whichever way the
capacitor moves. Both diode models have a closed form of the time.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import wrightomega

from burstwise.core.arrays import Array
from burstwise.core.constants import BOLTZMANN, ELEMENTARY_CHARGE


class Diode(Protocol):
    """A diode in series with a resistance, as seen by the half-cycle."""

    def current(self, across: ArrayLike, resistance: ArrayLike) -> Array:
        """Current [A] with `across` [V] over diode and `resistance` [ohm] in series."""
        ...

    def time(
        self, start: ArrayLike, end: ArrayLike, tau: ArrayLike, resistance: ArrayLike
    ) -> Array:
        """Time [s] for the voltage across to fall from `start` to `end`; infinite if never."""
        ...


@dataclass(frozen=True, slots=True)
class ConstantDrop:
    """Diode that drops the same voltage whenever it conducts; a drop of 0 V is a wire.

    Parameters
    ----------
    drop : float or array
        Forward voltage [V].

    Examples
    --------
    >>> ConstantDrop(0.6).time(11.4, 7.4, 1e-4, 1000.0).round(9)
    np.float64(4.6262e-05)
    """

    drop: float | Array = 0.0

    def current(self, across: ArrayLike, resistance: ArrayLike) -> Array:
        """Current i = (u - Vd)/R [A], never negative."""
        over = np.maximum(np.subtract(across, self.drop), 0.0)
        return np.asarray(over / np.asarray(resistance, float))[()]

    def time(
        self, start: ArrayLike, end: ArrayLike, tau: ArrayLike, resistance: ArrayLike
    ) -> Array:
        """Time [s], t = tau ln[(start - Vd)/(end - Vd)]; infinite where `end` is not above Vd."""
        del resistance
        first = np.asarray(np.subtract(start, self.drop), float)
        last = np.asarray(np.subtract(end, self.drop), float)
        reaches = last > 0
        ratio = np.divide(first, last, out=np.ones(np.broadcast(first, last).shape), where=reaches)
        ends = np.asarray(tau, float) * np.log(np.maximum(ratio, np.finfo(float).tiny))
        return np.where(reaches, ends, np.inf)[()]


@dataclass(frozen=True, slots=True)
class ShockleyDiode:
    """Diode with i = Is (exp(v/(n VT)) - 1), VT = k T/q.

    Parameters
    ----------
    saturation_current : float
        Is [A].
    emission : float
        Ideality factor n.
    temperature : float
        Junction temperature [K]; Is is taken as given and not moved with temperature.

    Notes
    -----
    The current through R and diode in series is the Wright omega function of the voltage,
    i + Is = (n VT/R) omega(ln(R Is/(n VT)) + (u + R Is)/(n VT)); the time is the integral
    of (R + n VT/(i + Is))/i over i, which is elementary.
    """

    saturation_current: float = 4.35e-9
    emission: float = 1.906
    temperature: float = 300.0

    @property
    def scale(self) -> float:
        """Emission factor times thermal voltage, n k T/q [V]."""
        return self.emission * BOLTZMANN * self.temperature / ELEMENTARY_CHARGE

    def current(self, across: ArrayLike, resistance: ArrayLike) -> Array:
        """Current [A] with `across` [V] over diode and `resistance` [ohm] in series.

        Examples
        --------
        >>> diode = ShockleyDiode()
        >>> i = diode.current(5.0, 1000.0)
        >>> bool(abs(i * 1000 + diode.scale * np.log1p(i / 4.35e-9) - 5) < 1e-12)
        True
        """
        R = np.asarray(resistance, float)
        ratio = R * self.saturation_current / self.scale
        argument = np.log(ratio) + np.asarray(across, float) / self.scale + ratio
        total = wrightomega(argument) * self.scale / R
        return np.asarray(total - self.saturation_current)[()]

    def time(
        self, start: ArrayLike, end: ArrayLike, tau: ArrayLike, resistance: ArrayLike
    ) -> Array:
        """Time [s]; infinite where `end` is not above 0 V.

        t = C [R ln(ia/ib) + (n VT/Is) ln((1 + Is/ib)/(1 + Is/ia))], ia and ib the currents at
        `start` and `end`.
        """
        first = np.asarray(self.current(start, resistance), float)
        reaches = np.asarray(end, float) > 0
        last = np.asarray(self.current(np.where(reaches, end, 1.0), resistance), float)
        first, last = (np.maximum(i, np.finfo(float).tiny) for i in (first, last))
        Is = self.saturation_current
        junction = self.scale / Is * (np.log1p(Is / last) - np.log1p(Is / first))
        per_ohm = np.log(first / last) + junction / np.asarray(resistance, float)
        return np.where(reaches, np.asarray(tau, float) * per_ohm, np.inf)[()]


WIRE = ConstantDrop(0.0)
"""No diode in the path."""


@dataclass(frozen=True, slots=True)
class Path:
    """What the timing capacitor sees during one half-cycle.

    Parameters
    ----------
    source : float or array
        Open-circuit voltage behind the path [V].
    resistance : float or array
        Total series resistance [ohm].
    diode : Diode
        Diode in series.
    """

    source: float | Array
    resistance: float | Array
    diode: Diode

    def time(self, capacitance: ArrayLike, start: ArrayLike, end: ArrayLike) -> Array:
        """Time [s] for the capacitor to move from `start` to `end` [V]; infinite if never.

        Examples
        --------
        >>> path = Path(12.0, 1000.0, ConstantDrop(0.6))
        >>> float(path.time(100e-9, 4.0, 8.0))
        7.7770456...e-05
        """
        way = np.sign(np.subtract(self.source, start))
        first = np.subtract(self.source, start) * way
        last = np.subtract(self.source, end) * way
        tau = np.multiply(self.resistance, capacitance)
        time = self.diode.time(first, np.minimum(first, last), tau, self.resistance)
        return np.where(last <= first, time, np.inf)[()]

    def current(self, voltage: ArrayLike) -> Array:
        """Current magnitude [A] with the capacitor at `voltage` [V]."""
        return self.diode.current(np.abs(np.subtract(self.source, voltage)), self.resistance)


def loaded_switch(
    saturation: ArrayLike, resistance: ArrayLike, *, supply: ArrayLike, load: ArrayLike
) -> Path:
    """Closed switch that a resistor pulls up, as a source with its resistance (Thevenin).

    Vsw = (Vsat Rl + Vcc Rsw)/(Rl + Rsw), R = Rsw Rl/(Rl + Rsw).

    Examples
    --------
    >>> switch = loaded_switch(0.1, 10.0, supply=12.0, load=1000.0)
    >>> float(switch.source), float(switch.resistance)
    (0.2178..., 9.9009...)
    """
    total = np.add(load, resistance)
    source = np.add(np.multiply(saturation, load), np.multiply(supply, resistance)) / total
    return Path(source, np.multiply(resistance, load) / total, WIRE)
