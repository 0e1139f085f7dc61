"""Forecast page: which rating is reached first, at which supply, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from PySide6.QtWidgets import QVBoxLayout, QWidget

from burstwise.app.plots.axis import Axis
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.plots.overlay import Limit
from burstwise.app.refusals import limit_of, title_of
from burstwise.app.screens.bench.state import BenchState
from burstwise.app.screens.bench.words import Rows, findings_html, paragraph, side_column
from burstwise.app.section_form import SectionForm
from burstwise.app.theme import MARKS, Theme, Tokens
from burstwise.app.widgets.caution import caution_line
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.worker import Outcome, Task, Worker
from burstwise.core.bench.forecast import EXTRAPOLATION, forecast
from burstwise.core.bench.reached import Forecast, Rating, Reached
from burstwise.core.bench.sheet import bench_ratings
from burstwise.core.errors import InputError, one_line
from burstwise.core.findings import Severity
from burstwise.core.units import percent, shown

_NAMES: Final = {
    Rating.VOLTAGE: "Drain voltage",
    Rating.CURRENT: "RMS current",
    Rating.POWER: "Dissipation",
}
_SIDE_WIDTH: Final = 310
_TABLE_WIDTH: Final = 740
"""Width from which no column of the forecast is squeezed [px]."""
_CELL_ROOM: Final = 9
"""Room above and below two lines in a cell; all of the three ratings are in view [px]."""
_TITLES: Final = (
    "Rating",
    "Limit",
    "Reached at",
    "90 % interval",
    "Side loaded",
    "First",
    "Remark",
)
_CROSS: Final = 0.012


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a forecast was made for."""

    told: Forecast | None
    refusal: str


class ForecastPage(QWidget):
    """Table of ratings, the trends as parts of their limits, and findings.

    Parameters
    ----------
    state : BenchState
        Readings.
    theme : Theme
        Colours.
    """

    def __init__(self, state: BenchState, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state, self._theme = state, theme
        self.result: Forecast | None = None
        self.headline = TextLabel(self, wraps=True, role="figure")
        self.table = Rows("Forecast", _TITLES, wide=6, left=(0, 6), parent=self)
        self.plot = LinePlot(
            theme,
            x=Axis("Supply", "V"),
            y=Axis("Part of the limit", "%", from_zero=True),
            curves=("drain voltage", "drain current", "dissipation", ""),
            zoomable=True,
        )
        self.findings = paragraph(self, role="plain")
        self.caution = caution_line("forecast", self)
        self.worker = Worker(self, name="forecast")
        self.worker.finished.connect(self._take)
        self._lay_out()
        state.sheet_changed.connect(self.refresh)
        theme.changed.connect(self._recolour)
        self.refresh()

    def refresh(self) -> None:
        """Forecast from the readings as they stand."""
        setup, design = self._state.setup, self._state.design
        if setup is None:
            self._show_refusal(self._state.setup_error)
            return
        table, load = self._state.sheet.table, design.readings.side_load

        def work(_task: Task) -> Forecast:
            return forecast(table, setup, bench_ratings(design), side_load=load)

        self.worker.submit(work)

    def _lay_out(self) -> None:
        side = SectionForm(
            self._state.session.document,
            "Rise of current and spike",
            ["readings.side_load"],
        )
        area = side_column([side, self.caution, self.findings], width=_SIDE_WIDTH, parent=self)
        rows = 3 * (2 * self.fontMetrics().lineSpacing() + _CELL_ROOM)
        self.table.setFixedHeight(self.table.horizontalHeader().sizeHint().height() + rows)
        forecast_and_plot = QWidget(self)
        left = QVBoxLayout(forecast_and_plot)
        left.setContentsMargins(0, 0, 0, 0)
        left.addWidget(self.headline)
        left.addWidget(self.table)
        left.addWidget(self.plot, 1)
        both = Reflow(parent=self)
        both.add(forecast_and_plot, row_width=_TABLE_WIDTH)
        both.add(area, 0, width=_SIDE_WIDTH)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.addWidget(both)

    def _take(self, outcome: Outcome) -> None:
        if outcome.error is None:
            self.result = outcome.value
            self._show(outcome.value)
        elif isinstance(error := outcome.error, InputError):
            self._show_refusal(
                f"{title_of(error.field)}: {limit_of(error)}; now {one_line(error.value)}"
            )
        else:
            self._show_refusal(outcome.complaint())

    def _show_refusal(self, reason: str) -> None:
        self.result = None
        severity = Severity.STOP if self._state.sheet.table.rows else Severity.NOTE
        self.headline.setText(f"{MARKS[severity].glyph} No forecast: {reason}.")
        self.table.show_rows([])
        self.findings.setText("")
        with self.plot.batch():
            self.plot.set_limits([])
            self.plot.set_curves([])

    def _show(self, told: Forecast) -> None:
        first = told.reached[0]
        if math.isfinite(first.supply):
            self.headline.setText(
                f"{_NAMES[first.rating]} is reached first, at {_volts(first.supply)} "
                f"({_volts(told.first_low)} to {_volts(told.first_high)} for the first limit)."
                + _rival(told)
            )
        else:
            self.headline.setText("No rating is reached within the trend.")
        tokens = self._theme.tokens
        self.table.show_rows(
            [_row(entry) for entry in told.reached],
            colours=[tokens.caution if entry.extrapolated else None for entry in told.reached],
        )
        self.findings.set_markup(findings_html(told.findings, tokens))
        self._draw(told)

    def _draw(self, told: Forecast) -> None:
        entries = {entry.rating: entry for entry in told.reached}
        highest = max(float(entry.trend.supply.max()) for entry in told.reached)
        lowest = min(float(entry.trend.supply.min()) for entry in told.reached)
        ends = [told.first_high, *(entry.supply for entry in told.reached)]
        reach = max([value for value in ends if math.isfinite(value)], default=highest)
        top = min(max(1.1 * reach, 1.1 * highest), 2.5 * highest)
        supply = np.linspace(0.9 * lowest, top, 200)
        curves = []
        for rating in (Rating.VOLTAGE, Rating.CURRENT, Rating.POWER):
            entry = entries.get(rating)
            if entry is None:
                curves.append((np.zeros(0), np.zeros(0)))
                continue
            curves.append((supply, _part(entry, entry.trend.at(supply), told)))
        curves.append(_crosses(told, width=top - 0.9 * lowest))
        limits = [Limit(1.0, "rating", Severity.STOP), *_marks(told, highest=highest, top=top)]
        with self.plot.batch():
            self.plot.set_limits(limits)
            self.plot.set_curves(curves)

    def _recolour(self, _tokens: Tokens) -> None:
        if self.result is not None:
            self._show(self.result)


def _marks(told: Forecast, *, highest: float, top: float) -> list[Limit]:
    """Low end of the interval, and where extrapolation begins; near each other they share one."""
    edge, low = EXTRAPOLATION * highest, told.first_low
    words = f"first limit, low end {_volts(low)}"
    marks = []
    if low < top:
        marks.append(Limit(low, words, Severity.CAUTION, vertical=True))
    if edge < top:
        if marks and abs(edge - low) < 0.35 * top:
            shared = f"{words}; extrapolated from {_volts(edge)}"
            return [Limit(low, shared, Severity.CAUTION, vertical=True)]
        marks.append(Limit(edge, "extrapolated beyond", Severity.CAUTION, vertical=True))
    return marks


def _part(entry: Reached, amplitude: np.ndarray, told: Forecast) -> np.ndarray:
    """Amplitude as a part of the rating; the dissipation goes with the current's square."""
    at_limit = entry.trend.at(np.array([entry.supply]))[0] if math.isfinite(entry.supply) else 0.0
    if entry.rating is Rating.POWER:
        limit = at_limit if at_limit else _current_limit(told, entry)
        return np.asarray((amplitude / limit) ** 2)
    return np.asarray(amplitude / entry.limit)


def _current_limit(told: Forecast, entry: Reached) -> float:
    row = told.derived.rows[0]
    return float(row.current_rms.value * math.sqrt(entry.limit / row.device_power.value))


def _crosses(told: Forecast, *, width: float) -> tuple[np.ndarray, np.ndarray]:
    """Measured values as small crosses in one line with gaps."""
    xs: list[float] = []
    ys: list[float] = []
    dx, dy = _CROSS * width / 2, _CROSS
    for entry in told.reached:
        for supply, part in zip(
            entry.trend.supply, _part(entry, entry.trend.amplitude, told), strict=True
        ):
            xs += [supply - dx, supply + dx, np.nan, supply, supply, np.nan]
            ys += [part, part, np.nan, part - dy, part + dy, np.nan]
    return np.array(xs), np.array(ys)


def _rival(told: Forecast) -> str:
    """Remark on a rating that is likelier to be the first than the one forecast lowest."""
    likeliest = max(told.reached, key=lambda entry: entry.probability_first)
    if likeliest.probability_first <= told.reached[0].probability_first:
        return ""
    return f" {_NAMES[likeliest.rating]} is likelier to be the first: see the findings."


def _row(entry: Reached) -> list[str]:
    chance = entry.probability_first
    words = "> 99 %" if chance > 0.99 else "< 1 %" if chance < 0.01 else percent(chance)
    reached = math.isfinite(entry.supply)
    remark = f"{entry.trend.best.law}"
    if entry.extrapolated:
        glyph = MARKS[Severity.CAUTION].glyph
        remark = f"{glyph} extrapolated" if reached else f"{glyph} not within the trend"
    return [
        _NAMES[entry.rating],
        shown(entry.limit, entry.rating.unit, digits=3),
        _volts(entry.supply) if reached else "never",
        f"{_volts(entry.low)} to {_volts(entry.high)}",
        _volts(entry.side_loaded_supply),
        words,
        remark,
    ]


def _volts(value: float) -> str:
    return shown(value, "V", digits=3) if math.isfinite(value) else "∞"
