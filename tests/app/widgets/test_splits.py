"""Splitters come back where the mouse left them."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QSettings, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel, QSplitter, QWidget

from burstwise.app.widgets.splits import keep_splits


def shown(qtbot, file, name: str) -> QWidget:
    """Holder of a splitter of two panels at even widths, kept in a settings file."""
    holder = QWidget()
    splitter = QSplitter(holder)
    splitter.setObjectName(name)
    for words in ("one", "two"):
        splitter.addWidget(QLabel(words))
    splitter.setGeometry(0, 0, 405, 200)
    splitter.setSizes([200, 200])
    keep_splits(holder, QSettings(str(file), QSettings.Format.IniFormat))
    qtbot.addWidget(holder)
    holder.resize(405, 200)
    holder.show()
    return holder


def sizes(holder: QWidget) -> list[int]:
    return holder.findChild(QSplitter).sizes()


def test_a_moved_handle_stands_there_after_the_next_start(qtbot, tmp_path) -> None:
    first = shown(qtbot, tmp_path / "settings.ini", "halves")
    handle = first.findChild(QSplitter).handle(1)
    middle = handle.rect().center()
    QTest.mousePress(handle, Qt.MouseButton.LeftButton, pos=middle)
    QTest.mouseMove(handle, middle + QPoint(-90, 0))
    QTest.mouseRelease(handle, Qt.MouseButton.LeftButton, pos=middle)
    left = sizes(first)[0]
    assert 100 < left < 120
    again = shown(qtbot, tmp_path / "settings.ini", "halves")
    assert abs(sizes(again)[0] - left) <= 1
    others = shown(qtbot, tmp_path / "settings.ini", "others")
    assert sizes(others)[0] >= 199


def test_a_spoilt_place_is_left_alone(qtbot, tmp_path) -> None:
    (tmp_path / "settings.ini").write_text("[splits]\nhalves=nonsense\n")
    spoilt = shown(qtbot, tmp_path / "settings.ini", "halves")
    assert sizes(spoilt)[0] >= 199
