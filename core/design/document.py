"""The design document and its edits."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Final, Literal, get_args

from pydantic import BaseModel, Field, ValidationError

from burstwise.core.design.calibration import Calibration
from burstwise.core.design.coil import Coil
from burstwise.core.design.device import Device
from burstwise.core.design.drive import Drive, Protection
from burstwise.core.design.fields import Section, input_error, words
from burstwise.core.design.interrupter import Interrupter
from burstwise.core.design.readings import Readings
from burstwise.core.design.supply import Cooling, Supply
from burstwise.core.design.variant import Variant
from burstwise.core.errors import InputError

FORMAT: Final = 2
"""Number of the file format that this version writes."""


class Design(Section):
    """One whole design: what `burstwise.core.evaluate` needs and what a file holds."""

    format: Literal[2] = FORMAT
    name: Annotated[str, words(), Field(title="Name", min_length=1, max_length=120)] = "New design"
    notes: Annotated[str, words(lines=True), Field(title="Notes", max_length=4000)] = ""
    coil: Coil
    device: Device = Device()
    drive: Drive = Drive()
    protection: Protection = Protection()
    interrupter: Interrupter = Interrupter()
    supply: Supply = Supply()
    cooling: Cooling = Cooling()
    readings: Readings = Readings()
    calibration: Calibration | None = None
    variants: Annotated[tuple[Variant, ...], Field(title="Variants", max_length=20)] = ()


def design_from(data: Mapping[str, Any]) -> Design:
    """Design from plain data, as read from a file.

    Raises
    ------
    InputError
        Naming the first field that cannot be used, with its value and limit.
    """
    try:
        return Design.model_validate(data)
    except ValidationError as error:
        raise input_error(error) from error


def with_value(design: Design, path: str, value: object) -> Design:
    """Copy of the design with one field set, validated.

    Parameters
    ----------
    design : Design
        The present design.
    path : str
        Dotted path of a field, e.g. ``"supply.voltage"``.
    value : object
        Number or text as a person writes it; a model or mapping for a whole part; None to remove
        an optional part.

    Raises
    ------
    InputError
        Unknown path, or a value out of its limits; the present design is untouched.
    """
    return with_values(design, {path: value})


def with_values(design: Design, values: Mapping[str, object]) -> Design:
    """Copy of the design with several fields set at once, validated together."""
    touched = {path.partition(".")[0] for path in values}
    data = {
        name: section.model_dump()
        if name in touched and isinstance(section, BaseModel)
        else section
        for name, section in design
    }
    for path, value in values.items():
        _place(data, path, value.model_dump() if isinstance(value, BaseModel) else value)
    return design_from(data)


def value_at(design: Design, path: str) -> Any:
    """Value of a field by its dotted path.

    Raises
    ------
    InputError
        No such field.
    """
    here: Any = design
    for name in path.split("."):
        here = _step(here, name, path)
    return here


def _step(here: Any, name: str, path: str) -> Any:
    if isinstance(here, BaseModel) and name in type(here).model_fields:
        return getattr(here, name)
    if isinstance(here, (list, tuple)) and name in map(str, range(len(here))):
        return here[int(name)]
    if isinstance(here, dict) and name in here:
        return here[name]
    raise InputError(path, "an unknown field", "a field of the design")


def _place(data: dict[str, Any], path: str, value: object) -> None:
    *parents, last = path.split(".")
    here: Any = data
    for depth, name in enumerate(parents):
        here = _step(here, name, path)
        if here is None:
            part = ".".join(parents[: depth + 1])
            raise InputError(path, f"a field of {part}, which is not fitted", "a fitted part")
    if isinstance(here, tuple):
        raise InputError(path, value, "set by replacing the whole list")
    if not isinstance(here, dict) or last not in here:
        raise InputError(path, value, "a field of the design")
    here[last] = value


def field_info(path: str) -> Mapping[str, Any]:
    """Title, unit and limits of a field by its dotted path, for forms.

    Returns
    -------
    mapping
        Keys ``title``, ``description`` and, for a quantity, ``unit``, ``low``, ``high``, ``log``,
        and ``shown_unit``, which is ``"%"`` for a ratio that is read in percent.
        For a choice, ``choices``.

    Raises
    ------
    InputError
        No such field.
    """
    model: Any = Design
    info = None
    for name in path.split("."):
        fields = getattr(model, "model_fields", {})
        if name not in fields:
            raise InputError(path, "an unknown field", "a field of the design")
        info = fields[name]
        model = _model_of(info.annotation)
    assert info is not None
    extra = dict(info.json_schema_extra or {})
    if "unit" in extra:
        extra["shown_unit"] = "%" if extra.pop("percent", False) else extra["unit"]
    choices = get_args(info.annotation)
    if choices and all(isinstance(choice, str) for choice in choices):
        extra["choices"] = choices
    return {"title": info.title or path, "description": info.description or "", **extra}


def _model_of(annotation: Any) -> Any:
    for candidate in (annotation, *get_args(annotation)):
        if isinstance(candidate, type) and issubclass(candidate, BaseModel):
            return candidate
    return None
