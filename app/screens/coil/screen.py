"""Coil screen: forms, drawing with sliders, and tabs of results, sweeps and solves."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QSignalBlocker, Qt, QTimer
from PySide6.QtWidgets import (
    QComboBox,
    QFrame,
    QLineEdit,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.binding import bind_text
from burstwise.app.drawing.coil_drawing import Caption, CoilDrawing, Pull
from burstwise.app.drawing.coil_grips import CoilGrip, DragStart, edits_of, start_values
from burstwise.app.refusals import limit_of, title_of
from burstwise.app.screens.coil.field_panel import FieldPanel
from burstwise.app.screens.coil.forms import geometry_forms
from burstwise.app.screens.coil.measured import MeasuredRows, as_measured
from burstwise.app.screens.coil.measured_curve import CurvePanel
from burstwise.app.screens.coil.picture import drawn
from burstwise.app.screens.coil.profiles import Profiles
from burstwise.app.screens.coil.results import ResultsPanel
from burstwise.app.screens.coil.rows import FieldRow, Rows
from burstwise.app.screens.coil.sliders import Sliders
from burstwise.app.screens.coil.solve import SolvePanel
from burstwise.app.screens.coil.sweep import SweepView
from burstwise.app.screens.coil.work import FULL_RINGS, CoilState, CoilWork
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.drag import edit_by_drag
from burstwise.app.widgets.page_tabs import PageTabs
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.widgets.reflow import Reflow, beside
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.design.document import with_values
from burstwise.core.errors import InputError
from burstwise.core.units import shown

_FORM_WIDTH: Final = 332
_TABS_WIDTH: Final = 408
_TABS_HEIGHT: Final = 380
_PICTURE_WIDTH: Final = 300
_NAME_WIDTH: Final = 330
_FIGURES_MS: Final = 120
"""Time between two looks of tables and plots during a drag; the drawing follows every move."""
_MEASURED: Final = "The coil is given by measured values; there is no geometry to draw."


class CoilScreen(QWidget):
    """The whole screen.

    Parameters
    ----------
    session : Session
        Document and results.
    theme : Theme
        Look.
    """

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        document = session.document
        self.work = CoilWork(session, self)
        self.geometry_forms = geometry_forms(document)
        self.measured = MeasuredRows(document)
        self.drawing = CoilDrawing(theme, self)
        self.sliders = Sliders(document)
        self.results = ResultsPanel(theme)
        self.profiles = Profiles(theme)
        self.sweep = SweepView(session, theme)
        self.solve = SolvePanel(session)
        self.curve = CurvePanel(session, theme)
        self.field = FieldPanel(session, theme)
        self.given = QComboBox(self)
        self.given_row = FieldRow(self.given, self)
        self.name = QLineEdit(self)
        self.tabs = PageTabs(self)
        self._held: DragStart | None = None
        self._figures = QTimer(self)
        self._figures.setSingleShot(True)
        self._figures.setInterval(_FIGURES_MS)
        self._figures.timeout.connect(self._show_figures)
        self._lay_out()
        bind_text(document, "name", self.name, text="Name")
        document.changed.connect(self._follow)
        self.given.currentIndexChanged.connect(self._take_given)
        self.sliders.held.connect(self.work.set_coarse)
        self._connect_drag()
        self.work.resolved.connect(self._show)
        self.work.refused.connect(self._refuse)
        self.work.failed.connect(self._tell_failure)
        self.tabs.currentChanged.connect(self._show_tab)
        session.pin_changed.connect(self._show_pinned)
        self._show_pinned()
        self._follow()
        self.work.refresh()

    def _connect_drag(self) -> None:
        """Edges of the drawing edit the document; the coil is computed coarsely meanwhile."""
        drag, document = self.drawing.drag, self._session.document
        drag.began.connect(self._take_hold)
        edit_by_drag(document, drag, self._pulled, text="Drag in the coil's drawing")
        for signal in (drag.ended, drag.given_up):
            signal.connect(lambda: self.work.set_coarse(False))

    def _show_pinned(self) -> None:
        pinned = self._session.pinned
        self.profiles.show_pinned(None if pinned is None else pinned.results.coil)

    def _take_hold(self) -> None:
        grip, section = self.drawing.drag.grip, self.drawing.section
        if isinstance(grip, CoilGrip) and section is not None:
            self._held = DragStart(grip, section, start_values(self._session.document.value))
            self.work.set_coarse(True)

    def _pulled(self, pull: Pull) -> dict[str, object]:
        """Edits of a pulled edge.

        Raises
        ------
        InputError
            No coil can be built so; the drawing stays at the last one that can.
        """
        assert self._held is not None
        edits = edits_of(self._held, pull.x, pull.y, pixel=pull.pixel, fine=pull.fine)
        drawn(with_values(self._session.document.design, edits).coil.geometry)
        return edits

    @property
    def forms(self) -> list[Rows]:
        """All forms, from top to bottom."""
        return [*self.geometry_forms, self.measured]

    def row(self, path: str) -> FieldRow:
        """Row of a dotted path."""
        return next(form.rows[path] for form in self.forms if path in form.rows)

    def _lay_out(self) -> None:
        heading = TextLabel("Coil", self, role="heading")
        self.given.setAccessibleName("Coil given by")
        self.given.addItem("Geometry", "geometry")
        self.given.addItem("Measured values", "measured")
        self.name.setAccessibleName("Name of the design")
        self.name.setMinimumWidth(_NAME_WIDTH)
        top = Reflow(spacing=16, parent=self)
        top.add(beside(heading, TextLabel("Given by", self), self.given_row), 0)
        top.add(beside(TextLabel("Design", self), self.name))
        results = Reflow(parent=self)
        results.add(self._picture_column(), 10)
        results.add(self.tabs, 11)
        across = Reflow(parent=self)
        across.add(self._form_column(), 0, width=_FORM_WIDTH)
        across.add(results)
        for widget, words in (
            (self.results, "Results"),
            (self.profiles, "Profiles"),
            (self.sweep, "Sweep"),
            (self.solve, "Solve"),
            (self.curve, "Curve"),
            (self.field, "Field"),
        ):
            self.tabs.addTab(widget, words)
        self.tabs.setMinimumSize(_TABS_WIDTH, _TABS_HEIGHT)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(14, 8, 14, 8)
        layout.addWidget(top)
        layout.addWidget(self.given_row.message)
        layout.addWidget(across, 1)

    def _form_column(self) -> QScrollArea:
        inner = QWidget()
        down = QVBoxLayout(inner)
        down.setContentsMargins(0, 0, 6, 0)
        down.setSpacing(4)
        for form in self.forms:
            down.addWidget(form)
        down.addStretch(1)
        self.scroller = QScrollArea(self)
        self.scroller.setWidget(inner)
        self.scroller.setWidgetResizable(True)
        self.scroller.setFrameShape(QFrame.Shape.NoFrame)
        self.scroller.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        return self.scroller

    def _picture_column(self) -> QWidget:
        column = QWidget(self)
        column.setMinimumWidth(_PICTURE_WIDTH)
        down = QVBoxLayout(column)
        down.setContentsMargins(0, 0, 0, 0)
        down.setSpacing(8)
        down.addWidget(self.drawing, 1)
        down.addWidget(self.sliders)
        return column

    def _follow(self, _design: object = None) -> None:
        coil = self._session.document.value("coil")
        by_geometry = coil.given_by == "geometry"
        with QSignalBlocker(self.given):
            self.given.setCurrentIndex(0 if by_geometry else 1)
        for form in self.geometry_forms:
            form.setVisible(by_geometry)
        self.sliders.setVisible(by_geometry)
        if not by_geometry:
            self.drawing.show_nothing(_MEASURED)
            return
        try:
            self.drawing.show_section(*drawn(coil.geometry))
        except InputError:
            if self.drawing.section is None:
                self.drawing.show_nothing("This geometry cannot be built; see the marked field.")

    def _take_given(self, _index: int) -> None:
        document = self._session.document
        latest = self.work.latest
        try:
            if self.given.currentData() == "measured":
                coil = None if latest is None else latest.coil
                document.edit_many(as_measured(document, coil), text="Coil given by")
            else:
                document.edit("coil.given_by", "geometry", text="Coil given by")
            self.given_row.refuse("")
        except InputError as error:
            self.given_row.refuse(f"{title_of(error.field)} must be {limit_of(error)}")
            self._follow()

    def _show(self, state: CoilState) -> None:
        for form in self.forms:
            for row in form.rows.values():
                if row.refusal:
                    row.refuse("")
        coil = state.coil
        figures = f"f0 {shown(coil.resonance, 'Hz')}   k {shown(coil.coupling, '', digits=3)}"
        coarse = state.rings != FULL_RINGS
        held = f"{state.rings} rings while dragging, {FULL_RINGS} when released"
        self.drawing.show_caption(Caption(figures, held if coarse else ""))
        if not coarse:
            self._show_figures()
        elif not self._figures.isActive():
            self._figures.start()

    def _show_figures(self) -> None:
        self._figures.stop()
        if self.work.latest is not None:
            self.measured.show_coil(self.work.latest.coil)
            self._show_tab()

    def _show_tab(self, _index: int = 0) -> None:
        state = self.work.latest
        if state is None:
            return
        panel = self.tabs.currentWidget()
        if panel is self.profiles:
            self.profiles.show_coil(state.coil)
        elif isinstance(panel, (ResultsPanel, SweepView, SolvePanel, CurvePanel)):
            panel.show_state(state)

    def _refuse(self, error: InputError) -> None:
        found = None
        for form in self.forms:
            for path, row in form.rows.items():
                if path != error.field:
                    row.refuse("")
                    continue
                found = row
                field = row.widget
                unit = field.shown_unit if isinstance(field, QuantityField) else ""
                row.refuse(f"{form.caption(path)} must be {limit_of(error, written_unit=unit)}")
        if found is not None:
            self.scroller.ensureWidgetVisible(found)
        self._warn("Last good coil; see the marked field." if found else "Last good coil.")

    def _tell_failure(self, words: str) -> None:
        self._warn(f"Last good coil. {words}.")

    def _warn(self, remark: str) -> None:
        figures = self.drawing.caption.figures
        self.drawing.show_caption(Caption(figures, remark, warning=True))
