"""Captures from the CSV files that scopes write, millions of lines long.

`numpy.loadtxt` reads the numbers, block by block: it holds the interpreter's lock meanwhile, and a
block of a quarter of a megabyte takes it two milliseconds.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO, Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.bench.capture import Capture, Channel
from burstwise.core.bench.capture_dialect import Dialect, is_number, sniffed_dialect, unit_scale
from burstwise.core.bench.time_base import TimeBase, resampled, time_base
from burstwise.core.disk import opened
from burstwise.core.errors import FileError, InputError
from burstwise.core.findings import Finding, caution, note
from burstwise.core.stopping import check_stop

_SNIFFED: Final = 32_768
_LONGEST_PREAMBLE: Final = 1_048_576
_BLOCK: Final = 262_144
_LONGEST_LINE: Final = 4_194_304
_LARGEST: Final = 2_000_000_000
_OVER_RANGE: Final = 1e30
_UTF16_MARKS: Final = (b"\xff\xfe", b"\xfe\xff")


def load_capture(
    path: str | Path,
    *,
    progress: Callable[[float], None] | None = None,
) -> Capture:
    """Capture of a scope's CSV file.

    Preamble, separators (comma, semicolon, tab, blanks), decimal comma, column names and units
    are found out (`burstwise.core.bench.capture_dialect`). Times come from the first column, or
    from the sample interval or rate that the preamble states where the first column only numbers
    the samples or is missing.

    Parameters
    ----------
    path : str or Path
        File to read.
    progress : callable, optional
        Called with the part that is done, 0 to 1, some times per second.

    Returns
    -------
    Capture
        Channels in SI units.

    Raises
    ------
    FileError
        The file cannot be opened, is no ordinary one or longer than 2 GB, or a line
        cannot be used; the line is named.
    StoppedError
        The work was asked to stop; see `burstwise.core.stopping`.
    """
    name = str(path)
    with _opened(path) as stream:
        size = max(stream.seek(0, io.SEEK_END), 1)
        stream.seek(0)
        dialect, skipped = _sniffed(stream, name)
        stream.seek(skipped)
        blocks: list[Array] = []
        line = dialect.skip
        cut: int | None = None
        for text in _whole_lines(stream, name=name, line=line + 1):
            check_stop()
            block, cut = _numbers(text, dialect, name=name, line=line)
            blocks.append(block)
            line += text.count(b"\n")
            if progress is not None:
                progress(min(stream.tell() / size, 1.0))
    samples = np.concatenate(blocks)
    if len(samples) < 2:
        raise FileError(name, f"{len(samples)} samples", "a capture of two samples or more")
    return _capture(samples, dialect, name=name, cut=cut)


@contextmanager
def _opened(path: str | Path) -> Iterator[BinaryIO]:
    try:
        with opened(path, largest=_LARGEST) as stream:
            begin = stream.read(_SNIFFED)
            stream.seek(0)
            if begin[:2] in _UTF16_MARKS:
                yield io.BytesIO(_lines_ended(stream.read().decode("utf-16").encode("utf-8")))
            elif _lines_ended(begin) != begin:
                yield io.BytesIO(_lines_ended(stream.read()))
            else:
                yield stream
    except UnicodeDecodeError as error:
        raise FileError(path, "broken UTF-16 text", "a text file", line=1) from error


def _lines_ended(text: bytes) -> bytes:
    """Text with line feeds for its line ends where it has nothing but returns."""
    return text if b"\n" in text or b"\r" not in text[:-1] else text.replace(b"\r", b"\n")


def _sniffed(stream: BinaryIO, name: str) -> tuple[Dialect, int]:
    """Dialect, and the position of the first line of numbers in the file."""
    try:
        return _dialect_at(stream, name, _SNIFFED)
    except FileError:
        # Most preambles are short; a long one is looked at before it is called none.
        return _dialect_at(stream, name, _LONGEST_PREAMBLE)


def _dialect_at(stream: BinaryIO, name: str, size: int) -> tuple[Dialect, int]:
    stream.seek(0)
    sample = stream.read(size)
    if b"\0" in sample:
        at = sample[: sample.index(b"\0")].count(b"\n") + 1
        raise FileError(name, "bytes that are no text", "a text file", line=at)
    if len(sample) == size:
        if b"\n" not in sample:
            raise _too_long(name, size, line=1)
        sample = sample[: sample.rfind(b"\n") + 1]
    try:
        text = sample.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = sample.decode("latin-1")
    lines = text.split("\n")
    dialect = sniffed_dialect(lines, name=name)
    position = 0
    for _ in range(dialect.skip):
        position = sample.index(b"\n", position) + 1
    mark = 3 if position == 0 and sample.startswith(b"\xef\xbb\xbf") else 0
    return dialect, position + mark


def _whole_lines(stream: BinaryIO, *, name: str, line: int) -> Iterator[bytes]:
    rest = b""
    while block := stream.read(_BLOCK):
        text = rest + block
        end = text.rfind(b"\n") + 1
        rest = text[end:]
        if len(rest) > _LONGEST_LINE:
            raise _too_long(name, _LONGEST_LINE, line=line + text.count(b"\n"))
        if end:
            yield text[:end]
            line += text.count(b"\n")
    if rest.strip():
        yield rest


def _too_long(name: str, size: int, *, line: int) -> FileError:
    return FileError(name, f"more than {size:,} bytes", "a line of a shorter length", line=line)


def _numbers(text: bytes, dialect: Dialect, *, name: str, line: int) -> tuple[Array, int | None]:
    """Numbers of whole lines, and the line that was cut off at the end of the file, if any."""
    separator, plain = dialect.separator, text
    if dialect.decimal_comma and separator == ",":
        separator, plain = ";", plain.replace(b'","', b";")
    marks = bytes.maketrans(b",", b".") if dialect.decimal_comma else None
    plain = plain.translate(marks, b'\r"')
    everything = dialect.columns == tuple(range(dialect.width))
    block: Array = np.empty((0, 0))
    if plain.strip():
        try:
            block = np.loadtxt(
                plain.decode("latin-1").split("\n"),
                delimiter=separator,
                usecols=None if everything else dialect.columns,
                comments=None,
                ndmin=2,
            )
        except ValueError:
            block = np.empty((0, 0))
    if block.shape[1] == len(dialect.columns) and _within_range(block):
        return block, None
    lines = text.decode("latin-1").split("\n")
    at = _first_unusable(lines, dialect)
    if at is None:
        return _line_by_line(lines, dialect), None
    if at == len(lines) - 1:
        kept = text[: text.rfind(b"\n") + 1]
        before = _numbers(kept, dialect, name=name, line=line)[0] if kept.strip() else block[:0]
        return before.reshape(-1, len(dialect.columns)), line + at + 1
    limit = "numbers in the columns of the lines before it"
    raise FileError(name, f"'{lines[at].strip()[:60]}'", limit, line=line + at + 1)


def _within_range(block: Array) -> bool:
    return bool(np.all(np.abs(block) < _OVER_RANGE))


def _line_by_line(lines: list[str], dialect: Dialect) -> Array:
    """Numbers of lines that are in order, though the quick reader stumbles over a blank in them."""
    rows = [dialect.cells(line) for line in lines if line.strip()]
    numbers = [[float(row[column]) for column in dialect.columns] for row in rows]
    return np.array(numbers, dtype=np.float64).reshape(-1, len(dialect.columns))


def _first_unusable(lines: list[str], dialect: Dialect) -> int | None:
    for at, line in enumerate(lines):
        if not line.strip():
            continue
        cells = dialect.cells(line)
        wanted = [cells[column] if column < len(cells) else "" for column in dialect.columns]
        usable = all(is_number(cell) and abs(float(cell)) < _OVER_RANGE for cell in wanted)
        if not usable or len(cells) > dialect.width:
            return at
    return None


def _capture(samples: Array, dialect: Dialect, *, name: str, cut: int | None) -> Capture:
    findings: list[Finding] = []
    if cut is not None:
        text = f"Line {cut}, the last one, is cut off in mid-line and left out."
        findings.append(note("capture-cut-off", f"line {cut}", text))
    columns = list(samples.T)
    names, units = list(dialect.names), list(dialect.units)
    base, drop = _time_base(columns[0], dialect, name=name)
    if base.uneven:
        findings.append(_uneven(base))
    times = columns[0] * unit_scale(units[0])[1]
    if len(columns) == drop:
        raise FileError(
            name, "one column", "a time and at least one channel", line=dialect.skip + 1
        )
    channels = []
    for values, title, written in zip(columns[drop:], names[drop:], units[drop:], strict=True):
        unit, scale = unit_scale(written)
        even = resampled(times, values, base) if base.uneven else values
        channels.append(Channel(title, unit, np.ascontiguousarray(even * scale)))
    return Capture(base.start, base.step, tuple(channels), tuple(findings))


def _time_base(first: Array, dialect: Dialect, *, name: str) -> tuple[TimeBase, int]:
    """Time base of a capture, and how many leading columns are no channels."""
    interval = dialect.interval
    counts = dialect.counts_samples or (
        not dialect.names_time and interval is not None and _counts(first)
    )
    if not counts and _holds_times(first, dialect):
        try:
            return time_base(first * unit_scale(dialect.units[0])[1]), 1
        except InputError as error:
            line = dialect.skip + 1 + int(error.field)
            raise FileError(name, error.value, error.limit, line=line) from error
    if interval is None:
        limit = "a column of times, or a sample interval or rate in the lines above the numbers"
        raise FileError(name, f"'{dialect.names[0]}'", limit, line=max(dialect.skip, 1))
    return TimeBase(0.0, interval, 0.0), 1 if counts else 0


def _counts(column: Array) -> bool:
    return bool(column[0] in (0.0, 1.0) and np.all(np.diff(column) == 1.0))


def _holds_times(column: Array, dialect: Dialect) -> bool:
    if dialect.names_time:
        return True
    mean_step = float(column[-1] - column[0]) / (len(column) - 1)
    if not mean_step > 0.0 or np.any(np.diff(column) < 0.0):
        return False
    return dialect.interval is None or abs(mean_step / dialect.interval - 1.0) < 0.01


def _uneven(base: TimeBase) -> Finding:
    return caution(
        "capture-uneven",
        "time",
        f"Samples are up to {base.uneven:.3g} intervals away from even times, as after a gap or "
        "with a simulator's own steps; values between were filled in by straight lines.",
    )
