"""All ratings with value, limit, derating and margin, the first to break on top."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QVBoxLayout, QWidget

from burstwise.app.explain_panel import offer_explanation
from burstwise.app.screens.limits.margin_bars import HEADING
from burstwise.app.screens.limits.tables import PlainTable, margin_colour, margin_text
from burstwise.app.session import Evaluated, Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.in_view import ShownInView
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.evaluate.results import Results
from burstwise.core.limits.rating import Limit
from burstwise.core.units import shown

PACE_MS: Final = 120
"""Shortest time between two quick pictures in the table [ms]; nobody reads faster."""


class RatingsPanel(QWidget):
    """Table of the ratings; the sentence of the chosen one below.

    Parameters
    ----------
    session, theme
        Results and look.
    """

    def __init__(self, session: Session, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self._limits: tuple[Limit, ...] = ()
        self.table = PlainTable(
            ("Rating", HEADING, "Margin", "Asked", "Allowed", "Derated to", "Worst"),
            name="Ratings",
            wide=1,
        )
        self.table.draw_margins(theme)
        self.sentence = TextLabel(
            "Waiting for the first evaluation.", self, wraps=True, role="title"
        )
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.addWidget(self.table, 1)
        layout.addWidget(self.sentence)
        self.table.currentCellChanged.connect(lambda *_: self._tell())
        explain = offer_explanation(self.table, session, self.chosen_path)
        self.table.cellDoubleClicked.connect(lambda *_: explain.trigger())
        self.table.setContextMenuPolicy(Qt.ContextMenuPolicy.ActionsContextMenu)
        theme.changed.connect(self._write)
        self._shown: ShownInView[Evaluated] = ShownInView(self, self._show, pace_ms=PACE_MS)
        session.evaluated.connect(self._shown.put)
        session.glimpsed.connect(self._shown.offer)
        if session.latest is not None:
            self._shown.put(session.latest)

    def _show(self, evaluated: Evaluated) -> None:
        if isinstance(evaluated.results, Results):
            self._limits = evaluated.results.limits
            self._write()

    def _write(self, _changed: object = None) -> None:
        tokens = self._theme.tokens
        self.table.show_rows(
            [
                (
                    item.title,
                    "",
                    margin_text(item.margin),
                    shown(item.value, item.unit, digits=3),
                    shown(item.limit, item.unit, digits=3),
                    "" if item.derating > 0.9995 else shown(item.derating, "%", digits=2),
                    item.corner,
                )
                for item in self._limits
            ],
            colours=[margin_colour(item.margin, tokens) for item in self._limits],
            coloured=2,
            margins=[item.margin for item in self._limits],
            tips=[item.text for item in self._limits],
        )
        self._tell()

    def chosen_path(self) -> str | None:
        """Key of the chosen rating for an explanation, or None without results."""
        chosen = self._chosen()
        return None if chosen is None else f"limits.{chosen.rating}"

    def _chosen(self) -> Limit | None:
        if not self._limits:
            return None
        row = max(self.table.currentRow(), 0)
        return self._limits[min(row, len(self._limits) - 1)]

    def _tell(self) -> None:
        chosen = self._chosen()
        if chosen is not None:
            self.sentence.setText(f"{chosen.text} F1 explains it.")
