"""Build sheet as PDF, by Qt's own PDF writer; needs no display."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMarginsF, QRectF, QSizeF, Qt
from PySide6.QtGui import (
    QColor,
    QFont,
    QGuiApplication,
    QPagedPaintDevice,
    QPageSize,
    QPainter,
    QPdfWriter,
    QPen,
)
from PySide6.QtSvg import QSvgRenderer

from burstwise.app.sheet_columns import TABLE_GAP, Group, Line, grouped, two_columns
from burstwise.core.assembly.sheet import Paragraph, Picture, Section, Sheet, Table

_RESOLUTION: Final = 1200
_MARGIN: Final = 42.0
_FOOT: Final = 24.0
_TEXT: Final = 9.0
_CELL: Final = 7.5
_PAD: Final = 2.5
_TITLE: Final = 13.0
_INDENT: Final = 12.0
_GUTTER: Final = 16.0
"""Room between two columns [pt]."""
_KEPT: Final = 130.0
"""Most that is kept together with a heading [pt]."""
_LEAST_COLUMN: Final = 60.0
_INK: Final = QColor("#1b2421")
_MUTED: Final = QColor("#56635e")
_LINE: Final = QColor("#c3cac4")
_HEAD: Final = QColor("#eef0ec")
_BAR: Final = QColor("#8a5700")
_ACCENT: Final = QColor("#0a6a66")
_WRAP: Final = int(Qt.TextFlag.TextWordWrap) | int(Qt.AlignmentFlag.AlignLeft)


def pdf_bytes(sheet: Sheet) -> bytes:
    """Sheet as the content of a PDF file of A4 pages."""
    if QGuiApplication.instance() is None:
        os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
        application = QGuiApplication(["burstwise"])
        try:
            return _written(sheet)
        finally:
            application.shutdown()
    return _written(sheet)


def _written(sheet: Sheet) -> bytes:
    content = QByteArray()
    buffer = QBuffer(content)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setResolution(_RESOLUTION)
    writer.setPageSize(QPageSize(QPageSize.PageSizeId.A4))
    writer.setPageMargins(QMarginsF(0, 0, 0, 0))
    writer.setTitle(f"{sheet.title}: {sheet.subtitle}")
    writer.setCreator(sheet.mark)
    draw_sheet(writer, sheet)
    buffer.close()
    return bytes(content.data())


def draw_sheet(device: QPagedPaintDevice, sheet: Sheet) -> None:
    """Draw a sheet on the pages of a device, a printer or a PDF, without margins of its own."""
    painter = QPainter(device)
    try:
        share = device.logicalDpiX() / _RESOLUTION
        painter.scale(share, share)
        _Pages(device, painter, sheet).write()
    finally:
        painter.end()


class _Pages:
    """Lays blocks one below the other and begins a page where one does not fit."""

    def __init__(self, writer: QPagedPaintDevice, painter: QPainter, sheet: Sheet) -> None:
        self._writer, self._painter, self._sheet = writer, painter, sheet
        self._unit = _RESOLUTION / 72.0
        size = writer.pageLayout().fullRectPoints()
        self._width = size.width() - 2 * _MARGIN
        self._bottom = size.height() - _MARGIN - _FOOT
        self._number = 1
        self._y = _MARGIN

    def write(self) -> None:
        """Draw the whole sheet."""
        self._foot()
        self._words(self._sheet.title, 18.0, bold=True)
        self._words(f"{self._sheet.subtitle} · {self._sheet.mark}", _TEXT, colour=_MUTED)
        for section in self._sheet.sections:
            self._section(section)

    def _section(self, section: Section) -> None:
        if section.new_page:
            self._new_page()
        elif self._y > _MARGIN:
            self._y += 10.0
        groups = grouped(section.blocks)
        self._need(_TITLE + 10.0 + self._beginning(groups))
        self._words(section.title, _TITLE, bold=True, colour=_ACCENT)
        self._y += 2.0
        for place, group in enumerate(groups):
            if isinstance(group, Paragraph):
                self._paragraph(group, groups[place + 1 :])
            elif isinstance(group, Table):
                self._table(group)
            elif isinstance(group, Picture):
                self._picture(group)
            elif isinstance(group[0], Table):
                self._columns([table for table in group if isinstance(table, Table)])
            else:
                self._pair([picture for picture in group if isinstance(picture, Picture)])

    def _beginning(self, groups: Sequence[Group]) -> float:
        """Height that must have room below a heading: it is not parted from what it heads."""
        if not groups:
            return 0.0
        first = groups[0]
        if isinstance(first, Paragraph):
            inside = self._width - (0.0 if first.kind == "plain" else _INDENT)
            height = self._height(first.text, _TEXT, inside) + 4.0
            more = groups[1:] if first.kind in ("plain", "head") else ()
            return min(height + self._beginning(more), _KEPT)
        if isinstance(first, Table):
            widths = self._shares(first, self._width)
            rows = [self._row_height(first.head, widths, bold=True)]
            return sum(rows + [self._row_height(row, widths) for row in first.rows[:2]])
        if isinstance(first, Picture):
            return min(self._picture_height(first, self._width), _KEPT)
        return _KEPT if isinstance(first[0], Table) else self._pair_height(list(first))

    def _paragraph(self, block: Paragraph, after: Sequence[Group]) -> None:
        if block.kind == "plain":
            self._words(block.text, _TEXT)
            return
        if block.kind == "head":
            self._y += 4.0
            self._need(_TEXT + 8.0 + self._beginning(after))
            self._words(block.text, _TEXT + 1.0, bold=True)
            return
        indent = _INDENT
        height = self._height(block.text, _TEXT, self._width - indent)
        self._need(height)
        if block.kind == "caution":
            self._fill(QRectF(_MARGIN, self._y, 3.0, height), _BAR)
        else:
            self._draw("•", QRectF(_MARGIN + 2.0, self._y, 10.0, height), _TEXT)
        self._words(block.text, _TEXT, indent=indent)

    def _words(
        self,
        text: str,
        size: float,
        *,
        bold: bool = False,
        colour: QColor = _INK,
        indent: float = 0.0,
    ) -> None:
        height = self._height(text, size, self._width - indent, bold=bold)
        self._need(height)
        place = QRectF(_MARGIN + indent, self._y, self._width - indent, height + 1.0)
        self._draw(text, place, size, bold=bold, colour=colour)
        self._y += height + 4.0

    def _table(self, table: Table) -> None:
        widths = self._shares(table, self._width)
        first = self._row_height(table.rows[0], widths) if table.rows else 0.0
        self._need(self._row_height(table.head, widths, bold=True) + first)
        self._row(table.head, widths, bold=True)
        for row in table.rows:
            if self._y + self._row_height(row, widths) > self._bottom:
                self._new_page()
                self._row(table.head, widths, bold=True)
            self._row(row, widths)
        self._y += 8.0

    def _shares(self, table: Table, width: float) -> list[float]:
        total = sum(table.widths)
        return [width * part / total for part in table.widths]

    def _columns(self, tables: list[Table]) -> None:
        """Narrow tables in two columns, row by row."""
        width = 0.5 * (self._width - _GUTTER)
        widths = [self._shares(table, width) for table in tables]
        lines = [
            Line(place, cells, self._row_height(cells, widths[place], bold=head), head)
            for place, table in enumerate(tables)
            for cells, head in ((table.head, True), *((row, False) for row in table.rows))
        ]
        while lines:
            self._need(_LEAST_COLUMN)
            left, right, rest = two_columns(lines, self._bottom - self._y)
            top, ends = self._y, [self._y]
            for column, start in ((left, _MARGIN), (right, _MARGIN + width + _GUTTER)):
                self._y = top
                for place, line in enumerate(column):
                    self._y += TABLE_GAP if line.head and place else 0.0
                    self._row(line.cells, widths[line.table], bold=line.head, start=start)
                ends.append(self._y)
            self._y = max(ends)
            lines = rest
            if lines:
                self._new_page()
        self._y += 8.0

    def _row_height(
        self, cells: tuple[str, ...], widths: list[float], *, bold: bool = False
    ) -> float:
        pairs = zip(cells, widths, strict=True)
        inner = (self._height(text, _CELL, width - 2 * _PAD, bold=bold) for text, width in pairs)
        return max(inner) + 2 * _PAD

    def _row(
        self,
        cells: tuple[str, ...],
        widths: list[float],
        *,
        bold: bool = False,
        start: float = _MARGIN,
    ) -> None:
        height, left = self._row_height(cells, widths, bold=bold), start
        for text, width in zip(cells, widths, strict=True):
            place = QRectF(left, self._y, width, height)
            if bold:
                self._fill(place, _HEAD)
            self._frame(place)
            inside = place.adjusted(_PAD, _PAD, -_PAD, 1.0 - _PAD)
            self._draw(text, inside, _CELL, bold=bold)
            left += width
        self._y += height

    def _picture(self, block: Picture) -> None:
        self._need(self._picture_height(block, self._width))
        self._y += self._drawn(block, _MARGIN, self._width)
        self._y += 6.0

    def _pair(self, pictures: list[Picture]) -> None:
        """Two pictures side by side."""
        width = 0.5 * (self._width - _GUTTER)
        self._need(self._pair_height(pictures))
        heights = [
            self._drawn(picture, _MARGIN + place * (width + _GUTTER), width)
            for place, picture in enumerate(pictures)
        ]
        self._y += max(heights) + 6.0

    def _pair_height(self, pictures: Sequence[object]) -> float:
        width = 0.5 * (self._width - _GUTTER)
        return max(self._picture_height(one, width) for one in pictures if isinstance(one, Picture))

    def _picture_size(self, block: Picture, width: float) -> QSizeF:
        natural = QSvgRenderer(QByteArray(block.svg.encode("utf-8"))).viewBoxF().size()
        fits = (width / natural.width(), 0.8 * self._bottom / natural.height())
        return natural * min(*fits, block.scale)

    def _picture_height(self, block: Picture, width: float) -> float:
        caption = self._height(block.caption, _TEXT, width)
        return self._picture_size(block, width).height() + caption + 10.0

    def _drawn(self, block: Picture, left: float, width: float) -> float:
        """Draw a picture with its caption at the present height; returns how high both are."""
        size = self._picture_size(block, width)
        place = QRectF(left, self._y, size.width(), size.height())
        renderer = QSvgRenderer(QByteArray(block.svg.encode("utf-8")))
        renderer.render(self._painter, self._device(place))
        caption = self._height(block.caption, _TEXT, width)
        below = QRectF(left, place.bottom() + 2.0, width, caption + 1.0)
        self._draw(block.caption, below, _TEXT, colour=_MUTED)
        return size.height() + caption + 6.0

    def _need(self, height: float) -> None:
        if self._y + height > self._bottom and self._y > _MARGIN:
            self._new_page()

    def _new_page(self) -> None:
        self._writer.newPage()
        self._number += 1
        self._y = _MARGIN
        self._foot()

    def _foot(self) -> None:
        place = QRectF(_MARGIN, self._bottom + 10.0, self._width, _FOOT)
        self._draw(self._sheet.mark, place, _CELL, colour=_MUTED)
        self._draw(
            f"page {self._number}", place, _CELL, colour=_MUTED,
            flags=int(Qt.AlignmentFlag.AlignRight),
        )  # fmt: skip

    def _device(self, place: QRectF) -> QRectF:
        u = self._unit
        return QRectF(place.x() * u, place.y() * u, place.width() * u, place.height() * u)

    def _font(self, size: float, bold: bool) -> QFont:
        font = QFont("DejaVu Sans")
        font.setStyleHint(QFont.StyleHint.SansSerif)
        font.setPixelSize(round(size * self._unit))
        font.setBold(bold)
        return font

    def _height(self, text: str, size: float, width: float, *, bold: bool = False) -> float:
        self._painter.setFont(self._font(size, bold))
        box = QRectF(0, 0, width * self._unit, 1e9)
        return float(self._painter.boundingRect(box, _WRAP, text).height()) / self._unit

    def _draw(
        self,
        text: str,
        place: QRectF,
        size: float,
        *,
        bold: bool = False,
        colour: QColor = _INK,
        flags: int = _WRAP,
    ) -> None:
        self._painter.setFont(self._font(size, bold))
        self._painter.setPen(colour)
        self._painter.drawText(self._device(place), flags, text)

    def _fill(self, place: QRectF, colour: QColor) -> None:
        self._painter.fillRect(self._device(place), colour)

    def _frame(self, place: QRectF) -> None:
        self._painter.setPen(QPen(_LINE, 0.5 * self._unit))
        self._painter.drawRect(self._device(place))
