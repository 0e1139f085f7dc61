"""What may move: fields of a design as coordinates between 0 and 1."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.design.document import Design, field_info, value_at, with_values
from burstwise.core.errors import InputError
from burstwise.core.interrupter.resolve import DUTY
from burstwise.core.units import quantity, shown

DIGITS: Final = 3
"""Figures that a value in between is rounded to: nobody builds to more."""
_DECADES: Final = 8.0
"""Ratio of a range's ends from which it is searched by ratio instead of by difference."""
WHOLE_UNITS: Final = frozenset({"turns"})
MOST_CHOICES: Final = 200


@dataclass(frozen=True, slots=True)
class Free:
    """One field that may move.

    Attributes
    ----------
    path : str
        Dotted path of the field.
    low, high : float
        Ends of the range; not used with choices.
    whole : bool
        Whether only whole numbers count.
    choices : tuple
        Values to choose from, in an order that makes sense; empty for a range.
    """

    path: str
    low: float = 0.0
    high: float = 1.0
    whole: bool = False
    choices: tuple[Any, ...] = ()

    @property
    def count(self) -> float:
        """Number of values; inf where there are values in between."""
        if self.choices:
            return len(self.choices)
        return math.floor(self.high) - math.ceil(self.low) + 1 if self.whole else math.inf

    def value(self, place: float) -> Any:
        """Value at a coordinate between 0 and 1."""
        share = min(max(place, 0.0), 1.0)
        if self.choices:
            return self.choices[min(int(share * len(self.choices)), len(self.choices) - 1)]
        if self.whole:
            low, count = math.ceil(self.low), int(self.count)
            return float(low + min(int(share * count), count - 1))
        if self._by_ratio:
            between = self.low * (self.high / self.low) ** share
        else:
            between = self.low + share * (self.high - self.low)
        return min(max(_rounded(between), self.low), self.high)

    def place(self, value: Any) -> float:
        """Coordinate of a value; 0.5 for one that is not among the choices."""
        if self.choices:
            if value not in self.choices:
                return 0.5
            return (self.choices.index(value) + 0.5) / len(self.choices)
        if not isinstance(value, (int, float)):
            return 0.5
        inside = min(max(float(value), self.low), self.high)
        if self.whole:
            return float((round(inside) - math.ceil(self.low) + 0.5) / self.count)
        if self._by_ratio:
            return math.log(inside / self.low) / math.log(self.high / self.low)
        return (inside - self.low) / (self.high - self.low)

    def holds(self, value: Any) -> bool:
        """Whether a value can be reached: among the choices, or in the range and at its steps."""
        if self.choices:
            return value in self.choices
        if not isinstance(value, (int, float)) or not self.low <= value <= self.high:
            return False
        return bool(self.value(self.place(value)) == value)

    def at_end(self, value: Any) -> str:
        """Which end of its range a value stands at, in words; empty for one in between."""
        if self.choices or not isinstance(value, (int, float)):
            return ""
        place = self.place(value)
        step = 0.5 / self.count if self.whole else 0.005
        if place <= step:
            return "lower"
        return "upper" if place >= 1.0 - step else ""

    @property
    def title(self) -> str:
        """Title of the field."""
        return str(field_info(self.path)["title"])

    def text(self, value: Any) -> str:
        """Value as a person writes it."""
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, (int, float)):
            info = field_info(self.path)
            unit = "%" if self.path == DUTY else str(info.get("unit", ""))
            return shown(float(value), unit, digits=DIGITS)
        return str(getattr(value, "name", value))

    @property
    def by_difference(self) -> bool:
        """Whether equal steps of the coordinate are equal steps of the value."""
        return not self.choices and not (self._by_ratio and not self.whole)

    @property
    def _by_ratio(self) -> bool:
        return self.low > 0.0 and self.high / self.low >= _DECADES


def _rounded(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")


def free_from_text(design: Design, text: str) -> Free:
    """Free field as it is written on the command line.

    Parameters
    ----------
    design : Design
        Design that must have the field.
    text : str
        ``supply.voltage=12V:60V`` for a range, ``device.on_resistance=0R1,0R2`` for choices.

    Raises
    ------
    InputError
        Not of that form, an unknown field, values that the field does not take, or an empty range.
    """
    path, separator, values = (part.strip() for part in text.partition("="))
    if not separator or not values:
        raise InputError("--free", text, "PATH=LOW:HIGH or PATH=VALUE,VALUE,...")
    value_at(design, path)
    info = field_info(path)
    unit, numeric = str(info.get("unit", "")), "low" in info or "unit" in info
    field = f"--free {path}"
    if ":" in values:
        if not numeric:
            raise InputError(field, values, "a list VALUE,VALUE,..., as it is no number")
        low, high = (
            quantity(
                part.strip(),
                unit,
                field=field,
                low=float(info.get("low", -math.inf)),
                high=float(info.get("high", math.inf)),
            )
            for part in values.split(":", 1)
        )
        if not low < high:
            raise InputError(field, values, "LOW:HIGH with LOW below HIGH")
        return Free(path, low, high, whole=unit in WHOLE_UNITS)
    listed = [part.strip() for part in values.split(",")]
    if not 2 <= len(listed) <= MOST_CHOICES:
        raise InputError(field, values, f"2 to {MOST_CHOICES} values, or LOW:HIGH")
    chosen = tuple(value_at(with_values(design, {path: part}), path) for part in listed)
    return Free(path, choices=chosen)


def edits(free: Sequence[Free], place: Array) -> dict[str, Any]:
    """Values of the free fields at coordinates."""
    return {one.path: one.value(float(x)) for one, x in zip(free, place, strict=True)}


def place_of(free: Sequence[Free], values: Mapping[str, Any]) -> Array:
    """Coordinates of values of the free fields."""
    return np.array([one.place(values[one.path]) for one in free])


def snapped(free: Sequence[Free], places: Array) -> Array:
    """Coordinates in the middle of the choice or whole number they stand for (points, fields).

    Examples
    --------
    >>> snapped([Free("supply.voltage"), Free("device", choices=(1, 2))], np.array([[0.3, 0.9]]))
    array([[0.3 , 0.75]])
    """
    counts = np.array([one.count for one in free])
    steps = np.where(np.isfinite(counts), counts, 1.0)
    inside = np.clip(places, 0.0, 1.0)
    middle = (np.minimum(np.floor(inside * steps), steps - 1.0) + 0.5) / steps
    return np.asarray(np.where(np.isfinite(counts), middle, inside))


def stretched(free: Sequence[Free], places: Array) -> Array:
    """Coordinates by the logarithm of the value, where all of a range is positive (points, fields).

    Examples
    --------
    >>> stretched([Free("supply.voltage", 10.0, 40.0)], np.array([[0.0], [1 / 3], [1.0]])).T
    array([[0. , 0.5, 1. ]])
    """
    found = np.array(places, dtype=np.float64)
    for column, one in enumerate(free):
        if one.by_difference and one.low > 0.0:
            value = one.low + found[:, column] * (one.high - one.low)
            found[:, column] = np.log(value / one.low) / math.log(one.high / one.low)
    return found


def all_places(free: Sequence[Free]) -> Array:
    """Coordinates of every combination of a space without values in between."""
    axes = [(np.arange(int(one.count)) + 0.5) / one.count for one in free]
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, len(free))


def apart(free: Sequence[Free], one: Mapping[str, Any], other: Mapping[str, Any]) -> float:
    """How far two designs are from each other: the largest step of a coordinate [1].

    Another choice from a list counts as a step of the whole range.
    """
    steps = []
    for field in free:
        a, b = one[field.path], other[field.path]
        if field.choices:
            steps.append(0.0 if a == b else 1.0)
        else:
            steps.append(abs(field.place(a) - field.place(b)))
    return max(steps, default=0.0)
