"""Build sheet as PDF, by Qt's own PDF writer; needs no display."""

from __future__ import annotations

import os
from typing import Final

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMarginsF, QRectF, Qt
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

from core.assembly.sheet import Paragraph, Picture, Section, Sheet, Table

_RESOLUTION: Final = 1200
_MARGIN: Final = 42.0
_FOOT: Final = 24.0
_TEXT: Final = 9.0
_CELL: Final = 7.5
_PAD: Final = 2.5
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
        self._need(70.0)
        self._words(section.title, 13.0, bold=True, colour=_ACCENT)
        self._y += 2.0
        for block in section.blocks:
            if isinstance(block, Paragraph):
                self._paragraph(block)
            elif isinstance(block, Table):
                self._table(block)
            else:
                self._picture(block)

    def _paragraph(self, block: Paragraph) -> None:
        if block.kind == "plain":
            self._words(block.text, _TEXT)
            return
        if block.kind == "head":
            self._y += 4.0
            self._need(70.0)
            self._words(block.text, _TEXT + 1.0, bold=True)
            return
        indent = 12.0
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
        total = sum(table.widths)
        widths = [self._width * part / total for part in table.widths]
        first = self._row_height(table.rows[0], widths) if table.rows else 0.0
        self._need(self._row_height(table.head, widths, bold=True) + first)
        self._row(table.head, widths, bold=True)
        for row in table.rows:
            if self._y + self._row_height(row, widths) > self._bottom:
                self._new_page()
                self._row(table.head, widths, bold=True)
            self._row(row, widths)
        self._y += 8.0

    def _row_height(
        self, cells: tuple[str, ...], widths: list[float], *, bold: bool = False
    ) -> float:
        pairs = zip(cells, widths, strict=True)
        inner = (self._height(text, _CELL, width - 2 * _PAD, bold=bold) for text, width in pairs)
        return max(inner) + 2 * _PAD

    def _row(self, cells: tuple[str, ...], widths: list[float], *, bold: bool = False) -> None:
        height, left = self._row_height(cells, widths, bold=bold), _MARGIN
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
        renderer = QSvgRenderer(QByteArray(block.svg.encode("utf-8")))
        natural = renderer.viewBoxF().size()
        fits = (self._width / natural.width(), 0.8 * self._bottom / natural.height())
        scale = min(*fits, block.scale)
        size = natural * scale
        caption = self._height(block.caption, _TEXT, self._width)
        self._need(size.height() + caption + 4.0)
        place = QRectF(_MARGIN, self._y, size.width(), size.height())
        renderer.render(self._painter, self._device(place))
        self._y += size.height() + 2.0
        self._words(block.caption, _TEXT, colour=_MUTED)
        self._y += 6.0

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
