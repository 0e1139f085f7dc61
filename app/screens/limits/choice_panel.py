"""Panel that offers changes of the design in a table, with a button that makes the chosen one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from PySide6.QtWidgets import QPushButton

from burstwise.app.refusals import refusal
from burstwise.app.screens.limits.panel import Panel
from burstwise.app.screens.limits.tables import PlainTable
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.core.errors import InputError


class ChoicePanel(Panel):
    """Base of the panels that offer changes; Return, a double click or the button makes one.

    A subclass fills `found`, or gives `offers` (one for each row of the table), and gives `step_of`
    (what choosing one does) and `_write` (fill the table).

    Parameters
    ----------
    session, theme
        Document with results, and look.
    name : str
        Name of the worker's thread.
    table : PlainTable
        Where the offers stand.
    button : str
        Words of the button.
    """

    def __init__(
        self, session: Session, theme: Theme, *, name: str, table: PlainTable, button: str
    ) -> None:
        super().__init__(session, theme, name=name)
        self.found: list[Any] = []
        self.table = table
        self.table.itemActivated.connect(lambda _item: self.apply())
        self.table.currentCellChanged.connect(lambda *_: self._choose())
        # Without a parent yet: the tab key reaches it where the subclass lays it out.
        self.button = QPushButton(button)
        self.button.clicked.connect(self.apply)
        self.button.setEnabled(False)
        theme.changed.connect(self._write)

    @property
    def offers(self) -> Sequence[Any]:
        """What is offered, by row; None in a row without an offer."""
        return self.found

    def step_of(self, offer: Any) -> tuple[Mapping[str, object], str]:
        """Edits that an offer makes, and what undo calls them."""
        raise NotImplementedError

    @property
    def chosen(self) -> Any | None:
        """What the current row offers."""
        row, offers = self.table.currentRow(), self.offers
        return offers[row] if 0 <= row < len(offers) else None

    def apply(self) -> None:
        """Make the chosen change, as one undo step."""
        chosen = self.chosen
        if chosen is None:
            return
        edits, text = self.step_of(chosen)
        try:
            self.session.document.edit_many(edits, text=text)
        except InputError as error:
            self.say(refusal(error))

    def _choose(self) -> None:
        """Follow the chosen row."""
        chosen = self.chosen
        self.button.setEnabled(chosen is not None and bool(self.step_of(chosen)[0]))

    def _write(self, _changed: object = None) -> None:
        """Fill the table."""
        raise NotImplementedError
