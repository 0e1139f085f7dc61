"""Every tab stop shows its focus: measured from rendered pixels, 3:1 against what was there."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QTabWidget, QWidget

from burstwise.app.places import Places
from burstwise.app.screens.registry import SCREENS
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job

LEAST = 12
"""Pixels that change by 3:1 or more."""


def luminance(widget: QWidget) -> NDArray[np.float64]:
    """Relative luminance of each pixel, by the definition of WCAG 2.2."""
    image = widget.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    raw = np.frombuffer(image.constBits(), np.uint8)
    raw = raw.reshape(image.height(), image.bytesPerLine() // 4, 4)[:, : image.width(), :3] / 255.0
    linear = np.where(raw <= 0.03928, raw / 12.92, ((raw + 0.055) / 1.055) ** 2.4)
    return linear @ np.array([0.0722, 0.7152, 0.2126])


def changed(before: NDArray[np.float64], after: NDArray[np.float64]) -> int:
    """Pixels whose contrast between both states is at least 3:1."""
    if before.shape != after.shape:
        return LEAST
    ratio = (np.maximum(before, after) + 0.05) / (np.minimum(before, after) + 0.05)
    return int((ratio >= 3.0).sum())


def tab_stops(window: MainWindow, seen: set[tuple[str, object]]) -> Iterator[QWidget]:
    """One visible tab stop of each kind."""
    for widget in window.findChildren(QWidget):
        stop = bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus) and widget.focusProxy() is None
        kind = (type(widget).__name__, widget.property("role"))
        large = widget.width() > 4 and widget.height() > 4
        if stop and large and widget.isVisible() and widget.isEnabled() and kind not in seen:
            seen.add(kind)
            yield widget


@pytest.mark.parametrize("dark", [False, True])
def test_every_tab_stop_shows_its_focus(
    qtbot, theme: Theme, places: Places, monkeypatch, dark: bool
) -> None:
    monkeypatch.setattr(Session, "_submit", lambda self: None)
    theme.set_dark(dark)
    window = MainWindow(Session(design_job()), theme, places)
    qtbot.addWidget(window)
    window.resize(1366, 900)
    with qtbot.waitActive(window):
        window.show()
    seen: set[tuple[str, object]] = set()
    silent = []
    for place, screen in enumerate(SCREENS):
        window.show_screen(place)
        tabs = window.stack.currentWidget().findChild(QTabWidget)
        for tab in range(1 if tabs is None else tabs.count()):
            if tabs is not None:
                tabs.setCurrentIndex(tab)
            QApplication.processEvents()
            for widget in tab_stops(window, seen):
                focused = QApplication.focusWidget()
                if focused is not None:
                    focused.clearFocus()
                before = luminance(widget)
                widget.setFocus(Qt.FocusReason.TabFocusReason)
                QApplication.processEvents()
                if changed(before, luminance(widget)) < LEAST:
                    silent.append(f"{screen.title}: {type(widget).__name__}")
    assert len(seen) > 15
    assert not silent
