"""Report a problem: where the log is, what to send along, the folder opened on request."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QDesktopServices, QGuiApplication
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QPushButton, QVBoxLayout, QWidget

from burstwise.app.help.about import versions_text
from burstwise.app.widgets.text_label import TextLabel


class ReportDialog(QDialog):
    """Says what helps to find a fault; copies the versions, opens the folder of the log."""

    def __init__(self, log: Path, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Report a problem")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._log = log
        self.words = TextLabel(
            "Nothing is sent by the program itself. What helps whoever looks for the fault: what "
            "you did, what you expected, the design's file if you may share it, the line below, "
            f"and the log.\n\n{versions_text()}\n\nLog: {log}",
            self,
            wraps=True,
        )
        self.words.setTextFormat(Qt.TextFormat.PlainText)
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.copy = QPushButton("&Copy versions and path", self)
        self.folder = QPushButton("&Open the log's folder", self)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close, self)
        for button in (self.copy, self.folder):
            buttons.addButton(button, QDialogButtonBox.ButtonRole.ActionRole)
        self.copy.clicked.connect(self._copy)
        self.folder.clicked.connect(self._open)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.addWidget(self.words)
        layout.addWidget(buttons)
        self.resize(560, 240)

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText(f"{versions_text()}\n{self._log}")

    def _open(self) -> None:
        QDesktopServices.openUrl(QUrl.fromLocalFile(str(self._log.parent)))
