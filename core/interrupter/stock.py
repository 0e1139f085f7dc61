"""Parts that a builder can buy: resistors, capacitors by kind, potentiometers, diodes.

Ranges and tolerances are common practice of the trade, no source; each can be replaced.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from quantiphy import Quantity
from rkm_codes import to_rkm

from burstwise.core.design.interrupter import TimerParts
from burstwise.core.design.timer_wish import CapacitorName, DiodeName, TimerWish
from burstwise.core.errors import InputError
from burstwise.core.series import series_values
from burstwise.core.units import quantity


@dataclass(frozen=True, slots=True)
class CapacitorKind:
    """Range of values of one kind of capacitor.

    Parameters
    ----------
    name, label : str
        Key in `CAPACITORS`, and words for the parts list.
    low, high : float
        Smallest and largest value commonly sold [F].
    series : str
        E series that it is sold in.
    tolerance : float
        Tolerance as a fraction.
    drift : float
        Temperature coefficient, as the largest magnitude [1/K].
    leakage : float
        Leakage conductance per capacitance [A/(V F)]; the inverse of the self-discharge time.
    listed : tuple of float
        Values in stock, rising [F]; none for all of the series.
    """

    name: str
    label: str
    low: float
    high: float
    series: str
    tolerance: float
    drift: float
    leakage: float
    listed: tuple[float, ...] = ()

    def values(self) -> NDArray[np.float64]:
        """All values of the kind [F]."""
        if self.listed:
            return np.array(self.listed)
        return series_values(self.series, self.low, self.high)


CAPACITORS: Final[Mapping[CapacitorName, tuple[CapacitorKind, ...]]] = MappingProxyType(
    {
        "film": (
            CapacitorKind("film", "film", 1e-9, 1e-6, "E12", 0.05, 400e-6, 1e-4),
            CapacitorKind("film", "film", 1.5e-6, 4.7e-6, "E6", 0.05, 400e-6, 1e-4),
        ),
        "c0g": (CapacitorKind("c0g", "ceramic C0G", 100e-12, 47e-9, "E12", 0.05, 30e-6, 1e-3),),
        "x7r": (CapacitorKind("x7r", "ceramic X7R", 220e-12, 10e-6, "E6", 0.10, 2000e-6, 2e-3),),
        "electrolytic": (
            CapacitorKind("electrolytic", "electrolytic", 1e-6, 1e-3, "E6", 0.20, 3e-3, 1e-2),
        ),
    }
)
"""Ranges of each kind; X7R spreads +-15 % from -55 to 125 C, about 0.2 %/K here."""


@dataclass(frozen=True, slots=True)
class PotentiometerStock:
    """Potentiometers to choose from.

    Parameters
    ----------
    values : tuple of float
        Track resistances in stock [ohm].
    tolerance : float
        Tolerance of the track, as a fraction.
    middle : float
        Share of the track on the rising side at half travel: 0.5 linear, 0.1 to 0.15 for a
        logarithmic taper, 0.85 to 0.9 for a reverse one.
    end_fraction : float
        Largest residual resistance at each end stop, as a fraction of the track.
    drift : float
        Temperature coefficient, magnitude [1/K].
    power : float
        Rating of the track [W].
    label : str
        Words for the parts list.
    """

    values: tuple[float, ...]
    tolerance: float
    middle: float
    end_fraction: float
    drift: float = 250e-6
    power: float = 0.1
    label: str = "potentiometer"


@dataclass(frozen=True, slots=True)
class ResistorStock:
    """Fixed resistors: tolerance, series, range [ohm], drift [1/K], words for the parts list.

    Where values are listed, rising [ohm], those are in stock instead of the series.
    """

    tolerance: float
    series: str = "E24"
    low: float = 470.0
    high: float = 4.7e6
    drift: float = 100e-6
    listed: tuple[float, ...] = ()
    label: str = "resistor"

    def values(self) -> NDArray[np.float64]:
        """All values in stock [ohm]."""
        if self.listed:
            return np.array(self.listed)
        return series_values(self.series, self.low, self.high)


@dataclass(frozen=True, slots=True)
class DiodeStock:
    """Steering diode: label, forward drop [V], its spread [V] and drift [V/K]."""

    label: str = "small-signal silicon diode"
    drop: float = 0.58
    spread: float = 0.12
    drift: float = -2e-3


SILICON: Final = DiodeStock()
"""Silicon: the spread, 0.46 to 0.70 V, holds the default `ShockleyDiode` from 49 uA to 6.4 mA."""
SCHOTTKY: Final = DiodeStock("small-signal Schottky diode", 0.27, 0.10, -1.5e-3)
"""Schottky diode of some 100 mA."""
DIODES: Final[Mapping[DiodeName, DiodeStock]] = MappingProxyType(
    {"silicon": SILICON, "schottky": SCHOTTKY}
)
"""Steering diodes by the name in the design."""
TAPERS: Final[Mapping[str, float]] = MappingProxyType(
    {"linear": 0.5, "logarithmic": 0.15, "reverse": 0.85}
)
"""Share of the track at half travel by taper; common practice, no source."""
_USUAL_END: Final = TimerParts().potentiometer_end


@dataclass(frozen=True, slots=True)
class Stock:
    """What a timer's parts are chosen from."""

    resistors: ResistorStock
    potentiometers: PotentiometerStock
    capacitors: tuple[CapacitorKind, ...]
    diode: DiodeStock


def stock_of(wish: TimerWish) -> Stock:
    """Stock that a wish names: all values that are sold of its series and kinds.

    Examples
    --------
    >>> stock = stock_of(TimerWish(capacitors=("film",), taper="reverse"))
    >>> stock.potentiometers.middle, [kind.name for kind in stock.capacitors]
    (0.85, ['film', 'film'])
    """
    return Stock(
        ResistorStock(wish.resistor_tolerance, wish.resistor_series),
        PotentiometerStock(
            wish.potentiometers, wish.potentiometer_tolerance, TAPERS[wish.taper], _USUAL_END
        ),
        tuple(one for kind in wish.capacitors for one in CAPACITORS[kind]),
        DIODES[wish.diode],
    )


def taper_fraction(travel: ArrayLike, *, middle: ArrayLike = 0.5) -> NDArray[np.float64]:
    """Share of the track passed at a travel of 0 to 1.

    (b**x - 1)/(b - 1) with b = ((1 - m)/m)**2: smooth, and `middle` m at half travel.

    Examples
    --------
    >>> taper_fraction(np.array([0.0, 0.5, 1.0]), middle=0.1).round(12).tolist()
    [0.0, 0.1, 1.0]
    >>> float(taper_fraction(0.3))
    0.3
    """
    x, m = np.asarray(travel, float), np.asarray(middle, float)
    growth = 2 * np.log((1 - m) / m)
    linear = np.abs(growth) < 1e-9
    safe = np.where(linear, 1.0, growth)
    return np.asarray(np.where(linear, x, np.expm1(safe * x) / np.expm1(safe)))[()]


def potentiometer_values(text: str) -> tuple[float, ...]:
    """Track resistances [ohm] that a text lists, e.g. those in the builder's drawer.

    Raises
    ------
    InputError
        Nothing listed, or something that is no resistance.

    Examples
    --------
    >>> potentiometer_values("10k, 47k 100 kΩ; 1M")
    (10000.0, 47000.0, 100000.0, 1000000.0)
    """
    doubtful = re.search(r"[0-9],[0-9][0-9kMΩ]*", text)
    if doubtful is not None:
        limit = "separated by blanks or semicolons, with a point for decimals"
        raise InputError("potentiometers", doubtful[0], limit)
    joined = re.sub(r"(?<=\d)\s+(?=[kMΩ])", "", text)
    found = [
        quantity(word, "Ω", field="potentiometers", low=10.0, high=1e8)
        for word in re.split(r"[\s,;]+", joined)
        if word
    ]
    if not found:
        raise InputError("potentiometers", "nothing", "one or more resistances")
    return tuple(sorted(set(found)))


def potentiometers_text(values: Iterable[float]) -> str:
    """Text of track resistances [ohm] as a builder writes them; `potentiometer_values` reads it.

    Examples
    --------
    >>> potentiometers_text((22.5, 1000.0, 2250.0, 470e3, 1e6))
    '22R5 1k 2k25 470k 1M'
    """
    codes = (to_rkm(Quantity(value), prec=6) for value in values)
    return " ".join(code.replace("K", "k").replace("d", "R") for code in codes)
