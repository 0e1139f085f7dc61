"""Mutated tables of readings: read, pasted and forecast, or refused in one line.

python tests/robustness/attack_readings.py --count 5000
"""

from __future__ import annotations

import random
import sys
import tempfile
from functools import partial
from pathlib import Path

from harness import Book, command, options, turns
from mutations import damaged_bytes

from burstwise.core.bench.pasted import pasted_cells
from burstwise.core.bench.readings_text import load_readings
from burstwise.core.errors import InputError

SOURCE = Path("resources/examples/readings.csv")
HEADERS = (
    "supply [V]", "supply voltage / mV", "duty [%]", "shunt rms [mV]", "shunt mean (mV)",
    "shunt peak [V]", "drain peak [V]", "heat sink [°C]", "heat sink temperature [K]", "note",
    "breakout length [cm]", "unknown", "", " " * 3000, "(" * 2000, "[" * 2000, "supply [V] [V] [V]",
)  # fmt: skip
CELLS = ("12", "1,5", "1.234,5", "1e3", "-4", "nan", "inf", "", " ", "4R7", "²", "=1", "a" * 3000)


def main() -> int:
    given = options(__doc__ or "", 5000)
    book = Book("readings", given.keep)
    source = SOURCE.read_bytes()
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "readings.csv"
        for number, draw in turns(given):
            content = source if draw.random() < 0.5 else made(draw)
            content = damaged_bytes(content, draw) if draw.random() < 0.8 else content
            file.write_bytes(content)
            label = f"{number}.csv"
            book.run(label, partial(used, book, label, file, content), content=content)
    return book.close()


def made(draw: random.Random) -> bytes:
    """Table of odd headings and cells, with an odd separator."""
    apart = draw.choice((",", ";", "\t", " ", "|"))
    width = draw.randrange(1, 12)
    lines = [apart.join(draw.choice(HEADERS) for _ in range(width))]
    for _ in range(draw.choice((0, 1, 5, 40, 1200))):
        lines.append(apart.join(draw.choice(CELLS) for _ in range(draw.choice((width, width + 2)))))
    return draw.choice(("\n", "\r\n", "\r")).join(lines).encode()


def used(book: Book, label: str, file: Path, content: bytes) -> str:
    """Load, paste and forecast."""
    try:
        pasted_cells((), content.decode("utf-8", "replace"), row=0, column=0)
    except InputError as error:
        book.one_line(label, str(error), content)
    refused = True
    try:
        load_readings(file)
        refused = False
    except InputError as error:
        book.one_line(label, str(error), content)
    arguments = ["--shunt", "0.1", "--on-resistance", "3.5", "--rating", "voltage=600V"]
    status, errors = command(["forecast", str(file), *arguments, "--json"])
    ended = book.said(label, status, errors, content)
    assert not refused or ended == "refused", "a file that is refused elsewhere gives a forecast"
    return ended


if __name__ == "__main__":
    sys.exit(main())
