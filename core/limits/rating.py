"""One rating as a rule, and what it says of one operating point."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from burstwise.core.design.document import Design
from burstwise.core.findings import Severity
from burstwise.core.limits.load import Load, Value
from burstwise.core.units import shown

AS_DESIGNED: Final = "as designed"
"""Name of the state that the design describes."""
LOST_LOOP: Final = "lost loop"
"""Name of the state with the drive enabled and no oscillation."""
TIGHT_BELOW = 0.20
"""Margin below which a rating is called tight."""


class Verdict(StrEnum):
    """What a margin means."""

    HOLDS = "holds"
    TIGHT = "tight"
    EXCEEDED = "exceeded"

    @property
    def severity(self) -> Severity | None:
        """How much it weighs, None where it holds."""
        return {"tight": Severity.CAUTION, "exceeded": Severity.STOP}.get(self.value)


def verdict_of(margin: float) -> Verdict:
    """Verdict of a margin; a margin that is not a number is exceeded.

    Examples
    --------
    >>> [verdict_of(margin).value for margin in (0.5, 0.1, -0.1)]
    ['holds', 'tight', 'exceeded']
    """
    if not margin >= 0:
        return Verdict.EXCEEDED
    return Verdict.TIGHT if margin < TIGHT_BELOW else Verdict.HOLDS


@dataclass(frozen=True, slots=True)
class Limit:
    """One rating, what it is asked for, and how far away it is.

    Attributes
    ----------
    rating : str
        Stable name.
    title : str
        Name in words.
    value, limit : float
        What is asked and what is allowed after derating, in `unit`.
    margin : float
        ``(limit - value)/limit``, for temperatures over the rise above ambient [1].
    text : str
        One sentence with the numbers in it.
    derating : float
        What is left of the rating as printed, ``limit/rated`` [1].
    corner : str
        State of the stage that asks most, as `burstwise.core.evaluate.corners` names them.
    """

    rating: str
    title: str
    value: float
    limit: float
    unit: str
    margin: float
    text: str
    derating: float = 1.0
    corner: str = AS_DESIGNED

    @property
    def verdict(self) -> Verdict:
        """Holds, tight or exceeded."""
        return verdict_of(self.margin)

    @property
    def severity(self) -> Severity | None:
        """How much the verdict weighs; a lost loop is a fault that has to happen first."""
        found = self.verdict.severity
        return Severity.CAUTION if found and self.corner == LOST_LOOP else found


Reader = Callable[[Design, Load], Value]


@dataclass(frozen=True, slots=True)
class Rating:
    """Rule of one rating, for one operating point or a field of them.

    Parameters
    ----------
    name, title, unit : str
        Stable name, words, unit of value and limit.
    value, allowed : callable
        What is asked and what is allowed after derating.
    rated : callable
        The rating as printed; the allowed value if there is no derating.
    because : callable
        End of the sentence, or nothing.
    applies : callable
        Whether the design has the part at all.
    """

    name: str
    title: str
    unit: str
    value: Reader
    allowed: Reader
    rated: Reader | None = None
    because: Callable[[Design, Load], str] | None = None
    applies: Callable[[Design, Load], bool] | None = None

    def fits(self, design: Design, load: Load) -> bool:
        """Whether the design has the part that this rating belongs to."""
        return self.applies is None or self.applies(design, load)

    def figures(self, design: Design, load: Load) -> tuple[NDArray[np.float64], ...]:
        """Value, limit and margin as arrays."""
        value = np.asarray(self.value(design, load), dtype=np.float64)
        limit = np.asarray(self.allowed(design, load), dtype=np.float64)
        value, limit = np.broadcast_arrays(value, limit)
        zero = design.cooling.ambient if self.unit == "°C" else 0.0
        with np.errstate(divide="ignore", invalid="ignore"):
            margin = (limit - value) / (limit - zero)
        hopeless = np.where(value > zero, -np.inf, 0.0)
        return value, limit, np.where(limit > zero, margin, hopeless)

    def limit(
        self, design: Design, load: Load, *, corner: str = AS_DESIGNED, words: str = ""
    ) -> Limit:
        """Statement about one operating point.

        Parameters
        ----------
        design, load
            The design and what is asked of its parts.
        corner, words : str
            State that the load belongs to, and how the sentence tells it.
        """
        value, limit, margin = (float(figure) for figure in self.figures(design, load))
        rated = limit if self.rated is None else float(self.rated(design, load))
        tail = f", {self.because(design, load)}" if self.because is not None else ""
        asked = "runs away" if np.isinf(value) else shown(value, self.unit)
        text = f"{self.title}: {asked} of {shown(limit, self.unit)} allowed{tail}"
        text += f"; worst {words}." if words else "."
        share = limit / rated if rated > 0 else 1.0
        return Limit(self.name, self.title, value, limit, self.unit, margin, text, share, corner)
