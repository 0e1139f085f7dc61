from __future__ import annotations

from pathlib import Path

import pytest

from burstwise.app.document import MOST_STEPS, Document
from burstwise.core.design.document import Design, value_at, with_values
from burstwise.core.errors import InputError


@pytest.fixture
def document(qapp, small_design: Design) -> Document[Design]:
    return Document(small_design, with_values=with_values, value_at=value_at)


def test_edit_undo_redo(document: Document[Design], small_design: Design) -> None:
    seen: list[Design] = []
    document.changed.connect(seen.append)
    document.edit("supply.voltage", 48.0)
    document.edit("interrupter.duty", "25%")
    assert (document.value("supply.voltage"), document.value("interrupter.duty")) == (48.0, 0.25)
    assert document.unsaved
    document.undo()
    assert document.value("interrupter.duty") == small_design.interrupter.duty
    document.undo()
    assert document.design == small_design
    assert not document.unsaved
    document.redo()
    document.redo()
    assert document.value("interrupter.duty") == 0.25
    assert len(seen) == 6


def test_a_drag_is_one_step(document: Document[Design], small_design: Design) -> None:
    for voltage in (30.0, 31.0, 32.0):
        document.edit("supply.voltage", voltage, live=True)
    document.close_step()
    for voltage in (40.0, 41.0):
        document.edit("supply.voltage", voltage, live=True)
    document.close_step()
    assert document.undo_stack.count() == 2
    document.undo()
    assert document.value("supply.voltage") == 32.0
    document.undo()
    assert document.design == small_design
    document.redo()
    assert document.value("supply.voltage") == 32.0


def test_live_edits_of_another_path_begin_a_new_step(document: Document[Design]) -> None:
    document.edit("supply.voltage", 30.0, live=True)
    document.edit("interrupter.duty", 0.4, live=True)
    assert document.undo_stack.count() == 2


def test_a_refused_edit_changes_nothing(document: Document[Design], small_design: Design) -> None:
    with pytest.raises(InputError):
        document.edit("supply.voltage", -5.0)
    assert document.design is small_design
    assert document.undo_stack.count() == 0


def test_an_edit_to_the_same_value_is_no_step(document: Document[Design]) -> None:
    document.edit("supply.voltage", document.value("supply.voltage"))
    assert document.undo_stack.count() == 0
    assert not document.unsaved


def test_saving_and_opening(document: Document[Design], small_design: Design, qtbot) -> None:
    document.edit("supply.voltage", 48.0)
    with qtbot.waitSignal(document.unsaved_changed) as told:
        document.mark_saved(Path("one.json"))
    assert told.args == [False]
    document.undo()
    assert document.unsaved
    document.open(small_design, Path("two.json"))
    assert not document.unsaved
    assert not document.undo_stack.canUndo()
    document.open(small_design, None, unsaved=True)
    assert document.unsaved


def test_saving_in_the_middle_of_a_drag_splits_it(document: Document[Design]) -> None:
    document.edit("supply.voltage", 30.0, live=True)
    document.mark_saved(Path("one.json"))
    document.edit("supply.voltage", 31.0, live=True)
    assert document.unsaved
    document.undo()
    assert document.value("supply.voltage") == 30.0
    assert not document.unsaved


def test_their_design_is_one_step_and_counts_as_saved(
    document: Document[Design], small_design: Design
) -> None:
    document.open(small_design, Path("mine.json"), stamp="before")
    document.edit("supply.voltage", 30.0)
    document.take_theirs(with_values(small_design, {"supply.voltage": 50.0}), "after")
    assert (document.value("supply.voltage"), document.own_stamp) == (50.0, "after")
    assert not document.unsaved
    document.undo()
    assert document.value("supply.voltage") == 30.0
    assert document.unsaved
    document.redo()
    assert not document.unsaved


def test_a_guests_save_leaves_the_mark_of_the_own_file(
    document: Document[Design], small_design: Design
) -> None:
    document.open(small_design, Path("mine.json"), stamp="mine")
    document.receive("Lesson", small_design)
    document.mark_saved(Path("lesson.json"), "lesson")
    assert (document.own_file, document.own_stamp) == (Path("mine.json"), "mine")
    document.send_off()
    assert document.own_stamp == "mine"


def test_the_oldest_steps_give_way(document: Document[Design]) -> None:
    for tenth in range(MOST_STEPS + 5):
        document.edit("supply.voltage", 10.0 + tenth / 100.0)
    document.edit("interrupter.duty", "25%")
    while document.undo_stack.canUndo():
        document.undo()
    assert document.value("supply.voltage") == pytest.approx(10.05)
    assert document.unsaved
    assert document.undo_stack.count() == MOST_STEPS
