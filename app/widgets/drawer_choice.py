"""Box 'from the drawer' with a button that opens the list; says what the list has."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QPushButton, QWidget

from burstwise.app.own_drawer import OwnDrawer
from burstwise.app.widgets.text_label import set_tip
from burstwise.core.drawer import Drawer


class DrawerChoice(QWidget):
    """Whether parts come from the drawer; `changed` comes when that or the list changes.

    Parameters
    ----------
    words : str
        On the box.
    drawer : OwnDrawer
        The user's list.
    show : callable
        Opens the list over the window of a widget.
    """

    changed = Signal()

    def __init__(
        self,
        words: str,
        drawer: OwnDrawer,
        show: Callable[[OwnDrawer, QWidget], object],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._drawer = drawer
        self.box = QCheckBox(words, self)
        self.button = QPushButton("Drawer…", self)
        self.button.setAccessibleName("Show what the drawer holds")
        self.button.clicked.connect(lambda: show(drawer, self))
        across = QHBoxLayout(self)
        across.setContentsMargins(0, 0, 0, 0)
        across.addWidget(self.box, 1)
        across.addWidget(self.button)
        self.box.toggled.connect(self.changed)
        drawer.changed.connect(self._follow)
        self._tell()

    @property
    def parts(self) -> Drawer | None:
        """The list where it is to be used, else None."""
        return self._drawer.parts if self.box.isChecked() else None

    def _follow(self) -> None:
        self._tell()
        if self.box.isChecked():
            self.changed.emit()

    def _tell(self) -> None:
        count = len(self._drawer.parts.parts)
        set_tip(self.box, f"{count} parts are in the list." if count else "The list is empty yet.")
