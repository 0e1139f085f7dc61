"""Page with the circuit's drawing and the values of its parts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import (
    QComboBox,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.drawing.circuit_view import CircuitView
from burstwise.app.drawing.knob_handle import KnobHandle
from burstwise.app.screens.interrupter.chosen import Chosen
from burstwise.app.screens.interrupter.roles import (
    CIRCUIT_WORDS,
    KIND_WORDS,
    ROLES,
    TIMER_WORDS,
)
from burstwise.app.section_form import SectionForm
from burstwise.app.theme import Theme
from burstwise.app.widgets.drag import edit_by_drag
from burstwise.app.widgets.figure_table import Figure, FigureTable, Group
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.assembly.circuit import drawn_interrupter
from burstwise.core.assembly.symbol_style import SymbolStyle
from burstwise.core.design.interrupter import DriveChain, Interrupter, TimerParts
from burstwise.core.findings import Severity
from burstwise.core.interrupter.chain_report import ChainSizes, chain_sizes
from burstwise.core.interrupter.circuits import circuit_named
from burstwise.core.interrupter.dissipation import hottest_heats
from burstwise.core.units import percent, shown

_PARTS: Final = "interrupter.parts"
KNOB_PLACE: Final = "knob place"
"""Stands in the drawing where the knob's travel is written."""
_SIDE_WIDTH: Final = 460
_READABLE: Final = 560
"""Width from which the drawing's words can be read; below it the drawing has a row alone [px]."""
_LEAST_VIEW: Final = (300, 320)
WORDS: Final[Mapping[str, Mapping[str, str]]] = MappingProxyType(
    {
        f"{_PARTS}.circuit": CIRCUIT_WORDS,
        f"{_PARTS}.timer": TIMER_WORDS,
        f"{_PARTS}.diode": {"silicon": "silicon", "schottky": "Schottky"},
        f"{_PARTS}.timing_capacitor_kind": KIND_WORDS,
        f"{_PARTS}.pulse_capacitor_kind": KIND_WORDS,
    }
)
_ALWAYS: Final = ("circuit", "timer", "supply", "supply_tolerance")
_TOLERANCES: Final = ("resistor_tolerance",)
_PER_ROLE: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "timing_capacitor": ("timing_capacitor_kind", "timing_capacitor_tolerance"),
        "pulse_capacitor": ("pulse_capacitor_kind", "pulse_capacitor_tolerance"),
        "potentiometer": (
            "potentiometer_tolerance", "potentiometer_end", "potentiometer_middle",
        ),
    }
)  # fmt: skip


def part_fields() -> tuple[str, ...]:
    """Fields of the parts in the order of the form."""
    names = [*_ALWAYS, "diode"]
    for role in ROLES:
        names += [role, *_PER_ROLE.get(role, ())]
    return (*names, *_TOLERANCES)


@dataclass(frozen=True, slots=True)
class _Content:
    """What the drawing shows; it is made anew only when this changes."""

    parts: TimerParts
    chain: DriveChain
    references: Mapping[str, str]
    sizes: ChainSizes
    style: SymbolStyle


def place_words(part: Interrupter) -> str:
    """What the drawing has to do with the design, empty where it is the design's own circuit.

    Examples
    --------
    >>> place_words(Interrupter(given_by="parts"))
    ''
    """
    if not part.enabled:
        return "No interrupter is fitted: the stage runs without these parts."
    if part.given_by == "numbers":
        return (
            "The design takes typed numbers: these parts come to the Build screen, under these "
            "references, when it is given by timer parts."
        )
    return ""


class CircuitPage(QWidget):
    """Drawing on the left, values and heat on the right; made and kept up only while seen."""

    def __init__(self, chosen: Chosen, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._chosen, self._theme = chosen, theme
        self._content: _Content | None = None
        self.handle: KnobHandle | None = None
        self.view = CircuitView(theme, self)
        self.view.setAccessibleName("Circuit")
        self.status = TextLabel(self, wraps=True, role="muted")
        self.form: SectionForm | None = None
        self.heat = FigureTable(theme, self)
        side = QWidget()
        self._side = QVBoxLayout(side)
        self._side.setContentsMargins(0, 0, 6, 0)
        self._side.addWidget(self.heat)
        self._side.addStretch(1)
        scroll = QScrollArea(self)
        scroll.setWidgetResizable(True)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setWidget(side)
        self.view.setMinimumSize(*_LEAST_VIEW)
        drawing = QWidget(self)
        left = QVBoxLayout(drawing)
        left.setContentsMargins(0, 0, 0, 0)
        left.addWidget(self.view, 1)
        left.addWidget(self.status)
        both = Reflow(parent=self)
        both.add(drawing, row_width=_READABLE)
        both.add(scroll, 0, width=_SIDE_WIDTH)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.addWidget(both)
        chosen.session.document.changed.connect(self.refresh)
        chosen.turned.connect(self._write_wiper)
        theme.symbols_changed.connect(self.refresh)

    def showEvent(self, event: QShowEvent) -> None:
        """Make the form, and draw what changed while the page was hidden."""
        super().showEvent(event)
        if self.form is None:
            self.form = self._made_form()
            self._side.insertWidget(0, self.form)
            self.form.show()
        self.refresh()

    def refresh(self, _design: object = None) -> None:
        """Draw the circuit and show the fields that it has a place for."""
        if not self.isVisible():
            return
        design = self._chosen.session.document.design
        self.status.setText(place_words(design.interrupter))
        self.status.setVisible(bool(self.status.text()))
        content = _Content(
            self._chosen.parts.model_copy(update={"travel": 0.0}),
            design.interrupter.chain,
            self._chosen.references,
            chain_sizes(design),
            self._theme.symbols,
        )
        if content == self._content:
            return
        self._content = content
        one, references = self._chosen.set, content.references
        self.view.show_sheets(drawn_interrupter(design, place=KNOB_PLACE, style=content.style))
        self._put_handle()
        self._write_wiper(self._chosen.parts.travel)
        self.view.setAccessibleDescription(
            ", ".join(f"{references[part.role]} {part.value:g} {part.unit}" for part in one.parts)
        )
        self._show_rows()
        self.heat.show_groups(
            [
                Group(
                    "Largest mean heat over the knob's travel",
                    tuple(
                        Figure(
                            f"{references[heat.role]}, of {shown(heat.rating, 'W')}",
                            shown(heat.power, "W", digits=3),
                            Severity.CAUTION if heat.power > 0.5 * heat.rating else None,
                        )
                        for heat in hottest_heats(one)
                    ),
                )
            ]
        )

    def _put_handle(self) -> None:
        """Handle over the knob of the drawing just made; the one before went with its drawing."""
        handle = KnobHandle(self._theme, self)
        edit_by_drag(
            self._chosen.session.document,
            handle.drag,
            lambda travel: {f"{_PARTS}.travel": travel},
            text="Knob",
        )
        self.handle = handle if self.view.put_over("potentiometer", handle, around=4) else None
        if self.handle is None:
            handle.deleteLater()

    def _made_form(self) -> SectionForm:
        names = part_fields()
        form = SectionForm(
            self._chosen.session.document,
            "Parts",
            [f"{_PARTS}.{name}" for name in names],
            words=WORDS,
        )
        for row in form.rows.values():
            if isinstance(row, QComboBox):
                row.setSizeAdjustPolicy(
                    QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
                )
                row.setMinimumContentsLength(14)
        return form

    def _show_rows(self) -> None:
        assert self.form is not None
        circuit = circuit_named(self._chosen.parts.circuit)
        wanted = {*_ALWAYS, *_TOLERANCES, *circuit.roles}
        for role in circuit.roles:
            wanted |= set(_PER_ROLE.get(role, ()))
        if circuit.steered:
            wanted.add("diode")
        self.form.show_only([f"{_PARTS}.{name}" for name in wanted])

    def _write_wiper(self, travel: float) -> None:
        if not self.isVisible():
            return
        if self.handle is not None:
            self.handle.show_travel(travel)
        self.view.write(KNOB_PLACE, f"at {percent(travel)}")
