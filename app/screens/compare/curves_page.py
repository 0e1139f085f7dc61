"""Page with one curve over the duty, or the edge of the limit map, of all chosen designs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QVBoxLayout, QWidget

from burstwise.app.plots.axis import Axis
from burstwise.app.plots.duty_curves import CURVES
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.screens.compare.tables import finite
from burstwise.app.theme import Theme
from burstwise.app.worker import BusyPolicy, Outcome, Task, Worker
from burstwise.core.arrays import Array
from burstwise.core.evaluate.results import Results
from burstwise.core.storage import text_of
from burstwise.core.studies.frontier import Frontier, frontier

FRONTIER: Final = "frontier"
FRONTIER_AXIS: Final = Axis("Highest supply before a rating breaks", "V", from_zero=True)


class CurvesPage(QWidget):
    """Choice of the curve above, the curves of all designs below.

    `told` says what is being computed or what failed, empty when it is done.
    """

    told = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._shown: tuple[Results, ...] = ()
        self.box = QComboBox(self)
        self.box.setAccessibleName("Curve over the duty")
        self.box.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        for key, axis in CURVES.items():
            self.box.addItem(f"{axis.name} over the duty", key)
        self.box.addItem(f"{FRONTIER_AXIS.name}, over the duty", FRONTIER)
        self.box.currentIndexChanged.connect(lambda _row: self._draw())
        self.frontiers: dict[str, Frontier] = {}
        self.worker = Worker(self, when_busy=BusyPolicy.CANCEL, name="frontier")
        self.worker.finished.connect(self._take_frontiers)
        self.plot: LinePlot | None = None
        self._down = QVBoxLayout(self)
        self._down.addWidget(self.box)

    def show_results(self, shown: Sequence[Results]) -> None:
        """Draw the curves of other results."""
        self._shown = tuple(shown)
        self._draw()

    def _draw(self) -> None:
        key = str(self.box.currentData())
        if key == FRONTIER:
            self._draw_frontiers()
            return
        self._plot_curves(
            CURVES[key],
            [(item.curves.duty, finite(getattr(item.curves, key))) for item in self._shown],
        )

    def _draw_frontiers(self) -> None:
        designs = [item.design for item in self._shown]
        missing = [design for design in designs if text_of(design) not in self.frontiers]
        if missing:

            def work(task: Task) -> dict[str, Frontier]:
                return {
                    text_of(design): frontier(design, ask=lambda _part: not task.cancelled)
                    for design in missing
                }

            self.told.emit("Computing how far the supply may go …")
            self.worker.submit(work)
            return
        edges = [self.frontiers[text_of(design)] for design in designs]
        self._plot_curves(FRONTIER_AXIS, [(item.duty, item.supply) for item in edges])

    def _take_frontiers(self, outcome: Outcome) -> None:
        if outcome.error is not None:
            self.told.emit(f"■ {outcome.complaint()}")
            return
        self.frontiers.update(outcome.value)
        self.told.emit("")
        self._draw()

    def _plot_curves(self, y_axis: Axis, curves: list[tuple[Array, Array]]) -> None:
        names = [item.design.name for item in self._shown]
        if self.plot is None or self.plot.names != tuple(names) or self.plot.y_axis != y_axis:
            if self.plot is not None:
                self.plot.setParent(None)
                self.plot.deleteLater()
            self.plot = LinePlot(
                self._theme, x=Axis("Duty", "%"), y=y_axis, curves=names, parent=self
            )
            self._down.addWidget(self.plot, 1)
        with self.plot.batch():
            self.plot.set_curves(curves)
            self.plot.set_x_range(0.0, 1.0)
