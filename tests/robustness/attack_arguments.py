"""Lists of arguments and `--set` texts, mutated: a result, or one line and status 2.

Settings that can be used are not evaluated here: `attack_random.py` does that.

    python tests/robustness/attack_arguments.py --count 5000
"""

from __future__ import annotations

import contextlib
import random
import sys
from functools import partial
from pathlib import Path

from fields import PATHS, any_value
from harness import HANG_S, Book, command, options, turns
from mutations import damaged_bytes, odd_word

from burstwise.core.command import changed
from burstwise.core.design.document import Design
from burstwise.core.storage import design_from_text, load, text_of

FILE = Path("resources/examples/classroom-gated-interrupted.burstwise")
READINGS = Path("resources/examples/readings.csv")
LISTS = (
    ["timer", "--frequency", "150", "--duty", "5%:60%", "--supply", "12V"],
    ["timer", "--frequency", "50:500", "--duty", "1%:99%", "--supply", "9", "--circuit",
     "astable-classic", "--count", "2", "--json"],
    ["forecast", str(READINGS), "--shunt", "0.1", "--on-resistance", "3.5", "--rating",
     "voltage=600V", "current=10A"],
    ["evaluate", "missing.burstwise", "--json"],
    ["netlist", str(FILE), "-o", "out.txt"],
    ["search", "missing.burstwise", "--maximise", "margin", "--free", "supply.voltage=10:40"],
)  # fmt: skip
WORDS = (
    "--json", "--set", "--count", "-1", "--help", "--", "-o", "", "evaluate", "timer",
    "--frequency", "--rating", "\ud800", "/dev/zero", ".", "supply.voltage=1", "a" * 5000,
    "\x1b[2J\n", "--x",
)  # fmt: skip

WRONG_PATHS = (
    "",
    ".",
    "²",
    "name.0",
    "variants.0",
    "readings.rows.0.supply",
    "name.x",
    "__class__",
)


def main() -> int:
    given = options(__doc__ or "", 5000)
    book = Book("arguments", given.keep)
    design = load(FILE)
    for number, draw in turns(given):
        if draw.random() < 0.6:
            texts = [setting(draw) for _ in range(draw.choice((1, 1, 2, 5)))]
            case, content, hang = partial(used, design, texts), "\n".join(texts), HANG_S
        else:
            words = arguments(draw)
            case, content, hang = partial(called, book, str(number), words), repr(words), 10.0
        book.run(str(number), case, content=content.encode("utf-8", "replace"), hang=hang)
    return book.close()


def used(design: Design, texts: list[str]) -> str:
    """Set the fields; what comes out can be written and read."""
    made = changed(design, texts)
    assert design_from_text(text_of(made)) == made
    return "set"


def called(book: Book, label: str, words: list[str]) -> str:
    """Call the command."""
    return book.said(label, *command(words))


def setting(draw: random.Random) -> str:
    """Text of a `--set` argument, more often right in its path than in its value."""
    path = draw.choice(PATHS)
    kind = draw.random()
    if kind < 0.3:
        with contextlib.suppress(LookupError):
            return f"{path}={any_value(path, draw)}"
    if kind < 0.4:
        path = draw.choice((*WRONG_PATHS, path.upper(), path[:-1], path.replace(".", "..")))
    if kind > 0.95:
        return damaged_bytes(f"{path}=12".encode(), draw).decode("utf-8", "surrogateescape")
    return path + draw.choice(("=", "=", "=", " = ", "")) + odd_word(draw)


def arguments(draw: random.Random) -> list[str]:
    """Arguments of a command with one to three of them exchanged, added or left out."""
    words = list(draw.choice(LISTS))
    for _ in range(draw.choice((1, 2, 3))):
        at = draw.randrange(len(words)) if words else 0
        odd = draw.choice(WORDS) if draw.random() < 0.5 else odd_word(draw)
        kind = draw.randrange(3)
        if kind == 0 and words:
            words[at] = odd
        elif kind == 1:
            words.insert(at, odd)
        elif words:
            del words[at]
    return words


if __name__ == "__main__":
    sys.exit(main())
