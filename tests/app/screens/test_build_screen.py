"""Build screen: drawing, parts and plan of the design in hand; readings judged and passed on."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QFileDialog, QLabel

from burstwise.app.explain_panel import ExplanationDialog
from burstwise.app.screens.assembly.screen import BuildScreen
from burstwise.app.session import Session
from burstwise.app.widgets.words import plain
from burstwise.app.wiring import design_job
from burstwise.core.assembly.circuit import circuit
from burstwise.core.assembly.parts import parts_list
from burstwise.core.assembly.symbol_style import SymbolStyle
from burstwise.core.bench.faults import Fault
from burstwise.core.drawer import Drawer, parts_from
from burstwise.core.evaluate.result_rows import RESULT_ROWS
from burstwise.core.explain.explain import explain
from burstwise.core.report.netlist import stage_netlist
from burstwise.core.units import shown

PATIENCE = 60_000


@pytest.fixture
def session(full_session: Session) -> Session:
    full_session.refresh()
    return full_session


@pytest.fixture
def screen(show_when_ready, session: Session, theme) -> Iterator[BuildScreen]:
    made = BuildScreen(session, theme)
    show_when_ready(made)
    yield made
    made.worker.close()


def test_before_the_first_results_nothing_can_be_saved(qtbot, theme, qapp) -> None:
    session = Session(design_job())
    made = BuildScreen(session, theme)
    qtbot.addWidget(made)
    assert not any(button.isEnabled() for button in made.buttons.values())
    assert "being evaluated" in made.status.text()
    made.worker.close()
    session.close()


def test_drawing_and_parts_are_those_of_the_design(screen: BuildScreen, session: Session) -> None:
    results = session.latest.results
    parts = parts_list(results)
    assert len(screen.circuit.views) == len(circuit(results, parts)) + 1
    assert screen.circuit.sheets[-1].name == "fast-loop"
    assert screen.parts.rowCount() == len(parts.parts)
    for row, part in enumerate(parts.parts):
        assert screen.parts.item(row, 0).text() == part.reference
        assert screen.parts.item(row, 2).text() == (part.value_text or "–")


def test_parts_follow_an_edit(qtbot, screen: BuildScreen, session: Session) -> None:
    session.document.edit("drive.gated.gate_resistor", 10.0)
    qtbot.waitUntil(
        lambda: screen.ready and session.latest.design is session.document.design, timeout=PATIENCE
    )
    values = {
        screen.parts.item(row, 1).text(): screen.parts.item(row, 2).text()
        for row in range(screen.parts.rowCount())
    }
    assert values["Gate resistor"] == "10 Ω"


def test_the_sheet_waits_for_the_first_power_up_of_the_design_in_hand(
    qtbot, screen: BuildScreen, session: Session
) -> None:
    """It would be made while the window waits, or be that of the design before."""

    def allowed() -> tuple[bool, ...]:
        return tuple(screen.buttons[name].isEnabled() for name in ("sheet", "paper"))

    seen: list[tuple[str, tuple[bool, ...], str]] = []

    def note(what: str) -> None:
        seen.append((what, allowed(), screen.status.text()))

    assert allowed() == (True, True)
    session.evaluated.connect(lambda _: note("evaluated"))
    screen.worker.finished.connect(lambda _: note("ready" if screen.ready else "no plan"))
    session.document.edit("drive.gated.gate_resistor", 10.0)
    qtbot.waitUntil(lambda: bool(seen) and seen[-1][0] == "ready", timeout=PATIENCE)
    assert "no plan" in [what for what, *_ in seen]
    for what, yes, text in seen:
        assert yes == ((True, True) if what == "ready" else (False, False)), what
        assert ("being worked out" in text) is (what == "no plan") or what == "evaluated"
    assert screen.buttons["parts"].isEnabled()


def test_out_of_view_nothing_is_made_until_it_is_shown_again(
    qtbot, screen: BuildScreen, session: Session
) -> None:
    screen.hide()
    with qtbot.waitSignal(session.evaluated, timeout=PATIENCE):
        session.document.edit("drive.gated.gate_resistor", 10.0)
    assert not screen.worker.busy
    assert not screen.ready
    screen.show()
    qtbot.waitUntil(lambda: screen.ready, timeout=PATIENCE)
    assert "10 Ω" in [screen.parts.item(row, 2).text() for row in range(screen.parts.rowCount())]


def test_a_typed_reading_is_judged_and_goes_to_the_bench_table(
    qtbot, screen: BuildScreen, session: Session
) -> None:
    screen.tabs.setCurrentWidget(screen.powerup)
    page = screen.powerup
    page.stages.setFocus()
    for _ in range(page.stages.count() - 1):
        qtbot.keyClick(page.stages, Qt.Key.Key_Down)
    assert page.stages.currentItem().text().startswith("○ 8. Coil at 36 V")
    field = page.fields["drain_peak"]
    qtbot.mouseClick(field, Qt.MouseButton.LeftButton)
    qtbot.keyClicks(field, "172 V")
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert plain(page.verdicts["drain_peak"].text()).startswith("● 172 V is within")
    rows = session.document.value("readings.rows")
    assert [(row.supply, row.duty, row.drain_peak) for row in rows] == [("36 V", "30 %", "172 V")]
    shunt = page.fields["shunt_peak"]
    qtbot.keyClicks(shunt, "9 V")
    qtbot.keyClick(shunt, Qt.Key.Key_Return)
    assert plain(page.verdicts["shunt_peak"].text()).startswith("■ 9 V is above")
    assert "More current than planned" in page.verdicts["shunt_peak"].text()
    assert page.stages.currentItem().text().startswith("■ 8.")
    rows = session.document.value("readings.rows")
    assert [(row.drain_peak, row.shunt_peak) for row in rows] == [("172 V", "9 V")]
    session.document.undo()
    assert session.document.value("readings.rows")[0].shunt_peak == ""


def test_a_bare_reading_has_the_unit_that_is_expected(qtbot, screen: BuildScreen) -> None:
    page = screen.powerup
    page.stages.setCurrentRow(page.stages.count() - 1)
    field = page.fields["shunt_peak"]
    wanted = next(
        item
        for item in page._plan.stages[page.stages.currentRow()].expectations
        if item.name == "shunt_peak"
    )
    assert wanted.expected < 1.0
    qtbot.keyClicks(field, f"{1e3 * wanted.expected:.0f}")
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert field.placeholderText() == "mV"
    assert field.text().endswith(" mV")
    assert page.verdicts["shunt_peak"].text().startswith("●")


def test_nonsense_is_marked_and_kept_out(qtbot, screen: BuildScreen, session: Session) -> None:
    page = screen.powerup
    page.stages.setCurrentRow(page.stages.count() - 1)
    qtbot.keyClicks(page.fields["drain_peak"], "lots")
    qtbot.keyClick(page.fields["drain_peak"], Qt.Key.Key_Return)
    assert page.verdicts["drain_peak"].text().startswith("■ must be a quantity in V")
    assert session.document.value("readings.rows") == ()


def test_readings_survive_a_new_evaluation(qtbot, screen: BuildScreen, session: Session) -> None:
    page = screen.powerup
    for name, read in (
        ("bus_resistance", "1k0"), ("gate_to_source", "10k"), ("feedback_path", "70R6"),
    ):  # fmt: skip
        qtbot.keyClicks(page.fields[name], read)
        qtbot.keyClick(page.fields[name], Qt.Key.Key_Return)
    assert page.stages.item(0).text().startswith("●")
    session.document.edit("cooling.ambient", 30.0)
    qtbot.waitUntil(
        lambda: screen.ready and session.latest.design is session.document.design, timeout=PATIENCE
    )
    assert page.fields["bus_resistance"].text() == "1k0"
    assert page.stages.item(0).text().startswith("●")


def test_fault_that_fits_is_named_beside_the_readings(qtbot, screen: BuildScreen) -> None:
    page = screen.powerup
    stage = next(item for item in page._plan.stages if item.name == "coil-low")
    page.stages.setCurrentRow(page._plan.stages.index(stage))
    assert not page.fits.text()
    told = next(one for one in stage.faults if one.fault is Fault.REVERSED_WINDING)
    for name in ("carrier_frequency", "drain_peak"):
        wanted = next(item for item in stage.expectations if item.name == name)
        qtbot.keyClicks(page.fields[name], wanted.text(told.values[name]))
        qtbot.keyClick(page.fields[name], Qt.Key.Key_Return)
    assert "Fits best: reversed winding" in plain(page.fits.text())
    assert page.fits.isVisibleTo(page)
    page.stages.setCurrentRow(0)
    assert not page.fits.isVisibleTo(page)


def test_discharge_is_answered_in_a_word(qtbot, screen: BuildScreen) -> None:
    page = screen.powerup
    page.stages.setCurrentRow(page.stages.count() - 1)
    field = page.fields["discharge"]
    assert field.placeholderText() == "none/seen"
    for word, mark in (("some", "■ must be none or seen"), ("Seen", "● seen"), ("none", "■ none")):
        field.clear()
        qtbot.keyClicks(field, word)
        qtbot.keyClick(field, Qt.Key.Key_Return)
        assert plain(page.verdicts["discharge"].text()).startswith(mark)


def test_every_reading_says_where_the_leads_go(screen: BuildScreen) -> None:
    page = screen.powerup
    for row, stage in enumerate(page._plan.stages):
        page.stages.setCurrentRow(row)
        words = [plain(label.text()) for label in page.area.widget().findChildren(QLabel)]
        for wanted in stage.expectations:
            assert wanted.hookup.text in words


def test_every_number_in_the_list_is_explained_by_keyboard(
    qtbot, screen: BuildScreen, session: Session
) -> None:
    screen.tabs.setCurrentWidget(screen.numbers)
    page = screen.numbers
    page.choose(RESULT_ROWS[0].path)
    page.list.setFocus()
    seen = set()
    for _ in range(len(RESULT_ROWS) + 40):
        path = page.current_path()
        if path is not None:
            seen.add(path)
            found = explain(session.latest.results, path)
            assert found.result_text in page.panel.title.text()
            assert found.source in page.panel.origin.text()
        qtbot.keyClick(page.list, Qt.Key.Key_Down)
    assert {row.path for row in RESULT_ROWS} <= seen
    assert sum(path.startswith("limits.") for path in seen) == len(session.latest.results.limits)


def test_f1_opens_the_explanation_of_the_number_in_hand(
    qtbot, screen: BuildScreen, session: Session
) -> None:
    screen.tabs.setCurrentWidget(screen.numbers)
    screen.numbers.choose("thermal.junction_peak_C")
    screen.numbers.list.setFocus()
    qtbot.keyClick(screen.numbers.list, Qt.Key.Key_F1)
    dialog = screen.window().findChild(ExplanationDialog)
    assert dialog is not None
    peak = shown(session.latest.results.junction_peak, "°C")
    assert peak in dialog.panel.title.text()
    qtbot.keyClick(dialog, Qt.Key.Key_Escape)


def test_the_drawing_follows_the_standard_of_the_symbols(qtbot, screen: BuildScreen, theme) -> None:
    boxes = [sheet.svg for sheet in screen.circuit.sheets]
    theme.set_symbols(SymbolStyle.ANSI)
    qtbot.waitUntil(
        lambda: [sheet.svg for sheet in screen.circuit.sheets] != boxes, timeout=PATIENCE
    )
    assert len(screen.circuit.sheets) == len(boxes)
    theme.set_symbols(SymbolStyle.IEC)
    qtbot.waitUntil(
        lambda: [sheet.svg for sheet in screen.circuit.sheets] == boxes, timeout=PATIENCE
    )


def test_templates_come_with_the_sheet_when_they_are_ticked(
    screen: BuildScreen, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    for ticked in (False, True):
        file = tmp_path / f"{ticked}.html"
        monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_, f=file: (str(f), ""))
        screen.templates.setChecked(ticked)
        screen.buttons["sheet"].click()
        text = file.read_text(encoding="utf-8")
        assert ("Templates at 1:1" in text) is ticked
        assert ('viewBox="0 0 184 228"' in text) is ticked


def test_everything_is_saved_by_its_button(
    qtbot, screen: BuildScreen, session: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, file in (
        ("sheet", "a.pdf"), ("sheet", "a.html"), ("circuit", "c.svg"), ("circuit", "c.png"),
        ("netlist", "n.cir"), ("parts", "p.csv"), ("results", "r.json"), ("results", "r.csv"),
    ):  # fmt: skip
        target = tmp_path / file

        def chosen(*_: object, path: Path = target, **__: object) -> tuple[str, str]:
            return str(path), f"kind (*{path.suffix})"

        monkeypatch.setattr(QFileDialog, "getSaveFileName", chosen)
        qtbot.mouseClick(screen.buttons[name], Qt.MouseButton.LeftButton)
        assert target.stat().st_size > 500, file
    assert (tmp_path / "a.pdf").read_bytes().startswith(b"%PDF-")
    assert (tmp_path / "n.cir").read_text(encoding="ascii") == stage_netlist(session.latest.results)
    whole = json.loads((tmp_path / "r.json").read_text(encoding="utf-8"))
    assert whole["results"]["burst"]["average_power_W"] == session.latest.results.average_power
    with (tmp_path / "p.csv").open(encoding="utf-8") as stream:
        assert len(list(csv.reader(stream))) == 1 + screen.parts.rowCount()


def test_a_design_that_must_not_be_built_says_so(
    qtbot, screen: BuildScreen, session: Session
) -> None:
    session.document.edit("supply.bulk_voltage_rating", 20.0)
    qtbot.waitUntil(
        lambda: screen.ready and session.latest.design is session.document.design, timeout=PATIENCE
    )
    assert "do not build it" in screen.status.text()
    assert screen.status.isVisible()


def test_no_word_of_the_buttons_is_cut_off_in_the_narrowest_window(
    qtbot, screen: BuildScreen, session: Session
) -> None:
    screen.resize(960 - 252, 500)  # the window's least width but for the list of screens
    QApplication.processEvents()
    for button in screen.buttons.values():
        assert button.width() >= button.sizeHint().width(), button.text()


def test_no_word_of_the_power_up_is_cut_off(qtbot, screen: BuildScreen) -> None:
    screen.tabs.setCurrentWidget(screen.powerup)
    for row in range(screen.powerup.stages.count()):
        screen.powerup.stages.setCurrentRow(row)
        QApplication.processEvents()
        for label in screen.powerup.area.widget().findChildren(QLabel):
            if label.text() and not label.wordWrap():
                assert label.width() >= label.sizeHint().width(), label.text()


def test_prices_of_the_drawer_stand_above_the_list(screen: BuildScreen) -> None:
    drawer = screen._session.drawer
    assert screen.cost.isHidden()
    part = next(part for part in screen._made.parts.parts if part.role == "switch")
    drawer.keep(drawer.parts.with_parts(parts_from("device", "", part.kind, "3.25")))
    assert not screen.cost.isHidden()
    assert f"{part.reference} 3.25" in screen.cost.text()
    drawer.keep(Drawer())
    assert screen.cost.isHidden()
