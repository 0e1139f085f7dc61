"""Trade-offs that the goal page offers: what is swept, and between what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from burstwise.core.errors import InputError
from burstwise.core.search import Free, Keep, Sweep, Wish
from burstwise.core.search.tradeoff import POINTS, spaced
from burstwise.core.search.wish import MARGIN

_MARGINS: Final = (0.0, 0.4)
"""Margins between which a trade-off over them runs [1]."""
_AROUND: Final = (0.5, 2.0)
"""Ends of a trade-off over another condition, over what the form says."""


@dataclass(frozen=True, slots=True)
class Swept:
    """One choice: in words, with the condition or the field that is swept; none for no sweep."""

    text: str
    name: str = ""

    def sweep(self, wish: Wish, free: Sequence[Free]) -> Sweep | None:
        """The sweep for a form's wish and free fields.

        Raises
        ------
        InputError
            The condition or the field that is swept is not ticked.
        """
        if not self.name:
            return None
        if self.name == MARGIN:
            return Sweep(Keep(MARGIN, _MARGINS[0]), spaced(*_MARGINS, POINTS))
        for one in free:
            if one.path == self.name:
                return Sweep(one, spaced(one.low, one.high, POINTS))
        for keep in wish.keeps:
            if keep.name == self.name:
                low, high = (share * keep.limit for share in _AROUND)
                return Sweep(keep, spaced(low, high, POINTS))
        raise InputError(self.text, "not ticked", "ticked above, with its range or value")


SWEPT: Final = (
    Swept("One answer"),
    Swept("Curve over the margin", MARGIN),
    Swept("Curve over the supply", "supply.voltage"),
    Swept("Curve over the duty", "interrupter.duty"),
    Swept("Curve over the top voltage", "burst.top_voltage_reached_V"),
    Swept("Curve over the power", "burst.average_power_W"),
)
