"""All ratings with value, limit, derating and margin, the first to break on top."""

from __future__ import annotations

from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from app.screens.limits.tables import PlainTable, margin_colour, margin_text
from app.session import Evaluated, Session
from app.theme import Theme
from app.widgets.restyle import set_style_property
from core.evaluate.results import Results
from core.limits.rating import Limit
from core.units import shown


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
            ("Rating", "Asked", "Allowed", "Derated to", "Margin"), name="Ratings", wide=0
        )
        self.sentence = QLabel("Waiting for the first evaluation.", self)
        self.sentence.setWordWrap(True)
        set_style_property(self.sentence, "role", "title")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.addWidget(self.table, 1)
        layout.addWidget(self.sentence)
        self.table.currentCellChanged.connect(lambda *_: self._tell())
        theme.changed.connect(lambda _tokens: self._write())
        session.evaluated.connect(self.follow)
        session.glimpsed.connect(self.follow)
        if session.latest is not None:
            self.follow(session.latest)

    def follow(self, evaluated: Evaluated) -> None:
        """Show the ratings of new results."""
        if isinstance(evaluated.results, Results):
            self._limits = evaluated.results.limits
            self._write()

    def _write(self) -> None:
        tokens = self._theme.tokens
        self.table.show_rows(
            [
                (
                    item.title,
                    shown(item.value, item.unit, digits=3),
                    shown(item.limit, item.unit, digits=3),
                    "" if item.derating > 0.9995 else shown(item.derating, "%", digits=2),
                    margin_text(item.margin),
                )
                for item in self._limits
            ],
            colours=[margin_colour(item.margin, tokens) for item in self._limits],
            coloured=4,
            tips=[item.text for item in self._limits],
        )
        self._tell()

    def _tell(self) -> None:
        if not self._limits:
            return
        row = max(self.table.currentRow(), 0)
        self.sentence.setText(self._limits[min(row, len(self._limits) - 1)].text)
