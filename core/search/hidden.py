"""Free fields of the coil that a measured or fitted value hides."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from typing import Final

from burstwise.core.coil.coil_values import Origin
from burstwise.core.coil.resolve import ResolvedCoil, coil_of
from burstwise.core.design.document import Design, with_values
from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, caution
from burstwise.core.search.space import Free

GEOMETRY: Final = "coil.geometry."
_RINGS: Final = 20
"""Rings of the distributed model here: it only counts what moves at all."""
_MOVES: Final = 1e-3
"""Change of a computed value over a range that counts as moving it [1]."""


def hidden_findings(design: Design, free: tuple[Free, ...]) -> tuple[Finding, ...]:
    """A caution for each free field whose effect a measured or fitted value stands in for.

    Parameters
    ----------
    design : Design
        Where a search begins.
    free : tuple of Free
        What may move.
    """
    built = [one for one in free if one.path.startswith(GEOMETRY)]
    if not built:
        return ()
    if design.coil.given_by == "measured":
        return tuple(_unused(one) for one in built)
    stands_in = {
        item.name: item.origin
        for item in coil_of(design, rings=_RINGS).values
        if item.origin is not Origin.COMPUTED
    }
    found = []
    for one in built if stands_in else []:
        names = [name for name in stands_in if name in set(_moved(design, one))]
        if names:
            found.append(_hidden(one, names, stands_in[names[0]]))
    return tuple(found)


def _moved(design: Design, one: Free) -> Iterator[str]:
    """Names of the computed values that a field moves between the ends of its range."""
    with suppress(InputError):
        first, last = (_coil_at(design, one, place) for place in (0.0, 1.0))
        for item in first.values:
            other = last.known(item.name)
            if item.computed is None or other is None or other.computed is None:
                continue
            if abs(other.computed / item.computed - 1.0) > _MOVES:
                yield item.name


def _coil_at(design: Design, one: Free, place: float) -> ResolvedCoil:
    return coil_of(with_values(design, {one.path: one.value(place)}), rings=_RINGS)


def _unused(one: Free) -> Finding:
    return caution(
        "hidden-by-measured",
        one.path,
        f"{one.title} moves nothing: the coil is given by measured values, not by its geometry.",
    )


def _hidden(one: Free, names: list[str], origin: Origin) -> Finding:
    words = " and ".join(name.replace("_", " ") for name in names)
    instead = "switch the calibration off" if origin is Origin.FITTED else "set it aside"
    return caution(
        "hidden-by-measured",
        one.path,
        f"{one.title} would move {words}, but a {origin.value} value stands in for what the "
        f"geometry gives, so the search does not see it; {instead} to count it.",
    )
