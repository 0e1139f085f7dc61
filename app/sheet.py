"""Build sheet as PDF, by Qt's own PDF writer; needs no display."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from typing import Final

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMarginsF, QRectF, QSizeF, Qt
from PySide6.QtGui import QGuiApplication, QPagedPaintDevice, QPageSize, QPainter, QPdfWriter

from burstwise.app.sheet_columns import Piece, column_height, filled, two_columns
from burstwise.app.sheet_pen import MUTED, RESOLUTION, Pen
from burstwise.app.sheet_setting import CELL, GUTTER, Band, Setting
from burstwise.core.report.sheet import Sheet

MARGIN: Final = 34.0
"""Bare border of a page [pt]."""
_FOOT: Final = 16.0
_HARDLY: Final = 0.5
"""Part of a last page below which a smaller setting is tried."""
_SMALLER: Final = (0.98, 0.96, 0.94)
_LEAST: Final = 50.0
"""Least height worth beginning two columns in, and that a heading has below it [pt]."""


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
    writer.setResolution(RESOLUTION)
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
        share = device.logicalDpiX() / RESOLUTION
        page = device.pageLayout().fullRectPoints().size()
        pen = Pen(painter)
        set_small = _set_small(pen, sheet, QSizeF(page))
        painter.scale(share * set_small, share * set_small)
        _Pages(pen, sheet, QSizeF(page) / set_small, set_small, device.newPage).write()
    finally:
        painter.end()


def _set_small(pen: Pen, sheet: Sheet, page: QSizeF) -> float:
    """Scale of the setting: a little below 1 where that saves a page that is hardly used."""

    def pages(scale: float) -> tuple[int, float]:
        laid = _Pages(pen, sheet, page / scale, scale, None)
        laid.write()
        return laid.number, laid.least_used

    most, least_used = pages(1.0)
    if most > 1 and least_used < _HARDLY:
        for scale in _SMALLER:
            if pages(scale)[0] < most:
                return scale
    return 1.0


class _Pages:
    """Lays bands one below the other and begins a page where one does not fit.

    Parameters
    ----------
    pen : Pen
        Measures and draws.
    sheet : Sheet
        What is laid.
    page : QSizeF
        Size of a page in the points of the setting.
    scale : float
        Points on paper over those of the setting.
    new_page : callable or None
        Begins a page; None lays without drawing.
    """

    def __init__(
        self,
        pen: Pen,
        sheet: Sheet,
        page: QSizeF,
        scale: float,
        new_page: Callable[[], object] | None,
    ) -> None:
        self._pen, self._sheet, self._scale, self._turn = pen, sheet, scale, new_page
        self._margin = MARGIN / scale
        self._width = page.width() - 2 * self._margin
        self._bottom = page.height() - self._margin - _FOOT
        self._y = self._margin
        self.number = 1
        self.least_used = 1.0
        """Part of the page that is used least, of those behind which one begins by wish or ends."""

    def write(self) -> None:
        """Lay the whole sheet."""
        self._foot()
        height = self._bottom - self._margin
        bands = Setting(self._pen, self._width, height, self._scale).bands(self._sheet)
        for place, band in enumerate(bands):
            if band.new_page and self._y > self._margin:
                self._note_use()
                self._new_page()
            if band.columns:
                self._two_columns(band)
            else:
                follower = bands[place + 1] if place + 1 < len(bands) else None
                self._full(band, follower)
        self._note_use()

    def _note_use(self) -> None:
        used = (self._y - self._margin) / (self._bottom - self._margin)
        self.least_used = min(self.least_used, used)

    def _full(self, band: Band, follower: Band | None) -> None:
        """Pieces over the whole width; a heading at the end has what follows below it."""
        rest = list(band.pieces)
        owed = _beginning(follower) if rest and rest[-1].kept and follower is not None else 0.0
        while rest:
            self._gap(rest[0].above)
            room = self._bottom - self._y
            taken, after = filled(rest, room)
            if not after and column_height(taken) + owed > room:
                taken, after = filled(rest[:-1], room)
                while taken and taken[-1].kept:
                    taken.pop()
                after = rest[len(taken) :]
            if not taken and self._y <= self._margin:
                taken, after = rest[:1], rest[1:]
            self._stack(taken, self._margin)
            rest = after
            if rest:
                self._new_page()

    def _two_columns(self, band: Band) -> None:
        rest, right_edge = list(band.pieces), self._margin + 0.5 * (self._width + GUTTER)
        while rest:
            self._gap(rest[0].above)
            left, right, after = two_columns(rest, self._bottom - self._y)
            fresh = self._y <= self._margin
            if not left and fresh:
                left, after = rest[:1], rest[1:]
            if left and (fresh or not after or self._bottom - self._y > _LEAST):
                top = self._y
                self._stack(right, right_edge)
                lower, self._y = self._y, top
                self._stack(left, self._margin)
                self._y = max(self._y, lower)
                rest = after
            if rest:
                self._new_page()

    def _gap(self, height: float) -> None:
        if self._y > self._margin:
            self._y += height

    def _stack(self, pieces: Sequence[Piece], left: float) -> None:
        for place, piece in enumerate(pieces):
            self._y += piece.above if place else 0.0
            if self._turn is not None:
                piece.draw(left, self._y)
            self._y += piece.height

    def _new_page(self) -> None:
        if self._turn is not None:
            self._turn()
        self.number += 1
        self._y = self._margin
        self._foot()

    def _foot(self) -> None:
        if self._turn is None:
            return
        place = QRectF(self._margin, self._bottom + 6.0, self._width, _FOOT)
        self._pen.words(self._sheet.mark, place, CELL, colour=MUTED)
        self._pen.words(
            f"page {self.number}", place, CELL, colour=MUTED,
            flags=int(Qt.AlignmentFlag.AlignRight),
        )  # fmt: skip


def _beginning(band: Band) -> float:
    """Height that a heading needs below it before a band, with the room between them."""
    above = band.pieces[0].above
    if band.columns:
        left, _, _ = two_columns(band.pieces, 1e9)
        return above + min(column_height(left), _LEAST)
    count = 1
    while count < len(band.pieces) and band.pieces[count - 1].kept:
        count += 1
    return above + column_height(band.pieces[:count])
