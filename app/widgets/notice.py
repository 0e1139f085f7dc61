"""A line over the foot of the window that tells what was done, and goes by itself."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtWidgets import QLabel, QWidget

from burstwise.app.widgets.announce import announce
from burstwise.app.widgets.restyle import set_style_property

STAYS_MS: Final = 8000
"""Time that a notice stays [ms]."""
_EDGE: Final = 12


class Notice(QLabel):
    """The line; it takes no click and no focus, and its path is shortened in the middle."""

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self.text_in_full = ""
        self.window_ = window
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setTextFormat(Qt.TextFormat.PlainText)
        set_style_property(self, "role", "notice")
        self._end = QTimer(self)
        self._end.setSingleShot(True)
        self._end.setInterval(STAYS_MS)
        self._end.timeout.connect(self.hide)
        window.installEventFilter(self)
        self.hide()

    def say(self, text: str) -> None:
        """Show a text for a while, and tell a screen reader."""
        self.text_in_full = text
        self._place()
        self.show()
        self.raise_()
        self._end.start()
        announce(self, text)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay at the foot of a window that changes its size."""
        if event.type() == QEvent.Type.Resize and self.isVisible():
            self._place()
        return False

    def _place(self) -> None:
        room = self.window_.size()
        self.ensurePolished()
        metrics = self.fontMetrics()
        widest = max(room.width() - 8 * _EDGE, 1)
        self.setText(metrics.elidedText(self.text_in_full, Qt.TextElideMode.ElideMiddle, widest))
        self.adjustSize()
        self.move((room.width() - self.width()) // 2, max(room.height() - self.height() - _EDGE, 0))


def tell(widget: QWidget, text: str) -> None:
    """Show a notice in the window that a widget belongs to."""
    window = widget.window()
    notice = window.findChild(Notice, options=Qt.FindChildOption.FindDirectChildrenOnly)
    (notice if isinstance(notice, Notice) else Notice(window)).say(text)
