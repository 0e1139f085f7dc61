"""Design files: JSON with a format number; saved whole or not at all."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final

from burstwise.core.design.document import FORMAT, Design, design_from
from burstwise.core.disk import read_text, whole_copy, write_whole
from burstwise.core.errors import FileError, InputError
from burstwise.core.version import VERSION, is_newer, numbers_of

SUFFIX: Final = ".burstwise"
"""Usual ending of a design file."""

_SAVED_BY: Final = "saved_by"
"""Key of a file for the version that wrote it: what to ask for when the file cannot be read."""

Migration = Callable[[dict[str, Any]], dict[str, Any]]


def _from_format_0(data: dict[str, Any]) -> dict[str, Any]:
    """Drafts of format 0 had the interrupter's duty in per cent, under `duty_percent`."""
    moved = dict(data)
    part = dict(moved.get("interrupter", {}))
    if "duty_percent" in part:
        part["duty"] = float(part.pop("duty_percent")) / 100.0
    moved["interrupter"] = part
    moved["format"] = 1
    return moved


def _from_format_1(data: dict[str, Any]) -> dict[str, Any]:
    """Format 1 knew one constant output capacitance, related to the stored energy."""
    moved = dict(data)
    device = moved.get("device", {})
    if isinstance(device, dict):
        moved["device"] = {
            "capacitance_law": "constant",
            "output_capacitance_is": "energy related",
            **device,
        }
    moved["format"] = 2
    return moved


MIGRATIONS: Final[Mapping[int, Migration]] = {0: _from_format_0, 1: _from_format_1}
"""Step from each older format to the next; add one whenever FORMAT goes up."""


def load(path: str | os.PathLike[str]) -> Design:
    """Design from a file.

    Raises
    ------
    FileError
        The file cannot be read, is no ordinary one, is not JSON (with line), or is of a newer
        format.
    InputError
        A field in it cannot be used.
    """
    file = Path(path)
    text = read_text(file)
    whole = whole_copy(file)
    try:
        return design_from_text(text, source=file)
    except FileError as error:
        if not whole.is_file():
            raise
        raise FileError(
            file, "one whose saving was cut off", f"whole; all of it is in {whole.name} beside it"
        ) from error


def design_from_text(text: str, *, source: object = "the text") -> Design:
    """Design from the text of a file.

    Raises
    ------
    FileError, InputError
        As `load`.
    """
    try:
        data = json.loads(text)
    except json.JSONDecodeError as error:
        raise FileError(
            source, "text that is damaged or cut short", "part of a whole design", line=error.lineno
        ) from error
    except RecursionError as error:
        raise FileError(source, "endless nesting", "a design") from error
    except ValueError as error:  # an integer of more digits than Python reads
        raise FileError(source, "a number of several thousand digits", "a design") from error
    if not isinstance(data, dict):
        raise FileError(source, type(data).__name__, "a JSON object with a design")
    saved_by = data.pop(_SAVED_BY, None)
    if saved_by is not None and numbers_of(saved_by) is None:
        raise InputError(_SAVED_BY, saved_by, "a version of the program, as 0.2.0")
    try:
        return design_from(_current(data, source))
    except InputError as error:
        if not is_newer(saved_by):
            raise
        cause = error.value if isinstance(error, FileError) else error.field
        raise FileError(
            source,
            f"one of version {saved_by} ({cause} is not known here)",
            f"of version {VERSION} or older; open it with version {saved_by} or newer",
        ) from error


def _current(data: dict[str, Any], source: object) -> dict[str, Any]:
    number = data.get("format")
    if not isinstance(number, int) or isinstance(number, bool):
        raise InputError("format", number, "the number of the file format")
    if number > FORMAT:
        raise FileError(
            source,
            f"format {number}",
            f"of format {FORMAT} or older; this file needs a newer version",
        )
    while number < FORMAT:
        step = MIGRATIONS.get(number)
        if step is None:
            raise FileError(source, f"format {number}", f"of format {min(MIGRATIONS)} to {FORMAT}")
        data = step(data)
        number = int(data["format"])
    return data


def text_of(design: Design) -> str:
    """Text of a design file: the design, and the version of the program that writes it."""
    content = {_SAVED_BY: VERSION, **design.model_dump(mode="json")}
    return json.dumps(content, indent=2, ensure_ascii=False) + "\n"


def save(design: Design, path: str | os.PathLike[str]) -> None:
    """Write a design file; an interrupted write leaves the old file as it was.

    Raises
    ------
    FileError
        The file cannot be written.
    """
    write_whole(path, text_of(design).encode("utf-8"))


def schema_text() -> str:
    """JSON schema of the design file, as kept in docs/."""
    return json.dumps(Design.model_json_schema(), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    sys.stdout.write(schema_text())
