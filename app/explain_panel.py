"""Panel that explains one number, and the key that asks for it anywhere."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QVBoxLayout, QWidget

from burstwise.app.session import Session
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.errors import InputError
from burstwise.core.units import shown

if TYPE_CHECKING:
    from burstwise.core.explain.explanation import Explanation

_MOST_INFLUENCES = 4
_LEAST_PERCENT = 0.05


class ExplanationPanel(QWidget):
    """Equation with values, terms, what moves it, source and validity of one number."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = TextLabel(self, role="heading")
        self.equation = TextLabel(self)
        self.values = TextLabel(self, role="figure")
        self.words = TextLabel(self)
        self.terms = TextLabel(self)
        self.influences = TextLabel(self)
        self.origin = TextLabel(self, role="muted")
        layout = QVBoxLayout(self)
        layout.setSpacing(10)
        for label in (
            self.title, self.equation, self.values, self.words,
            self.terms, self.influences, self.origin,
        ):  # fmt: skip
            label.setWordWrap(True)
            label.setTextInteractionFlags(
                Qt.TextInteractionFlag.TextSelectableByMouse
                | Qt.TextInteractionFlag.TextSelectableByKeyboard
            )
            layout.addWidget(label)
        layout.addStretch(1)

    def show_explanation(self, found: Explanation) -> None:
        """Show an explanation."""
        from burstwise.core.explain.sources import (
            bibliography,  # late: it brings the whole core along
        )

        self.title.setText(f"{found.title}: {found.result_text}")
        self.equation.setText(f"= {found.equation}" if found.equation else "")
        self.values.setText(f"= {found.with_values}" if found.with_values else "")
        self.words.setText(found.words)
        self.terms.setText(
            "\n".join(f"{t.symbol.replace('_', '')}   {t.name}: {shown(t.value, t.unit)}"
                      for t in found.terms)
        )  # fmt: skip
        moves = [
            item.text
            for item in found.influences[:_MOST_INFLUENCES]
            if abs(item.percent) >= _LEAST_PERCENT
        ]
        self.influences.setText("What moves it:  " + ";  ".join(moves) if moves else "")
        entries = "; ".join(bibliography()[key].text for key in found.keys)
        self.origin.setText(
            f"Source: {found.source}\nStands on: {entries}\nHolds: {found.validity}"
        )
        for label in (self.equation, self.values, self.words, self.terms, self.influences):
            label.setVisible(bool(label.text()))


class ExplanationDialog(QDialog):
    """Window with an explanation, closed by Escape."""

    def __init__(self, found: Explanation, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Where this number comes from")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.panel = ExplanationPanel(self)
        self.panel.show_explanation(found)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close, self)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.addWidget(self.panel, 1)
        layout.addWidget(buttons)
        self.resize(560, 420)


def ask_guide(widget: QWidget) -> None:
    """Ask the window for the guide to what a widget belongs to."""
    QCoreApplication.sendEvent(widget.window(), QEvent(QEvent.Type.HelpRequest))


def offer_explanation(
    widget: QWidget, session: Session, path_of: Callable[[], str | None]
) -> QAction:
    """Let F1 (and the context menu) explain the number that a widget has in hand.

    Where there is nothing to explain the window answers with its guide.

    Parameters
    ----------
    widget : QWidget
        Widget that shows results; the key works while it or a child has the focus.
    session : Session
        Holder of the results.
    path_of : callable
        Key of the result in hand, e.g. ``"carrier.input_power_W"``, or None.
    """
    action = QAction("Explain this number", widget)
    action.setShortcut(QKeySequence(Qt.Key.Key_F1))
    action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)

    def ask() -> None:
        from burstwise.core.explain.explain import explain  # late: it brings the whole core along

        path, latest = path_of(), session.latest
        if path is None or latest is None:
            ask_guide(widget)
            return
        try:
            found = explain(latest.results, path)
        except InputError:
            ask_guide(widget)
            return
        ExplanationDialog(found, widget.window()).open()

    action.triggered.connect(ask)
    widget.addAction(action)
    return action
