"""Mutated design files: each loads or is refused in one line.

A damaged file that still loads is written and read again and must come back the same; one in
`--evaluate` of them is evaluated whole, a stop finding being a result like any other.

    python tests/robustness/attack_designs.py --count 20000
"""

from __future__ import annotations

import json
import math
import random
import sys
import tempfile
from pathlib import Path
from typing import Any

from harness import Book, options, turns
from mutations import damaged_bytes, damaged_tree, encoded

from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.storage import design_from_text, load, save

EXAMPLES = Path("resources/examples")
EVALUATED = 60
"""One in so many files that load is evaluated."""


def main() -> int:
    given = options(__doc__ or "", 20_000)
    book = Book("designs", given.keep)
    sources = [file.read_bytes() for file in sorted(EXAMPLES.glob("*.burstwise"))]
    loaded = 0
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "damaged.burstwise"
        for number, draw in turns(given):
            content = damaged(draw.choice(sources), draw)
            file.write_bytes(content)
            before = book.counts["loads"]
            book.run(f"{number}.burstwise", lambda: whole_way(file), content=content)
            if book.counts["loads"] > before:
                loaded += 1
                if loaded % EVALUATED == 0:
                    name = f"{number}-evaluated.burstwise"
                    book.run(name, lambda: result(file), content=content, hang=60.0)
    return book.close()


def damaged(content: bytes, draw: random.Random) -> bytes:
    """Damaged copy of a file: its bytes, its tree, or both."""
    kind = draw.random()
    if kind < 0.4:
        return damaged_bytes(content, draw)
    content = encoded(damaged_tree(json.loads(content), draw), draw)
    return content if kind < 0.9 else damaged_bytes(content, draw)


def whole_way(file: Path) -> str:
    """Load, save beside it, load again."""
    design = load(file)
    beside = file.with_name("again.burstwise")
    save(design, beside)
    assert load(beside) == design, "comes back as another design"
    assert design_from_text(beside.read_text()) == design
    return "loads"


def result(file: Path) -> str:
    """Evaluate; every number of the result is one."""
    told = results_object(evaluate(load(file), verify=False))
    assert finite(told), "a number that is none"
    return "evaluated"


def finite(value: Any) -> bool:
    """Whether a JSON value has only finite numbers."""
    if isinstance(value, float):
        return math.isfinite(value)
    if isinstance(value, dict):
        return all(finite(item) for item in value.values())
    return not isinstance(value, (list, tuple)) or all(finite(item) for item in value)


if __name__ == "__main__":
    sys.exit(main())
