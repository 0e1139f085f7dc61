"""Page with the tolerance of the parts: many random builds, what matters most, temperature."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QGroupBox, QVBoxLayout, QWidget

from burstwise.app.plots.axis import Axis
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.plots.overlay import Limit
from burstwise.app.screens.interrupter.chosen import Chosen
from burstwise.app.screens.interrupter.knob_page import band_text
from burstwise.app.screens.interrupter.roles import ROLES
from burstwise.app.theme import Theme
from burstwise.app.widgets.figure_table import Figure, FigureTable, Group
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.share_bars import Share, ShareBars
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.worker import Outcome, Task, Worker
from burstwise.core.findings import Severity
from burstwise.core.interrupter.random_builds import Builds, random_builds
from burstwise.core.interrupter.sets import Band, TimerSet
from burstwise.core.interrupter.tolerance import Drift, Influence, influences, temperature_drift
from burstwise.core.units import percent

_BUILDS: Final = 10_000
_BINS: Final = 60
_MOST: Final = 8
_ROLES: Final = {
    "upper": "upper level",
    "lower": "lower level",
    "pulse_upper": "pulse timer's level",
    "supply": "supply",
    "pot_end": "knob's end resistance",
    "charge_drop": "charge diode",
    "discharge_drop": "discharge diode",
    "discharge_saturation": "switch saturation",
    "discharge_resistance": "switch resistance",
    "output_high_drop": "output high drop",
    "output_high_resistance": "output high resistance",
    "output_low": "output low",
    "output_low_resistance": "output low resistance",
}


@dataclass(frozen=True, slots=True)
class _Study:
    one: TimerSet
    builds: Builds
    ranked: tuple[Influence, ...]
    drift: Drift


def role_words(role: str, references: Mapping[str, str]) -> str:
    """Words for a part, with its reference, or for a property of the timer.

    Examples
    --------
    >>> role_words("timing_capacitor", {"timing_capacitor": "C5"}), role_words("pot_end", {})
    ('C5 timing capacitor', "knob's end resistance")
    """
    if role in ROLES:
        return f"{references[role]} {role.replace('_', ' ')}"
    return _ROLES.get(role, role.replace("_", " "))


_BANDS_WIDTH: Final = 310


def histogram_line(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Outline of a histogram as a curve: places, and shares of all values per bin."""
    counts, edges = np.histogram(values, bins=_BINS)
    share = counts / max(len(values), 1)
    return np.repeat(edges, 2), np.concatenate([[0.0], np.repeat(share, 2), [0.0]])


class TolerancePage(QWidget):
    """Histograms with their 95 % bands, worst cases, and the ranking of influences."""

    def __init__(self, chosen: Chosen, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._chosen = chosen
        self._study: _Study | None = None
        self.worker = Worker(self, name="tolerance")
        self.plots = [
            LinePlot(theme, x=Axis(name, unit), y=Axis(title, "%", from_zero=True), curves=("",))
            for title, name, unit in (
                ("Builds by frequency", "Frequency at half travel", "Hz"),
                ("Builds by least duty", "Duty at the low stop", "%"),
                ("Builds by most duty", "Duty at the high stop", "%"),
            )
        ]
        self.bands = FigureTable(theme, self)
        self.bands.setMinimumWidth(_BANDS_WIDTH)
        self.bars = ShareBars(theme, self)
        self.advice = TextLabel(self, wraps=True)
        ranking = QGroupBox("Which part to buy tighter", self)
        down = QVBoxLayout(ranking)
        down.addWidget(self.bars)
        down.addWidget(self.advice)
        down.addStretch(1)
        self.status = TextLabel(self, wraps=True, role="muted")
        plots, below = Reflow(parent=self), Reflow(parent=self)
        for plot in self.plots:
            plots.add(plot)
        below.add(self.bands)
        below.add(ranking, 2)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.addWidget(plots, 1)
        layout.addWidget(below)
        layout.addWidget(self.status)
        self.worker.finished.connect(self._show)
        chosen.session.document.changed.connect(self._follow)

    def showEvent(self, event: QShowEvent) -> None:
        """Study the set when the page is seen."""
        super().showEvent(event)
        self._follow()

    def _follow(self, _design: object = None) -> None:
        if not self.isVisible():
            return
        one = self._chosen.set
        if self._study is not None and one == self._study.one:
            # Parts elsewhere in the design number those of the timer anew.
            self._show_ranking(self._study.ranked)
            return
        if not self._chosen.runs:
            self.status.setText("This set does not run in every build: nothing to study.")
            return

        def work(task: Task) -> _Study:
            builds = random_builds(one, count=_BUILDS)
            task.check()
            return _Study(one, builds, influences(one), temperature_drift(one))

        self.worker.submit(work)

    def _show(self, outcome: Outcome) -> None:
        if outcome.error is not None:
            self.status.setText(outcome.complaint())
            return
        study: _Study = outcome.value
        self._study = study
        builds, one = study.builds, study.one
        bands = builds.share_band()
        for plot, values, band in zip(
            self.plots, (builds.frequency, builds.duty_low, builds.duty_high), bands, strict=True
        ):
            with plot.batch():
                plot.set_curves([histogram_line(values)])
                plot.set_limits(
                    [
                        Limit(band.low, "2.5 %", Severity.NOTE, vertical=True),
                        Limit(band.high, "97.5 %", Severity.NOTE, vertical=True),
                    ]
                )
            plot.show_all()
        self._show_bands(one, bands, study.drift)
        self._show_ranking(study.ranked)
        self.status.setText(
            f"{_BUILDS:,} random builds, each part drawn evenly within its tolerance, in "
            f"{1e3 * outcome.seconds:.0f} ms. The worst case takes all of them at their limits."
        )

    def _show_bands(self, one: TimerSet, bands: tuple[Band, Band, Band], drift: Drift) -> None:
        def group(title: str, three: tuple[Band, Band, Band]) -> Group:
            frequency, low, high = three
            return Group(
                title,
                (
                    Figure("Frequency", band_text(frequency, "Hz")),
                    Figure("Duty, low stop", band_text(low, "%")),
                    Figure("Duty, high stop", band_text(high, "%")),
                ),
            )

        span = f"{drift.temperature_low:.0f} to {drift.temperature_high:.0f} °C"
        self.bands.show_groups(
            [
                group("95 % of the builds", bands),
                group("Worst case", (one.frequency, one.duty_low, one.duty_high)),
                group(f"{span}, nominal parts", (drift.frequency, drift.duty_low, drift.duty_high)),
            ]
        )

    def _show_ranking(self, ranked: tuple[Influence, ...]) -> None:
        references = self._chosen.references
        self.bars.show_shares(
            [
                Share(
                    role_words(item.role, references),
                    f"±{percent(max(item.frequency, item.duty_low, item.duty_high), digits=2)}",
                    item.share,
                    marked=item.role in ROLES,
                )
                for item in ranked[:_MOST]
            ]
        )
        parts = [item for item in ranked if item.role in ROLES]
        if parts:
            first = parts[0]
            self.advice.setText(
                "Share of the spread of frequency and end stops, with the largest relative swing "
                "of any of them. Of what can be bought tighter, the "
                f"{role_words(first.role, references)} matters most ({percent(first.share)})."
            )
