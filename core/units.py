"""Quantities in and out: what people write in a field becomes an SI number, and back.

QuantiPhy reads SI scale factors and units, rkm_codes reads the IEC 60062 letter-for-point codes
(4k7, 2n2, 0R47); this module adds the checks: right unit, finite, within limits.
"""

from __future__ import annotations

import math
import re
from typing import Final

from quantiphy import QuantiPhyError, Quantity
from rkm_codes import from_rkm

from core.errors import InputError


class _Shown(Quantity):
    """QuantiPhy quantity that shows micro as µ, without touching the library's own defaults."""


_Shown.set_prefs(map_sf={"u": "µ"})

_UNIT_ALIASES: Final[dict[str, frozenset[str]]] = {
    "Ω": frozenset({"Ω", "ohm", "ohms", "r"}),
    "°C": frozenset({"°c", "c", "degc", "celsius"}),
    "K/W": frozenset({"k/w", "°c/w", "c/w"}),
    "s": frozenset({"s", "sec", "second", "seconds"}),
    "m": frozenset({"m", "metre", "metres", "meter", "meters"}),
    "Hz": frozenset({"hz", "/s"}),
}
_INCH: Final = 0.0254
_INCH_FORM: Final = re.compile(r"^\s*([-+]?[\d.]+(?:e[-+]?\d+)?)\s*(?:in|inch|inches|\")\s*$", re.I)
_DECIMAL_COMMA: Final = re.compile(r"(?<=\d),(?=\d)")
_RKM_FORM: Final = re.compile(r"^[-+]?(?:\d+[a-zA-Zµμ]\d+|[RLrpnuµμm]\d+|\d+[Rr])[FHΩ]?$")
_PLAIN: Final = re.compile(r"^\s*+([-+]?(?:\d++\.?\d*+|\.\d++)(?:[eE][-+]?\d++)?)\s*+(\D.*)?$")
_LONGEST: Final = 200
"""Longest text that is read as a quantity [characters], as a cell of the bench table holds."""


def quantity(
    text: str | float,
    unit: str,
    *,
    field: str = "value",
    low: float = -math.inf,
    high: float = math.inf,
) -> float:
    """Number in SI units that a text or a number stands for.

    Parameters
    ----------
    text : str or float
        What was written: ``"36V"``, ``"4k7"``, ``"15 Hz"``, ``"0.5"``, ``"50%"``, ``"1.5 ms"``.
        A bare number is taken in the SI unit itself.
    unit : str
        Unit expected: ``"V"``, ``"Ω"``, ``"F"``, ``"°C"``, ... or ``""`` for a plain ratio, where
        a percentage is accepted too.
    field : str
        Name used in the error.
    low, high : float
        Closed limits in the same unit.

    Returns
    -------
    float
        Value in the SI unit; ``"50%"`` gives 0.5.

    Raises
    ------
    InputError
        Unreadable, another unit, not finite, or outside the limits.

    Examples
    --------
    >>> quantity("4k7", "Ω"), quantity("0R47", "Ω"), quantity("2n2", "F")
    (4700.0, 0.47, 2.2e-09)
    >>> quantity("15 Hz", "Hz"), quantity("1.5 ms", "s"), quantity("50%", "")
    (15.0, 0.0015, 0.5)
    >>> quantity("36 A", "V", field="supply.voltage")
    Traceback (most recent call last):
    core.errors.InputError: supply.voltage must be a quantity in V; instead received 36 A
    """
    value = _number(text, unit, field) if isinstance(text, str) else float(text)
    if not math.isfinite(value):
        raise InputError(field, text, "a finite number")
    if not low <= value <= high:
        raise InputError(field, text, limits_text(low, high, unit))
    return value


def limits_text(low: float, high: float, unit: str) -> str:
    """Words for a closed range, e.g. 'between 1 V and 1 kV'.

    Examples
    --------
    >>> limits_text(0.0, math.inf, "A")
    'at least 0 A'
    """
    if math.isinf(high):
        return f"at least {shown(low, unit)}"
    if math.isinf(low):
        return f"at most {shown(high, unit)}"
    return f"between {shown(low, unit)} and {shown(high, unit)}"


def shown(value: float, unit: str, *, digits: int = 4) -> str:
    """Text of a value with SI prefix, unit and `digits` significant figures.

    Examples
    --------
    >>> shown(4700.0, "Ω"), shown(0.0015, "s"), shown(61.234, "°C")
    ('4.7 kΩ', '1.5 ms', '61.23 °C')
    >>> shown(0.5, "%"), shown(0.0123456, "")
    ('50 %', '0.01235')
    """
    if not math.isfinite(value):
        return ("−∞ " if value < 0 else "∞ ") + unit if math.isinf(value) else f"not known {unit}"
    if unit == "%":
        return f"{_rounded(value * 100, digits)} %"
    if unit in ("°C", "K", "K/W", "", "turns", "dB"):
        return f"{_rounded(value, digits)} {unit}".rstrip()
    return str(_Shown(value, unit).render(prec=digits - 1, strip_zeros=True, form="si"))


def percent(ratio: float, *, decimals: int = 0, signed: bool = False) -> str:
    """Text of a ratio in percent with fixed decimals, with its sign if wanted.

    Examples
    --------
    >>> percent(0.123), percent(0.1234, decimals=1), percent(-0.166, decimals=1, signed=True)
    ('12 %', '12.3 %', '−16.6 %')
    """
    sign = "+" if signed else "-"
    return f"{100.0 * ratio:{sign}.{decimals}f} %".replace("-", "−")


def _rounded(value: float, digits: int) -> str:
    text = f"{value:.{digits}g}"
    return f"{float(text):.0f}" if "e+" in text and abs(value) < 1e9 else text


def _number(text: str, unit: str, field: str) -> float:
    cleaned = _DECIMAL_COMMA.sub(".", text.strip()).replace("−", "-")
    wanted = InputError(field, text, f"a quantity in {unit}" if unit else "a number or percentage")
    if not cleaned:
        raise InputError(field, "nothing", f"a quantity in {unit}" if unit else "a number")
    if len(cleaned) > _LONGEST:
        raise wanted
    if unit == "":
        return _ratio(cleaned, wanted)
    inches = _INCH_FORM.match(cleaned)
    if unit == "m" and inches:
        try:
            return float(inches[1]) * _INCH
        except ValueError:
            raise wanted from None
    plain = _PLAIN.match(cleaned)
    if plain and _same_unit((plain[2] or "").strip(), unit):
        return float(plain[1])
    if _RKM_FORM.match(cleaned):
        return _letter_for_point(cleaned, unit, wanted)
    try:
        read = Quantity(cleaned)
    except QuantiPhyError as error:
        raise wanted from error
    if not _same_unit(read.units, unit):
        raise wanted
    return float(read)


def _ratio(cleaned: str, wanted: InputError) -> float:
    percent = cleaned.endswith("%")
    try:
        value = float(cleaned.rstrip("%").strip())
    except ValueError:
        raise wanted from None
    return value / 100 if percent else value


def _letter_for_point(code: str, unit: str, wanted: InputError) -> float:
    try:
        read = from_rkm(code.replace("µ", "u").replace("μ", "u").replace("r", "R"))
    except ValueError as error:
        raise wanted from error
    if read is None or not _same_unit(read.units, unit):
        raise wanted
    return float(read)


def _same_unit(found: str, unit: str) -> bool:
    return (
        found == ""
        or found == unit
        or found.lower() in _UNIT_ALIASES.get(unit, frozenset({unit.lower()}))
    )
