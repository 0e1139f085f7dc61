"""Words for the parts that set a timer's timing."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

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
