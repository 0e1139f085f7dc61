"""Measured curves near a resonance: Touchstone one-port files and two-column CSV."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

import numpy as np

from burstwise.core.coil.arrays import Complexes, Floats
from burstwise.core.disk import read_text
from burstwise.core.errors import FileError
from burstwise.core.table_text import split_title, table_lines

_SCALES = {"HZ": 1.0, "KHZ": 1e3, "MHZ": 1e6, "GHZ": 1e9}
_FORMATS = ("MA", "DB", "RI")
_PARAMETERS = ("S", "Z", "Y")
_OHMS = {"ohm": 1.0, "ohms": 1.0, "ω": 1.0, "kohm": 1e3, "kω": 1e3, "mohm": 1e-3, "mω": 1e-3}


class CurveKind(StrEnum):
    """What a curve holds."""

    IMPEDANCE = "impedance"
    MAGNITUDE = "impedance magnitude"
    RESPONSE = "response"


@dataclass(frozen=True, slots=True, eq=False)
class MeasuredCurve:
    """Curve over frequency.

    Parameters
    ----------
    kind : CurveKind
        Complex impedance [ohm], its magnitude [ohm], or a response in any unit.
    frequency : array of shape (n,)
        Rising [Hz].
    value : array of shape (n,)
        Complex for `CurveKind.IMPEDANCE`, otherwise real and above 0.
    """

    kind: CurveKind
    frequency: Floats
    value: Complexes | Floats


@dataclass(frozen=True, slots=True)
class _Options:
    scale: float = 1e9
    parameter: str = "S"
    form: str = "MA"
    reference: float = 50.0


def load_curve(path: Path) -> MeasuredCurve:
    """Curve from a file: Touchstone one-port (.s1p) or two-column CSV (anything else).

    Raises
    ------
    FileError
        Cannot be read, no ordinary file or too long, or see `parse_touchstone` and
        `parse_curve_csv`.
    """
    text = read_text(path)
    parse = parse_touchstone if path.suffix.lower() == ".s1p" else parse_curve_csv
    return parse(text.splitlines(), path)


def parse_touchstone(lines: Iterable[str], path: object = "Touchstone text") -> MeasuredCurve:
    """Impedance from the lines of a Touchstone version 1 one-port file.

    Parameters
    ----------
    lines : iterable of str
        The file's lines.
    path : object
        Name for errors.

    Notes
    -----
    Option line ``# unit parameter format R reference`` in any order and case, GHz S MA R 50 where
    not given; S, Z and Y; MA, DB and RI; comments after ``!``. As the format has it, Z and Y are
    relative to the reference resistance. Source: Touchstone File Format Specification, version
    1.1 (from memory).

    Raises
    ------
    FileError
        Names the line: not three numbers, falling frequencies, an unknown option, version 2.

    Examples
    --------
    >>> curve = parse_touchstone(["! short", "# kHz S RI R 50", "100 0 0", "200 0.5 0"])
    >>> curve.frequency.tolist(), curve.value.real.tolist()
    ([100000.0, 200000.0], [50.0, 150.0])
    """
    options: _Options | None = None
    rows: list[tuple[float, float, float]] = []
    number = 0
    for number, raw in enumerate(lines, start=1):
        content = raw.split("!", 1)[0].strip()
        if not content:
            continue
        if content.startswith("["):
            raise FileError(path, content, "a version 1 file without keywords", line=number)
        if content.startswith("#"):
            # Only the first option line counts, later ones are ignored by the format.
            options = options or _touchstone_options(content, path, number)
            continue
        if options is None:
            raise FileError(path, content, "preceded by an option line with #", line=number)
        row = _numbers(content.split(), 3, path, number)
        if rows and row[0] <= rows[-1][0]:
            raise FileError(path, row[0], "a frequency above the line before", line=number)
        rows.append((row[0], row[1], row[2]))
    if not rows or options is None:
        raise FileError(path, "no data", "lines of frequency and two numbers", line=number)
    table = np.array(rows)
    return MeasuredCurve(
        CurveKind.IMPEDANCE,
        options.scale * table[:, 0],
        _one_port_impedance(table, options, path),
    )


def parse_curve_csv(lines: Iterable[str], path: object = "CSV text") -> MeasuredCurve:
    """Curve from two columns whose header names them with their units.

    Parameters
    ----------
    lines : iterable of str
        The file's lines; those that start with ``#`` are comments.
    path : object
        Name for errors.

    Notes
    -----
    First column ``frequency [Hz]`` (kHz, MHz, GHz). Second column in ``[ohm]`` is an impedance's
    magnitude, ``[dB]`` a response in decibels, anything else a response.

    Raises
    ------
    FileError
        Names the line: header without frequency, not two numbers, falling frequency, not above 0.

    Examples
    --------
    >>> curve = parse_curve_csv(["frequency [kHz], response [V]", "100, 0.5", "101, 0.7"])
    >>> curve.kind.value, curve.frequency.tolist()
    ('response', [100000.0, 101000.0])
    """
    header: tuple[float, CurveKind, float, bool] | None = None
    rows: list[tuple[float, float]] = []
    number = 0
    for number, raw in enumerate(lines, start=1):
        if not raw.strip() or raw.lstrip().startswith("#"):
            continue
        cells = next(table_lines(raw, separator=",")).cells
        if header is None:
            header = _csv_header(cells, path, number)
            continue
        row = _numbers(cells, 2, path, number)
        level = 10.0 ** (row[1] / 20.0) if header[3] else row[1]
        if rows and row[0] <= rows[-1][0]:
            raise FileError(path, row[0], "a frequency above the line before", line=number)
        if level <= 0.0:
            raise FileError(path, row[1], "above 0", line=number)
        rows.append((row[0], level))
    if header is None or not rows:
        raise FileError(path, "no data", "a header and lines of two numbers", line=number)
    table = np.array(rows)
    return MeasuredCurve(header[1], header[0] * table[:, 0], header[2] * table[:, 1])


def _touchstone_options(content: str, path: object, line: int) -> _Options:
    words = content[1:].upper().split()
    found = {"scale": 1e9, "reference": 50.0}
    parameter, form = "S", "MA"
    while words:
        word = words.pop(0)
        if word in _SCALES:
            found["scale"] = _SCALES[word]
        elif word in _PARAMETERS:
            parameter = word
        elif word in _FORMATS:
            form = word
        elif word == "R":
            found["reference"] = _numbers(words[:1], 1, path, line)[0]
            words = words[1:]
            if found["reference"] <= 0.0:
                raise FileError(path, content, "of a reference above 0 ohm", line=line)
        else:
            limit = "an option line of Hz to GHz, S, Z or Y, MA, DB or RI, and R"
            raise FileError(path, word, limit, line=line)
    return _Options(found["scale"], parameter, form, found["reference"])


def _one_port_impedance(table: Floats, options: _Options, path: object) -> Complexes:
    first, second = table[:, 1], table[:, 2]
    if options.form == "RI":
        value = first + 1j * second
    else:
        size = 10.0 ** (first / 20.0) if options.form == "DB" else first
        value = size * np.exp(1j * np.radians(second))
    if options.parameter == "S":
        top, bottom = 1.0 + value, 1.0 - value
    elif options.parameter == "Z":
        top, bottom = value, np.ones_like(value)
    else:
        top, bottom = np.ones_like(value), value
    if np.any(bottom == 0.0) or np.any(top == 0.0):
        raise FileError(path, "an open or short circuit", "of finite impedance above 0 throughout")
    return np.asarray(options.reference * top / bottom)


def _csv_header(cells: list[str], path: object, line: int) -> tuple[float, CurveKind, float, bool]:
    limit = "a header such as 'frequency [kHz], impedance [ohm]' or 'frequency [Hz], response [V]'"
    parts = [split_title(cell, opening="[", closing="]") for cell in cells]
    if len(parts) != 2 or parts[0] is None or parts[1] is None or not parts[1].name:
        raise FileError(path, ", ".join(cells), limit, line=line)
    frequency_unit = (parts[0].unit or "").upper()
    if not parts[0].name.lower().startswith("freq") or frequency_unit not in _SCALES:
        raise FileError(path, ", ".join(cells), limit, line=line)
    unit = (parts[1].unit or "").lower()
    scale = _SCALES[frequency_unit]
    if unit in _OHMS:
        return scale, CurveKind.MAGNITUDE, _OHMS[unit], False
    if parts[1].name.lower().startswith("imp"):
        raise FileError(path, ", ".join(cells), "an impedance in [ohm] or [kohm]", line=line)
    return scale, CurveKind.RESPONSE, 1.0, unit == "db"


def _numbers(words: list[str], count: int, path: object, line: int) -> list[float]:
    limit = f"{count} numbers" if count > 1 else "a number"
    try:
        values = [float(word) for word in words]
    except ValueError:
        raise FileError(path, " ".join(words), limit, line=line) from None
    if len(values) != count or not all(math.isfinite(value) for value in values):
        raise FileError(path, " ".join(words) or "nothing", limit, line=line)
    if values[0] <= 0.0 and count > 1:
        raise FileError(path, values[0], "a frequency above 0", line=line)
    return values
