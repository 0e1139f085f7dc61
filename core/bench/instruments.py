"""What the instruments on the bench are worth: accuracy of a column, shunt, estimates."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Final

from burstwise.core.errors import InputError

_RECTANGULAR: Final = math.sqrt(3.0)


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its standard uncertainty (one standard deviation), both in the same unit."""

    value: float
    uncertainty: float


@dataclass(frozen=True, slots=True)
class Accuracy:
    """Accuracy of one instrument range, as its manual states it.

    The true value lies within ``relative * |reading| + absolute`` of the reading, with no
    preference inside (rectangular distribution), and the error is the same for every row.

    Parameters
    ----------
    relative : float
        Part of the reading [-], 0.005 for '0.5 % of reading'.
    absolute : float
        Part that does not depend on the reading, in the unit of the column.

    Raises
    ------
    InputError
        A part is negative, or the relative part is one half or more.
    """

    relative: float = 0.005
    absolute: float = 0.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.relative < 0.5:
            raise InputError("accuracy", self.relative, "at least 0 and below 50 % of the reading")
        if not 0.0 <= self.absolute < math.inf:
            raise InputError("accuracy", self.absolute, "a fixed part of at least 0")

    def half_width(self, reading: float) -> float:
        """Largest error of a reading, in the unit of the column."""
        return self.relative * abs(reading) + self.absolute

    def uncertainty(self, reading: float) -> float:
        """Standard uncertainty of a reading, in the unit of the column.

        A rectangular distribution of half-width a has the standard deviation a/sqrt(3).
        Source: JCGM 100:2008, 4.3.7, from memory.

        Examples
        --------
        >>> round(Accuracy(relative=0.01, absolute=0.1).uncertainty(50.0), 4)
        0.3464
        """
        return self.half_width(reading) / _RECTANGULAR


@dataclass(frozen=True, slots=True)
class Instruments:
    """Accuracy of each column of the readings table.

    The defaults, half a per cent of reading, are those of a handheld meter on direct voltage
    (common practice, no source); a meter that is used near the end of its frequency range, or a
    probe, is often worse by several per cent and should be entered.
    """

    supply: Accuracy = field(default_factory=Accuracy)
    shunt_rms: Accuracy = field(default_factory=Accuracy)
    shunt_mean: Accuracy = field(default_factory=Accuracy)
    shunt_peak: Accuracy = field(default_factory=Accuracy)
    drain_peak: Accuracy = field(default_factory=Accuracy)


@dataclass(frozen=True, slots=True)
class Shunt:
    """Current-sensing resistor in the supply's return.

    Parameters
    ----------
    resistance : float
        Nominal value [ohm].
    tolerance : float
        Largest relative deviation [-], 0.01 for a 1 % part; 0 where it is not known, which a
        forecast then says.

    Raises
    ------
    InputError
        Resistance not above zero, or tolerance outside 0 to 50 %.
    """

    resistance: float
    tolerance: float = 0.0

    def __post_init__(self) -> None:
        if not 0.0 < self.resistance < math.inf:
            raise InputError("shunt", self.resistance, "a resistance above 0 Ω")
        if not 0.0 <= self.tolerance < 0.5:
            raise InputError("shunt.tolerance", self.tolerance, "at least 0 and below 50 %")

    @property
    def uncertainty(self) -> float:
        """Standard uncertainty of the resistance [ohm]."""
        return self.resistance * self.tolerance / _RECTANGULAR
