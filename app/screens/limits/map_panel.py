"""Map of two fields by the rating that breaks first."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from PySide6.QtWidgets import QComboBox, QGridLayout, QHBoxLayout, QWidget

from burstwise.app.plots.axis import Axis as PlotAxis
from burstwise.app.plots.map_picture import Regions, pattern_swatch
from burstwise.app.plots.map_plot import MapPlot
from burstwise.app.refusals import refusal
from burstwise.app.screens.limits.panel import Panel, progress_callback
from burstwise.app.screens.limits.stage_tables import StageTables
from burstwise.app.screens.limits.tables import margin_text
from burstwise.app.session import Evaluated, Session
from burstwise.app.theme import Theme, Tokens
from burstwise.app.widgets.drag import edit_by_drag
from burstwise.app.widgets.reflow import Reflow, beside
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.worker import Task
from burstwise.core.design.document import Design, field_info, with_values
from burstwise.core.errors import InputError
from burstwise.core.evaluate.evaluation import HOTTEST
from burstwise.core.evaluate.results import Results
from burstwise.core.interrupter.resolve import edits_in_use, value_in_use
from burstwise.core.limits.ratings import title_of
from burstwise.core.studies.limit_map import (
    FAST,
    Axis,
    LimitMap,
    axis_over,
    drawn_on_at,
    limit_maps,
    rough_map,
)

FIELDS: Final = (
    "supply.voltage",
    "interrupter.duty",
    "interrupter.frequency",
    "supply.source_resistance",
    "supply.bulk_capacitance",
    "cooling.sink_resistance",
    "cooling.interface_resistance",
    "cooling.ambient",
    "coil.measured.coupling",
    "coil.measured.primary_inductance",
    "coil.measured.quality_factor",
    "coil.measured.breakout_voltage",
    "coil.geometry.primary.turns",
    "coil.geometry.primary.inner_radius",
    "coil.geometry.top_load.diameter",
    "coil.breakout_resistance",
    "device.on_resistance",
    "device.output_capacitance",
    "device.threshold_voltage",
    "drive.direct.bias_voltage",
    "drive.gated.gate_resistor",
    "drive.gated.propagation_delay",
    "protection.drain_clamp.voltage",
    "protection.snubber.capacitance",
)
"""Fields offered for the axes, where the design has them."""
_NAME_WIDTH: Final = 56
_LEAST_LETTERS: Final = 20
"""Letters of a field's name that the lists have room for in a narrow window."""


class MapPanel(Panel):
    """Two fields chosen, the map, its key and the read-out.

    Parameters
    ----------
    session, theme
        Document with results, and look.
    tables : StageTables
        Shared carrier tables.
    """

    map: LimitMap | None = None
    _mapped: Results | None = None
    """Results that the map in view was finished for; the base class asks for it already."""

    def __init__(self, session: Session, theme: Theme, tables: StageTables) -> None:
        super().__init__(session, theme, name="map")
        self._tables = tables
        self._used: NDArray[np.intp] = np.zeros(0, dtype=np.intp)
        self._first_seconds = 0.0
        self.x_box, self.y_box = QComboBox(self), QComboBox(self)
        for box, words in ((self.x_box, "Across"), (self.y_box, "Up")):
            box.setAccessibleName(f"Field {words.lower()}")
            box.setSizeAdjustPolicy(
                QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
            )
            box.setMinimumContentsLength(_LEAST_LETTERS)
        self.plot = MapPlot(theme, self)
        self.readout = TextLabel(" ", self, wraps=True, role="title")
        self.key = QWidget(self)
        self._key_grid = QGridLayout(self.key)
        self._key_grid.setContentsMargins(0, 0, 0, 0)
        top = Reflow(parent=self)
        for label, box in (("&Across", self.x_box), ("&Up", self.y_box)):
            name = TextLabel(label, self)
            name.setBuddy(box)
            name.setFixedWidth(_NAME_WIDTH)
            top.add(beside(name, box))
        self.layout_.addWidget(top)
        self.layout_.addWidget(self.plot, 1)
        self.layout_.addWidget(self.key)
        self.layout_.addWidget(self.readout)
        self.finish_layout()
        self._offer("supply.voltage", "interrupter.duty")
        self.x_box.currentIndexChanged.connect(lambda _row: self.start())
        self.y_box.currentIndexChanged.connect(lambda _row: self.start())
        self.plot.cursor_moved.connect(lambda _at: self._tell())
        self.plot.chosen.connect(self._go)
        edit_by_drag(
            session.document,
            self.plot.drag,
            lambda at: self._edits(*at),
            text="Drag in the map",
            refuse=lambda reason: self.say(reason) if reason else None,
        )
        session.document.changed.connect(self._follow_point)
        session.pin_changed.connect(self._mark_pinned)
        theme.changed.connect(self._write_key)

    def _offer(self, x: str, y: str) -> None:
        """Fill the lists with what the design has that the results belong to."""
        known = self.results
        design = self.session.document.design if known is None else known.design
        for box, chosen in ((self.x_box, x), (self.y_box, y)):
            box.blockSignals(True)
            box.clear()
            for path in FIELDS:
                try:
                    axis_over(design, path)
                except InputError:
                    continue
                box.addItem(str(field_info(path)["title"]), path)
            box.setCurrentIndex(max(box.findData(chosen), 0))
            box.blockSignals(False)

    def begin(self, results: Results) -> None:
        """Keep the old map in view until a new one comes; mark the present point."""
        self._offer(str(self.x_box.currentData()), str(self.y_box.currentData()))
        if self.x_box.currentData() == self.y_box.currentData():
            other = "interrupter.duty"
            if self.x_box.currentData() == other:
                other = "supply.voltage"
            self.y_box.blockSignals(True)
            self.y_box.setCurrentIndex(self.y_box.findData(other))
            self.y_box.blockSignals(False)
        self._first_seconds = 0.0
        self.say("Computing the map …")
        self._axes = self._chosen_axes(results)
        self._begun_for = results.design
        self._begun_with, self._mapped = results, None

    def _chosen_axes(self, results: Results) -> tuple[Axis, Axis]:
        design = results.design
        return (
            axis_over(design, str(self.x_box.currentData())),
            axis_over(design, str(self.y_box.currentData())),
        )

    def work(self, results: Results, task: Task) -> object:
        """Table if none is at hand, then passes from coarse to fine."""
        ask = progress_callback(task)
        x, y = self._axes
        supplies = [axis.values[-1] for axis in (x, y) if axis.path == "supply.voltage"]
        highest = float(max(supplies, default=0.0))
        quick = x.path in FAST and y.path in FAST
        if quick and not self._tables.is_ready(results.design, highest=highest):
            task.deliver(rough_map(results.design, x, y, ask=ask))
        ready = self._tables.table(results.design, highest=highest, progress=ask)
        for made in limit_maps(results.design, x, y, ready=ready, ask=ask):
            task.deliver(made)
            task.progress(made.share)
        return None

    def take(self, part: LimitMap) -> None:
        """Show one pass."""
        self.map = part
        design = self._begun_for
        self._used = np.unique(part.first)
        which = np.searchsorted(self._used, part.first)
        self.plot.show_regions(
            Regions(
                x=PlotAxis(part.x.title, part.x.unit),
                y=PlotAxis(part.y.title, part.y.unit),
                xs=part.x.values,
                ys=part.y.values,
                x_log=_log(part.x.path),
                y_log=_log(part.y.path),
                names=tuple(title_of(part.names[place]) for place in self._used.tolist()),
                which=which,
                level=part.smallest,
            )
        )
        self.plot.set_point(_present(design, part.x.path), _present(design, part.y.path))
        self._mark_pinned()
        self._write_key()
        self._tell()
        self.say(f"Pass of {len(part.x.values)} × {len(part.y.values)} points …")

    def done(self, value: Any, seconds: float) -> None:
        """Tell how the map came about."""
        if self.map is None:
            return
        self._mapped = self._begun_with
        how = (
            f" Margins between {self.map.nodes} computed stages lie on straight lines."
            if self.map.nodes
            else ""
        )
        self.say(
            f"{len(self.map.x.values)} × {len(self.map.y.values)} points in "
            f"{seconds:.1f} s.{how} Red line: edge of what holds; tinted ground: exceeded. "
            "Drag the ring, or click to go there; undo comes back."
        )

    def _tell(self) -> None:
        found, at = self.map, self.plot.cursor_at
        if found is None:
            return
        if at is None:
            at = self.plot.point if self.plot.point is not None else (0.0, 0.0)
            word = "At present, "
        else:
            word = "At "
        row, column = found.at(*at)
        margin = float(found.smallest[row, column])
        first = title_of(found.names[int(found.first[row, column])])
        told = "breaks first" if margin < 0.0 else "is nearest its limit"
        design = self._begun_for
        hot = design is not None and drawn_on_at(found, design, row, column)
        beyond = f"; junction beyond {HOTTEST:g} °C: drawn on, not computed" if hot else ""
        x, y = PlotAxis(found.x.title, found.x.unit), PlotAxis(found.y.title, found.y.unit)
        self.readout.setText(
            f"{word}{found.x.title.lower()} {x.text(at[0])}, {found.y.title.lower()} "
            f"{y.text(at[1])}: {first} {told}, margin {margin_text(margin)}{beyond}"
        )

    def _edits(self, x: float, y: float) -> dict[str, object]:
        """Edits that bring the design to a point of the map."""
        found = self.map
        assert found is not None
        edits: dict[str, object] = {found.x.path: x, found.y.path: y}
        if any(path.startswith("interrupter.") for path in edits):
            edits["interrupter.enabled"] = True
        return edits_in_use(self.session.document.design, edits)

    def _go(self, x: float, y: float) -> None:
        if self.map is None:
            return
        try:
            edits = self._edits(float(f"{x:.3g}"), float(f"{y:.3g}"))
            self.session.document.edit_many(edits, text="Go to a point of the map")
        except InputError as error:
            self.say(refusal(error))

    def _follow_point(self, design: Design) -> None:
        """The point follows every edit at once; the map itself waits for results."""
        found = self.map
        if found is None or not self.isVisible():
            return
        try:
            self.plot.set_point(_present(design, found.x.path), _present(design, found.y.path))
        except (InputError, TypeError):  # a part that the design has no longer
            return
        if self.plot.drag.active:
            self._tell()

    def _mark_pinned(self) -> None:
        found, pinned = self.map, self.session.pinned
        if found is None or pinned is None:
            self.plot.set_pinned(None)
            return
        design = pinned.results.design
        try:
            self.plot.set_pinned((_present(design, found.x.path), _present(design, found.y.path)))
        except (InputError, TypeError):  # a part that the pinned design does not have
            self.plot.set_pinned(None)

    def follow(self, evaluated: Evaluated) -> None:
        """Take new results; a map over what alone has changed stays good."""
        if self._only_moved(evaluated.results):
            self.results = self._mapped = evaluated.results
            self._begun_for = evaluated.results.design
            return
        super().follow(evaluated)

    def _only_moved(self, results: object) -> bool:
        """Whether some results are those of another point on the finished map."""
        before, found = self._mapped, self.map
        if before is None or found is None or not isinstance(results, Results):
            return False
        try:
            values = {
                path: value_in_use(results.design, path) for path in (found.x.path, found.y.path)
            }
            moved = with_values(before.design, edits_in_use(before.design, values))
        except InputError:
            return False
        inside = (
            axis.values[0] <= values[axis.path] <= axis.values[-1] for axis in (found.x, found.y)
        )
        return moved == results.design and all(inside)

    def _write_key(self, _changed: object = None) -> None:
        while self._key_grid.count():
            item = self._key_grid.takeAt(0)
            widget = item.widget() if item is not None else None
            if widget is not None:
                widget.hide()  # it may be seen until the event loop takes it away
                widget.deleteLater()
        found = self.map
        if found is None:
            return
        tokens: Tokens = self.theme.tokens
        for order, place in enumerate(self._used.tolist()[:12]):
            swatch = TextLabel(self.key)
            swatch.setPixmap(pattern_swatch(order, tokens))
            name = TextLabel(title_of(found.names[place]), self.key, wraps=True)
            cell = QHBoxLayout()
            holder = QWidget(self.key)
            cell.setContentsMargins(0, 0, 0, 0)
            cell.addWidget(swatch)
            cell.addWidget(name, 1)
            holder.setLayout(cell)
            self._key_grid.addWidget(holder, order // 3, order % 3)


def _present(design: Design, path: str) -> float:
    return float(value_in_use(design, path))


def _log(path: str) -> bool:
    return bool(field_info(path).get("log"))
