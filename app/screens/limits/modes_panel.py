"""Continuous against interrupted: the same coil and device side by side."""

from __future__ import annotations

import math
from typing import Any

from burstwise.app.screens.limits.panel import Panel, progress_callback
from burstwise.app.screens.limits.stage_tables import StageTables
from burstwise.app.screens.limits.tables import PlainTable, margin_text
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.worker import Task
from burstwise.core.evaluate.results import Results
from burstwise.core.studies.fail_order import Mode, SideBySide, side_by_side
from burstwise.core.units import shown


class ModesPanel(Panel):
    """Two columns of figures, and what interruption buys.

    Parameters
    ----------
    session, theme
        Document with results, and look.
    tables : StageTables
        Shared carrier tables.
    """

    def __init__(self, session: Session, theme: Theme, tables: StageTables) -> None:
        super().__init__(session, theme, name="modes")
        self._tables = tables
        self.summary = TextLabel(" ", self, wraps=True, role="title")
        self.table = PlainTable(
            ("", "Continuous", "Interrupted"), name="Continuous against interrupted", wide=0
        )
        self.layout_.addWidget(self.summary)
        self.layout_.addWidget(self.table, 1)
        self.finish_layout()

    def begin(self, results: Results) -> None:
        """Tell that it is on its way."""
        self.say("Comparing …")

    def work(self, results: Results, task: Task) -> object:
        """Both ways to run the stage."""
        ready = self._tables.table(results.design, progress=progress_callback(task))
        return side_by_side(results.design, ready), float(ready.table.voltages[-1])

    def take(self, part: Any) -> None:
        """All comes at once, in `done`."""

    def done(self, value: tuple[SideBySide, float], seconds: float) -> None:
        """Show both columns."""
        found, highest = value
        left, right = _column(found.continuous, highest), _column(found.interrupted, highest)
        self.table.show_rows([(name, a, b) for (name, a), (_, b) in zip(left, right, strict=True)])
        self.summary.setText(_sentence(found, highest))
        self.say("Same coil, device and supply; top voltage and breakout are those while on.")


def _column(mode: Mode, highest: float) -> list[tuple[str, str]]:
    word = "breaks out" if mode.breaks_out else "no breakout"
    return [
        ("Duty", shown(mode.duty, "%", digits=3)),
        ("Average power", shown(mode.average_power, "W", digits=3)),
        ("Power while on", shown(mode.burst_power, "W", digits=3)),
        ("Top voltage while on", f"{shown(mode.top_voltage, 'V', digits=3)}, {word}"),
        ("Junction mean", _warm(mode.junction_mean)),
        ("Junction peak", _warm(mode.junction_peak)),
        ("First limit now", mode.first_title),
        ("Its margin", margin_text(mode.margin)),
        ("Highest supply", _supply(mode.highest_supply, highest)),
        ("There breaks", mode.reached_title or "nothing"),
    ]


def _warm(celsius: float) -> str:
    return "runs away" if math.isinf(celsius) else shown(celsius, "°C", digits=3)


def _supply(value: float, highest: float) -> str:
    if math.isinf(value):
        return f"above {shown(highest, 'V', digits=3)}"
    return shown(value, "V", digits=3)


def _sentence(found: SideBySide, highest: float) -> str:
    one, two = found.continuous, found.interrupted
    gain = min(two.highest_supply, highest) / min(one.highest_supply, highest) - 1.0
    if gain < 0.01:
        return (
            f"Interruption does not raise the highest supply here: {one.reached_title} is a "
            "matter of voltage or peak current, not of heat."
        )
    return (
        f"Interruption at {shown(two.duty, '%', digits=3)} allows {shown(gain, '%', digits=2)} "
        f"more supply: {_supply(two.highest_supply, highest)} instead of "
        f"{_supply(one.highest_supply, highest)}."
    )
