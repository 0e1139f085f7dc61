"""Mutated captures of a scope: read and measured, or refused in one line.

python tests/robustness/attack_captures.py --count 5000
"""

from __future__ import annotations

import math
import random
import sys
import tempfile
from pathlib import Path

from harness import Book, options, turns
from mutations import damaged_bytes

from burstwise.core.bench.capture_file import load_capture
from burstwise.core.bench.capture_measure import capture_measures

UTF16 = "utf-16"
TITLES = ("time [s]", "Time (ms)", "CH1", "CH2", "V", "drain [kV]")
DIALECTS = ((",", False), (";", True), ("\t", False), (";", False), (" ", False))


def main() -> int:
    given = options(__doc__ or "", 5000)
    book = Book("captures", given.keep)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "capture.csv"
        for number, draw in turns(given):
            content = made(draw)
            content = damaged_bytes(content, draw) if draw.random() < 0.85 else content
            file.write_bytes(content)
            book.run(f"{number}.csv", lambda: measured(file), content=content)
    return book.close()


def made(draw: random.Random) -> bytes:
    """Capture of a made-up burst in one of the ways in which such files are written."""
    apart, comma = draw.choice(DIALECTS)
    count, step = draw.choice((3, 50, 2000, 8000)), draw.choice((1e-9, 1e-7, 1e-5))
    with_time, channels = draw.random() < 0.8, draw.choice((1, 2, 4))
    lines = _preamble(draw, apart, step, with_time + channels)
    period, noise = draw.choice((5.0, 20.0, 300.0)), draw.choice((0.0, 0.01, 1.0))
    for place in range(count):
        on = place % max(count // 3, 1) < count // 6
        level = math.sin(2 * math.pi * place / period) * on + noise * draw.gauss(0.0, 1.0)
        cells = [f"{place * step:.9e}"] * with_time + [f"{level * 100:.4f}"] * channels
        lines.append(apart.join(cells).replace(".", "," if comma else "."))
    text = draw.choice(("\n", "\r\n", "\r")).join(lines)
    return text.encode(UTF16 if draw.random() < 0.1 else "utf-8")


def _preamble(draw: random.Random, apart: str, step: float, width: int) -> list[str]:
    lines = []
    if draw.random() < 0.5:
        lines += [f"Record Length{apart}2000", f"Sample Interval{apart}{step}{apart}s", ""]
    if draw.random() < 0.1:
        lines += [f"Key{apart}{'value ' * 20}"] * draw.choice((10, 400))
    if draw.random() < 0.7:
        width = width if draw.random() < 0.9 else width + 1
        lines.append(apart.join(draw.choice(TITLES) for _ in range(width)))
    return lines


def measured(file: Path) -> str:
    """Load and measure each channel."""
    capture = load_capture(file)
    for channel in capture.channels:
        capture_measures(capture, channel.name)
    return "measured"


if __name__ == "__main__":
    sys.exit(main())
