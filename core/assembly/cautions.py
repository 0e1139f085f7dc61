"""Cautions that stand before any instruction; no figure here or elsewhere is a permission.

The one list behind the build sheet, the power-up plan, the lessons and the window.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final


@dataclass(frozen=True, slots=True)
class Hazard:
    """One hazard and what to do about it."""

    title: str
    text: str


HAZARDS: Final[tuple[Hazard, ...]] = (
    Hazard(
        "High voltage",
        "Top load, secondary and primary carry voltages that can kill or burn. A fixed barrier "
        "keeps people, pets and other wiring away, as far as the power-up plan says and never "
        "less than 1 m. A discharge that strikes the primary lifts 0 V, and with it the knob, the "
        "supply's terminals and every instrument, to high voltage: touch none of them meanwhile.",
    ),
    Hazard(
        "Supervision",
        "Never work alone: a second person who knows what to do stands at the switch. Pupils stay "
        "behind the barrier, an adult in charge stays in the room, nothing runs unattended.",
    ),
    Hazard(
        "Emergency off",
        "One switch outside the barrier, marked, in reach and tried beforehand, cuts the main "
        "supply. In an accident switch off first, then help.",
    ),
    Hazard(
        "RF burns",
        "A discharge to the skin may not be felt as a shock and still burns deeply. Do not draw "
        "sparks to the body or to hand-held metal.",
    ),
    Hazard(
        "Stored charge",
        "Bulk capacitors stay charged after switching off. Wait, measure volts, short them "
        "through a resistor, and measure again before touching anything.",
    ),
    Hazard(
        "Mains",
        "Use an isolated, current-limited supply. Anything connected to the mains follows the "
        "local codes and is work for a licensed person; nothing here covers it. An oscilloscope's "
        "probe clip is mains earth: it goes to 0 V only. Give the coil an RF ground of its own, "
        "apart from the mains earth.",
    ),
    Hazard(
        "Hot parts",
        "Transistor, heat sink, shunt, snubber and clamps can burn the skin within seconds, and a "
        "device that fails may burst: wear eye protection. Tie the heat sink to 0 V and insulate "
        "the transistor from it; a sink that is not tied may carry the drain's voltage.",
    ),
    Hazard(
        "Ozone and fire",
        "Discharges make ozone and nitrogen oxides and light what burns. Ventilate, clear the "
        "table, keep an extinguisher for electrical fires at hand, never leave it running alone.",
    ),
    Hazard(
        "Flashing light",
        "Bursts at some 3 to 60 Hz, and most of all around 15 to 25 Hz, make light that flashes "
        "and can set off seizures (range from memory). Ask everybody before you show it, and "
        "choose another frequency.",
    ),
    Hazard(
        "Noise",
        "Interrupted discharges are loud, in small rooms loud enough to hurt the ears: keep "
        "distance and runs short, wear hearing protection.",
    ),
    Hazard(
        "Radio interference",
        "The coil is a transmitter. Local law limits what it may radiate; keep runs short, away "
        "from receivers and data equipment, or inside a screened enclosure. Phones, computers and "
        "data carriers near by can be damaged: take them out of the room.",
    ),
    Hazard(
        "Implanted devices",
        "Persons with pacemakers, pumps, neurostimulators, hearing implants or hearing aids must "
        "stay out of the room. Tell visitors before switching on.",
    ),
)

ESTIMATE: Final = (
    "All figures are estimates of a model and hold within the assumptions at the end of this "
    "sheet. No figure here is a permission to apply a voltage or to go near the coil."
)

_SHORT: Final = "Estimates, no permission."
PLACES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "power-up": "High voltage. Take the stages in order; a reading outside its band means "
        "stop. Barrier up, a second person at the switch; switch off and empty the bulk capacitor "
        f"before touching anything. {_SHORT}",
        "operating point": "High voltage: raise the supply in small steps with its current limit "
        f"set, everybody behind a barrier. {_SHORT}",
        "limits": "High voltage: raise the supply in small steps with its current limit set, "
        "everybody behind a barrier; let parts cool and capacitors empty before you touch. "
        f"{_SHORT}",
        "forecast": "High voltage: raise the supply in small steps, with the drain voltage and the "
        "heat sink in view from behind the barrier, and keep hands off while it runs. "
        f"{_SHORT}",
        "interrupter": "Bursts at some 3 to 60 Hz, most of all around 15 Hz and above, flash and "
        "can set off seizures: ask before you show them. High voltage and noise at every "
        f"frequency. {_SHORT}",
        "lessons": "The lessons are arithmetic. On a real coil each is a first power-up: high "
        "voltage, barrier, a second person at the switch, flashing light. "
        f"{_SHORT}",
    }
)
"""Line of each place in the window that suggests power; all hazards stand behind it in full."""


def line(place: str) -> str:
    """Caution of a place, with its mark.

    Parameters
    ----------
    place : str
        A key of `PLACES`.

    Examples
    --------
    >>> line("lessons").startswith("▲ The lessons are arithmetic.")
    True
    """
    return f"▲ {PLACES[place]}"


def in_full() -> str:
    """All hazards, a line each.

    Examples
    --------
    >>> in_full().count(chr(10)) + 1 == len(HAZARDS)
    True
    """
    return "\n".join(f"{hazard.title}. {hazard.text}" for hazard in HAZARDS)
