"""Fields in which designs differ."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from core.design.document import Design, field_info
from core.errors import InputError
from core.units import shown

_LEFT_OUT: Final = frozenset({"format", "name", "notes", "variants", "readings", "calibration"})
NOT_FITTED: Final = "not fitted"


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


def compared(design: Design) -> dict[str, Any]:
    """Fields of a design that count in a comparison, by path; what parts were sized from not."""
    data = design.model_dump(mode="json", exclude={"interrupter": {"wish"}})
    return dict(leaves({name: part for name, part in data.items() if name not in _LEFT_OUT}))


def differences(designs: Sequence[Design]) -> tuple[Difference, ...]:
    """Fields that are not the same in all designs, in the order of the document."""
    fields = [compared(design) for design in designs]
    paths = dict.fromkeys(path for part in fields for path in part)
    found = []
    for path in paths:
        values = [part.get(path, NOT_FITTED) for part in fields]
        if any(value != values[0] for value in values[1:]):
            found.append(_difference(path, values))
    return tuple(found)


def _difference(path: str, values: Sequence[Any]) -> Difference:
    info = field_info(path)
    unit = info.get("unit")

    def text(value: Any) -> str:
        if value is None or value == NOT_FITTED:
            return NOT_FITTED
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, (int, float)):
            return shown(float(value), "%" if path.endswith("duty") else str(unit or ""))
        return f"{len(value)} entries" if isinstance(value, list) else str(value)

    return Difference(path, str(info["title"]), tuple(text(value) for value in values))


def differing_values(base: Design, changed: Design) -> dict[str, float | bool | str | None]:
    """Plain fields of `changed` that differ from `base`, by path.

    Raises
    ------
    InputError
        A list, or a part that only one of them has.
    """
    old, new = compared(base), compared(changed)
    found: dict[str, float | bool | str | None] = {}
    for path in dict.fromkeys((*old, *new)):
        if old.get(path) == new.get(path) and path in old and path in new:
            continue
        value = new.get(path)
        if path not in old or path not in new or isinstance(value, list):
            raise InputError(path, "a list or an optional part", "the same in a variant")
        found[path] = value
    return found
