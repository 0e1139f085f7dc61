"""Pages of the guide as text: found beside the program, read, searched; no Qt."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Final

INDEX: Final = "index"
"""Name of the page that leads to the others."""
_HEADING: Final = re.compile(r"^#{1,6}\s+(.*?)\s*$")
_MARKS: Final = re.compile(r"!?\[([^\]]*)\]\([^)]*\)|[*`>|#]+|\\")


@dataclass(frozen=True, slots=True)
class GuidePage:
    """One page: its name in links, its title, its text as Markdown, its folder."""

    name: str
    title: str
    text: str
    folder: Path

    @property
    def headings(self) -> tuple[str, ...]:
        """Headings in their order, the title first."""
        found = (_HEADING.match(line) for line in self.text.splitlines())
        return tuple(match[1] for match in found if match)


@dataclass(frozen=True, slots=True)
class Hit:
    """A place of the guide that has all words looked for."""

    page: str
    title: str
    heading: str
    line: str


def guide_folder() -> Path:
    """Folder of the guide's pages, at the same place from the resources however installed."""
    resources = Path(str(files("burstwise.resources"))).resolve()
    return resources.parent / "docs" / "guide"


@cache
def guide_pages() -> tuple[GuidePage, ...]:
    """All pages, the index first; empty where the guide was not installed."""
    pages = sorted(guide_folder().glob("*.md"), key=lambda file: (file.stem != INDEX, file.stem))
    return tuple(_page(file) for file in pages)


def _page(file: Path) -> GuidePage:
    text = file.read_text(encoding="utf-8")
    first = next((match[1] for line in text.splitlines() if (match := _HEADING.match(line))), "")
    return GuidePage(file.stem, first or file.stem, text, file.parent)


def found_in(pages: Sequence[GuidePage], words: str) -> tuple[Hit, ...]:
    r"""Paragraphs that have every word, in any case; nothing for no words.

    Examples
    --------
    >>> page = GuidePage("a", "Coil", "# Coil\n\n## Sweep\n\nThe *duty* of a knob.", Path())
    >>> [(hit.heading, hit.line) for hit in found_in([page], "Knob duty")]
    [('Sweep', 'The duty of a knob.')]
    """
    wanted = words.casefold().split()
    if not wanted:
        return ()
    hits = []
    for page in pages:
        heading = page.title
        for line in page.text.splitlines():
            match = _HEADING.match(line)
            heading = match[1] if match else heading
            said = plain_line(line)
            if all(word in said.casefold() for word in wanted):
                hits.append(Hit(page.name, page.title, heading, said))
    return tuple(hits)


def plain_line(line: str) -> str:
    """Line without the marks of Markdown.

    Examples
    --------
    >>> plain_line("- **Warm-up**: see [Coil](coil.md)")
    '- Warm-up: see Coil'
    """
    return " ".join(_MARKS.sub(lambda found: found[1] or "", line).split())
