"""Standard that the symbols of a circuit drawing follow."""

from __future__ import annotations

from enum import StrEnum


class SymbolStyle(StrEnum):
    """Symbols of resistors, potentiometers and fuses; all others are the same in both."""

    IEC = "iec"
    """Rectangles, after IEC 60617."""
    ANSI = "ansi"
    """Zigzags, after ANSI Y32.2 / IEEE 315."""
