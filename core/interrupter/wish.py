"""The wish of a design as sizing takes it."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from burstwise.core.design.sizing_wish import SizingWish
from burstwise.core.interrupter.resolve import DIODES
from burstwise.core.interrupter.sets import TimerWish
from burstwise.core.interrupter.stock import CAPACITORS, KINDS, PotentiometerStock, ResistorStock

TAPERS: Final[Mapping[str, float]] = MappingProxyType(
    {"linear": 0.5, "logarithmic": 0.15, "reverse": 0.85}
)
"""Share of the track at half travel by taper; common practice, no source."""


def timer_wish(wish: SizingWish, *, count: int = 8) -> TimerWish:
    """Wish for `size_timer` from the wish that a design holds.

    Parameters
    ----------
    wish : SizingWish
        As stored.
    count : int
        Most sets to give.

    Examples
    --------
    >>> made = timer_wish(SizingWish(frequency=15.0, capacitors=("film",)))
    >>> made.frequency, made.potentiometers.middle, [kind.name for kind in made.capacitors]
    (15.0, 0.5, ['film', 'film-large'])
    """
    return TimerWish(
        frequency=wish.frequency,
        frequency_high=wish.frequency_high,
        duty_low=wish.duty_low,
        duty_high=wish.duty_high,
        supply=wish.supply,
        supply_tolerance=wish.supply_tolerance,
        circuits=wish.circuits,
        timers=wish.timers,
        resistors=ResistorStock(wish.resistor_series, tolerance=wish.resistor_tolerance),
        potentiometers=PotentiometerStock(
            values=wish.potentiometers,
            tolerance=wish.potentiometer_tolerance,
            middle=TAPERS[wish.taper],
        ),
        capacitors=tuple(CAPACITORS[name] for kind in wish.capacitors for name in KINDS[kind]),
        diode=DIODES[wish.diode],
        on_time_cap=wish.on_time_cap,
        weights=wish.weights,
        count=count,
    )
