"""What a builder has in the drawer: lists of parts, read from and written to CSV.

One line a part: its kind, its value with unit, a name and a price where one was given. A device is
named after its class and has no value.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from burstwise.core.errors import InputError
from burstwise.core.series import SERIES, series_values
from burstwise.core.table_text import csv_text, table_lines
from burstwise.core.units import quantity, shown

TITLES: Final = ("kind", "value", "name", "price")
MOST_PARTS: Final = 2000
_LONGEST: Final = 100
_APART: Final = re.compile(
    r"(?<=\d)\s+(?=(?:[pnuµμmkKMG]|[pnuµμmkKMG]?(?:Ω|[Oo]hms?|F|m))(?:[\s;,]|$))"
)
"""Blank between a number and its unit."""
_LONGEST_ENTRY: Final = 10_000
"""Most characters of several values in one entry."""
_OF_SERIES: Final = re.compile(r"(E\d{1,3})\s+([^:]{1,30}):([^:]{1,30})", re.IGNORECASE)
DEVICE: Final = "device"
KINDS: Final[Mapping[str, tuple[str, float, float]]] = MappingProxyType(
    {
        "resistor": ("Ω", 0.01, 1e8),
        "potentiometer": ("Ω", 10.0, 1e8),
        "film capacitor": ("F", 1e-12, 1e-4),
        "c0g capacitor": ("F", 1e-12, 1e-4),
        "x7r capacitor": ("F", 1e-12, 1e-3),
        "electrolytic capacitor": ("F", 1e-9, 1.0),
        "wire": ("m", 1e-5, 1e-2),
        "tube": ("m", 1e-3, 2.0),
        "top load": ("m", 1e-3, 5.0),
        DEVICE: ("", 0.0, 0.0),
    }
)
"""Kinds of part with unit and range of their value: wires, tubes and top loads by diameter."""


@dataclass(frozen=True, slots=True)
class DrawerPart:
    """One kind of piece that lies in the drawer.

    Attributes
    ----------
    kind : str
        One of `KINDS`.
    value : float
        In SI units; nan for a device.
    name : str
        As the builder calls it; class of a device.
    price : float or None
        Of one piece, in the builder's own money.
    """

    kind: str
    value: float
    name: str = ""
    price: float | None = None

    @property
    def key(self) -> tuple[int, float, str, float]:
        """What tells parts apart, in the order in which they are listed."""
        place = tuple(KINDS).index(self.kind)
        value = 0.0 if self.kind == DEVICE else self.value
        return place, value, self.name, -1.0 if self.price is None else self.price

    @property
    def value_text(self) -> str:
        """Value as a person writes it, a diameter in millimetres; empty for a device."""
        unit = KINDS[self.kind][0]
        if unit == "m":
            return f"{1e3 * self.value:.6g} mm"
        return shown(self.value, unit, digits=6) if unit else ""

    @property
    def price_text(self) -> str:
        """Price as a person writes it; empty without one."""
        return "" if self.price is None else f"{self.price:g}"


@dataclass(frozen=True, slots=True)
class Drawer:
    """All that lies in the drawer."""

    parts: tuple[DrawerPart, ...] = ()

    def values(self, *kinds: str) -> tuple[float, ...]:
        """Values of some kinds, rising, each once [SI]."""
        return tuple(sorted({part.value for part in self.parts if part.kind in kinds}))

    def names(self, kind: str) -> tuple[str, ...]:
        """Names of a kind, each once, in their order."""
        return tuple(dict.fromkeys(part.name for part in self.parts if part.kind == kind))

    def with_parts(self, more: Iterable[DrawerPart]) -> Drawer:
        """Drawer with further parts, sorted by kind and value, none of them twice.

        Raises
        ------
        InputError
            More than `MOST_PARTS`.
        """
        known = {part.key: part for part in (*self.parts, *more)}
        if len(known) > MOST_PARTS:
            raise InputError("drawer", f"{len(known)} parts", f"at most {MOST_PARTS}")
        return Drawer(tuple(sorted(known.values(), key=lambda part: part.key)))

    def without(self, parts: Iterable[DrawerPart]) -> Drawer:
        """Drawer without some parts."""
        gone = {part.key for part in parts}
        return Drawer(tuple(part for part in self.parts if part.key not in gone))

    def price(self, kind: str, value: float) -> float | None:
        """Lowest price of a value of a kind; None where none was given."""
        return _least(
            part.price
            for part in self.parts
            if part.kind == kind and math.isclose(part.value, value, rel_tol=1e-9)
        )

    def price_of_device(self, name: str) -> float | None:
        """Lowest price of a device of a class; None where none was given."""
        return _least(
            part.price for part in self.parts if part.kind == DEVICE and part.name == name
        )


def _least(prices: Iterable[float | None]) -> float | None:
    return min((price for price in prices if price is not None), default=None)


def drawer_from_text(text: str) -> Drawer:
    r"""Drawer from CSV, separated by commas or semicolons; empty lines are left out.

    Raises
    ------
    InputError
        Titles that are not these, an unknown kind, a value or price that cannot be read or is out
        of its range, or too many parts; with the number of the line.

    Examples
    --------
    >>> drawer = drawer_from_text("kind,value,name,price\nresistor,4k7,,0.05\nwire,0.2mm,,\n")
    >>> drawer.values("resistor"), drawer.values("wire"), drawer.price("resistor", 4700.0)
    ((4700.0,), (0.0002,), 0.05)
    """
    head = text.lstrip("\ufeff\r\n ").splitlines()[:1]
    separator = ";" if head and ";" in head[0] else ","
    lines = list(table_lines(text.lstrip("\ufeff"), separator=separator))
    lines = [line for line in lines if any(line.cells)]
    if not lines or tuple(cell.lower() for cell in lines[0].cells) != TITLES:
        first = lines[0].source if lines else "nothing"
        raise InputError("drawer line 1", first, f"the titles {','.join(TITLES)}")
    if len(lines) - 1 > MOST_PARTS:
        raise InputError("drawer", f"{len(lines) - 1} parts", f"at most {MOST_PARTS}")
    return Drawer(tuple(_part(line.number, line.cells) for line in lines[1:]))


def _part(number: int, cells: list[str]) -> DrawerPart:
    field = f"drawer line {number}"
    if len(cells) > len(TITLES):
        raise InputError(field, ",".join(cells), f"{len(TITLES)} cells: {','.join(TITLES)}")
    kind, value, name, price = (cells + [""] * len(TITLES))[: len(TITLES)]
    return part_from(kind, value, name, price, field=f"{field}, ")


def part_from(
    kind: str, value: str, name: str, price: str, *, field: str = "", bare: str = ""
) -> DrawerPart:
    """Part as it is written.

    Parameters
    ----------
    kind, value, name, price : str
        What a line of the list has; value empty for a device, price where there is none.
    field : str
        What an error's field begins with.
    bare : str
        Unit of a value without one.

    Raises
    ------
    InputError
        An unknown kind, a value or price that cannot be read or is out of its range, a device with
        a value or without a name.

    Examples
    --------
    >>> part_from("wire", "0.2mm", "enamelled", "")
    DrawerPart(kind='wire', value=0.0002, name='enamelled', price=None)
    """
    kind = kind.lower()
    if kind not in KINDS:
        raise InputError(f"{field}kind", kind, f"one of {', '.join(KINDS)}")
    if len(name) > _LONGEST:
        raise InputError(f"{field}name", name, f"at most {_LONGEST} characters")
    unit, low, high = KINDS[kind]
    cost = None
    if price:
        cost = quantity(price, "", field=f"{field}price", low=0.0, high=1e9)
    if kind == DEVICE:
        if value or not name:
            limit = "a device by the name of its class alone"
            raise InputError(f"{field}name", f"{value},{name}", limit)
        return DrawerPart(kind, math.nan, name, cost)
    found = quantity(value, unit, field=f"{field}value", low=low, high=high, bare=bare)
    return DrawerPart(kind, found, name, cost)


def parts_from(
    kind: str, values: str, name: str, price: str, *, bare: str = ""
) -> tuple[DrawerPart, ...]:
    """Parts of one kind as a person lists them: several values, or all of a series in a range.

    Raises
    ------
    InputError
        See `part_from`; nothing listed, or an unknown series.

    Examples
    --------
    >>> [part.value for part in parts_from("resistor", "1k 4k7; 10 k", "", "")]
    [1000.0, 4700.0, 10000.0]
    >>> len(parts_from("resistor", "E12 10:1M", "", "0.05"))
    61
    """
    if kind == DEVICE:
        return (part_from(kind, values.strip(), name, price),)
    found = _OF_SERIES.fullmatch(values.strip())
    if found is None:
        joined = _APART.sub("", values[:_LONGEST_ENTRY])
        words = [word for word in re.split(r",?\s+|;", joined) if word]
        if not words:
            raise InputError("value", "nothing", "one or more values, as 4k7 10k or E12 10:1M")
        return tuple(part_from(kind, word, name, price, bare=bare) for word in words)
    unit, low, high = KINDS[kind]
    first, last = (
        quantity(found[place], unit, field="value", low=low, high=high) for place in (2, 3)
    )
    if found[1].upper() not in SERIES:
        raise InputError("value", found[1], f"one of {', '.join(SERIES)}")
    if not first <= last:
        raise InputError("value", values, "SERIES LOW:HIGH with LOW up to HIGH")
    listed = series_values(found[1].upper(), first, last)
    return tuple(
        part_from(kind, shown(float(value), unit, digits=6), name, price) for value in listed
    )


def drawer_text(parts: Iterable[DrawerPart]) -> str:
    """CSV of parts, which `drawer_from_text` reads.

    Examples
    --------
    >>> print(drawer_text([DrawerPart("film capacitor", 22e-9, "yellow", 0.2)]), end="")
    kind,value,name,price
    film capacitor,22 nF,yellow,0.2
    """
    rows = [(part.kind, part.value_text, part.name, part.price_text) for part in parts]
    return csv_text([TITLES, *rows])
