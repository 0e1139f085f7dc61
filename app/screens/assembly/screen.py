"""Build screen: follows the results, saves what leaves the desk."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from burstwise.app.drawing.circuit_view import CircuitView
from burstwise.app.print_sheet import ask_and_print
from burstwise.app.saving import ask_and_save
from burstwise.app.screens.assembly.numbers_page import NumbersPage
from burstwise.app.screens.assembly.parts_table import PartsTable
from burstwise.app.screens.assembly.powerup_page import PowerupPage
from burstwise.app.screens.assembly.saving import (
    CIRCUIT,
    NETLIST,
    PARTS,
    RESULTS,
    SHEET,
    save_circuit,
    save_netlist,
    save_parts,
    save_results,
    save_sheet,
)
from burstwise.app.session import Evaluated, Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.in_view import ShownInView
from burstwise.app.widgets.page_tabs import PageTabs
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.app.worker import BusyPolicy, Outcome, Task, Worker
from burstwise.core.assembly.circuit import circuit
from burstwise.core.assembly.cost import cost_of_parts
from burstwise.core.assembly.drawn import CircuitSheet
from burstwise.core.assembly.fast_loop import fast_loop
from burstwise.core.assembly.parts import PartsList, parts_list
from burstwise.core.assembly.powerup import PowerupPlan
from burstwise.core.assembly.powerup_stages import powerup_plan
from burstwise.core.assembly.symbol_style import SymbolStyle
from burstwise.core.design.differences import compared
from burstwise.core.evaluate.results import Results
from burstwise.core.report.sheet_content import build_sheet

TEMPLATES_TIP = (
    "Saved and printed sheets get pages at 1:1: the spiral of a flat or conical primary with its "
    "tap and the former's hole, and strips with the ends of the windings. Print at 100 % and "
    "measure the rulers on them before use."
)
NOTHING_YET = "The design is being evaluated; circuit and parts follow."
PLAN_COMES = "The first power-up is being worked out; the sheet follows."
STOPPED = "■ This design carries a stop finding: do not build it as it stands."
_WITH_PLAN = ("sheet", "paper")
"""Buttons of the sheet: it holds the first power-up, which is not made while the window waits."""


@dataclass(frozen=True, slots=True)
class _Made:
    """What was derived from one evaluation; the plan follows behind the rest."""

    results: Results
    fields: Mapping[str, Any]
    style: SymbolStyle
    parts: PartsList
    sheets: tuple[CircuitSheet, ...]
    plan: PowerupPlan | None


class BuildScreen(QWidget):
    """Tabs for circuit, parts, first power-up and explained numbers; buttons to save.

    Parameters
    ----------
    session : Session
        Document and results.
    theme : Theme
        Look.
    """

    def __init__(self, session: Session, theme: Theme) -> None:
        super().__init__()
        self._session, self._theme = session, theme
        self._made: _Made | None = None
        self.worker = Worker(self, when_busy=BusyPolicy.CANCEL, name="build")
        self.circuit = CircuitView(theme, self)
        self.parts = PartsTable(self)
        self.cost = TextLabel(self, wraps=True)
        self.cost.hide()
        self.powerup = PowerupPage(session.document, self)
        self.numbers = NumbersPage(session, self)
        self.tabs = PageTabs(self)
        self.circuit_page, self.parts_page = QWidget(self), QWidget(self)
        for page, title in (
            (self.circuit_page, "Circuit"), (self.parts_page, "Parts"),
            (self.powerup, "First power-up"), (self.numbers, "Numbers explained"),
        ):  # fmt: skip
            self.tabs.addTab(page, title)
        self.status = TextLabel(NOTHING_YET, self, wraps=True, role="muted")
        self.templates = QCheckBox("Add te&mplates 1:1", self)
        set_tip(self.templates, TEMPLATES_TIP)
        self.buttons: dict[str, QPushButton] = {}
        self._lay_out()
        self._in_view: ShownInView[Evaluated] = ShownInView(self, self._follow)
        session.evaluated.connect(self._in_view.put)
        session.drawer.changed.connect(self._tell_cost)
        theme.symbols_changed.connect(self._draw_anew)
        self.worker.finished.connect(self._take)
        if session.latest is not None:
            self._in_view.put(session.latest)

    @property
    def ready(self) -> bool:
        """Whether everything belongs to the latest results."""
        latest = self._session.latest
        return (
            self._made is not None
            and self._made.plan is not None
            and latest is not None
            and self._made.results is latest.results
        )

    def _lay_out(self) -> None:
        heading = TextLabel("Build", self, role="heading")
        of_sheet = QWidget(self)
        buttons = QHBoxLayout(of_sheet)
        buttons.setContentsMargins(0, 0, 0, 0)
        row = Reflow(parent=self)
        row.add(heading)
        row.add(of_sheet, 0)
        self._add_buttons(
            buttons,
            of_sheet,
            sheet="Save b&uild sheet…",
            paper="Prin&t…",
            parts="Save &parts list…",
            results="Save &results…",
        )
        layout = QVBoxLayout(self)
        layout.setContentsMargins(20, 12, 20, 12)
        layout.addWidget(row)
        below = QHBoxLayout()
        below.addWidget(self.status, 1)
        below.addWidget(self.templates, 0, Qt.AlignmentFlag.AlignRight)
        layout.addLayout(below)
        layout.addWidget(self.tabs, 1)
        of_circuit = QHBoxLayout()
        of_circuit.addStretch(1)
        self._add_buttons(
            of_circuit, self.circuit_page, circuit="Save c&ircuit…", netlist="Save &netlist…"
        )
        page = QVBoxLayout(self.circuit_page)
        page.setContentsMargins(0, 6, 0, 0)
        page.addLayout(of_circuit)
        page.addWidget(self.circuit, 1)
        listed = QVBoxLayout(self.parts_page)
        listed.setContentsMargins(0, 6, 0, 0)
        listed.addWidget(self.cost)
        listed.addWidget(self.parts, 1)

    def _add_buttons(self, row: QHBoxLayout, parent: QWidget, **texts: str) -> None:
        for name, text in texts.items():
            button = QPushButton(text, parent)
            button.setEnabled(False)
            button.clicked.connect(partial(self._save, name))
            self.buttons[name] = button
            row.addWidget(button)

    def _follow(self, evaluated: Evaluated) -> None:
        results, made = evaluated.results, self._made
        fields = {**compared(evaluated.design), "calibration": evaluated.design.calibration}
        known = made if made is not None and made.fields == fields else None
        style = self._theme.symbols

        def work(task: Task) -> _Made:
            if known is not None and known.style is style:
                return replace(known, results=results)
            parts = known.parts if known is not None else parts_list(results)
            task.check()
            sheets = (
                *circuit(results, parts, style=style), fast_loop(results, parts, style=style),
            )  # fmt: skip
            task.check()
            plan = known.plan if known is not None else None
            return _Made(results, fields, style, parts, sheets, plan)

        for name in _WITH_PLAN:
            self.buttons[name].setEnabled(known is not None and known.plan is not None)
        self.worker.submit(work)

    def _draw_anew(self) -> None:
        """Follow a change of the symbols."""
        if self._session.latest is not None:
            self._in_view.put(self._session.latest)

    def _tell_cost(self) -> None:
        """What the parts cost, as far as the drawer knows prices."""
        listed = () if self._made is None else self._made.parts.parts
        text = cost_of_parts(listed, self._session.drawer.parts).text
        self.cost.setText(text)
        self.cost.setVisible(bool(text))

    def _make_plan(self, made: _Made) -> None:
        """Plan of the first power-up, which runs the engine with faults, behind the rest."""

        def work(task: Task) -> _Made:
            return replace(made, plan=powerup_plan(made.results, made.parts, check=task.check))

        self.worker.submit(work)

    def _take(self, outcome: Outcome) -> None:
        if outcome.error is not None:
            self.status.setText(f"■ Not made. {outcome.complaint()}")
            self.status.show()
            return
        before, made = self._made, outcome.value
        self._made = made
        planned = made.plan is not None
        self.status.setText(STOPPED if made.results.stopped else "" if planned else PLAN_COMES)
        self.status.setVisible(bool(self.status.text()))
        set_style_property(self.status, "severity", "stop" if made.results.stopped else "note")
        if before is None or before.sheets is not made.sheets:
            self.circuit.show_sheets(made.sheets)
            self.parts.show_parts(made.parts.parts)
            self._tell_cost()
        if made.plan is None:
            self._make_plan(made)
        elif before is None or before.plan is not made.plan:
            self.powerup.show_plan(made.plan)
        self.numbers.show_results(made.results)
        for name, button in self.buttons.items():
            button.setEnabled(planned or name not in _WITH_PLAN)

    def _save(self, name: str) -> None:
        made = self._made
        if made is None:
            return
        if name == "paper":
            wanted = self.templates.isChecked()
            sheet = build_sheet(
                made.results,
                made.plan,
                with_templates=wanted,
                style=self._theme.symbols,
                drawer=self._session.drawer.parts,
            )
            ask_and_print(self, sheet)
            return
        stem = "".join(c if c.isalnum() else "-" for c in made.results.design.name).strip("-")
        title, kinds, ending, save = {
            "sheet": ("Save build sheet", SHEET, ".pdf",
                      partial(save_sheet, made.results, made.plan, self.templates.isChecked(),
                              self._theme.symbols, self._session.drawer.parts)),
            "circuit": ("Save circuit", CIRCUIT, ".svg", partial(save_circuit, made.sheets)),
            "netlist": ("Save netlist", NETLIST, ".cir", partial(save_netlist, made.results)),
            "parts": ("Save parts list", PARTS, ".csv", partial(save_parts, made.results)),
            "results": ("Save results", RESULTS, ".json", partial(save_results, made.results)),
        }[name]  # fmt: skip
        ask_and_save(self, title, kinds, f"{stem}{ending}", save)
