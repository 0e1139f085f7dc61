from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QCheckBox, QComboBox, QLineEdit
from shiboken6 import Shiboken

from burstwise.app.binding import bind_check, bind_choice, bind_text, bind_value
from burstwise.app.document import Document
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.widgets.slider_field import SliderField
from burstwise.core.design.document import Design, value_at, with_values


@pytest.fixture
def document(theme, small_design: Design) -> Document[Design]:
    return Document(small_design, with_values=with_values, value_at=value_at)


def test_a_real_drag_reaches_the_design_as_one_step_and_undo_comes_back(document, qtbot) -> None:
    field = SliderField("Supply", "V", low=1.0, high=100.0, value=1.0, interval_ms=0)
    qtbot.addWidget(field)
    field.resize(400, 80)
    with qtbot.waitActive(field):
        field.show()
    bind_value(document, "supply.voltage", field, text="Supply")
    before = document.value("supply.voltage")
    assert field.value == before
    start = QPoint(field.slider.handle_centre(), field.slider.height() // 2)
    qtbot.mousePress(field.slider, Qt.MouseButton.LeftButton, pos=start)
    for shift in (10, 30, 50):
        qtbot.mouseMove(field.slider, start + QPoint(shift, 0))
        assert document.value("supply.voltage") == field.value > before
    qtbot.mouseRelease(field.slider, Qt.MouseButton.LeftButton, pos=start + QPoint(50, 0))
    assert document.undo_stack.count() == 1
    assert document.undo_stack.undoText() == "Supply"
    document.undo()
    assert field.value == before
    assert document.undo_stack.index() == 0


def test_two_widgets_of_one_path_follow_each_other(document, qtbot) -> None:
    one, other = QuantityField("V", value=1.0), QuantityField("V", value=1.0)
    for field in (one, other):
        qtbot.addWidget(field)
        bind_value(document, "supply.voltage", field)
    one.entry.selectAll()
    qtbot.keyClicks(one.entry, "41.5")
    qtbot.keyClick(one.entry, Qt.Key.Key_Return)
    assert other.value == 41.5
    assert document.undo_stack.count() == 1


def test_a_value_that_the_design_refuses_marks_the_field(document, qtbot) -> None:
    field = QuantityField("V", value=1.0)
    qtbot.addWidget(field)
    bind_value(document, "supply.voltage", field, text="Supply")
    before = document.value("supply.voltage")
    qtbot.keyClicks(field.entry, "x")
    field.entry.selectAll()
    qtbot.keyClicks(field.entry, "-12")
    qtbot.keyClick(field.entry, Qt.Key.Key_Return)
    assert document.value("supply.voltage") == field.value == before
    assert field.error.startswith("Supply must be")
    document.edit("supply.voltage", 20.0)
    assert field.error == ""


def test_a_refusal_names_the_field_that_breaks_its_limit(document, qtbot) -> None:
    """Crss above Ciss: it is the input capacitance that must be the larger one."""
    field = QuantityField("F", value=1e-12)
    qtbot.addWidget(field)
    bind_value(document, "device.reverse_capacitance", field, text="Reverse capacitance")
    field.entry.selectAll()
    qtbot.keyClicks(field.entry, "40n")
    qtbot.keyClick(field.entry, Qt.Key.Key_Return)
    assert field.error.startswith("Input capacitance Ciss must be above the reverse capacitance")
    assert "device." not in field.error


def test_a_part_that_is_not_fitted_disables_the_field(document, qtbot) -> None:
    field = QuantityField("V", value=1.0)
    qtbot.addWidget(field)
    document.edit("protection.drain_clamp", None)
    bind_value(document, "protection.drain_clamp.voltage", field)
    assert not field.isEnabled()
    document.edit("protection.drain_clamp", {"voltage": 300.0, "resistance": 1.0})
    assert field.isEnabled()
    assert field.value == 300.0


def test_choice_check_and_text(document, qtbot) -> None:
    box, check, line = QComboBox(), QCheckBox(), QLineEdit()
    for widget in (box, check, line):
        qtbot.addWidget(widget)
    bind_choice(
        document, "drive.feedback_sense", box, {"normal": "As drawn", "reversed": "Swapped"}
    )
    bind_check(document, "interrupter.enabled", check)
    bind_text(document, "name", line)
    assert box.currentText() == "As drawn"
    was = document.value("interrupter.enabled")
    qtbot.keyClick(box, Qt.Key.Key_Down)
    qtbot.keyClick(check, Qt.Key.Key_Space)
    line.selectAll()
    qtbot.keyClicks(line, "Table top")
    qtbot.keyClick(line, Qt.Key.Key_Return)
    assert document.value("drive.feedback_sense") == "reversed"
    assert document.value("interrupter.enabled") is not was
    assert document.value("name") == "Table top"
    for _ in range(3):
        document.undo()
    assert (box.currentText(), check.isChecked()) == ("As drawn", was)
    assert line.text() == document.value("name") != "Table top"


def test_a_binding_dies_with_its_widget(document, qtbot) -> None:
    field = QuantityField("V", value=1.0)
    bind_value(document, "supply.voltage", field)
    field.deleteLater()
    qtbot.waitUntil(lambda: not Shiboken.isValid(field))
    document.edit("supply.voltage", 20.0)
    assert document.value("supply.voltage") == 20.0


def test_undo_takes_a_refused_entry_away(document, qtbot) -> None:
    field, other = QuantityField("V", value=1.0), QuantityField("Ω", value=1.0)
    for one, path in ((field, "supply.voltage"), (other, "supply.source_resistance")):
        qtbot.addWidget(one)
        bind_value(document, path, one)
    document.edit("supply.source_resistance", 0.7, text="Resistance")
    field.entry.selectAll()
    qtbot.keyClicks(field.entry, "nonsense")
    qtbot.keyClick(field.entry, Qt.Key.Key_Return)
    assert field.error
    field.entry.setModified(False)
    document.undo()
    assert not field.error
    assert "nonsense" not in field.entry.text()
    assert field.value == document.value("supply.voltage")
