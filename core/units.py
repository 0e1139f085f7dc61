"""Quantities in and out: what people write in a field becomes an SI number, and back.

`burstwise.core.written` reads the text; this module adds the checks: finite, within limits, and
what may have been meant instead. QuantiPhy writes values with SI prefixes.
"""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Final

from quantiphy import Quantity

from burstwise.core.errors import InputError
from burstwise.core.written import read, unit_scale


class _Shown(Quantity):
    """QuantiPhy quantity that shows micro as µ, without touching the library's own defaults."""


_Shown.set_prefs(map_sf={"u": "µ"})
_RATES: Final = {
    f"{one}/s": ((1e9, f"{one}/ns"), (1e6, f"{one}/µs"), (0.0, f"{one}/s")) for one in "VA"
}
"""Steepness as datasheets have it, by SI unit: from which value on [SI], and its unit."""
_MULTIPLE: Final = 1000.0
"""Percent from which on a ratio is written as a multiple: nobody reads 1423 % as 14 times."""


def quantity(
    text: str | float,
    unit: str,
    *,
    field: str = "value",
    low: float = -math.inf,
    high: float = math.inf,
    bare: str = "",
    near: float | None = None,
) -> float:
    """Number in SI units that a text or a number stands for.

    Parameters
    ----------
    text : str or float
        What was written: ``"36V"``, ``"4k7"``, ``"15 Hz"``, ``"0.5"``, ``"50%"``, ``"2,5 mm"``,
        ``"50 V/ns"``. A bare number is taken in the SI unit itself unless `bare` says otherwise.
    unit : str
        Unit expected: ``"V"``, ``"Ω"``, ``"F"``, ``"°C"``, ... or ``""`` for a plain ratio, where
        a percentage is accepted too.
    field : str
        Name used in the error.
    low, high : float
        Closed limits in the same unit.
    bare : str
        Unit with prefix that a number without one is in, e.g. the one that a field shows.
    near : float, optional
        Value in force: of several prefixes that would make a number valid, the error names the
        one that comes nearest to it.

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
    burstwise.core.errors.InputError: supply.voltage must be a quantity in V; instead received 36 A
    """
    number, counted = Decimal(0), Decimal(1)
    if isinstance(text, str):
        written = read(text, unit, field=field, bare=bare)
        value, number, counted = written.value, written.number, written.scale
    else:
        try:
            value = float(text)
        except OverflowError:
            value = math.inf
        if math.isfinite(value):
            number = Decimal(repr(value))
    if not math.isfinite(value):
        raise InputError(field, text, "a finite number")
    if not low <= value <= high:
        meant = _meant(number, counted, unit, low=low, high=high, near=near)
        raise InputError(field, text, limits_text(low, high, unit) + meant)
    return value


_TRIED: Final = ("p", "n", "µ", "m", "", "k", "M", "G")
_TRIED_RATIOS: Final = {"V/s": ("V/ns", "V/µs"), "A/s": ("A/ns", "A/µs")}


def _meant(
    number: Decimal, counted: Decimal, unit: str, *, low: float, high: float, near: float | None
) -> str:
    """Question whether a number within the limits was meant, empty where no prefix makes one."""
    if not Decimal("0.1") <= abs(number) < 1000:  # nobody writes 0.01 mm for 10 µm
        return ""
    names = ("%",) if unit == "" else _TRIED_RATIOS.get(unit, tuple(p + unit for p in _TRIED))
    fitting: dict[str, float] = {}
    for name in names:
        scale = (Decimal("0.01"), name) if name == "%" else unit_scale(name, unit)
        if scale is not None and scale[0] != counted and low <= number * scale[0] <= high:
            fitting[name] = float(number * scale[0])
    if unit == "" and high > 1.0:
        return ""
    if near and near * float(number) > 0:
        told = sorted(fitting, key=lambda name: abs(math.log(fitting[name] / near)))[:1]
    else:
        told = list(fitting)[:3]
    if not told:
        return ""
    return f" (did you mean {' or '.join(f'{number.normalize():f} {name}' for name in told)}?)"


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
    >>> shown(0.5, "%"), shown(14.23, "%"), shown(0.0123456, ""), shown(50e9, "V/s")
    ('50 %', '14.23 times', '0.01235', '50 V/ns')
    """
    if not math.isfinite(value):
        return ("−∞ " if value < 0 else "∞ ") + unit if math.isinf(value) else "not known"
    if unit == "%":
        text = _rounded(value * 100, digits)
        many = abs(float(text)) >= _MULTIPLE
        return f"{_rounded(value, digits)} times" if many else f"{text if value else '0'} %"
    if unit in _RATES:
        scale, name = next(rate for rate in _RATES[unit] if abs(value) >= rate[0] or not rate[0])
        return f"{_rounded(value / (scale or 1.0), digits)} {name}"
    if unit in ("°C", "K", "K/W", "", "turns", "dB"):
        return f"{_rounded(value, digits)} {unit}".rstrip()
    return str(_Shown(value, unit).render(prec=digits - 1, strip_zeros=True, form="si"))


def shown_in(value: float, written_unit: str, unit: str, *, digits: int = 4) -> str:
    """Text of a value in a unit that somebody chose, e.g. 2 m as '2000 mm'.

    Parameters
    ----------
    value : float
        Value in the SI unit.
    written_unit : str
        Unit with prefix, as `burstwise.core.written.unit_scale` takes it.
    unit : str
        SI unit.

    Examples
    --------
    >>> shown_in(2.0, "mm", "m"), shown_in(5e10, "V/ns", "V/s"), shown_in(0.0508, "in", "m")
    ('2000 mm', '50 V/ns', '2 in')
    """
    return f"{_rounded(in_unit(value, written_unit, unit), digits)} {written_unit}"


def in_unit(value: float, written_unit: str, unit: str) -> float:
    """Value counted in a unit with prefix, e.g. 0.05 m in 'mm' is 50.

    Raises
    ------
    ValueError
        `written_unit` is none of `unit`.
    """
    found = unit_scale(written_unit, unit)
    if found is None:
        raise ValueError(f"{written_unit} is no unit of {unit}")
    return value / float(found[0])


def percent(
    ratio: float, *, decimals: int = 0, digits: int | None = None, signed: bool = False
) -> str:
    """Text of a ratio in percent, from ten times on as a multiple.

    Parameters
    ----------
    ratio : float
        A share of something, or with `signed` a departure from it.
    decimals : int
        Decimals.
    digits : int, optional
        Significant figures instead, down to a thousandth of a percent.
    signed : bool
        Write the sign of a departure; one of nine times upwards, +900 %, is ten times the thing.

    Examples
    --------
    >>> percent(0.123), percent(0.1234, decimals=1), percent(-0.166, decimals=1, signed=True)
    ('12 %', '12.3 %', '−16.6 %')
    >>> percent(3.5, digits=2, signed=True), percent(-0.0004, decimals=1, signed=True)
    ('+350 %', '0.0 %')
    >>> percent(14.23), percent(13.23, digits=2, signed=True), percent(-14.23, digits=3)
    ('14 times', '14 times', '−14.2 times')
    """
    if not math.isfinite(ratio):
        return shown(ratio, "%")
    hundred = 100.0 * ratio
    if digits is None:
        text = f"{hundred:.{decimals}f}"
    else:
        text = _rounded(hundred, digits) if abs(hundred) >= 1e-3 else f"{hundred:.3f}"
        text = text if float(text) else "0"
    whole = float(text) + 100.0 if signed else float(text)
    if abs(whole) >= _MULTIPLE:
        multiple = ratio + 1.0 if signed else ratio
        return f"{_rounded(multiple, digits or 2)} times".replace("-", "−")
    if not float(text):
        return f"{text.lstrip('-')} %"
    return f"{'+' if signed and ratio > 0.0 else ''}{text} %".replace("-", "−")


def _rounded(value: float, digits: int) -> str:
    text = f"{value:.{digits}g}"
    return f"{float(text):.0f}" if "e+" in text and abs(value) < 1e9 else text
