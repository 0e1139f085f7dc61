"""Pages of the guide, and all others that they lead to: read, searched, linked; no Qt."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Final

from burstwise.app.help.formulas import with_formulas

INDEX: Final = "index"
"""Name of the page that leads to the others."""
_HEADING: Final = re.compile(r"^#{1,6}\s+(.*?)\s*$")
_MARKS: Final = re.compile(r"!?\[([^\]]*)\]\([^)]*\)|</?(?:i|a|sub|sup)\b[^>]*>|[*`>|#]+|\\")
_ANCHOR: Final = re.compile(r'<a id="([^"]+)"></a>')


@dataclass(frozen=True, slots=True)
class GuidePage:
    """One page: its name as the guide's links have it, its title, its text as Markdown, its folder.

    Formulas are text already.
    """

    name: str
    title: str
    text: str
    folder: Path

    @property
    def headings(self) -> tuple[str, ...]:
        """Headings in their order, the title first."""
        found = (_HEADING.match(line) for line in self.text.splitlines())
        return tuple(match[1] for match in found if match)

    @property
    def anchors(self) -> tuple[str, ...]:
        """Places within the page that a link may name: headings and marks."""
        return (*map(slug, self.headings), *_ANCHOR.findall(self.text))

    @property
    def file(self) -> Path:
        """Where it was read."""
        return self.folder / f"{self.name.rpartition('/')[2]}.md"


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
    """All pages, the guide's first and its index before them; empty where none was installed."""
    guide = guide_folder()
    pages = sorted(guide.glob("*.md"), key=lambda file: (file.stem != INDEX, file.stem))
    others = sorted(guide.parent.glob("*.md"), key=lambda file: (file.stem != INDEX, file.stem))
    return (*(_page(file, file.stem) for file in pages),
            *(_page(file, f"../{file.stem}") for file in others))  # fmt: skip


def _page(file: Path, name: str) -> GuidePage:
    text = with_formulas(file.read_text(encoding="utf-8"))
    first = next((match[1] for line in text.splitlines() if (match := _HEADING.match(line))), "")
    return GuidePage(name, first or file.stem, text, file.parent)


def slug(heading: str) -> str:
    """Heading as links within pages name it.

    Examples
    --------
    >>> slug("What the `drawer` holds, today")
    'what-the-drawer-holds-today'
    """
    return re.sub(r"[^\w\s-]", "", plain_line(heading)).strip().lower().replace(" ", "-")


@dataclass(frozen=True, slots=True)
class Target:
    """Where a link leads: a page and a place in it, or a file that is none."""

    page: GuidePage | None
    anchor: str
    file: Path


def target_of(page: GuidePage, link: str) -> Target | None:
    """What a link of a page leads to; None where nothing is there.

    Parameters
    ----------
    page : GuidePage
        Page that the link stands on.
    link : str
        Path from the page's folder, or a heading alone: ``coil.md#sweep``, ``#sweep``.
    """
    path, _, anchor = link.partition("#")
    file = (page.folder / path).resolve() if path else page.file.resolve()
    found = next((each for each in guide_pages() if each.file.resolve() == file), None)
    if found is None:
        return Target(None, "", file) if file.is_file() else None
    return Target(found, anchor, file) if not anchor or anchor in found.anchors else None


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
