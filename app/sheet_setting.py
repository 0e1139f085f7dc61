"""How the blocks of a sheet are set: what stands in two columns, what over the whole width."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from PySide6.QtCore import QRectF, QSizeF
from PySide6.QtGui import QColor

from burstwise.app.sheet_columns import Piece, column_height, two_columns
from burstwise.app.sheet_pen import INK, MILLIMETRE, MUTED, Pen, natural_size
from burstwise.app.sheet_widths import column_widths
from burstwise.core.report.sheet import Block, Paragraph, Picture, Section, Sheet, Table

CELL: Final = 6.8
"""Size of the words in tables and at the foot [pt]."""
GUTTER: Final = 14.0
"""Room between two columns [pt]."""
_TEXT: Final = 7.5
_NAME: Final = 17.0
_TITLE: Final = 12.0
_HEAD: Final = 9.0
_CAPTION: Final = 7.0
_INDENT: Final = 10.0
_PAD: Final = 1.4
_ABOVE: Final = 2.0
_ABOVE_TABLE: Final = 4.0
_ABOVE_TITLE: Final = 9.0
_ABOVE_HEAD: Final = 6.0
_HIGHER: Final = 1.8
"""Most that a table may grow in height, set in one column of two."""
_WHOLE: Final = 6
"""Most rows of a table in a column that is never divided."""
_BAR: Final = QColor("#8a5700")
_ACCENT: Final = QColor("#0a6a66")
_HEAD_FILL: Final = QColor("#eef0ec")


@dataclass(frozen=True, slots=True)
class Band:
    """Pieces over the whole width of a page, or in two columns of it."""

    pieces: tuple[Piece, ...]
    columns: bool = False
    new_page: bool = False


class Setting:
    """Makes the bands of a sheet.

    Parameters
    ----------
    pen : Pen
        Measures and draws.
    width, height : float
        Of the set part of a page [pt].
    scale : float
        Points on paper over those of the setting; what is real is drawn as much larger.
    """

    def __init__(self, pen: Pen, width: float, height: float, scale: float = 1.0) -> None:
        self._pen, self._full, self._height = pen, width, height
        self._millimetre = MILLIMETRE / scale
        self._half = 0.5 * (width - GUTTER)
        self._widths: dict[tuple[int, float], list[float]] = {}
        self._drawings: list[Picture] = []

    def bands(self, sheet: Sheet) -> tuple[Band, ...]:
        """Bands of a whole sheet, its name first."""
        blocks = [block for section in sheet.sections for block in section.blocks]
        self._drawings = [
            one for one in blocks if isinstance(one, Picture) and not (one.half or one.real)
        ]
        name = self._words(sheet.title, self._full, _NAME, bold=True)
        below = f"{sheet.subtitle} · {sheet.mark}"
        said = self._words(below, self._full, _TEXT, colour=MUTED, above=2.0)
        bands = [Band((name, said))]
        for section in sheet.sections:
            for place, part in enumerate(_parts(section)):
                new = list(self._part(part))
                if place == 0 and section.new_page:
                    new[0] = replace(new[0], new_page=True)
                for band in new:
                    last = bands[-1]
                    if len(bands) > 1 and last.columns and band.columns and not band.new_page:
                        bands[-1] = replace(last, pieces=last.pieces + band.pieces)
                    else:
                        bands.append(band)
        return tuple(bands)

    def _part(self, blocks: Sequence[Block]) -> Iterator[Band]:
        """Bands of a heading with what it heads: in columns where all of it is narrow."""
        if self._narrow_throughout(blocks):
            yield Band(tuple(self._pieces(blocks, self._half)), columns=True)
            return
        for narrow, run in itertools.groupby(blocks, self._is_narrow):
            group = list(run)
            if not narrow or self._better_wide(group):
                *pieces, last = self._pieces(group, self._full)
                # Words over a table that takes the whole width stay with it.
                leads = narrow and group[-1] is not blocks[-1]
                yield Band((*pieces, replace(last, kept=leads or last.kept)))
                continue
            if isinstance(group[0], Paragraph) and group[0].kind in ("title", "head"):
                yield Band(tuple(self._pieces(group[:1], self._full)))
                group = group[1:]
            if group:
                yield Band(tuple(self._pieces(group, self._half)), columns=True)

    def _better_wide(self, group: Sequence[Block]) -> bool:
        """Whether paragraphs take less height over the whole width."""
        if not all(isinstance(block, Paragraph) for block in group):
            return False
        wide = column_height(list(self._pieces(group, self._full)))
        left, right, _ = two_columns(list(self._pieces(group, self._half)), 1e9)
        return wide <= max(column_height(left), column_height(right))

    def _narrow_throughout(self, blocks: Sequence[Block]) -> bool:
        return len(blocks) > 1 and all(map(self._is_narrow, blocks))

    def _is_narrow(self, block: Block) -> bool:
        """Whether a block may stand in one of two columns without taking more of the paper."""
        if isinstance(block, Paragraph):
            return True
        if isinstance(block, Picture):
            return block.half
        return self._fits_column(block)

    def _fits_column(self, table: Table) -> bool:
        wide = column_height(list(self._table(table, self._full)))
        return column_height(list(self._table(table, self._half))) <= _HIGHER * wide

    def _pieces(self, blocks: Iterable[Block], width: float) -> Iterator[Piece]:
        for kind, run in itertools.groupby(blocks, type):
            if kind is Picture:
                yield from self._pictures([one for one in run if isinstance(one, Picture)], width)
                continue
            for block in run:
                if isinstance(block, Table):
                    yield from self._table(block, width)
                elif isinstance(block, Paragraph):
                    yield self._paragraph(block, width)

    def _paragraph(self, block: Paragraph, width: float) -> Piece:
        if block.kind == "title":
            return self._words(
                block.text, width, _TITLE, bold=True, colour=_ACCENT, above=_ABOVE_TITLE, kept=True
            )
        if block.kind == "head":
            return self._words(block.text, width, _HEAD, bold=True, above=_ABOVE_HEAD, kept=True)
        if block.kind == "plain":
            return self._words(block.text, width, _TEXT, above=_ABOVE)
        inner = self._words(block.text, width - _INDENT, _TEXT, above=_ABOVE)

        def draw(left: float, top: float) -> None:
            if block.kind == "caution":
                self._pen.fill(QRectF(left, top, 2.5, inner.height), _BAR)
            else:
                mark = QRectF(left + 1.0, top, 10.0, inner.height + 1.0)
                self._pen.words("•", mark, _TEXT)
            inner.draw(left + _INDENT, top)

        return replace(inner, draw=draw)

    def _words(
        self,
        text: str,
        width: float,
        size: float,
        *,
        bold: bool = False,
        colour: QColor = INK,
        above: float = 0.0,
        kept: bool = False,
    ) -> Piece:
        height = self._pen.height(text, size, width, bold=bold)

        def draw(left: float, top: float) -> None:
            place = QRectF(left, top, width, height + 1.0)
            self._pen.words(text, place, size, bold=bold, colour=colour)

        return Piece(height, draw, above, kept)

    def _table(self, table: Table, width: float) -> Iterator[Piece]:
        shares = self._shares(table, width)
        head = self._row(table.head, shares, bold=True)
        yield head
        whole = width < self._full and len(table.rows) <= _WHOLE
        for row in table.rows[:-1]:
            yield replace(self._row(row, shares), head=head, kept=whole)
        for row in table.rows[-1:]:
            yield replace(self._row(row, shares), head=head)

    def _shares(self, table: Table, width: float) -> list[float]:
        """Widths of the columns; kept, since measuring them all is the longest of the work."""
        key = (id(table), width)
        if key not in self._widths:
            total = sum(table.widths)
            self._widths[key] = column_widths(
                [width * part / total for part in table.widths],
                [
                    [self._pen.word_widths(text, CELL, bold=bold) for text in cells]
                    for cells, bold in ((table.head, True), *((row, False) for row in table.rows))
                ],
                space=self._pen.word_widths("\N{NO-BREAK SPACE}", CELL)[0],
                pad=2 * _PAD + 0.2,
            )
        return self._widths[key]

    def _row(self, cells: Sequence[str], shares: Sequence[float], *, bold: bool = False) -> Piece:
        inner = [
            self._pen.height(text, CELL, share - 2 * _PAD, bold=bold)
            for text, share in zip(cells, shares, strict=True)
        ]
        height = max(inner) + 2 * _PAD

        def draw(left: float, top: float) -> None:
            for text, share in zip(cells, shares, strict=True):
                place = QRectF(left, top, share, height)
                if bold:
                    self._pen.fill(place, _HEAD_FILL)
                self._pen.frame(place)
                inside = place.adjusted(_PAD, _PAD, -_PAD, 1.0 - _PAD)
                self._pen.words(text, inside, CELL, bold=bold)
                left += share

        return Piece(height, draw, _ABOVE_TABLE if bold else 0.0, bold)

    def _pictures(self, pictures: Sequence[Picture], width: float) -> Iterator[Piece]:
        """Pictures in rows at one scale, as many side by side as have room."""
        sizes = [natural_size(picture.svg) for picture in pictures]
        row: list[tuple[Picture, QSizeF]] = []
        taken = 0.0
        for picture, natural in zip(pictures, sizes, strict=True):
            size = natural * self._picture_scale(picture)
            if row and taken + GUTTER + size.width() > width:
                yield self._picture_row(row, width)
                row, taken = [], 0.0
            taken += size.width() + (GUTTER if row else 0.0)
            row.append((picture, size))
        if row:
            yield self._picture_row(row, width)

    def _picture_scale(self, picture: Picture) -> float:
        """Scale of a picture; one for all drawings over the whole width, so that they match."""
        if picture.real:
            return self._millimetre
        width = self._half if picture.half else self._full
        alike = [picture] if picture.half else self._drawings
        return min(self._fitted(one, width) for one in alike)

    def _fitted(self, picture: Picture, width: float) -> float:
        size = natural_size(picture.svg)
        return min(width / size.width(), 0.8 * self._height / size.height(), picture.scale)

    def _picture_row(self, row: Sequence[tuple[Picture, QSizeF]], width: float) -> Piece:
        spare = width - sum(size.width() for _, size in row) - GUTTER * (len(row) - 1)
        shares = [size.width() + spare / len(row) for _, size in row]
        captions = [
            self._pen.height(picture.caption, _CAPTION, share)
            for (picture, _), share in zip(row, shares, strict=True)
        ]
        high = max(size.height() for _, size in row)

        def draw(left: float, top: float) -> None:
            for (picture, size), share, caption in zip(row, shares, captions, strict=True):
                place = QRectF(left, top + high - size.height(), size.width(), size.height())
                self._pen.picture(picture.svg, place)
                below = QRectF(left, top + high + 2.0, share, caption + 1.0)
                self._pen.words(picture.caption, below, _CAPTION, colour=MUTED)
                left += share + GUTTER

        return Piece(high + 3.0 + max(captions), draw, _ABOVE_TABLE)


def _parts(section: Section) -> Iterator[list[Block]]:
    """Blocks of a section, its title first, divided before each head."""
    part: list[Block] = [Paragraph(section.title, "title")]
    for block in section.blocks:
        if isinstance(block, Paragraph) and block.kind == "head" and len(part) > 1:
            yield part
            part = []
        part.append(block)
    yield part
