"""The build sheet as one document: sections of paragraphs, tables and pictures.

HTML and PDF are made from the same document, so both say the same.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal

from burstwise.core.design.document import Design
from burstwise.core.evaluate.results import Results
from burstwise.core.version import VERSION


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Words; a caution is set apart, a head stands above what follows, a title above a section."""

    text: str
    kind: Literal["plain", "caution", "item", "head", "title"] = "plain"


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure of the evaluation that a table shows.

    `path` is its key in the results' object, e.g. ``"carrier.input_power_W"``.
    """

    path: str
    value: float | None
    unit: str
    text: str


@dataclass(frozen=True, slots=True)
class Table:
    """Head, rows of texts, relative column widths; `figures` are those of the evaluation."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[int, ...]
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True, slots=True)
class Picture:
    """Drawing as SVG text with a caption.

    `scale` is its largest size on paper over its own; a `half` one stands in one of two columns.
    A `real` one has a view box in millimetres and is drawn at that size, whatever stands around it.
    """

    svg: str
    caption: str
    scale: float = 1.0
    half: bool = False
    real: bool = False


Block = Paragraph | Table | Picture


@dataclass(frozen=True, slots=True)
class Section:
    """Heading with its blocks; `new_page` asks for a page of its own on paper."""

    title: str
    blocks: tuple[Block, ...]
    new_page: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """Whole document with what stands on each page."""

    title: str
    subtitle: str
    mark: str
    sections: tuple[Section, ...]

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All figures of the evaluation in the document."""
        blocks: Iterable[Block] = (block for part in self.sections for block in part.blocks)
        return tuple(
            figure for block in blocks if isinstance(block, Table) for figure in block.figures
        )


HASH_LENGTH: Final = 12


def design_hash(design: Design) -> str:
    """Short hash of what a design holds, to tell sheets apart."""
    return hashlib.sha256(design.model_dump_json().encode()).hexdigest()[:HASH_LENGTH]


def page_mark(results: Results) -> str:
    """Line on each page: design, hash and version."""
    return f"{results.design.name} · design {design_hash(results.design)} · Burstwise {VERSION}"
