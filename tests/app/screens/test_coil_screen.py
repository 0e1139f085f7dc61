"""Coil screen by real typing, clicks and drags: errors on their fields, last good result kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QComboBox, QLabel, QPushButton

from burstwise.app.drawing.coil_drawing import Caption
from burstwise.app.screens.coil.rows import FieldRow
from burstwise.app.screens.coil.screen import CoilScreen
from burstwise.app.screens.coil.work import FULL_RINGS
from burstwise.app.session import Session
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.core.coil.resolve import geometry_constants
from burstwise.core.coil.wire import awg_diameter
from burstwise.core.design.document import Design, design_from

SECONDARY = "coil.geometry.secondary"
PRIMARY = "coil.geometry.primary"
TOP = "coil.geometry.top_load"


def design() -> Design:
    return design_from({"coil": {"given_by": "geometry"}})


@pytest.fixture
def screen(qtbot, theme, toy_job) -> Iterator[CoilScreen]:
    session = Session(replace(toy_job, new=design))
    made = CoilScreen(session, theme)
    qtbot.addWidget(made)
    made.resize(1100, 680)
    with qtbot.waitActive(made):
        made.show()
    settle(made, qtbot)
    yield made
    session.close()


def settle(screen: CoilScreen, qtbot) -> None:
    """Wait until the coil of the design as it stands is computed or refused."""

    def done() -> bool:
        latest = screen.work.latest
        design = screen._session.document.design
        good = latest is not None and latest.design.coil == design.coil
        return screen.work.error is not None or (good and latest.rings == FULL_RINGS)

    qtbot.waitUntil(done, timeout=10_000)


def type_into(screen: CoilScreen, qtbot, path: str, text: str) -> FieldRow:
    row = screen.row(path)
    assert isinstance(row.widget, QuantityField)
    screen.scroller.ensureWidgetVisible(row)
    entry = row.widget.entry
    entry.setFocus()
    entry.selectAll()
    qtbot.keyClicks(entry, text)
    qtbot.keyClick(entry, Qt.Key.Key_Return)
    return row


def choose(box: QComboBox, qtbot, words: str) -> None:
    """Pick an entry by its keys, as a person does."""
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_Home)
    for _ in range(box.findText(words)):
        qtbot.keyClick(box, Qt.Key.Key_Down)
    assert box.currentText() == words


def value(screen: CoilScreen, path: str):
    return screen._session.document.value(path)


def test_an_edit_reaches_drawing_and_results(screen, qtbot) -> None:
    before = screen.results.value("Resonance f0")
    type_into(screen, qtbot, f"{SECONDARY}.turns", "1100")
    assert screen.drawing.section.length == pytest.approx(1100 * 0.226e-3, rel=0.01)
    settle(screen, qtbot)
    assert screen.results.value("Resonance f0") != before
    assert screen.drawing.caption.figures.startswith(f"f0 {screen.results.value('Resonance f0')}")


@pytest.mark.parametrize(
    ("path", "text", "words"),
    [
        (f"{PRIMARY}.inner_radius", "20 mm", "clear of the secondary winding"),
        (f"{PRIMARY}.pitch", "1 mm", "at least the conductor's own size"),
        (f"{PRIMARY}.conductor.diameter", "80 mm", None),
        (f"{PRIMARY}.start_height", "-0.2 m", "above the earth plane"),
        (f"{TOP}.centre_height", "-10 mm", "clear of the winding"),
        (f"{SECONDARY}.wire_diameter", "4 mm", "between"),
    ],
)
def test_what_only_the_computation_finds_marks_the_field_it_names(
    screen, qtbot, path, text, words
) -> None:
    good = screen.results.lines
    picture = screen.drawing.section
    type_into(screen, qtbot, path, text)
    qtbot.waitUntil(lambda: screen.work.error is not None, timeout=10_000)
    row = screen.row(screen.work.error.field)
    if words is not None:
        assert screen.work.error.field == path
        assert words in row.refusal
    assert row.message.isVisible()
    assert row.message.text().startswith("■")
    assert row.widget.entry.property("bad") == "true"
    assert row.refusal in row.widget.entry.accessibleDescription()
    assert screen.results.lines == good
    assert screen.drawing.section == picture
    assert screen.drawing.caption.warning
    screen._session.document.undo()
    settle(screen, qtbot)
    qtbot.waitUntil(lambda: not row.refusal, timeout=10_000)
    assert not row.message.isVisible()
    assert row.widget.entry.property("bad") == "false"
    assert not screen.drawing.caption.warning


def test_an_error_that_nobody_foresaw_is_told_and_marks_no_field(
    screen, qtbot, monkeypatch, caplog
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("no length")

    qtbot.waitUntil(lambda: screen.work.latest is not None)
    monkeypatch.setattr("burstwise.app.screens.coil.work.coil_of", broken)
    document = screen._session.document
    for coarse, turns in ((True, 700.0), (False, 710.0)):
        screen.drawing.show_caption(Caption(""))
        screen.work.set_coarse(coarse)
        document.edit("coil.geometry.secondary.turns", turns)
        qtbot.waitUntil(lambda: "no length" in screen.drawing.caption.remark)
        assert "log file" in screen.drawing.caption.remark
        assert screen.work.error is None
        assert {record.getMessage() for record in caplog.records} == {"coil failed"}
        caplog.clear()


def test_a_height_typed_as_75_over_50_mm_is_75_mm(screen, qtbot) -> None:
    row = screen.row("coil.geometry.base_height")
    assert row.widget.entry.text() == "50 mm"
    type_into(screen, qtbot, "coil.geometry.base_height", "75")
    assert value(screen, "coil.geometry.base_height") == 0.075
    assert row.widget.entry.text() == "75 mm"
    type_into(screen, qtbot, "coil.geometry.base_height", "2")
    assert value(screen, "coil.geometry.base_height") == 0.075
    assert "between 5 mm and 5 m" in row.error
    screen._session.document.undo()
    assert row.widget.value == 0.05


@pytest.mark.parametrize(
    ("typed", "words"), [("20 mm", "more than 26.13 mm, clear"), ("2 cm", "more than 2.613 cm")]
)
def test_a_refused_geometry_speaks_in_the_fields_own_unit(screen, qtbot, typed, words) -> None:
    """By hand: former 25 mm, enamelled wire 0.226 mm, half the conductor 0.9 mm: 26.13 mm."""
    row = type_into(screen, qtbot, f"{PRIMARY}.inner_radius", typed)
    qtbot.waitUntil(lambda: bool(row.refusal), timeout=10_000)
    assert row.refusal.startswith("Radius at the start must be")
    assert words in row.refusal


@pytest.mark.parametrize("text", ["nan", "-5 mm", "1e30 m", "inf", "four", "12 kg", "0"])
@pytest.mark.parametrize(
    "path", [f"{SECONDARY}.former_diameter", f"{PRIMARY}.pitch", f"{SECONDARY}.wire_diameter"]
)
def test_what_no_field_takes_leaves_design_and_results_as_they_were(
    screen, qtbot, path, text
) -> None:
    good, kept = screen.results.lines, value(screen, path)
    row = type_into(screen, qtbot, path, text)
    assert "must be" in row.error
    assert row.widget.entry.property("bad") == "true"
    assert value(screen, path) == kept
    assert screen.results.lines == good
    qtbot.keyClick(row.widget.entry, Qt.Key.Key_Escape)


def test_gauge_sets_the_diameter_and_follows_it(screen, qtbot) -> None:
    type_into(screen, qtbot, f"{SECONDARY}.gauge", "30")
    assert value(screen, f"{SECONDARY}.wire_diameter") == pytest.approx(awg_diameter(30), rel=1e-3)
    type_into(screen, qtbot, f"{SECONDARY}.wire_diameter", "0.3212 mm")
    assert screen.row(f"{SECONDARY}.gauge").widget.value == pytest.approx(28.0, abs=0.02)
    row = type_into(screen, qtbot, f"{SECONDARY}.gauge", "80")
    assert "between 11 and 44" in row.error


def test_turns_or_winding_length_and_back(screen, qtbot) -> None:
    given = screen.row(f"{SECONDARY}.given").widget
    f0 = screen.work.latest.coil.resonance
    choose(given, qtbot, "Winding length")
    assert value(screen, f"{SECONDARY}.turns") is None
    settle(screen, qtbot)
    assert screen.work.latest.coil.resonance == pytest.approx(f0, rel=1e-4)
    turns = screen.row(f"{SECONDARY}.turns").widget
    assert not turns.isEnabled()
    assert turns.value == pytest.approx(800, rel=1e-4)
    type_into(screen, qtbot, f"{SECONDARY}.winding_length", "100 mm")
    assert turns.value == pytest.approx(0.1 / (0.2e-3 + 26e-6), rel=0.02)
    choose(given, qtbot, "Turns")
    assert value(screen, f"{SECONDARY}.winding_length") is None
    assert screen._session.document.undo_stack.undoText() == "Winding given by"


def test_a_winding_that_cannot_be_keeps_what_it_is_given_by(screen, qtbot) -> None:
    edits = {f"{SECONDARY}.turns": 13_000.0, f"{SECONDARY}.spacing": 0.01}
    screen._session.document.edit_many(edits)
    given = screen.row(f"{SECONDARY}.given").widget
    qtbot.keyClick(given, Qt.Key.Key_Down)
    assert given.currentText() == "Turns"
    assert value(screen, f"{SECONDARY}.turns") == 13_000.0
    row = screen.row(f"{SECONDARY}.given")
    assert "a winding of 20 m" in row.message.text()


def test_rows_follow_shape_conductor_and_top_load(screen, qtbot) -> None:
    def shown(path: str) -> bool:
        return screen.row(path).isVisibleTo(screen)

    assert not shown(f"{PRIMARY}.cone_angle")
    choose(screen.row(f"{PRIMARY}.shape").widget, qtbot, "Conical")
    assert shown(f"{PRIMARY}.cone_angle")
    choose(screen.row(f"{PRIMARY}.conductor.kind").widget, qtbot, "Tube")
    assert shown(f"{PRIMARY}.conductor.wall")
    choose(screen.row(f"{TOP}.kind").widget, qtbot, "None")
    assert not shown(f"{TOP}.diameter")
    settle(screen, qtbot)
    assert screen.drawing.section.top == ()


def test_a_tap_is_fitted_and_taken_off(screen, qtbot) -> None:
    box = next(form for form in screen.forms if hasattr(form, "tapped")).tapped
    screen.scroller.ensureWidgetVisible(box)
    qtbot.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(8, box.height() // 2))
    assert value(screen, f"{PRIMARY}.tap") == 5.0
    used = [turn.used for turn in screen.drawing.section.turns]
    assert used == [True] * 10 + [False] * 2
    type_into(screen, qtbot, f"{PRIMARY}.tap", "9")
    qtbot.waitUntil(lambda: screen.work.error is not None, timeout=10_000)
    assert screen.row(f"{PRIMARY}.tap").refusal.startswith("Tap must be")
    qtbot.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(8, box.height() // 2))
    assert value(screen, f"{PRIMARY}.tap") is None


def test_a_measured_value_overrides_with_its_difference_and_can_be_switched_off(
    screen, qtbot
) -> None:
    switch = screen.measured.switches["coupling"]
    screen.scroller.ensureWidgetVisible(switch)
    assert not switch.isChecked()
    computed = screen.work.latest.coil.coupling
    qtbot.mouseClick(switch, Qt.MouseButton.LeftButton, pos=QPoint(8, switch.height() // 2))
    type_into(screen, qtbot, "coil.measured.coupling", "0.2")
    settle(screen, qtbot)
    assert screen.results.value("Coupling k") == "0.2"
    note = screen.measured.notes["coupling"]
    assert f"−{100 * (1 - 0.2 / computed):.1f} %" in note.text()
    qtbot.mouseClick(switch, Qt.MouseButton.LeftButton, pos=QPoint(8, switch.height() // 2))
    settle(screen, qtbot)
    assert value(screen, "coil.measured.coupling") == 0.2
    assert value(screen, "coil.not_used") == ("coupling",)
    assert screen.work.latest.coil.coupling == computed
    assert "not used" in note.text()


def test_a_calibration_in_use_is_shown_as_fitted(screen, qtbot) -> None:
    document = screen._session.document
    computed = screen.work.latest.coil.coupling
    document.edit("calibration", {"coupling": 0.4989, "misfit": 14.0})
    qtbot.waitUntil(lambda: screen.results.value("Coupling k") == "0.4989", timeout=10_000)
    (line,) = [line for line in screen.results.lines if line.words == "Coupling k"]
    assert line.remark == "fitted"
    assert line.tip.startswith("+")
    assert "0.4989 by calibration" in screen.measured.notes["coupling"].text()
    codes = {finding.code for finding in screen.work.latest.coil.findings}
    assert {"calibration-in-use", "calibration-doubtful"} <= codes
    switch = screen.measured.switches["coupling"]
    switch.click()
    assert value(screen, "coil.measured.coupling") == pytest.approx(computed, rel=1e-3)


def test_resonance_or_capacitance_is_in_use_not_both(screen, qtbot) -> None:
    switches = screen.measured.switches
    switches["secondary_capacitance"].click()
    settle(screen, qtbot)
    switches["resonance"].click()
    type_into(screen, qtbot, "coil.measured.resonance", "850 kHz")
    settle(screen, qtbot)
    assert value(screen, "coil.not_used") == ("secondary_capacitance",)
    assert screen.work.latest.coil.resonance == pytest.approx(850e3)
    assert not switches["secondary_capacitance"].isChecked()
    choose(screen.given, qtbot, "Measured values")
    settle(screen, qtbot)
    assert screen.work.latest.coil.resonance == pytest.approx(850e3, rel=1e-3)
    assert switches["resonance"].isChecked()
    assert not switches["secondary_capacitance"].isChecked()
    switches["resonance"].click()
    settle(screen, qtbot)
    assert switches["secondary_capacitance"].isChecked()
    assert not switches["resonance"].isChecked()


def test_measured_values_instead_of_geometry_and_back(screen, qtbot) -> None:
    f0 = screen.work.latest.coil.resonance
    choose(screen.given, qtbot, "Measured values")
    settle(screen, qtbot)
    assert value(screen, "coil.given_by") == "measured"
    assert screen.drawing.section is None
    assert not screen.geometry_forms[0].isVisible()
    assert screen.work.latest.coil.resonance == pytest.approx(f0, rel=1e-3)
    choose(screen.given, qtbot, "Geometry")
    settle(screen, qtbot)
    assert screen.drawing.section is not None
    assert screen.work.latest.coil.resonance == f0
    screen._session.document.undo()
    screen._session.document.undo()
    assert value(screen, "coil") == design().coil


def test_a_drag_is_one_undo_step_and_ends_with_all_rings(screen, qtbot) -> None:
    slider = screen.sliders.turns.slider
    start = QPoint(slider.handle_centre(), slider.height() // 2)
    seen = []
    screen.work.resolved.connect(lambda state: seen.append(state.rings))
    qtbot.mousePress(slider, Qt.MouseButton.LeftButton, pos=start)
    for step in range(1, 9):
        qtbot.mouseMove(slider, start + QPoint(6 * step, 0))
        qtbot.wait(20)
    qtbot.waitUntil(lambda: "rings while dragging" in screen.drawing.caption.remark, timeout=5_000)
    qtbot.mouseRelease(slider, Qt.MouseButton.LeftButton, pos=start + QPoint(48, 0))
    settle(screen, qtbot)
    qtbot.waitUntil(lambda: screen.drawing.caption.remark == "", timeout=5_000)
    assert min(seen) < FULL_RINGS
    assert value(screen, f"{SECONDARY}.turns") > 800
    screen._session.document.undo()
    assert value(screen, f"{SECONDARY}.turns") == 800


def test_profiles_run_from_earth_to_the_top(screen, qtbot) -> None:
    bar = screen.tabs.tabBar()
    qtbot.mouseClick(bar, Qt.MouseButton.LeftButton, pos=bar.tabRect(1).center())
    heights, volts = screen.profiles.voltage.curve(0)
    assert volts[0] == 0.0
    assert volts[-1] == pytest.approx(1e3)
    assert heights[-1] == pytest.approx(screen.drawing.section.length)
    _, amperes = screen.profiles.current.curve(0)
    found = geometry_constants(design().coil.geometry, 25.0)
    assert amperes[0] == pytest.approx(1e3 * found.base_current_per_top_volt)


def test_a_broken_geometry_at_the_start_says_so(qtbot, theme, toy_job) -> None:
    broken = design_from(
        {"coil": {"given_by": "geometry", "geometry": {"primary": {"inner_radius": 0.01}}}}
    )
    session = Session(replace(toy_job, new=lambda: broken))
    made = CoilScreen(session, theme)
    qtbot.addWidget(made)
    qtbot.waitUntil(lambda: made.work.error is not None, timeout=10_000)
    assert made.drawing.section is None
    assert "cannot be built" in made.drawing.accessibleDescription()
    assert made.row(f"{PRIMARY}.inner_radius").refusal
    session.close()


@pytest.mark.parametrize("tab", range(5))
@pytest.mark.parametrize("dark", [False, True])
def test_no_words_are_cut_off_at_the_smallest_size(screen, qtbot, theme, tab, dark) -> None:
    theme.set_dark(dark)
    screen.resize(1366 - 252, 768 - 104)
    screen.tabs.setCurrentIndex(tab)
    qtbot.wait(1)
    assert screen.width() == 1366 - 252
    for label in screen.findChildren(QLabel):
        if label.isVisible() and label.text().strip() and not label.wordWrap():
            words = label.text().replace("&", "")
            needed = label.fontMetrics().horizontalAdvance(words)
            assert needed <= label.width() + 1, label.text()
    for button in screen.findChildren(QPushButton):
        if button.isVisible():
            assert button.sizeHint().width() <= button.width() + 1, button.text()
    table = screen.results.table
    if tab == 0:
        for row in range(table.rowCount()):
            for column in range(table.columnCount()):
                text = table.item(row, column).text()
                needed = table.fontMetrics().horizontalAdvance(text) + 6
                assert needed <= table.columnWidth(column), text
