"""Random valid designs over the whole range of the schema: a result, and only numbers in it.

Each field is drawn on its own, so that most designs are absurd; what the design itself refuses is
drawn again. A design that cannot be evaluated as it stands (overlapping windings) is refused in one
line. One in `FULL` goes through the whole command, with what breaks first; one in `BUILT` gets its
build sheet with parts, drawings, first power-up and templates.

    python tests/robustness/attack_random.py --count 2000
"""

from __future__ import annotations

import random
import re
import sys
import tempfile
from functools import partial
from pathlib import Path
from typing import Any

from attack_designs import finite
from fields import PATHS, any_value
from harness import Book, command, options, turns

from burstwise.core.design.document import Design, value_at, with_values
from burstwise.core.errors import InputError
from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.report.html import sheet_html
from burstwise.core.report.sheet_content import build_sheet
from burstwise.core.storage import load, save, text_of

FULL = 20
BUILT = 4
HANG_S = 60.0
PARTS = ("protection.drain_clamp", "protection.snubber", "protection.reservoir_clamp",
         "protection.trip", "supply.low_voltage")  # fmt: skip
SKIPPED = ("readings.", "interrupter.wish", "calibration")


def main() -> int:
    given = options(__doc__ or "", 2000)
    book = Book("random", given.keep)
    sources = [load(file) for file in sorted(Path("resources/examples").glob("*.burstwise"))]
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "random.burstwise"
        for number, draw in turns(given):
            design = drawn(draw.choice(sources), draw)
            content = text_of(design).encode()
            label = f"{number}.burstwise"
            if number % FULL:
                case = partial(result, design, sheet=number % BUILT == 1)
                book.run(label, case, content=content, hang=HANG_S)
            else:
                save(design, file)
                book.run(label, partial(printed, book, label, file), content=content, hang=HANG_S)
    return book.close()


def drawn(design: Design, draw: random.Random) -> Design:
    """Design with many of its fields moved anywhere within their limits."""
    share = draw.choice((0.02, 0.1, 0.3, 0.8))
    for part in PARTS:
        if draw.random() < 0.3:
            design = _tried(design, {part: None if value_at(design, part) else {}})
    paths = [path for path in PATHS if not path.startswith(SKIPPED) and draw.random() < share]
    draw.shuffle(paths)
    for first in range(0, len(paths), 3):
        design = _moved(design, paths[first : first + 3], draw)
    return design


def _moved(design: Design, paths: list[str], draw: random.Random) -> Design:
    values: dict[str, Any] = {}
    for path in paths:
        try:
            if value_at(design, path) is not None:
                values[path] = any_value(path, draw)
        except (LookupError, InputError):
            continue
    moved = _tried(design, values)
    if moved is design:
        for path, value in values.items():
            moved = _tried(moved, {path: value})
    return moved


def _tried(design: Design, values: dict[str, Any]) -> Design:
    try:
        return with_values(design, values)
    except InputError:
        return design


def result(design: Design, *, sheet: bool) -> str:
    """Evaluate, and set the build sheet; every number of the result is one."""
    results = evaluate(design)
    assert finite(results_object(results)), "a number that is none"
    if sheet:
        words = sheet_html(build_sheet(results, with_templates=True))
        assert not re.search(r"\b(nan|inf)\b", words), "a number of the sheet that is none"
    return "oscillates" if results.carrier.oscillates else "does not oscillate"


def printed(book: Book, label: str, file: Path) -> str:
    """The whole command."""
    return book.said(label, *command(["evaluate", str(file), "--json"]))


if __name__ == "__main__":
    sys.exit(main())
