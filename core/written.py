"""A quantity as a person writes it: number, SI prefix and unit, or a letter for the point.

Strict on purpose: what is not understood as a whole is not read in part, and a comma that can
mean two things is refused with both.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from burstwise.core.errors import InputError

LONGEST: Final = 100
"""Most characters of a quantity; a longer text is no measurement."""
_PREFIXES: Final = MappingProxyType(
    {
        "T": 12,
        "G": 9,
        "M": 6,
        "k": 3,
        "K": 3,
        "m": -3,
        "µ": -6,
        "u": -6,
        "n": -9,
        "p": -12,
        "f": -15,
    }
)
_MORE_PREFIXES: Final = MappingProxyType({"m": {"d": -1, "c": -2}, "Pa": {"h": 2}})
_WITHOUT_PREFIX: Final = frozenset({"", "%", "°C", "°", "turns", "dB"})
_OTHER_NAMES: Final = MappingProxyType(
    {
        "V": ("volt", "volts"),
        "A": ("amp", "amps", "ampere", "amperes"),
        "W": ("watt", "watts"),
        "Ω": ("ohm", "ohms", "R"),
        "°C": ("C", "degC", "celsius"),
        "°": ("deg", "degree", "degrees"),
        "s": ("sec", "second", "seconds"),
        "m": ("metre", "metres", "meter", "meters"),
        "Hz": ("/s", "1/s"),
        "S": ("A/V",),
        "turns": ("turn",),
    }
)
"""Names of a unit beside its own; small and capital letters count alike."""
_OF_A_DIFFERENCE: Final = MappingProxyType({"K": ("°C", "C", "degC")})
"""Names of a unit within a ratio: a rise in temperature is the same in K and in °C."""
_OTHER_UNITS: Final = MappingProxyType(
    {
        "m": {"in": "0.0254", "inch": "0.0254", "inches": "0.0254", '"': "0.0254"},
        "Pa": {"bar": "1e5", "mbar": "1e2"},
    }
)
_TIDY: Final = str.maketrans(
    {"−": "-", "μ": "µ", "Ω": "Ω", "º": "°", "\N{NO-BREAK SPACE}": " ", "\u202f": " "}
)
_NUMBER: Final = re.compile(
    r"(?P<sign>[-+]?)(?P<digits>[0-9][0-9.,]*|\.[0-9]+)(?:[eE](?P<power>[-+]?[0-9]{1,3}))?"
    r"\s*(?P<unit>.*)"
)
_LETTER_FOR_POINT: Final = re.compile(
    r"(?P<sign>[-+]?)(?P<whole>[0-9]*)(?P<letter>[A-Za-zµΩ])(?P<part>[0-9]+)\s*(?P<unit>[^0-9]*)"
)
_COMMA_FIRST: Final = re.compile(r"[-+]?,[0-9]+")


@dataclass(frozen=True, slots=True)
class Written:
    """What a text says.

    Attributes
    ----------
    number : Decimal
        The number as written.
    scale : Decimal
        SI value of one of what it counts.
    unit : str
        Unit with prefix that was written, in its usual spelling; empty for a bare number.
    """

    number: Decimal
    scale: Decimal
    unit: str

    @property
    def value(self) -> float:
        """Value in SI units, the float nearest to what was written."""
        return float(self.number * self.scale)


def is_bare(text: str) -> bool:
    """Whether a text is a number without unit and prefix, or nothing yet.

    Examples
    --------
    >>> is_bare("75"), is_bare("2,5 "), is_bare("75 mm"), is_bare("4k7"), is_bare("-")
    (True, True, False, False, True)
    """
    plain = text.strip().translate(_TIDY)
    found = _NUMBER.fullmatch(plain)
    return plain in ("", "-", "+", ".") or (found is not None and not found["unit"])


def unit_scale(written_unit: str, unit: str) -> tuple[Decimal, str] | None:
    """SI value of one `written_unit` and its usual spelling; None if it is not one of `unit`.

    Parameters
    ----------
    written_unit : str
        ``"mm"``, ``"V/ns"``, ``"°C/W"``, ``"k"`` (a prefix alone), ...
    unit : str
        SI unit that it must be of.

    Examples
    --------
    >>> unit_scale("mm", "m"), unit_scale("V/ns", "V/s")
    ((Decimal('0.001'), 'mm'), (Decimal('1E+9'), 'V/ns'))
    >>> unit_scale("°C/W", "K/W"), unit_scale("R", "V")
    ((Decimal('1'), 'K/W'), None)
    """
    plain = "".join(written_unit.translate(_TIDY).split())
    found = _simple(plain, unit)
    if found is not None or unit.count("/") != 1:
        return found
    over, under = unit.split("/")
    first, slash, second = plain.partition("/")
    up, down = _simple(first, over, ratio=True), _simple(second, under, ratio=True)
    if not (slash and first and second and up and down):
        return None
    return up[0] / down[0], f"{up[1]}/{down[1]}"


def _simple(plain: str, unit: str, *, ratio: bool = False) -> tuple[Decimal, str] | None:
    """Scale and spelling of a unit without a denominator of its own."""
    names = (unit, *_OTHER_NAMES.get(unit, ()), *(_OF_A_DIFFERENCE.get(unit, ()) if ratio else ()))
    low_names = {name.lower() for name in names}
    prefixes = {} if unit in _WITHOUT_PREFIX else {**_PREFIXES, **_MORE_PREFIXES.get(unit, {})}
    if plain in names:
        return Decimal(1), unit
    if plain in prefixes and plain in _PREFIXES and "/" not in unit and not ratio:
        return Decimal(1).scaleb(_PREFIXES[plain]), _spelt(plain) + unit
    for name, scale in _OTHER_UNITS.get(unit, {}).items():
        if plain.lower() == name:
            return Decimal(scale), "in" if scale == "0.0254" else name
    if plain.lower() in low_names:
        return Decimal(1), unit
    if plain[:1] in prefixes and plain[1:].lower() in low_names:
        return Decimal(1).scaleb(prefixes[plain[0]]), _spelt(plain[0]) + unit
    return None


def _spelt(prefix: str) -> str:
    return {"u": "µ", "K": "k"}.get(prefix, prefix)


def read(text: str, unit: str, *, field: str, bare: str = "") -> Written:
    """Number and unit that a text says.

    Parameters
    ----------
    text : str
        ``"36V"``, ``"4k7"``, ``"2,5 mm"``, ``"50 V/ns"``, ``"50 %"``.
    unit : str
        SI unit, ``""`` for a plain ratio.
    field : str
        Name used in the error.
    bare : str
        Unit with prefix of a number without one; the SI unit if empty.

    Raises
    ------
    InputError
        Not one quantity in this unit, or a comma that can be read in two ways.

    Examples
    --------
    >>> read("75", "m", field="height", bare="mm").value, read("2,5 mm", "m", field="gap").value
    (0.075, 0.0025)
    >>> read("1,234", "m", field="gap", bare="mm")
    Traceback (most recent call last):
    burstwise.core.errors.InputError: gap must be written as 1.234 mm or 1234 mm, for a comma can
    mean either;
    instead received 1,234
    """
    plain = text.strip().translate(_TIDY)
    kind = f"a quantity in {unit}" if unit else "a number or percentage"
    wanted = InputError(field, text, kind)
    if not plain:
        raise InputError(field, "nothing", kind)
    if len(plain) > LONGEST:
        raise InputError(field, text, f"{kind} of at most {LONGEST} characters")
    coded = _letter_for_point(plain, text, unit, field)
    if coded is not None:
        return coded
    if _COMMA_FIRST.match(plain):
        meant = re.sub(r",(?=[0-9])", "0,", plain, count=1)
        raise InputError(field, text, f"{kind} with a digit before the comma, e.g. {meant}")
    found = _NUMBER.fullmatch(plain)
    if found is None:
        raise wanted
    written_unit = found["unit"].strip()
    scale: tuple[Decimal, str] | None
    if written_unit == "":
        scale = unit_scale(bare or unit, unit)
    elif unit == "" and written_unit == "%":
        scale = Decimal("0.01"), "%"
    else:
        scale = unit_scale(written_unit, unit)
    if scale is None:
        raise wanted
    number = _number(found, text, field, written_unit or bare or unit)
    return Written(number, scale[0], scale[1] if written_unit else "")


def _number(found: re.Match[str], text: str, field: str, unit: str) -> Decimal:
    digits, power = found["digits"], int(found["power"] or 0)
    if digits.count(",") + digits.count(".") > 1:
        limit = "a number with one decimal mark and without marks between thousands"
        raise InputError(field, text, limit)
    whole, comma, part = digits.partition(",")
    if comma and not part:
        raise InputError(field, text, "a number with a digit behind the comma")
    if comma and len(part) == 3 and len(whole) <= 3 and not whole.startswith("0"):
        raised = f"e{power}" if power else ""
        ways = " or ".join(
            f"{found['sign']}{one}{raised} {unit}".strip()
            for one in (f"{whole}.{part}", whole + part)
        )
        raise InputError(field, text, f"written as {ways}, for a comma can mean either")
    return Decimal(found["sign"] + digits.replace(",", ".")).scaleb(power)


def _letter_for_point(plain: str, text: str, unit: str, field: str) -> Written | None:
    """Code such as 4k7, 0R47 or 4V7, whose letter stands at the decimal point (IEC 60062)."""
    found = _LETTER_FOR_POINT.fullmatch(plain)
    if found is None or (found["letter"] in "eE" and found["whole"]):
        return None
    letter, tail = found["letter"], found["unit"].strip()
    number = Decimal(f"{found['sign']}{found['whole'] or '0'}.{found['part']}")
    if unit == "m" and letter == "m":
        limit = f"written as {number} mm or {number} m, for a letter m can mean either"
        raise InputError(field, text, limit)
    scale = unit_scale(letter, unit) if unit else None
    told = unit_scale(tail, unit) if tail else (Decimal(1), unit)
    if scale is None or told is None or told[0] != 1:
        raise InputError(field, text, f"a quantity in {unit}" if unit else "a number or percentage")
    return Written(number, *scale)
