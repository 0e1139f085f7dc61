"""Words for a timer's circuits and parts."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from burstwise.core.interrupter.circuits import CIRCUITS
from burstwise.core.interrupter.stock import CAPACITORS
from burstwise.core.interrupter.timer import TIMERS

ROLES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "charge_resistor": "charge",
        "discharge_resistor": "discharge",
        "potentiometer": "knob",
        "frequency_potentiometer": "frequency knob",
        "timing_capacitor": "timing",
        "pulse_resistor": "pulse",
        "pulse_capacitor": "pulse",
        "trigger_resistor": "trigger",
        "trigger_capacitor": "trigger",
    }
)
"""Short words by role, in the order of forms and lists; the unit tells a resistor from the rest."""


def short_label(name: str) -> str:
    """Words for a circuit where there is little room.

    Examples
    --------
    >>> short_label("astable-capped-discharge"), short_label("two-timer")
    ('steered, discharge pin, with on-time cap', 'two timers')
    """
    whole = CIRCUITS[name].label.replace("diode-steered astable", "steered")
    return whole.removesuffix(", frequency and on-time independent")


CIRCUIT_WORDS: Final[Mapping[str, str]] = {name: short_label(name) for name in CIRCUITS}
TIMER_WORDS: Final[Mapping[str, str]] = {name: timer.label for name, timer in TIMERS.items()}
KIND_WORDS: Final[Mapping[str, str]] = {
    name: ranges[0].label for name, ranges in CAPACITORS.items()
}
