"""One cell of the readings table: from what a person writes to a number in SI units."""

from __future__ import annotations

import math
import re
from decimal import Decimal
from typing import Final

from burstwise.core.bench.readings import Column
from burstwise.core.errors import InputError
from burstwise.core.units import quantity

NOT_MEASURED: Final = frozenset({"", "-", "–", "—", "n/a", "na", "none", "?"})
_LIMITS: Final[dict[Column, tuple[float, float]]] = {
    Column.SUPPLY: (1e-3, 1e4),
    Column.DUTY: (1e-6, 1.0),
    Column.SHUNT_RMS: (1e-9, 1e3),
    Column.SHUNT_MEAN: (1e-9, 1e3),
    Column.SHUNT_PEAK: (1e-9, 1e3),
    Column.DRAIN_PEAK: (1e-3, 1e5),
    Column.HEAT_SINK_TEMPERATURE: (-50.0, 400.0),
    Column.BREAKOUT_LENGTH: (0.0, 10.0),
}
SCALES: Final[dict[Column, dict[str, float]]] = {
    Column.DUTY: {"": 1.0, "-": 1.0, "%": 0.01},
    Column.BREAKOUT_LENGTH: {"cm": 0.01},
}
"""Units of a column beside those of its SI unit, with their SI value."""
_BARE_NUMBER: Final = re.compile(r"^[-+−]?[\d.,\s]++(?:[eE][-+]?\d++)?$")


def is_bare_number(text: str) -> bool:
    """Whether a text is a number without a unit.

    Examples
    --------
    >>> is_bare_number("12,5"), is_bare_number("12 V")
    (True, False)
    """
    return _BARE_NUMBER.match(text) is not None


def cell_value(cell: str, column: Column, *, scale: float = 1.0) -> float | None:
    """Number in SI units that a cell stands for, None for a cell that says 'not measured'.

    Parameters
    ----------
    cell : str
        As typed: ``"12,5"``, ``"345 mV"``, ``"50 %"``, ``"-"``.
    column : Column
        Where it stands.
    scale : float
        SI value of one unit of the column's header, for a bare number.

    Raises
    ------
    InputError
        Unreadable, another unit, or out of the column's range.

    Examples
    --------
    >>> cell_value("345 mV", Column.SHUNT_RMS), cell_value("3 cm", Column.BREAKOUT_LENGTH)
    (0.345, 0.03)
    >>> cell_value(" – ", Column.DUTY) is None
    True
    """
    text = cell.strip()
    if text.lower() in NOT_MEASURED:
        return None
    low, high = _LIMITS[column]
    label = column.label
    for unit, factor in SCALES.get(column, {}).items():
        if unit and text.endswith(unit) and is_bare_number(text.removesuffix(unit)):
            text, scale = text.removesuffix(unit).strip(), factor
    written: str | float = text
    try:
        if is_bare_number(text):
            written = _scaled(text, scale)
        return quantity(written, column.unit, field=label, low=low, high=high)
    except InputError as error:
        raise InputError(label, f"'{cell}'", error.limit) from error


def _scaled(text: str, scale: float) -> float:
    """Bare number times a scale; infinite where no float is as large.

    Decimal arithmetic, so that 345 mV is 0.345 V and not its neighbour.
    """
    plain = "".join(text.split()).replace(",", ".").replace("−", "-")
    try:
        rough = float(plain)
    except ValueError:
        limit = "a number with at most one decimal mark"
        raise InputError("cell", text, limit) from None
    if rough == 0.0 or math.isinf(rough):
        return rough
    return float(Decimal(plain) * Decimal(repr(scale)))
