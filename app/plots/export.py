"""Export of a plot: picture (PNG, SVG) or data (CSV)."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QBuffer, QIODevice, QPoint, QSize
from PySide6.QtGui import QImage, QPainter
from PySide6.QtSvg import QSvgGenerator

from burstwise.app.file_dialogs import ask_save, show_saved
from burstwise.app.messages import warn
from burstwise.app.plots.picture import png_bytes
from burstwise.core.disk import write_whole
from burstwise.core.errors import FileError
from burstwise.core.table_text import csv_text

if TYPE_CHECKING:
    from burstwise.app.plots.line_plot import LinePlot

PNG_SCALE: Final = 2
"""Pixels of the picture per pixel on the screen."""
SUFFIXES: Final = (".png", ".svg", ".csv")


def export(plot: LinePlot, file: Path) -> None:
    """Write the plot in the form that the file's suffix names.

    Raises
    ------
    FileError
        Suffix not known, or the file cannot be written.
    """
    suffix = file.suffix.lower()
    if suffix not in SUFFIXES:
        raise FileError(file, file.suffix or "no suffix", f"one of {', '.join(SUFFIXES)}")
    forms = {".csv": _csv, ".png": _png, ".svg": _svg}
    write_whole(file, forms[suffix](plot))


def ask_and_export(plot: LinePlot) -> None:
    """Ask for a file and write the plot there; an error is shown, not raised."""
    asked = ask_save(
        plot,
        f"Save {plot.y_axis.name}",
        "Picture (*.png);;Drawing (*.svg);;Data (*.csv)",
        f"{plot.y_axis.name.lower().replace(' ', '-')}.png",
    )
    if asked is None:
        return
    try:
        export(plot, asked[0])
    except FileError as error:
        warn(plot, "Not saved", str(error))
    else:
        show_saved(plot, asked[0])


def _png(plot: LinePlot) -> bytes:
    picture = QImage(plot.size() * PNG_SCALE, QImage.Format.Format_RGB32)
    picture.setDevicePixelRatio(PNG_SCALE)
    plot.render(picture, QPoint())
    return png_bytes(picture)


def _svg(plot: LinePlot) -> bytes:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    generator = QSvgGenerator()
    generator.setOutputDevice(buffer)
    generator.setSize(QSize(plot.width(), plot.height()))
    generator.setViewBox(plot.rect())
    generator.setTitle(plot.title)
    with QPainter(generator) as painter:
        plot.render(painter, QPoint())
    return bytes(buffer.data().data())


def _csv(plot: LinePlot) -> bytes:
    """Two columns per curve, in SI units; curves over the same axis share its column."""
    columns: list[tuple[str, list[str]]] = []
    seen: list[float] | None = None
    for index, name in enumerate(plot.names):
        xs, ys = plot.curve(index)
        if seen is None or seen != xs.tolist():
            seen = xs.tolist()
            columns.append((_head(plot.x_axis.name, plot.x_axis.unit), _cells(seen)))
        label = f"{plot.y_axis.name}, {name}" if name else plot.y_axis.name
        columns.append((_head(label, plot.y_axis.unit), _cells(ys.tolist())))
    length = max(len(cells) for _, cells in columns)
    lines = [
        [cells[row] if row < len(cells) else "" for _, cells in columns] for row in range(length)
    ]
    return csv_text([[head for head, _ in columns], *lines]).encode("utf-8")


def _head(name: str, unit: str) -> str:
    return f"{name} [{'1' if unit in ('', '%') else unit}]"


def _cells(values: list[float]) -> list[str]:
    return [repr(value) for value in values]
