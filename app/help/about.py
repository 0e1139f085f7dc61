"""About: version, what the program is, its licence and those of the parts that it stands on."""

from __future__ import annotations

import platform
from importlib import metadata
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QTextBrowser, QVBoxLayout, QWidget

from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.version import VERSION

PARTS: Final = (
    "PySide6-Essentials",
    "pyqtgraph",
    "numpy",
    "scipy",
    "numba",
    "pydantic",
    "quantiphy",
    "rkm_codes",
    "schemdraw",
    "cma",
    "threadpoolctl",
)
"""Distributions that run inside the program."""
WHAT: Final = (
    "Design, size and calibrate interrupted solid-state resonant coils before soldering. "
    "Computed values are estimates, never a permission. MIT licence."
)


def licences() -> tuple[tuple[str, str, str], ...]:
    """Name, version and licence of each part; one that is not installed is left out."""
    found = []
    for name in PARTS:
        try:
            known = metadata.metadata(name)
        except metadata.PackageNotFoundError:
            continue
        found.append((name, str(known["Version"]), _licence(known)))
    return tuple(found)


def _licence(known: metadata.PackageMetadata) -> str:
    """Licence as the distribution states it: the expression, else a classifier, else one line."""
    expressions = known.get_all("License-Expression")
    if expressions:
        return str(expressions[0])
    for line in known.get_all("Classifier") or []:
        if line.startswith("License ::"):
            return str(line.rpartition(":: ")[2])
    lines = [line for text in known.get_all("License") or [] for line in str(text).splitlines()]
    return next((line for line in lines if line.strip()), "see its distribution")


def versions_text() -> str:
    """Versions of program, Python and system in one line, as a report of a problem wants them."""
    return f"Burstwise {VERSION}, Python {platform.python_version()}, {platform.platform()}"


class AboutDialog(QDialog):
    """Version and licences, closed by Escape."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("About Burstwise")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        heading = TextLabel(f"Burstwise {VERSION}", self, role="heading")
        what = TextLabel(f"{WHAT}\n{versions_text()}", self, wraps=True)
        what.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.parts = QTextBrowser(self)
        self.parts.setAccessibleName("Parts and their licences")
        self.parts.setPlainText("\n".join(f"{n} {v}: {licence}" for n, v, licence in licences()))
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close, self)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.addWidget(heading)
        layout.addWidget(what)
        layout.addWidget(TextLabel("It stands on:", self))
        layout.addWidget(self.parts, 1)
        layout.addWidget(buttons)
        self.resize(560, 420)
