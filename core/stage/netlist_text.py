"""Words and lines that a netlist is written with."""

from __future__ import annotations

from typing import Final

from burstwise.core.stage.elements import GROUND

OPEN: Final = 1e9
"""Resistance of an open switch [ohm]."""
_SIGNS: Final = {"µ": "u", "Ω": "ohm", "°": "deg ", " ·": ",", "–": "-", "−": "-"}
"""Words for the signs beyond ASCII that titles and quantities hold."""


def plain(text: str) -> str:
    """One line in ASCII, so that no simulator takes a comment for anything else."""
    for sign, word in _SIGNS.items():
        text = text.replace(sign, word)
    return " ".join(text.split()).encode("ascii", "replace").decode("ascii")


def number(value: float) -> str:
    """Figure as a netlist takes it."""
    return f"{value:.12g}"


def line(name: str, start: str, end: str, value: float | str) -> str:
    """One part between two nodes."""
    ends = ["0" if node == GROUND else node for node in (start, end)]
    return " ".join([name, *ends, value if isinstance(value, str) else number(value)])


def across(start: str, end: str) -> str:
    """Voltage between two nodes, in a formula."""
    return f"v({start})" if end == GROUND else f"v({start},{end})"
