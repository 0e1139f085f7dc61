"""What fails first: supplies and duties at which each rating is reached, with side loading."""

from __future__ import annotations

import math
from typing import Any, Final

from PySide6.QtWidgets import QWidget

from burstwise.app.screens.limits.margin_bars import HEADING
from burstwise.app.screens.limits.panel import Panel, progress_callback
from burstwise.app.screens.limits.stage_tables import StageTables
from burstwise.app.screens.limits.tables import PlainTable, margin_colour, margin_text, reached_text
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.widgets.reflow import Reflow, beside
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.worker import Task
from burstwise.core.evaluate.results import Results
from burstwise.core.studies.fail_order import FailOrder, SideLoading, fail_order
from burstwise.core.units import shown

_FIELD_WIDTH: Final = 130


class OrderPanel(Panel):
    """Table in the order of a rising supply, and the side loading that it allows for.

    Parameters
    ----------
    session, theme
        Document with results, and look.
    tables : StageTables
        Shared carrier tables.
    """

    def __init__(self, session: Session, theme: Theme, tables: StageTables) -> None:
        super().__init__(session, theme, name="order")
        self._tables = tables
        self.order: FailOrder | None = None
        self.side = SideLoading()
        self.summary = TextLabel(" ", self, wraps=True, role="title")
        self.capacitance = QuantityField("%", name="Side loading, capacitance", low=0.0, high=0.5)
        self.loss = QuantityField("%", name="Side loading, loss", low=0.0, high=5.0)
        words = TextLabel("Side loading (hand, damp air): top capacitance up by", self)
        also = TextLabel("secondary loss up by", self)
        row = Reflow(parent=self)
        row.add(beside(words, self.capacitance), 0)
        row.add(beside(also, self.loss, QWidget()))
        for field, value in (
            (self.capacitance, self.side.capacitance),
            (self.loss, self.side.loss),
        ):
            field.setMaximumWidth(_FIELD_WIDTH)
            field.set_value(value)
            field.edit_finished.connect(self._changed)
        self.table = PlainTable(
            ("Rating", HEADING, "Margin now", "Reached at", "With side loading", "Or at duty"),
            name="Ratings in the order in which they are reached",
            wide=1,
        )
        self.table.draw_margins(theme)
        self.layout_.addWidget(row)
        self.layout_.addWidget(self.summary)
        self.layout_.addWidget(self.table, 1)
        self.finish_layout()
        theme.changed.connect(self._write)

    def _changed(self) -> None:
        side = SideLoading(self.capacitance.value, self.loss.value)
        if side != self.side:
            self.side = side
            self.start()

    def begin(self, results: Results) -> None:
        """Tell that it is on its way."""
        self.say("Looking ahead …")

    def work(self, results: Results, task: Task) -> object:
        """Both tables, then the order."""
        ask, side = progress_callback(task), self.side
        ready = self._tables.table(results.design, progress=ask)
        return fail_order(results.design, ready, side=side, progress=ask)

    def take(self, part: Any) -> None:
        """All comes at once, in `done`."""

    def done(self, value: FailOrder, seconds: float) -> None:
        """Show the order."""
        self.order = value
        self._write()
        self.say(
            f"Looked at supplies up to {shown(value.highest, 'V', digits=3)} at the present duty, "
            "and at all duties at the present supply. Model estimate: leave a margin of your own."
        )

    def _write(self, _changed: object = None) -> None:
        order = self.order
        if order is None:
            return
        tokens = self.theme.tokens
        first = order.by_supply[0]
        if math.isinf(first.supply):
            self.summary.setText(f"Nothing is reached up to {shown(order.highest, 'V', digits=3)}.")
        else:
            loaded = reached_text(order.highest_supply_loaded, highest=order.highest)
            self.summary.setText(
                f"{first.title} comes first, at {shown(first.supply, 'V', digits=3)}; with side "
                f"loading the first rating is reached at {loaded}."
            )
        self.table.show_rows(
            [
                (
                    item.title,
                    "",
                    margin_text(item.margin),
                    reached_text(item.supply, highest=order.highest),
                    reached_text(item.supply_loaded, highest=order.highest),
                    "at no duty" if math.isinf(item.duty) else shown(item.duty, "%", digits=3),
                )
                for item in order.by_supply
            ],
            colours=[margin_colour(item.margin, tokens) for item in order.by_supply],
            coloured=2,
            margins=[item.margin for item in order.by_supply],
        )
