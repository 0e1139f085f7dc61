from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QFileDialog, QMenu

from burstwise.app.launch import _start_work
from burstwise.app.places import RecentFiles
from burstwise.app.screens.registry import SCREENS, Screen
from burstwise.app.session import Session
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.widgets.slider_field import SliderField
from burstwise.app.widgets.words import plain
from burstwise.app.window import MainWindow
from burstwise.app.worker import Progress
from burstwise.core.design.document import with_values
from burstwise.core.storage import load


def menu_texts(window: MainWindow, title: str) -> list[str]:
    menu = next(action.menu() for action in window.menuBar().actions() if action.text() == title)
    assert isinstance(menu, QMenu)
    return [action.text() for action in menu.actions() if action.text()]


def set_voltage(window: MainWindow, qtbot, text: str) -> QuantityField:
    """Type a supply voltage into its real field."""
    window.show_field("supply.voltage")
    page = window.screen_widget(window.current_screen)
    field = next(
        found
        for found in page.findChildren(QuantityField)
        if found.entry.accessibleName() == "Supply voltage"
    )
    field.setFocus()
    field.entry.selectAll()
    qtbot.keyClicks(field.entry, text)
    qtbot.keyClick(field.entry, Qt.Key.Key_Return)
    return field


def test_screens_are_made_when_first_shown(window: MainWindow, qtbot) -> None:
    assert window.stack.count() == 1
    window.screen_list.setFocus()
    qtbot.keyClick(window.screen_list, Qt.Key.Key_Down)
    assert window.current_screen == 1
    assert window.stack.count() == 2
    assert window.screen_widget(1).isVisible()


def test_a_click_in_the_list_shows_that_screen(window: MainWindow, qtbot) -> None:
    row = window.screen_list.visualItemRect(window.screen_list.item(2))
    qtbot.mouseClick(window.screen_list.viewport(), Qt.MouseButton.LeftButton, pos=row.center())
    assert window.screen_widget(2).isVisible()


def test_a_strip_that_grows_takes_its_room_from_the_list(window: MainWindow, qtbot) -> None:
    window.resize(960, 640)
    qtbot.wait(1)
    strip, rows = window.strip.height(), window.screen_list.height()
    window.strip.setFixedHeight(strip + 200)
    qtbot.waitUntil(lambda: window.strip.height() == strip + 200)
    assert window.height() == 640
    qtbot.waitUntil(lambda: window.screen_list.height() < rows)


def test_keys_for_screens_findings_and_look(window: MainWindow, qtbot) -> None:
    qtbot.keyClick(window, Qt.Key.Key_3, Qt.KeyboardModifier.ControlModifier)
    assert window.current_screen == 2
    qtbot.keyClick(window, Qt.Key.Key_PageDown, Qt.KeyboardModifier.ControlModifier)
    qtbot.keyClick(window, Qt.Key.Key_PageDown, Qt.KeyboardModifier.ControlModifier)
    assert window.current_screen == (4 % len(SCREENS))
    qtbot.keyClick(window, Qt.Key.Key_F6)
    assert window.findings.items.hasFocus()
    modifiers = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    qtbot.keyClick(window, Qt.Key.Key_D, modifiers)
    assert window.theme.dark
    qtbot.keyClick(window, Qt.Key.Key_D, modifiers)
    assert not window.theme.dark


def test_an_edit_reaches_strip_and_findings(window: MainWindow, qtbot) -> None:
    with qtbot.waitSignal(window.session.evaluated):
        set_voltage(window, qtbot, "100")
    assert "30.0 W" in window.strip.now.figure.toolTip()
    assert window.strip.margin.figure.text().startswith("■ stop: junction")
    assert window.findings.heading.text() == "Findings (2)"
    assert plain(window.findings.items.item(0).text()) == "■ stop: More than 20 W is too much."
    with qtbot.waitSignal(window.session.evaluated):
        set_voltage(window, qtbot, "24 V")
    assert window.strip.margin.figure.text().startswith("● ok: junction")
    assert window.findings.heading.text() == "Findings (1)"


def test_a_finding_leads_to_its_screen(window: MainWindow, qtbot) -> None:
    with qtbot.waitSignal(window.session.evaluated):
        set_voltage(window, qtbot, "100")
    window.show_screen(0)
    row = window.findings.items.visualItemRect(window.findings.items.item(0))
    qtbot.mouseClick(window.findings.items.viewport(), Qt.MouseButton.LeftButton, pos=row.center())
    assert SCREENS[window.current_screen].title == "Interrupter"


def test_a_failed_evaluation_is_a_finding_and_keeps_the_strip(
    window: MainWindow, qtbot, caplog
) -> None:
    with qtbot.waitSignal(window.session.evaluated):
        set_voltage(window, qtbot, "24")
    margin = window.strip.margin.figure.toolTip()
    with qtbot.waitSignal(window.session.failed):
        set_voltage(window, qtbot, "13")
    assert "cannot be evaluated" in window.strip.now.figure.toolTip()
    assert window.strip.now.figure.property("severity") == "stop"
    assert window.strip.margin.figure.toolTip() == "Last good design: " + margin.lstrip("● ")
    assert window.strip.margin.figure.property("severity") == "note"
    assert "evaluation failed" in window.findings.items.item(0).text()
    caplog.clear()


def test_undo_and_redo_by_keys_name_the_step(window: MainWindow, qtbot) -> None:
    field = set_voltage(window, qtbot, "48")
    assert menu_texts(window, "&Edit")[0] == "&Undo Supply voltage"
    window.screen_list.setFocus()
    qtbot.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert field.value == 36.0
    assert window.windowTitle() == "New design[*] — Burstwise"
    assert not window.isWindowModified()
    qtbot.keyClick(
        window,
        Qt.Key.Key_Z,
        Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier,
    )
    assert field.value == 48.0
    assert window.isWindowModified()


def test_save_open_recent_and_example(window: MainWindow, qtbot, monkeypatch, tmp_path) -> None:
    file = tmp_path / "mine"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *rest: (str(file), ""))
    set_voltage(window, qtbot, "48")
    window.screen_list.setFocus()
    qtbot.keyClick(window, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    saved = tmp_path / "mine.burstwise"
    assert json.loads(saved.read_text())["supply"]["voltage"] == 48.0
    assert not window.isWindowModified()
    assert window.windowTitle().startswith("mine.burstwise")
    example = window.session.job.examples()["Example"]
    assert window.files.open_example(example)
    assert window.session.document.value("supply.voltage") == 24.0
    assert window.session.document.file is None
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *rest: (str(saved), ""))
    qtbot.keyClick(window, Qt.Key.Key_O, Qt.KeyboardModifier.ControlModifier)
    assert window.session.document.value("supply.voltage") == 48.0
    assert RecentFiles(window.places.open_settings()).files == (saved.resolve(),)


def test_saving_within_a_lesson_leaves_the_users_file_alone(
    window: MainWindow, qtbot, monkeypatch, tmp_path
) -> None:
    """Ctrl+S in a lesson asks where to; the design, its file, steps and mark come back."""
    own = tmp_path / "own.burstwise"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *rest: (str(own), ""))
    document = window.session.document
    set_voltage(window, qtbot, "48")
    window.screen_list.setFocus()
    qtbot.keyClick(window, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    kept = own.read_bytes()
    set_voltage(window, qtbot, "44")
    assert window.isWindowModified()
    document.receive("Lesson: ring-up", with_values(document.design, {"supply.voltage": 20.0}))
    assert window.windowTitle().startswith("Lesson: ring-up")
    asked: list[str] = []

    def elsewhere(*rest: object) -> tuple[str, str]:
        asked.append("where")
        return str(tmp_path / "lesson.burstwise"), ""

    monkeypatch.setattr(QFileDialog, "getSaveFileName", elsewhere)
    window.screen_list.setFocus()
    qtbot.keyClick(window, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    assert asked == ["where"]
    assert own.read_bytes() == kept
    assert json.loads((tmp_path / "lesson.burstwise").read_text())["supply"]["voltage"] == 20.0
    document.send_off()
    assert (document.file, document.value("supply.voltage")) == (own, 44.0)
    assert window.isWindowModified()
    assert window.windowTitle().startswith("own.burstwise")
    document.undo()
    assert document.value("supply.voltage") == 48.0
    assert not window.isWindowModified()


def test_closing_within_a_lesson_asks_about_the_users_design(
    window: MainWindow, qtbot, monkeypatch, tmp_path, boxes
) -> None:
    own = tmp_path / "own.burstwise"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *rest: (str(own), ""))
    document = window.session.document
    set_voltage(window, qtbot, "48")
    document.receive("Lesson", with_values(document.design, {"supply.voltage": 20.0}))
    window.autosave.flush()
    assert json.loads(json.loads(window.autosave.copy.read_text())["design"])["supply"][
        "voltage"
    ] == 48.0  # fmt: skip
    boxes.answer("Save")
    assert window.files.may_leave()
    assert json.loads(own.read_text())["supply"]["voltage"] == 48.0
    assert document.guest is None


@pytest.mark.parametrize(
    ("button", "voltage", "closed"), [("Cancel", 48.0, False), ("Discard", 36.0, True)]
)
def test_unsaved_edits_are_asked_about(
    window: MainWindow, qtbot, boxes, button, voltage, closed
) -> None:
    set_voltage(window, qtbot, "48")
    boxes.answer(button)
    window.screen_list.setFocus()
    qtbot.keyClick(window, Qt.Key.Key_N, Qt.KeyboardModifier.ControlModifier)
    assert len(boxes.said) == 1
    assert window.session.document.value("supply.voltage") == voltage
    window.session.document.edit("supply.voltage", 50.0)
    boxes.answer(button)
    assert window.close() is closed


@pytest.mark.parametrize("name", ["missing.json", "broken.json"])
def test_a_file_that_cannot_be_read_is_told_and_the_design_stays(
    window: MainWindow, boxes, tmp_path, name
) -> None:
    (tmp_path / "broken.json").write_text('{"coil": {}}')
    boxes.answer("OK")
    design = window.session.document.design
    assert not window.files.open(tmp_path / name)
    assert window.session.document.design is design
    assert name.removesuffix(".json") in boxes.said[0] or "coil" in boxes.said[0]


def test_a_pipe_or_a_device_is_told_in_a_line_and_the_design_stays(
    qtbot, theme, toy_job, places, odd_files, boxes
) -> None:
    made = MainWindow(Session(replace(toy_job, load=load)), theme, places)
    qtbot.addWidget(made)
    design = made.session.document.design
    for words, file in odd_files.items():
        boxes.answer("OK")
        assert not made.files.open(file)
        assert boxes.said[-1].endswith(words)
    assert made.session.document.design is design


def test_saving_where_it_cannot_be_saved_is_told(
    window: MainWindow, monkeypatch, boxes, tmp_path
) -> None:
    boxes.answer("OK")
    monkeypatch.setattr(
        QFileDialog, "getSaveFileName", lambda *rest: (str(tmp_path / "no" / "x.json"), "")
    )
    assert not window.files.save()
    assert "x.json" in boxes.said[0]


def test_work_left_behind_is_offered_and_recovered(window: MainWindow, boxes, small_design) -> None:
    copy = window.places.recovery / "crashed.json"
    changed = small_design.model_copy(update={"name": "Rescued"})
    copy.write_text(json.dumps({"origin": "/a/mine.json", "design": changed.model_dump_json()}))
    boxes.answer("Yes")
    window.files.offer_recovery(window.places)
    assert "mine.json" in boxes.said[0]
    assert window.session.document.value("name") == "Rescued"
    assert window.session.document.unsaved
    assert window.session.document.file == Path("/a/mine.json")
    assert not copy.exists()


def test_work_left_in_a_temporary_folder_is_offered_too(
    window: MainWindow, boxes, small_design, temporary_folder
) -> None:
    """The own folder could not be written when it was left."""
    copy = temporary_folder / "burstwise-x" / "recovery" / "crashed.json"
    copy.parent.mkdir(parents=True)
    changed = small_design.model_copy(update={"name": "Rescued"})
    copy.write_text(json.dumps({"origin": None, "design": changed.model_dump_json()}))
    boxes.answer("Yes")
    window.files.offer_recovery(window.places)
    assert window.session.document.value("name") == "Rescued"
    assert not copy.exists()
    assert window.autosave.copy.parent == window.places.recovery


def test_recovered_work_is_never_without_a_copy(window: MainWindow, boxes, small_design) -> None:
    """The process may die right after the answer: the work is in a copy all the same."""
    crashed = window.places.recovery / "crashed.json"
    changed = small_design.model_copy(update={"name": "Rescued"})
    crashed.write_text(json.dumps({"origin": None, "design": changed.model_dump_json()}))
    boxes.answer("Yes")
    window.files.offer_recovery(window.places)
    kept = [json.loads(json.loads(copy.read_text())["design"])["name"]
            for copy in window.places.recovery.glob("*.json")]  # fmt: skip
    assert kept == ["Rescued"]


@pytest.mark.parametrize(
    "design", [7, None, "7", "[" * 100_000, '{"format": 99}', '{"supply": {"voltage": -5}}', ""]
)
def test_a_copy_that_cannot_be_used_is_told_once_and_the_given_file_is_opened(
    window: MainWindow, boxes, tmp_path, caplog, small_design, design
) -> None:
    (window.places.recovery / "older.json").write_text(
        json.dumps({"origin": "/a/b", "design": design})
    )
    file = tmp_path / "given.burstwise"
    file.write_text(small_design.model_copy(update={"name": "Given"}).model_dump_json())
    boxes.answer("OK")
    for _start in range(2):
        _start_work(window, file)
        assert window.session.document.value("name") == "Given"
        window.session.document.open(small_design, None)
    assert len(boxes.said) == 1
    assert "older.bad" in boxes.said[0]
    assert [copy.name for copy in window.places.recovery.glob("older*")] == ["older.bad"]
    caplog.clear()


def test_settings_come_back_and_closing_leaves_no_copy(
    qtbot, theme, toy_job, places, window: MainWindow
) -> None:
    window.show_screen(2)
    window.set_dark(True)
    window.autosave.flush()
    window.close()
    assert list(places.recovery.iterdir()) == []
    again = MainWindow(Session(toy_job), theme, places)
    qtbot.addWidget(again)
    assert again.current_screen == 2
    assert theme.dark


def test_long_work_shows_progress_and_can_be_stopped(window: MainWindow, qtbot) -> None:
    assert not window.strip.shows_work

    def endless(task) -> None:
        while True:
            task.progress(0.25, "Sweeping")

    worker = window.session.worker
    worker.submit(endless)
    qtbot.waitUntil(lambda: window.strip.shows_work)
    qtbot.waitUntil(lambda: window.strip.progress.value() == 25)
    assert window.strip.doing.text() == "Sweeping"
    qtbot.mouseClick(window.strip.stop_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: not worker.busy)
    assert not window.strip.shows_work
    window.strip.show_progress(Progress(1, 1.0, ""))


def test_a_real_drag_on_a_screen_moves_the_strip(qtbot, theme, toy_job, places) -> None:
    class Slider(Screen):
        def made(self, session: Session, theme) -> SliderField:
            from burstwise.app.binding import bind_value

            field = SliderField("Supply", "V", low=1.0, high=100.0, value=1.0, interval_ms=0)
            bind_value(session.document, "supply.voltage", field, text="Supply")
            return field

    window = MainWindow(Session(toy_job), theme, places, screens=(Slider("Operating point", ""),))
    qtbot.addWidget(
        window, before_close_func=lambda window: window.session.document.undo_stack.setClean()
    )
    with qtbot.waitActive(window):
        window.show()
    field = window.screen_widget(0)
    start = QPoint(field.slider.handle_centre(), field.slider.height() // 2)
    qtbot.mousePress(field.slider, Qt.MouseButton.LeftButton, pos=start)
    for shift in (40, 80, 160):
        qtbot.mouseMove(field.slider, start + QPoint(shift, 0))
    qtbot.mouseRelease(field.slider, Qt.MouseButton.LeftButton, pos=start + QPoint(160, 0))
    voltage = window.session.document.value("supply.voltage")
    assert voltage > 40.0
    qtbot.waitUntil(lambda: f"{voltage * 0.3:.1f} W in" in window.strip.now.figure.toolTip())
    assert window.session.document.undo_stack.count() == 1
