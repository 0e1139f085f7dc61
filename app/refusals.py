"""Refused input in the window's words: titles for dotted paths, units as people write them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from burstwise.core.design.document import Design, field_info
from burstwise.core.errors import FileError, InputError, one_line
from burstwise.core.units import shown, shown_in

_NO_PART: Final = ("geometry", "measured")
"""Sections whose fields' titles say by themselves what they belong to."""
_PATH: Final = re.compile(
    rf"(?<![\w./])(?:{'|'.join(Design.model_fields)})(?:\.[a-z0-9_]+)+(?![\w/])"
)


def title_of(path: str) -> str:
    """Title of a design field by its dotted path, with the part that it belongs to.

    Examples
    --------
    >>> title_of("supply.voltage"), title_of("coil.geometry.primary.pitch")
    ('Supply voltage', 'Primary: Distance of neighbouring turns')
    >>> title_of("device.safe_area.2.voltage"), title_of("wanted value")
    ('Safe operating area, 25 °C case, row 3: Drain-source voltage', 'wanted value')
    """
    names = path.split(".")
    info = _info(path)
    if info is None:
        return path
    title = str(info["title"])
    if title == _plain(path):
        title = _words(names[-1])
    if len(names) < 3:
        return title
    part = names[-2]
    if part.isdecimal():
        return f"{title_of('.'.join(names[:-2]))}, row {int(part) + 1}: {title}"
    if names[-1].isdecimal():
        return f"{title}, row {int(names[-1]) + 1}"
    known = part in _NO_PART or title.lower().startswith(_words(part).lower())
    return title if known else f"{_words(part)}: {title}"


def refusal(error: InputError) -> str:
    """Sentence of a refusal, without the dotted path and the bare SI numbers of its plain text.

    Examples
    --------
    >>> refusal(InputError("coil.geometry.primary.inner_radius", 0.03, "more than 0.03863 m"))
    "Primary: Radius of the start, to the conductor's middle must be more than 38.63 mm; instead
    received 30 mm"
    """
    if isinstance(error, FileError):
        return str(error)
    unit = _unit(error.field)
    value = error.value
    if unit is not None and isinstance(value, (int, float)) and not isinstance(value, bool):
        said = _shown(value, unit, "")
    else:
        said = without_paths(one_line(value))
    return f"{title_of(error.field)} must be {limit_of(error)}; instead received {said}"


def limit_of(error: InputError, *, written_unit: str = "") -> str:
    """Limit of a refusal with its SI numbers in the unit of a field.

    Parameters
    ----------
    written_unit : str
        Unit with prefix that the field shows; each number gets its own prefix if empty.

    Examples
    --------
    >>> wide = InputError("coil.geometry.primary.inner_radius", 0.03, "more than 0.03863 m, clear")
    >>> limit_of(wide), limit_of(wide, written_unit="cm")
    ('more than 38.63 mm, clear', 'more than 3.863 cm, clear')
    """
    unit = _unit(error.field)
    limit = without_paths(error.limit)
    if not unit:
        return limit
    number = re.compile(
        rf"(?<![\w.])(-?[0-9]+(?:\.[0-9]+)?(?:e[-+]?[0-9]+)?) {re.escape(unit)}(?![\w/])"
    )
    return number.sub(lambda found: _shown(float(found[1]), unit, written_unit), limit)


def without_paths(text: str) -> str:
    """Text with the title of each design field that it names by its dotted path.

    Examples
    --------
    >>> without_paths("buildable; supply.voltage must be above 0 V")
    'buildable; Supply voltage must be above 0 V'
    """
    return _PATH.sub(lambda found: title_of(found[0]), text)


def _shown(value: float, unit: str, written_unit: str) -> str:
    if written_unit and written_unit != "%":
        return shown_in(value, written_unit, unit)
    return shown(value, unit)


def _plain(path: str) -> str:
    return ".".join(name for name in path.split(".") if not name.isdecimal())


def _info(path: str) -> Mapping[str, Any] | None:
    try:
        return field_info(_plain(path))
    except InputError:
        return None


def _unit(path: str) -> str | None:
    """SI unit of a quantity, '' for a ratio; None for what is no quantity of the design."""
    info = _info(path)
    return None if info is None or "unit" not in info else str(info["unit"])


def _words(name: str) -> str:
    return name.replace("_", " ").capitalize()
