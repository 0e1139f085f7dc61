"""Field types of the design document: a quantity with unit and limits that takes what people write.

Each field is a float in SI units; a text such as ``"4k7"`` or ``"36 V"`` is read on the way in.
The unit and the limits stand in the JSON schema, so that a form can be drawn from it.
"""

from __future__ import annotations

import math
import unicodedata
from typing import Any, Final

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError

from burstwise.core.errors import InputError
from burstwise.core.units import quantity

_LINE_MARKS: Final = frozenset("\n\r\t")
_REFUSED: Final = frozenset({"Cc", "Cs", "Zl", "Zp"})
"""Unicode categories that no line of words has: controls, half characters, line separators."""
_NO_CHARACTERS: Final = frozenset("\ufffe\uffff")
"""XML knows neither these nor most controls, so that a drawing with them could not be shown."""
_TAGS: Final = frozenset({"function-before", "float", "int", "str", "bool", "dict", "list"})
"""Names in a pydantic path that are no fields: validators, and kinds of a plain JSON value."""


class DisagreementError(InputError):
    """A value that others of the same section exclude; the field is named within the section."""


class Section(BaseModel):
    """Base of every part of the design: frozen, no unknown fields, finite numbers."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


def reading(unit: str, low: float, high: float) -> BeforeValidator:
    """Validator that reads a text or a number in `unit` between `low` and `high`."""

    def read(value: object) -> float | None:
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, (str, int, float)):
            raise InputError("value", value, "a number or a text with unit")
        return quantity(value, unit, low=low, high=high)

    return BeforeValidator(read)


def words(*, lines: bool = False) -> BeforeValidator:
    """Validator of free text: no control characters; line ends and tabs only with `lines`."""

    def read(value: object) -> object:
        if isinstance(value, str):
            check_words(value, lines=lines)
        return value

    return BeforeValidator(read)


def check_words(text: str, *, lines: bool = False) -> None:
    """Refuse a text with control characters; line ends and tabs may pass with `lines`.

    Raises
    ------
    InputError
        Names the first such character and its place.
    """
    for at, mark in enumerate(text):
        if _is_control(mark, lines=lines):
            limit = f"text without control characters (U+{ord(mark):04X} at place {at + 1})"
            raise InputError("text", text, limit)


def usable_words(text: str, longest: int) -> str:
    r"""Text for a field of several lines: blanks for control characters, cut to its length.

    Examples
    --------
    >>> usable_words("12\x00V\nhot", 100)
    '12 V\nhot'
    """
    cut = text[:longest]
    return "".join(" " if _is_control(mark, lines=True) else mark for mark in cut)


def _is_control(mark: str, *, lines: bool) -> bool:
    if lines and mark in _LINE_MARKS:
        return False
    return unicodedata.category(mark) in _REFUSED or mark in _NO_CHARACTERS


def quantity_field(
    unit: str,
    low: float,
    high: float,
    title: str,
    *,
    log: bool = False,
    percent: bool = False,
) -> tuple[BeforeValidator, Any]:
    """Metadata for `Annotated[float, ...]`: validator and schema entry of a quantity.

    Parameters
    ----------
    unit : str
        SI unit, or ``""`` for a ratio.
    low, high : float
        Closed limits in that unit.
    title : str
        Label for forms and messages, in words.
    log : bool
        Whether a slider over the range is better logarithmic.
    percent : bool
        Whether a ratio is read in percent.
    """
    extra: dict[str, Any] = {"unit": unit, "low": low, "high": high, "log": log}
    schema = {key: value for key, value in extra.items() if not _infinite(value)}
    if percent:
        schema["percent"] = True
    return reading(unit, low, high), Field(title=title, json_schema_extra=schema)


def _infinite(value: object) -> bool:
    return isinstance(value, float) and math.isinf(value)


def input_error(error: ValidationError) -> InputError:
    """First problem of a pydantic error as an `InputError` with dotted field path."""
    problem = error.errors()[0]
    path = ".".join(str(part) for part in problem["loc"] if part not in _TAGS)
    cause = problem.get("ctx", {}).get("error")
    if isinstance(cause, InputError):
        name = f"{path}.{cause.field}".lstrip(".") if isinstance(cause, DisagreementError) else path
        return InputError(name, cause.value, cause.limit)
    if problem["type"] == "extra_forbidden":
        return InputError(path, problem["input"], "a field of the design (this one is unknown)")
    if problem["type"] == "missing":
        return InputError(path, "nothing", "given")
    if problem["type"] in ("too_long", "string_too_long"):
        unit = "characters" if isinstance(problem["input"], str) else "entries"
        most = problem["ctx"]["max_length"]
        return InputError(path, f"{len(problem['input']):,} {unit}", f"at most {most:,} {unit}")
    message = problem["msg"].removeprefix("Input should be ").removeprefix("Value error, ")
    return InputError(path or "a name in the design", problem["input"], message)
