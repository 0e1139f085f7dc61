"""One line of the parts list, and the book that collects the lines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, SupportsFloat

from core.units import shown

HEADROOM: Final = 0.20
"""Share of a rating that is left free; below it a rating counts as tight."""


@dataclass(frozen=True, slots=True)
class Requirement:
    """A rating that a part must have.

    Attributes
    ----------
    name : str
        E.g. ``"voltage"``.
    least : float
        Smallest rating to buy, with `HEADROOM` left free.
    unit : str
        SI unit.
    asked : float
        What the design asks of it.
    """

    name: str
    least: float
    unit: str
    asked: float

    @property
    def text(self) -> str:
        """Words for lists.

        Examples
        --------
        >>> requirement("voltage", 40.0, "V").text
        'voltage at least 50 V (sees 40 V)'
        """
        least, asked = shown(self.least, self.unit, digits=3), shown(self.asked, self.unit)
        return f"{self.name} at least {least} (sees {asked})"


def requirement(name: str, asked: SupportsFloat, unit: str) -> Requirement:
    """Requirement with the usual headroom.

    Examples
    --------
    >>> requirement("power", 0.8, "W").least
    1.0
    """
    seen = float(asked)
    return Requirement(name, seen / (1.0 - HEADROOM), unit, seen)


@dataclass(frozen=True, slots=True)
class Part:
    """One part to buy or wind.

    Attributes
    ----------
    reference : str
        Reference designator, e.g. ``"R3"``.
    role : str
        Stable name.
    title : str
        What it is there for, in words.
    value : float or None
        In `unit`; None where a class says it all.
    unit : str
        SI unit.
    kind : str
        What sort of part to buy.
    tolerance : float or None
        As a share; None where it does not matter.
    requirements : tuple of Requirement
        Ratings it must have.
    why : str
        Where value and ratings come from.
    """

    reference: str
    role: str
    title: str
    value: float | None
    unit: str
    kind: str
    tolerance: float | None
    requirements: tuple[Requirement, ...]
    why: str

    @property
    def value_text(self) -> str:
        """Value with unit, empty where there is none."""
        return "" if self.value is None else shown(self.value, self.unit)

    @property
    def drawn_text(self) -> str:
        """What stands beside the part in the drawing."""
        return self.value_text or self.kind

    @property
    def tolerance_text(self) -> str:
        """Tolerance in percent, empty where it does not matter."""
        return "" if self.tolerance is None else f"±{100 * self.tolerance:g} %"


class PartsBook:
    """Collects parts under their references.

    Parameters
    ----------
    references : mapping
        Reference designator of every part of the design by role.
    """

    def __init__(self, references: Mapping[str, str]) -> None:
        self._references = references
        self._parts: list[Part] = []

    def add(
        self,
        role: str,
        title: str,
        value: float | None = None,
        unit: str = "",
        *,
        kind: str,
        tolerance: float | None = None,
        needs: Sequence[Requirement] = (),
        why: str,
    ) -> Part:
        """Add the part of a role."""
        part = Part(
            self._references[role],
            role,
            title,
            value,
            unit,
            kind,
            tolerance,
            tuple(needs),
            why,
        )
        self._parts.append(part)
        return part

    @property
    def parts(self) -> tuple[Part, ...]:
        """Parts in the order they were added."""
        return tuple(self._parts)
