"""What the parts of a design cost, as far as the builder's drawer knows prices."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from burstwise.core.assembly.part import Part
from burstwise.core.drawer import Drawer

_CERAMIC: Final = ("c0g capacitor", "x7r capacitor")
_KINDS: Final[Mapping[str, tuple[str, ...]]] = {
    "resistor": ("resistor",),
    "potentiometer": ("potentiometer",),
    "film capacitor": ("film capacitor",),
    "electrolytic capacitor": ("electrolytic capacitor",),
    "ceramic capacitor": _CERAMIC,
    "pulse capacitor": ("film capacitor", "c0g capacitor"),
}
"""Kinds in the drawer that a family of parts is bought as."""


@dataclass(frozen=True, slots=True)
class Cost:
    """Prices of parts.

    Attributes
    ----------
    prices : mapping
        Price of each part by its reference, all its pieces, in the builder's own money.
    count : int
        Parts in the whole list, those without a price too.
    """

    prices: Mapping[str, float]
    count: int

    @property
    def total(self) -> float:
        """Sum of the prices that are known."""
        return sum(self.prices.values())

    @property
    def text(self) -> str:
        """In words; empty without a single price."""
        if not self.prices:
            return ""
        each = ", ".join(f"{name} {price:.2f}" for name, price in self.prices.items())
        return (
            f"By the prices in the drawer {self.total:.2f} for {len(self.prices)} of {self.count} "
            f"parts: {each}. The rest, and wire, are not in it; the drawer knows no ratings, so "
            "hold those parts against what they must have."
        )


def cost_of_parts(parts: Iterable[Part], drawer: Drawer) -> Cost:
    """What parts cost, those without a price in the drawer left out.

    A part made of several pieces takes the price of the piece so many times.
    """
    listed = tuple(parts)
    found = {part.reference: _price(part, drawer) for part in listed}
    known = {name: price for name, price in found.items() if price is not None}
    return Cost(known, len(listed))


def _price(part: Part, drawer: Drawer) -> float | None:
    pieces, value = 1, part.value
    if part.made is not None:
        pieces, value = part.made.pieces, part.made.each
    if part.role == "switch":
        prices = [drawer.price_of_device(part.kind)]
    elif value is None:
        return None
    else:
        prices = [drawer.price(kind, value) for kind in _KINDS.get(part.family, ())]
    least = min((price for price in prices if price is not None), default=None)
    return None if least is None else pieces * least
