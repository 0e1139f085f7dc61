"""Kinds of part that are sold, and how many of which kind make a part that a design asks for.

Ratings of a part made of several pieces follow from how they share: in series they share voltage
and heat, in parallel current and heat.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Final

from burstwise.core.errors import InputError
from burstwise.core.series import nearest_value
from burstwise.core.units import shown

_HEAT: Final = frozenset({"power", "burst power", "mean power", "pulse power", "stored energy"})
_ADD_IN_SERIES: Final = _HEAT | {"voltage"}
_ADD_IN_PARALLEL: Final = _HEAT | {"RMS current", "ripple current"}
_OFF_VALUE: Final = 0.06
"""Largest deviation of pieces of preferred values from the value asked for [1]."""
_SINK_PIECES: Final = 2
"""Pieces in free air that are rather taken than one more part on a heat sink."""
SINK_CASE: Final = 85.0
"""Case temperature at which kinds on a heat sink have their listed power [C]."""

SUPPRESSOR_STAND_OFF: Final = 0.85
"""Stand-off voltage of a suppressor diode over its breakdown [1]; from memory of datasheets."""


@dataclass(frozen=True, slots=True)
class Family:
    """How parts of a family are put together, and in which unit and series they are sold."""

    unit: str = ""
    series: str = ""
    most_in_series: int = 1
    most_in_parallel: int = 1


FAMILIES: Final[Mapping[str, Family]] = MappingProxyType(
    {
        "resistor": Family("Ω", "E24", 4, 4),
        "shunt": Family("Ω", "E24", 1, 4),
        "electrolytic capacitor": Family("F", "E12", 1, 6),
        "film capacitor": Family("F", "E12", 1, 4),
        "pulse capacitor": Family("F", "E12", 1, 6),
        "ceramic capacitor": Family("F", "E12", 1, 4),
        "suppressor": Family("V", "E24", 10, 1),
        "Zener diode": Family("V", "E24", 4, 1),
    }
)
"""Families whose parts may be made of several pieces; all others are one piece."""


@dataclass(frozen=True, slots=True)
class SoldKind:
    """One kind of part that is sold.

    Attributes
    ----------
    family, name : str
        What it is for, and its construction and size in words.
    ratings : mapping
        Largest value of each rating of one piece, by the name of the requirement, SI units.
    smallest, largest : float
        Values that are sold [unit of the family].
    wound : bool
        Whether it has the inductance of a wound wire.
    on_sink : bool
        Whether its power is that on a heat sink, with its case at `SINK_CASE`.
    source : str
        Where the figures are from.
    """

    family: str
    name: str
    ratings: Mapping[str, float]
    source: str
    smallest: float = 0.0
    largest: float = math.inf
    wound: bool = False
    on_sink: bool = False


@dataclass(frozen=True, slots=True)
class Made:
    """A part made of `series` times `parallel` pieces of a kind, each of the value `each`."""

    kind: SoldKind
    series: int = 1
    parallel: int = 1
    each: float | None = None

    @property
    def pieces(self) -> int:
        """Number of pieces."""
        return self.series * self.parallel

    def rating(self, name: str) -> float:
        """Rating of the whole [SI]; 0 where the kind has none of that name.

        The pulse current of a Zener or suppressor diode is its pulse power over its voltage.
        """
        ratings = self.kind.ratings
        if name == "pulse current" and name not in ratings and self.each:
            return ratings.get("pulse power", 0.0) / self.each
        value = ratings.get(name, 0.0)
        value *= self.series if name in _ADD_IN_SERIES else 1
        return value * (self.parallel if name in _ADD_IN_PARALLEL else 1)

    @property
    def words(self) -> str:
        """Number, value and kind in words."""
        if self.pieces == 1:
            return self.kind.name
        how = "series" if self.series > 1 else "parallel"
        unit = FAMILIES[self.kind.family].unit
        value = f" of {shown(self.each, unit)}" if self.each is not None else ""
        return f"{self.pieces} in {how}{value}, each {self.kind.name}"


@cache
def sold_kinds() -> tuple[SoldKind, ...]:
    """All kinds, within each family the ones to prefer first."""
    text = (files("burstwise.resources") / "parts" / "kinds.json").read_text(encoding="utf-8")
    return tuple(
        SoldKind(**{**entry, "ratings": MappingProxyType(entry["ratings"])})
        for entry in json.loads(text)
    )


def made_of(
    family: str,
    needs: Mapping[str, float],
    *,
    value: float | None = None,
    wound_does_no_harm: bool = False,
) -> Made | None:
    """Fewest pieces of a kind that is sold which carry all ratings; None where nothing does.

    Two more pieces in free air are rather taken than a part that needs a heat sink.

    Parameters
    ----------
    family : str
        A family of `sold_kinds`.
    needs : mapping
        Least rating by name [SI].
    value : float, optional
        Value of the whole [unit of the family].
    wound_does_no_harm : bool
        Whether the inductance of a wound wire does no harm at this place.

    Raises
    ------
    InputError
        An unknown family.

    Notes
    -----
    Equal pieces share as equals. Suppressor diodes in parallel do not, so they come in series.

    Examples
    --------
    >>> made_of("resistor", {"power": 15.0}, value=470.0, wound_does_no_harm=True).words
    'wirewound in a cement case, 17 W'
    >>> made_of("suppressor", {"mean power": 4.0, "pulse power": 2e3}, value=500.0).words
    '2 in series of 240 V, each unidirectional transient suppressor, 1500 W for a 10/1000 µs pulse'
    """
    kinds = [kind for kind in sold_kinds() if kind.family == family]
    if not kinds:
        raise InputError("family", family, "a family of parts that are sold")
    fitting = [
        found
        for kind in kinds
        if wound_does_no_harm or not kind.wound
        for found in _makes(kind, value)
        if all(found.rating(name) >= least for name, least in needs.items())
    ]
    return min(fitting, key=_effort, default=None)


def _effort(made: Made) -> int:
    return made.pieces + _SINK_PIECES * made.kind.on_sink


def _makes(kind: SoldKind, value: float | None) -> Iterator[Made]:
    """All ways to make a value [unit of the family] of one kind."""
    shape = FAMILIES.get(kind.family, Family())
    ways = [(count, 1) for count in range(1, shape.most_in_series + 1)]
    ways += [(1, count) for count in range(2, shape.most_in_parallel + 1)]
    for series, parallel in ways:
        found = Made(kind, series, parallel, _each(shape, value, series, parallel))
        if _sold_in(found, value):
            yield found


def _each(shape: Family, value: float | None, series: int, parallel: int) -> float | None:
    """Value of one piece; preferred where the whole is made of several."""
    if value is None or series * parallel == 1:
        return value
    exact = value * parallel / series if shape.unit == "Ω" else value / (parallel * series)
    return nearest_value(exact, series=shape.series)


def _sold_in(made: Made, value: float | None) -> bool:
    """Whether the pieces are sold in their value and come near to the value of the whole."""
    kind, each = made.kind, made.each
    if each is None or value is None:
        return True
    shape = FAMILIES.get(kind.family, Family())
    whole = each * made.series / made.parallel if shape.unit == "Ω" else each * made.pieces
    near = abs(whole - value) <= _OFF_VALUE * abs(value)
    return near and kind.smallest <= each <= kind.largest


def suppressor_capacitance(made: Made) -> float:
    """Capacitance of a row of suppressor diodes at 0 V [F], within a factor of two.

    Goes with one over the breakdown voltage of each, as wider junctions block more; in series it
    falls with their number. From memory of datasheets.

    Examples
    --------
    >>> row = made_of("suppressor", {"mean power": 4.0, "pulse power": 2e3}, value=400.0)
    >>> row.words.split(",")[0]
    '2 in series of 200 V'
    >>> round(suppressor_capacitance(row) * 1e12)
    125
    """
    if made.each is None:
        return 0.0
    return made.kind.ratings["capacitance at 100 V"] * 100.0 / made.each / made.series
