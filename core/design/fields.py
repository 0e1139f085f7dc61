"""Field types of the design document: a quantity with unit and limits that takes what people write.

Each field is a float in SI units; a text such as ``"4k7"`` or ``"36 V"`` is read on the way in.
The unit and the limits stand in the JSON schema, so that a form can be drawn from it.
"""

from __future__ import annotations

import math
from typing import Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from core.units import quantity


class Section(BaseModel):
    """Base of every part of the design: frozen, no unknown fields, finite numbers."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


def reading(unit: str, low: float, high: float) -> BeforeValidator:
    """Validator that reads a text or a number in `unit` between `low` and `high`."""

    def read(value: object) -> float | None:
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, (str, int, float)):
            raise ValueError("must be a number or a text with unit")
        return quantity(value, unit, low=low, high=high)

    return BeforeValidator(read)


def quantity_field(
    unit: str,
    low: float,
    high: float,
    title: str,
    *,
    log: bool = False,
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
    """
    extra: dict[str, Any] = {"unit": unit, "low": low, "high": high, "log": log}
    schema = {key: value for key, value in extra.items() if not _infinite(value)}
    return reading(unit, low, high), Field(title=title, json_schema_extra=schema)


def _infinite(value: object) -> bool:
    return isinstance(value, float) and math.isinf(value)
