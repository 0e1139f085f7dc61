"""The interrupter's screen with real clicks, keys and mouse moves on the window's own document."""

from __future__ import annotations

import math

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QColor
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from burstwise.app.screens.interrupter.circuit_page import KNOB_PLACE
from burstwise.app.screens.interrupter.knob import Knob, knob_angle
from burstwise.app.screens.interrupter.screen import InterrupterScreen
from burstwise.app.session import Evaluated
from burstwise.app.wiring import summary_of
from burstwise.core.design.document import with_value
from burstwise.core.evaluate import evaluate
from burstwise.core.interrupter.resolve import resolved_interrupter, timer_set
from burstwise.core.units import shown


@pytest.fixture
def screen(qtbot, theme, session):
    made = InterrupterScreen(session, theme)
    qtbot.addWidget(made)
    made.resize(1114, 640)
    with qtbot.waitExposed(made):
        made.show()
    qtbot.waitUntil(lambda: made.size_page.table.sets_model.rowCount() > 0, timeout=20000)
    yield made
    made.size_page.worker.close()
    made.tolerance_page.worker.close()


def on_rim(knob: Knob, travel: float, radius: float = 45.0) -> QPoint:
    middle = knob._middle()
    angle = math.radians(knob_angle(travel))
    return QPointF(
        middle.x() + radius * math.cos(angle), middle.y() - radius * math.sin(angle)
    ).toPoint()


def turn(knob: Knob, start: float, end: float, steps: int = 12) -> None:
    QTest.mousePress(knob, Qt.MouseButton.LeftButton, pos=on_rim(knob, start))
    for step in range(1, steps + 1):
        QTest.mouseMove(knob, on_rim(knob, start + (end - start) * step / steps))
    QTest.mouseRelease(knob, Qt.MouseButton.LeftButton, pos=on_rim(knob, end))


def to_knob(screen: InterrupterScreen) -> Knob:
    screen.tabs.setCurrentWidget(screen.knob_page)
    screen.knob_page.knob.setFocus()
    QApplication.processEvents()
    return screen.knob_page.knob


def test_sets_fulfil_the_wish_and_return_takes_one_as_one_step(screen, session):
    table = screen.size_page.table
    assert table.sets_model.rowCount() >= 5
    before = session.document.design
    table.setFocus()
    QTest.keyClick(table, Qt.Key.Key_Down)
    wanted = table.sets_model.sets[1]
    QTest.keyClick(table, Qt.Key.Key_Return)
    design = session.document.design
    assert design.interrupter.given_by == "parts"
    assert timer_set(design.interrupter.parts).frequency.nominal == pytest.approx(
        wanted.frequency.nominal
    )
    assert session.document.undo_stack.count() == 1
    session.document.undo()
    assert session.document.design == before


def test_the_button_takes_the_selected_set_and_the_head_tells_it(screen, session):
    QTest.mouseClick(screen.size_page.button, Qt.MouseButton.LeftButton)
    found = resolved_interrupter(session.document.design)
    assert found.chosen is not None
    assert f"{found.frequency:.1f} Hz" in screen.now.text()
    assert not screen.frequency.isVisible()


def test_a_wish_that_is_typed_is_searched(qtbot, screen):
    page = screen.size_page
    entry = page.form.frequency.entry
    entry.selectAll()
    QTest.keyClicks(entry, "15 Hz")
    QTest.keyClick(entry, Qt.Key.Key_Return)
    qtbot.waitUntil(
        lambda: abs(page.table.sets_model.sets[0].frequency.nominal - 15) < 1, timeout=20000
    )
    assert "Hz" in page.table.sets_model.data(page.table.sets_model.index(0, 2))


def test_an_impossible_wish_says_why_and_shows_the_nearest(qtbot, screen):
    page = screen.size_page
    entry = page.form.supply.entry
    entry.selectAll()
    QTest.keyClicks(entry, "24")
    QTest.keyClick(entry, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: "No set reaches" in page.status.text(), timeout=20000)
    assert page.table.sets_model.rowCount() == 1
    assert page.status.text().startswith("■")


def test_a_bad_list_of_potentiometers_is_told(qtbot, screen):
    page = screen.size_page
    page.form.drawer.selectAll()
    QTest.keyClicks(page.form.drawer, "10k, blue")
    QTest.keyClick(page.form.drawer, Qt.Key.Key_Return)
    assert "potentiometers must be" in page.status.text()
    assert page.form.drawer.text() == "10k, blue"
    page.form.drawer.selectAll()
    QTest.keyClicks(page.form.drawer, "22k 10k")
    QTest.keyClick(page.form.drawer, Qt.Key.Key_Return)
    assert "must be" not in page.status.text()
    assert page.form.drawer.text() == "10k 22k"


def test_a_drag_of_the_knob_moves_duty_and_is_one_step(qtbot, screen, session):
    knob = to_knob(screen)
    before = session.document.value("interrupter.parts.travel")
    turn(knob, 0.5, 0.8)
    travel = session.document.value("interrupter.parts.travel")
    assert travel == pytest.approx(before + 0.3, abs=0.01)
    page = screen.knob_page
    one = timer_set(session.document.value("interrupter.parts"))
    assert page.duty.value == pytest.approx(
        one.duty_middle + (one.duty_high.nominal - one.duty_middle) * (travel - 0.5) / 0.5, abs=2e-3
    )
    assert session.document.undo_stack.count() == 1
    session.document.undo()
    assert session.document.value("interrupter.parts.travel") == before
    assert knob.travel == before


def test_a_press_alone_moves_nothing_and_the_stops_hold(screen, session):
    knob = to_knob(screen)
    QTest.mouseClick(knob, Qt.MouseButton.LeftButton, pos=on_rim(knob, 0.9))
    assert session.document.undo_stack.count() == 0
    turn(knob, 0.5, 1.15, steps=20)
    assert knob.travel == 1.0


def test_keys_and_wheel_turn_the_knob(screen, session, turn_wheel):
    knob = to_knob(screen)
    for key, travel in (
        (Qt.Key.Key_Up, 0.51), (Qt.Key.Key_Left, 0.5), (Qt.Key.Key_PageDown, 0.4),
        (Qt.Key.Key_End, 1.0), (Qt.Key.Key_Home, 0.0),
    ):  # fmt: skip
        QTest.keyClick(knob, key)
        assert session.document.value("interrupter.parts.travel") == pytest.approx(travel)
    turn_wheel(knob, 2)
    assert knob.travel == pytest.approx(0.02)


def test_a_typed_duty_moves_the_knob_there(screen, session):
    to_knob(screen)
    entry = screen.knob_page.duty.entry
    entry.selectAll()
    QTest.keyClicks(entry, "25 %")
    QTest.keyClick(entry, Qt.Key.Key_Return)
    session.document.edit("interrupter.given_by", "parts")
    assert resolved_interrupter(session.document.design).duty == pytest.approx(0.25, abs=1e-6)


def test_scope_reading_follows_when_the_knob_rests(qtbot, screen):
    knob = to_knob(screen)
    figures = screen.knob_page.figures
    qtbot.waitUntil(lambda: len(figures.groups) == 2, timeout=5000)
    assert figures.value("Capacitor, upper").startswith("8 V")
    QTest.keyClick(knob, Qt.Key.Key_Home)
    qtbot.waitUntil(lambda: "1.3" in figures.value("On-time"), timeout=5000)


def test_power_current_and_temperature_stand_beside_the_knob_where_it_acts(screen, session):
    to_knob(screen)
    figures, document = screen.knob_page.figures, session.document
    results = evaluate(with_value(document.design, "interrupter.given_by", "parts"))

    def tell(signal) -> list[str]:
        signal.emit(Evaluated(results.design, results, summary_of(results)))
        return [group.title for group in figures.groups]

    assert "The stage at this duty" not in tell(session.glimpsed)
    document.edit("interrupter.given_by", "parts")
    for signal in (session.glimpsed, session.evaluated):
        assert "The stage at this duty" in tell(signal)
    for name, value, unit in (
        ("Average power", results.average_power, "W"),
        ("Peak drain current", float(results.load.drain_current_peak), "A"),
        ("Peak supply current", results.operation.bus.source_peak, "A"),
        ("Junction, peak", results.junction_peak, "°C"),
    ):
        assert figures.value(name) == shown(value, unit, digits=3)
    assert results.average_power > 0.1
    document.edit("interrupter.enabled", False)
    assert "The stage at this duty" not in tell(session.evaluated)


def test_a_set_that_does_not_oscillate_empties_the_knob_page(screen, session):
    session.document.edit_many(
        {
            "interrupter.given_by": "parts",
            "interrupter.parts.circuit": "astable-steered-output",
            "interrupter.parts.timer": "bipolar",
            "interrupter.parts.supply": 5.0,
        }
    )
    to_knob(screen)
    assert "does not run" in screen.knob_page.status.text()
    assert screen.knob_page.figures.groups == ()
    assert "do not oscillate" in screen.now.text()
    screen.tabs.setCurrentWidget(screen.tolerance_page)
    assert "nothing to study" in screen.tolerance_page.status.text()
    session.document.undo()
    to_knob(screen)
    assert screen.knob_page.figures.groups


def drawing_of(page) -> str:
    return "".join(page.view.drawing())


def values_of(page) -> set[tuple[str, str]]:
    return {(part.reference, part.text) for sheet in page.view.sheets for part in sheet.drawn}


def test_circuit_page_shows_the_fields_of_the_circuit_and_draws_its_values(screen, session):
    screen.tabs.setCurrentWidget(screen.circuit_page)
    page = screen.circuit_page
    rows = page.form.rows
    assert not rows["interrupter.parts.pulse_resistor"].isVisible()
    session.document.edit("interrupter.parts.circuit", "two-timer")
    assert rows["interrupter.parts.pulse_resistor"].isVisible()
    assert not rows["interrupter.parts.diode"].isVisible()
    session.document.edit("interrupter.parts.pulse_resistor", "68k")
    reference = screen.chosen.references["pulse_resistor"]
    assert (reference, "68 kΩ") in values_of(page)
    assert [view.accessibleName() for view in page.view.views] == [
        f"Circuit drawing: {sheet.title}" for sheet in page.view.sheets
    ]
    session.document.edit("interrupter.parts.travel", 0.25)
    assert "at 25 %" in drawing_of(page)
    assert KNOB_PLACE not in drawing_of(page)


def test_the_drawing_follows_the_chain_and_the_rest_of_the_design(screen, session):
    screen.tabs.setCurrentWidget(screen.chain_page)
    box = screen.chain_page.buffer.check
    QTest.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(8, box.height() // 2))
    entry = screen.chain_page.buffer.form.rows["interrupter.chain.buffer.collector_resistor"].entry
    entry.selectAll()
    QTest.keyClicks(entry, "2k2")
    QTest.keyClick(entry, Qt.Key.Key_Return)
    screen.tabs.setCurrentWidget(screen.circuit_page)
    page = screen.circuit_page
    before = screen.chosen.references["buffer_collector"]
    assert (before, "2.2 kΩ") in values_of(page)
    session.document.edit("protection.snubber", {})
    after = screen.chosen.references["buffer_collector"]
    assert after != before
    assert (after, "2.2 kΩ") in values_of(page)
    session.document.edit("drive.kind", "direct")
    assert "PULL DOWN" in drawing_of(page)
    session.document.undo_stack.setIndex(0)
    assert "2.2 kΩ" not in drawing_of(page)


def test_the_page_says_when_the_drawing_is_not_the_designs_own(screen, session):
    screen.tabs.setCurrentWidget(screen.circuit_page)
    told = screen.circuit_page.status
    assert "typed numbers" in told.text()
    session.document.edit("interrupter.given_by", "parts")
    assert not told.isVisible()
    session.document.edit("interrupter.enabled", False)
    assert "No interrupter is fitted" in told.text()


def test_the_knob_turns_in_the_drawing(screen, session, turn_wheel):
    screen.tabs.setCurrentWidget(screen.circuit_page)
    page = screen.circuit_page
    handle, travel = page.handle, "interrupter.parts.travel"
    middle, before = handle.rect().center(), session.document.value(travel)
    QTest.mousePress(handle, Qt.MouseButton.LeftButton, pos=middle)
    for step in range(1, 5):
        QTest.mouseMove(handle, middle + QPoint(10 * step, 0))
        assert session.document.value(travel) == pytest.approx(before + 0.05 * step)
    QTest.mouseRelease(handle, Qt.MouseButton.LeftButton, pos=middle + QPoint(40, 0))
    assert session.document.undo_stack.count() == 1
    assert page.handle is handle
    assert f"at {100 * before + 20:.0f} %" in drawing_of(page).replace("\N{NO-BREAK SPACE}", " ")
    QTest.mousePress(handle, Qt.MouseButton.LeftButton, pos=middle)
    QTest.mouseMove(handle, middle - QPoint(60, 0))
    QTest.keyClick(handle, Qt.Key.Key_Escape)
    QTest.mouseRelease(handle, Qt.MouseButton.LeftButton, pos=middle)
    assert session.document.value(travel) == pytest.approx(before + 0.2)
    turn_wheel(handle, 2)
    QTest.keyClick(handle, Qt.Key.Key_Left)
    assert session.document.value(travel) == pytest.approx(before + 0.21)
    session.document.undo()
    assert session.document.value(travel) == pytest.approx(before + 0.2)
    session.document.undo()
    assert session.document.value(travel) == before


def pixels(image):
    return [[image.pixel(x, y) for x in range(image.width())] for y in range(image.height())]


def test_the_handle_stands_over_the_potentiometer_at_every_size(screen, session):
    screen.tabs.setCurrentWidget(screen.circuit_page)
    page = screen.circuit_page
    for width in (1114, 1500):
        screen.resize(width, 700)
        QApplication.processEvents()
        image = page.handle.parentWidget().grab(page.handle.geometry().adjusted(2, 2, -2, -2))
        dark = [
            [QColor(pixel).lightness() < 128 for pixel in row] for row in pixels(image.toImage())
        ]
        # The body is a box: long lines near the upper and the lower edge of what is covered.
        lines = [number for number, row in enumerate(dark) if sum(row) > 0.7 * len(row)]
        assert lines[0] < 6
        assert lines[-1] > len(dark) - 7
        assert page.handle.width() < 0.2 * page.view.width()
    session.document.edit("interrupter.parts.potentiometer", 0.0)
    assert page.handle is None


def test_the_drawing_follows_the_look(screen, theme):
    screen.tabs.setCurrentWidget(screen.circuit_page)
    light = drawing_of(screen.circuit_page)
    theme.set_dark(True)
    dark = drawing_of(screen.circuit_page)
    assert theme.tokens.text in dark
    assert theme.tokens.text not in light


def test_tolerance_is_studied_when_seen(qtbot, screen):
    page = screen.tolerance_page
    assert page.bars.shares == ()
    screen.tabs.setCurrentWidget(page)
    qtbot.waitUntil(lambda: len(page.bars.shares) > 3, timeout=20000)
    assert "10,000 random builds" in page.status.text()
    assert "matters most" in page.advice.text()
    assert len(page.plots[0].curve(0)[0]) > 50


def shown_rows(form) -> set[str]:
    return {path.rpartition(".")[2] for path, row in form.rows.items() if row.isVisible()}


def test_the_chain_shows_only_what_has_a_say(screen, session):
    document, page = session.document, screen.chain_page
    screen.tabs.setCurrentWidget(page)
    document.edit("drive.kind", "gated")
    assert shown_rows(page.chain) == {"gating", "active_level", "decoupling", "loop_inductance"}
    gating = page.chain.rows["interrupter.chain.gating"]
    gating.setFocus()
    QTest.keyClick(gating, Qt.Key.Key_Down)
    assert document.value("interrupter.chain.gating") == "supply"
    assert shown_rows(page.chain) == {"gating", "decoupling", "loop_inductance"}
    document.edit("drive.kind", "direct")
    assert not page.chain.isVisible()

    document.edit("supply.low_voltage", {})
    form = page.low_supply.form
    assert "dropout" in shown_rows(form)
    assert "current_limit" not in shown_rows(form)
    kind = form.rows["supply.low_voltage.kind"]
    kind.setFocus()
    QTest.keyClick(kind, Qt.Key.Key_End)
    assert document.value("supply.low_voltage.kind") == "separate"
    assert shown_rows(form) == {"kind", "output", "tolerance", "current_limit"}


def test_a_part_of_the_chain_is_fitted_by_its_box(screen, session):
    screen.tabs.setCurrentWidget(screen.chain_page)
    box = screen.chain_page.buffer.check
    QTest.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(8, box.height() // 2))
    assert session.document.value("interrupter.chain.buffer.overdrive") == 4.0
    assert screen.chain_page.buffer.form.isVisible()
    session.document.undo()
    assert not box.isChecked()
    assert not screen.chain_page.buffer.form.isVisible()
    assert "first evaluation" in screen.chain_page.status.text()
