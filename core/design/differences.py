"""Fields in which designs differ."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from burstwise.core.design.document import Design, field_info
from burstwise.core.units import shown

_LEFT_OUT: Final = frozenset({"format", "name", "notes", "variants", "readings", "calibration"})
NONE: Final = "none"
"""Text of an optional part or value that a design does not have."""
FITTED: Final = "fitted"
NO_PLACE: Final = "–"
"""Text of a field whose part a design does not have."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One field with its value in each design, as text."""

    path: str
    title: str
    texts: tuple[str, ...]


def leaves(data: Mapping[str, Any], path: str = "") -> Iterator[tuple[str, Any]]:
    """Dotted paths and values of all plain fields; lists count as one value.

    Examples
    --------
    >>> list(leaves({"a": 1, "b": {"c": 2, "d": [3]}}))
    [('a', 1), ('b.c', 2), ('b.d', [3])]
    """
    for name, value in data.items():
        here = f"{path}.{name}" if path else name
        if isinstance(value, Mapping):
            yield from leaves(value, here)
        else:
            yield here, value


def _whole(design: Design) -> dict[str, Any]:
    """Sections that count in a comparison; what parts were sized from does not."""
    data = design.model_dump(mode="json", exclude={"interrupter": {"wish"}})
    return {name: part for name, part in data.items() if name not in _LEFT_OUT}


def compared(design: Design) -> dict[str, Any]:
    """Fields of a design that count in a comparison, by path; None for a part not fitted."""
    return dict(leaves(_whole(design)))


def differences(designs: Sequence[Design]) -> tuple[Difference, ...]:
    """Fields that are not the same in all designs, in the order of the document.

    An optional part that only some of them have comes as a line of its own, fitted or none, before
    the lines of its fields.
    """
    return tuple(_differing("", [_whole(design) for design in designs]))


def _differing(path: str, values: Sequence[Any]) -> Iterator[Difference]:
    parts = [value for value in values if isinstance(value, Mapping)]
    if not parts:
        if any(value != values[0] for value in values[1:]):
            yield _difference(path, values)
        return
    if None in values:
        yield Difference(path, str(field_info(path)["title"]), tuple(map(_state, values)))
    for name in parts[0]:
        within = [one[name] if isinstance(one, Mapping) else NO_PLACE for one in values]
        yield from _differing(f"{path}.{name}" if path else name, within)


def _state(part: Any) -> str:
    return FITTED if isinstance(part, Mapping) else NONE if part is None else NO_PLACE


def _difference(path: str, values: Sequence[Any]) -> Difference:
    info = field_info(path)
    unit = str(info.get("shown_unit", ""))
    lists = [value for value in values if isinstance(value, list)]
    distinct = [value for number, value in enumerate(lists) if value not in lists[:number]]

    def text(value: Any) -> str:
        if value is None:
            return NONE
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, (int, float)):
            return shown(float(value), unit)
        if isinstance(value, list):
            return f"{len(value)} entries, list {distinct.index(value) + 1}"
        return str(value)

    title = str(info["title"])
    if path.endswith("_fitted"):
        states = (FITTED if value else NONE for value in values)
        return Difference(path, title.removesuffix(" fitted"), tuple(states))
    return Difference(path, title, tuple(text(value) for value in values))


def differing_values(base: Design, changed: Design) -> dict[str, Any]:
    """What turns `base` into `changed`, by path.

    A field has its value, a list all its entries; a part that only `changed` has comes whole, as
    the mapping of its fields, and one that it does not have as None.
    """
    return dict(_changes("", _whole(base), _whole(changed)))


def _changes(path: str, old: Any, new: Any) -> Iterator[tuple[str, Any]]:
    if old == new:
        return
    if not (isinstance(old, Mapping) and isinstance(new, Mapping)):
        yield path, new
        return
    for name, value in new.items():
        yield from _changes(f"{path}.{name}" if path else name, old[name], value)
