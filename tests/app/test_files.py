"""Files of the window that somebody else changes too, and names and places that are not usual."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import QApplication, QFileDialog

from burstwise.app.places import Places
from burstwise.app.session import Job, Session
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job
from burstwise.core import storage
from burstwise.core.design.document import Design, with_values
from burstwise.core.disk import stamp_of, stamp_of_bytes

WAYS = ["Keep mine", "Take theirs", "Save mine as…", "Cancel"]
Opener = Callable[[Path], MainWindow]


def give_up_edits(window: MainWindow) -> None:
    """Nothing is asked at the end; steps left would be deleted twice by the collector."""
    window.session.document.undo_stack.setClean()
    window.session.document.undo_stack.clear()


@pytest.fixture
def open_window(qtbot, theme, toy_job: Job, places: Places) -> Opener:
    """Windows on one file, with real design files and an evaluation that is a toy."""
    real = design_job()
    job = replace(
        toy_job, load=real.load, save=real.save, to_text=real.to_text, from_text=real.from_text
    )

    def opened(file: Path) -> MainWindow:
        made = MainWindow(Session(job), theme, places)
        qtbot.addWidget(made, before_close_func=give_up_edits)
        with qtbot.waitActive(made):
            made.show()
        made.screen_list.setFocus()
        assert made.files.open(file)
        return made

    return opened


@pytest.fixture
def file(tmp_path: Path, small_design: Design) -> Path:
    made = tmp_path / "mine.burstwise"
    storage.save(with_values(small_design, {"supply.voltage": 20.0}), made)
    return made


def edit(window: MainWindow, voltage: float) -> None:
    window.session.document.edit("supply.voltage", voltage)


def press(window: MainWindow, qtbot, key: Qt.Key) -> None:
    """Press a key with Ctrl, once the window is in front again."""
    # A box that was answered is in front until it is deleted.
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    QApplication.processEvents()
    with qtbot.waitActive(window):
        window.activateWindow()
    window.screen_list.setFocus()
    qtbot.keyClick(window, key, Qt.KeyboardModifier.ControlModifier)


def press_save(window: MainWindow, qtbot) -> None:
    press(window, qtbot, Qt.Key.Key_S)


def change_elsewhere(file: Path, voltage: float) -> bytes:
    """What another program does: it writes a design of its own."""
    storage.save(with_values(storage.load(file), {"supply.voltage": voltage}), file)
    return file.read_bytes()


def voltages(window: MainWindow, file: Path) -> tuple[float, float]:
    return window.session.document.value("supply.voltage"), storage.load(file).supply.voltage


def test_nothing_is_asked_while_nobody_else_writes(open_window, qtbot, file, boxes) -> None:
    window = open_window(file)
    for voltage in (30.0, 31.0):
        edit(window, voltage)
        press_save(window, qtbot)
        assert voltages(window, file) == (voltage, voltage)
    os.utime(file, (1, 1))
    edit(window, 32.0)
    press_save(window, qtbot)
    assert voltages(window, file) == (32.0, 32.0)
    assert boxes.said == []


def test_keep_mine_writes_over_what_came_from_elsewhere(open_window, qtbot, file, boxes) -> None:
    window = open_window(file)
    edit(window, 30.0)
    change_elsewhere(file, 50.0)
    boxes.answer("Keep mine")
    press_save(window, qtbot)
    assert boxes.offered == [WAYS]
    assert boxes.titles == ["File changed elsewhere"]
    assert boxes.said[0].startswith("mine.burstwise has been changed since")
    assert voltages(window, file) == (30.0, 30.0)
    assert not window.isWindowModified()
    edit(window, 31.0)
    press_save(window, qtbot)
    assert len(boxes.said) == 1


def test_take_theirs_leaves_the_file_and_undo_brings_mine_back(
    open_window, qtbot, file, boxes
) -> None:
    window = open_window(file)
    edit(window, 30.0)
    theirs = change_elsewhere(file, 50.0)
    boxes.answer("Take theirs")
    press_save(window, qtbot)
    assert file.read_bytes() == theirs
    assert voltages(window, file) == (50.0, 50.0)
    assert not window.isWindowModified()
    assert window.session.document.undo_stack.undoText() == "Take the file's design"
    press(window, qtbot, Qt.Key.Key_Z)
    assert voltages(window, file) == (30.0, 50.0)
    assert window.isWindowModified()
    press_save(window, qtbot)
    assert voltages(window, file) == (30.0, 30.0)
    assert len(boxes.said) == 1


def test_save_as_keeps_both(open_window, qtbot, file, boxes, monkeypatch, tmp_path) -> None:
    window = open_window(file)
    edit(window, 30.0)
    theirs = change_elsewhere(file, 50.0)
    other = tmp_path / "other.burstwise"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *rest: (str(other), ""))
    boxes.answer("Save mine as…")
    press_save(window, qtbot)
    assert file.read_bytes() == theirs
    assert voltages(window, other) == (30.0, 30.0)
    assert window.session.document.file == other
    assert not window.isWindowModified()


def test_cancel_changes_nothing_and_the_question_comes_again(
    open_window, qtbot, file, boxes
) -> None:
    window = open_window(file)
    edit(window, 30.0)
    change_elsewhere(file, 50.0)
    boxes.answer("Cancel", "Cancel")
    for _ in range(2):
        press_save(window, qtbot)
        assert voltages(window, file) == (30.0, 50.0)
        assert window.isWindowModified()
    assert len(boxes.said) == 2


def test_two_windows_on_one_file(open_window, qtbot, file, boxes, tmp_path) -> None:
    """The second window has it open under another name."""
    name = tmp_path / "name.burstwise"
    name.symlink_to(file)
    first, second = open_window(file), open_window(name)
    edit(first, 30.0)
    edit(second, 40.0)
    press_save(first, qtbot)
    assert boxes.said == []
    boxes.answer("Take theirs")
    press_save(second, qtbot)
    assert voltages(second, file) == (30.0, 30.0)
    edit(second, 41.0)
    press_save(second, qtbot)
    edit(first, 31.0)
    boxes.answer("Keep mine")
    press_save(first, qtbot)
    assert voltages(first, file) == (31.0, 31.0)
    assert name.is_symlink()


def test_a_change_while_the_question_stands_is_asked_about_again(
    open_window, qtbot, file, boxes
) -> None:
    window = open_window(file)
    edit(window, 30.0)
    change_elsewhere(file, 50.0)

    def late() -> str:
        change_elsewhere(file, 60.0)
        return "Keep mine"

    boxes.answer(late, "Cancel")
    press_save(window, qtbot)
    assert voltages(window, file) == (30.0, 60.0)


def test_the_own_file_under_save_as_is_asked_about_too(
    open_window, qtbot, file, boxes, monkeypatch
) -> None:
    window = open_window(file)
    edit(window, 30.0)
    change_elsewhere(file, 50.0)
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *rest: (str(file), ""))
    boxes.answer("Cancel")
    assert not window.files.save_as()
    assert voltages(window, file) == (30.0, 50.0)


def test_the_same_edit_elsewhere_or_a_file_that_is_gone_loses_nothing(
    open_window, qtbot, file, boxes
) -> None:
    window = open_window(file)
    edit(window, 30.0)
    change_elsewhere(file, 30.0)
    press_save(window, qtbot)
    assert not window.isWindowModified()
    edit(window, 31.0)
    file.unlink()
    press_save(window, qtbot)
    assert voltages(window, file) == (31.0, 31.0)
    assert boxes.said == []


def test_theirs_that_is_no_design_is_told_and_mine_stays(open_window, qtbot, file, boxes) -> None:
    window = open_window(file)
    edit(window, 30.0)
    file.write_text("<b>not a design</b>")
    boxes.answer("Take theirs", "OK")
    press_save(window, qtbot)
    assert "damaged or cut short" in boxes.said[1]
    assert window.session.document.value("supply.voltage") == 30.0
    assert window.isWindowModified()
    assert file.read_text() == "<b>not a design</b>"


def test_closing_does_not_write_over_it_either(open_window, qtbot, file, boxes) -> None:
    window = open_window(file)
    edit(window, 30.0)
    change_elsewhere(file, 50.0)
    boxes.answer("Save", "Take theirs")
    assert not window.close()
    assert voltages(window, file) == (50.0, 50.0)
    assert window.close()


@pytest.mark.skipif(os.name != "posix", reason="pipes as POSIX has them")
def test_a_pipe_in_the_files_place_is_told(open_window, qtbot, file, boxes, odd_files) -> None:
    window = open_window(file)
    edit(window, 30.0)
    file.unlink()
    odd_files["a pipe"].rename(file)
    boxes.answer("OK")
    press_save(window, qtbot)
    assert boxes.said[0].endswith("an ordinary file; instead received a pipe")
    assert window.isWindowModified()


@pytest.mark.parametrize("changed", [False, True])
def test_recovered_work_knows_what_its_file_held(
    open_window, qtbot, theme, file, boxes, tmp_path, changed
) -> None:
    crashed = open_window(file)
    edit(crashed, 30.0)
    crashed.autosave.flush()
    left = Places(tmp_path / "settings 2", tmp_path / "data 2")
    left.recovery.mkdir(parents=True)
    (left.recovery / "left.json").write_bytes(crashed.autosave.copy.read_bytes())
    if changed:
        change_elsewhere(file, 50.0)
    window = open_window(file)
    boxes.answer("Yes", *(["Cancel"] if changed else []))
    window.files.offer_recovery(left)
    press_save(window, qtbot)
    assert voltages(window, file) == (30.0, 50.0 if changed else 30.0)


def test_a_copy_from_an_older_version_is_asked_about(
    open_window, qtbot, file, boxes, tmp_path
) -> None:
    """It knows nothing of what its file held."""
    window = open_window(file)
    left = Places(tmp_path / "settings 2", tmp_path / "data 2")
    left.recovery.mkdir(parents=True)
    design = with_values(storage.load(file), {"supply.voltage": 30.0})
    content = {"origin": str(file), "design": storage.text_of(design)}
    (left.recovery / "left.json").write_text(json.dumps(content))
    boxes.answer("Yes", "Cancel")
    window.files.offer_recovery(left)
    press_save(window, qtbot)
    assert voltages(window, file) == (30.0, 20.0)


def test_what_is_saved_is_what_the_mark_is_made_of(file: Path) -> None:
    """The mark after a save is of the text, not of a second look at the file."""
    job = design_job()
    design = job.load(file)
    job.save(design, file)
    assert stamp_of(file) == stamp_of_bytes(job.to_text(design).encode("utf-8"))
    assert stamp_of(file.with_name("none")) == ""


@pytest.mark.parametrize(
    ("length", "saved"), [(235, True), (245, True), (246, False), (300, False)]
)
def test_long_names_are_saved_or_told(
    open_window, qtbot, file, boxes, monkeypatch, tmp_path, length, saved
) -> None:
    """The ending of ten letters is added: 255 bytes in all are the most."""
    window = open_window(file)
    long = tmp_path / ("ä" * (length // 2) + "x" * (length % 2))
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *rest: (str(long), ""))
    if not saved:
        boxes.answer("OK")
    assert window.files.save_as() is saved
    assert os.path.exists(f"{long}.burstwise") is saved
    assert ["name too long" in text for text in boxes.said] == ([] if saved else [True])


def test_leftovers_beside_recent_files_are_cleared_at_the_start(open_window, file) -> None:
    left = file.with_name(".burstwise-0123456789abcdef.part")
    left.write_text("half")
    window = open_window(file)
    window.files.clear_leftovers()
    assert not left.exists()
    assert file.exists()
