"""Pictures as the bytes of a file."""

from __future__ import annotations

from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QImage, QImageWriter


def png_bytes(picture: QImage) -> bytes:
    """Picture as the content of a PNG file."""
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    QImageWriter(buffer, QByteArray(b"png")).write(picture)
    return bytes(buffer.data().data())
