"""Every field of a design by its path, and a random value of its whole range."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from typing import Any

from pydantic import BaseModel

from burstwise.core.design.document import Design, field_info


def _paths(model: type[BaseModel], before: str = "") -> Iterator[str]:
    for name, info in model.model_fields.items():
        path = f"{before}{name}"
        part = _section(info.annotation)
        if part is None:
            yield path
        else:
            yield path
            yield from _paths(part, path + ".")


def _section(annotation: Any) -> type[BaseModel] | None:
    for candidate in (annotation, *getattr(annotation, "__args__", ())):
        if isinstance(candidate, type) and issubclass(candidate, BaseModel):
            return candidate
    return None


PATHS = tuple(_paths(Design))
"""Dotted paths of all fields and parts."""


def any_value(path: str, draw: random.Random) -> Any:
    """Random value of a field within its limits, at one of its ends in one of ten cases.

    Raises
    ------
    LookupError
        The field has neither limits nor choices.
    """
    info = field_info(path)
    if "choices" in info:
        return draw.choice(info["choices"])
    if "low" not in info or "high" not in info:
        raise LookupError(path)
    low, high = float(info["low"]), float(info["high"])
    kind = draw.random()
    if kind < 0.05:
        return low
    if kind < 0.1:
        return high
    if low > 0.0:
        return math.exp(draw.uniform(math.log(low), math.log(high)))
    return draw.choice((draw.uniform(low, high), high * 10 ** draw.uniform(-9.0, 0.0)))
