"""Cautions that stand before any instruction; no figure here or elsewhere is a permission."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Hazard:
    """One hazard and what to do about it."""

    title: str
    text: str


HAZARDS: Final[tuple[Hazard, ...]] = (
    Hazard(
        "High voltage",
        "Top load, secondary and primary carry voltages that can kill or burn. Keep people, pets "
        "and other wiring away by more than the longest discharge ever seen. Never work alone.",
    ),
    Hazard(
        "RF burns",
        "A discharge to the skin may not be felt as a shock and still burns deeply. Do not draw "
        "sparks to the body or to hand-held metal.",
    ),
    Hazard(
        "Stored charge",
        "Bulk capacitors stay charged after switching off. Wait, measure, short them through a "
        "resistor, and measure again before touching anything.",
    ),
    Hazard(
        "Mains",
        "Use an isolated, current-limited supply. Anything connected to the mains follows the "
        "local codes and is work for a licensed person; this sheet does not cover it.",
    ),
    Hazard(
        "Hot parts",
        "Transistor, heat sink, shunt, snubber and clamps can burn the skin within seconds, and a "
        "device that fails may burst: wear eye protection.",
    ),
    Hazard(
        "Ozone and fire",
        "Discharges make ozone and nitrogen oxides and light what burns. Ventilate, clear the "
        "table, keep an extinguisher for electrical fires at hand, never leave it running alone.",
    ),
    Hazard(
        "Radio interference",
        "The coil is a transmitter. Local law limits what it may radiate; keep runs short, away "
        "from receivers and data equipment, or inside a screened enclosure.",
    ),
    Hazard(
        "Implanted devices",
        "Persons with pacemakers, pumps, neurostimulators or hearing implants must stay out of "
        "the room. Tell visitors before switching on.",
    ),
)

ESTIMATE: Final = (
    "All figures are estimates of a model and hold within the assumptions at the end of this "
    "sheet. No figure here is a permission to apply a voltage or to go near the coil."
)
