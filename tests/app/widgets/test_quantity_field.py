from __future__ import annotations

import math

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from app.widgets.quantity_field import QuantityField, nudge


@pytest.fixture
def make_field(qtbot, theme):
    def make(unit: str, **options) -> QuantityField:
        field = QuantityField(unit, **options)
        qtbot.addWidget(field)
        with qtbot.waitActive(field):
            field.show()
        field.setFocus()
        return field

    return make


def type_in(qtbot, field: QuantityField, text: str, *, end=Qt.Key.Key_Return) -> None:
    field.entry.selectAll()
    qtbot.keyClick(field.entry, Qt.Key.Key_Delete)
    qtbot.keyClicks(field.entry, text)
    qtbot.keyClick(field.entry, end)


@pytest.mark.parametrize(
    ("unit", "text", "value", "display"),
    [
        ("Ω", "4k7", 4700.0, "4.7 kΩ"),
        ("F", "2n2", 2.2e-9, "2.2 nF"),
        ("Hz", "15 Hz", 15.0, "15 Hz"),
        ("Ω", "0R47", 0.47, "470 mΩ"),
        ("s", "1.5 ms", 1.5e-3, "1.5 ms"),
        ("%", "50 %", 0.5, "50 %"),
        ("%", "50", 0.5, "50 %"),
        ("V", "36", 36.0, "36 V"),
        ("V", "36,5", 36.5, "36.5 V"),
        ("°C", "-5", -5.0, "-5 °C"),
        ("", "0.25", 0.25, "0.25"),
    ],
)
def test_takes_what_people_write(make_field, qtbot, unit, text, value, display) -> None:
    field = make_field(unit, value=1.0)
    with qtbot.waitSignal(field.value_changed) as blocker:
        type_in(qtbot, field, text)
    assert blocker.args == [pytest.approx(value, rel=1e-15)]
    assert field.value == pytest.approx(value, rel=1e-15)
    assert field.entry.text() == display
    assert field.error == ""


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("36 A", "supply must be a quantity in V"),
        ("2000", "supply must be between 1 V and 1 kV"),
        ("", "supply must be a quantity in V"),
        ("nonsense", "supply must be a quantity in V"),
    ],
)
def test_bad_entry_marks_says_why_and_keeps_the_value(make_field, qtbot, text, reason) -> None:
    field = make_field("V", name="supply", value=36.0, low=1.0, high=1e3)
    plain = field.grab().toImage()
    with qtbot.assertNotEmitted(field.value_changed):
        type_in(qtbot, field, text)
    assert field.value == 36.0
    assert reason in field.error
    for told in (field.entry.toolTip(), field.entry.accessibleDescription()):
        assert told.startswith("■")
        assert reason in told
        assert "still using 36 V" in told
    assert field.entry.property("bad") == "true"
    assert field.grab().toImage() != plain
    assert field.entry.text() == text


def test_good_entry_after_a_bad_one_clears_the_mark(make_field, qtbot) -> None:
    field = make_field("V", value=36.0)
    type_in(qtbot, field, "what")
    type_in(qtbot, field, "48")
    assert field.value == 48.0
    assert field.error == field.entry.toolTip() == field.entry.accessibleDescription() == ""
    assert field.entry.property("bad") == "false"


def test_escape_goes_back_to_the_last_good_value(make_field, qtbot) -> None:
    field = make_field("V", value=36.0)
    type_in(qtbot, field, "what")
    assert field.error != ""
    qtbot.keyClick(field.entry, Qt.Key.Key_Escape)
    assert field.entry.text() == "36 V"
    assert field.error == ""


def test_leaving_the_field_commits(qtbot, theme) -> None:
    page = QWidget()
    qtbot.addWidget(page)
    layout = QVBoxLayout(page)
    field, other = QuantityField("V", value=36.0), QLineEdit()
    layout.addWidget(field)
    layout.addWidget(other)
    with qtbot.waitActive(page):
        page.show()
    field.setFocus()
    type_in(qtbot, field, "48", end=Qt.Key.Key_Tab)
    assert field.value == 48.0


def test_the_float_is_the_truth_not_its_text(make_field, qtbot) -> None:
    field = make_field("V", value=12.3456789)
    with qtbot.assertNotEmitted(field.value_changed):
        qtbot.keyClick(field.entry, Qt.Key.Key_Return)
    assert field.value == 12.3456789
    assert field.entry.text() == "12.346 V"


def test_the_unit_is_painted_while_the_text_has_none(make_field, qtbot) -> None:
    field = make_field("V", value=36.0)
    assert not field.entry.needs_unit
    field.entry.selectAll()
    qtbot.keyClick(field.entry, Qt.Key.Key_Delete)
    assert field.entry.needs_unit
    assert field.entry.textMargins().right() > 0


@pytest.mark.parametrize(
    ("key", "modifier", "value"),
    [
        (Qt.Key.Key_Up, Qt.KeyboardModifier.NoModifier, 37.0),
        (Qt.Key.Key_Down, Qt.KeyboardModifier.NoModifier, 35.0),
        (Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier, 46.0),
        (Qt.Key.Key_PageDown, Qt.KeyboardModifier.NoModifier, 26.0),
    ],
)
def test_keys_step(make_field, qtbot, key, modifier, value) -> None:
    field = make_field("V", value=36.0, low=1.0, high=100.0)
    with qtbot.waitSignals([field.value_changed, field.edit_finished]):
        qtbot.keyClick(field.entry, key, modifier)
    assert field.value == value


def test_steps_stop_at_the_limits(make_field, qtbot) -> None:
    field = make_field("V", value=99.5, low=1.0, high=100.0)
    qtbot.keyClick(field.entry, Qt.Key.Key_PageUp)
    assert field.value == 100.0
    with qtbot.assertNotEmitted(field.value_changed):
        qtbot.keyClick(field.entry, Qt.Key.Key_Up)


@pytest.mark.parametrize(
    ("value", "step", "expected"),
    [(2.2e-9, None, 2.3e-9), (0.0, None, 1.0), (1000.0, None, 1100.0), (0.5, 0.01, 0.51)],
)
def test_nudge(value, step, expected) -> None:
    moved = nudge(value, 1, step=step, low=-math.inf, high=math.inf)
    assert moved == pytest.approx(expected, rel=1e-12)


def test_a_value_from_outside_does_not_disturb_typing(make_field, qtbot) -> None:
    field = make_field("V", value=36.0)
    field.entry.selectAll()
    qtbot.keyClicks(field.entry, "4")
    with qtbot.assertNotEmitted(field.value_changed):
        field.set_value(40.0)
    assert field.entry.text() == "4"
    qtbot.keyClicks(field.entry, "8")
    qtbot.keyClick(field.entry, Qt.Key.Key_Return)
    assert field.value == 48.0


def test_undo_by_key_is_the_lines_own_only_while_text_is_being_typed(qtbot) -> None:
    """A line keeps Ctrl+Z even with nothing to undo, so an entry could not be undone by key."""
    holder, undone = QWidget(), []
    qtbot.addWidget(holder)
    field = QuantityField("V", value=36.0, parent=holder)
    action = QAction(holder)
    action.setShortcut(QKeySequence("Ctrl+Z"))
    action.triggered.connect(lambda: undone.append(field.value))
    holder.addAction(action)
    with qtbot.waitActive(holder):
        holder.show()
    field.setFocus()
    field.entry.selectAll()
    qtbot.keyClicks(field.entry, "30")
    qtbot.keyClick(field.entry, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert undone == []
    assert field.entry.text() == "36 V"
    field.entry.selectAll()
    qtbot.keyClicks(field.entry, "30")
    qtbot.keyClick(field.entry, Qt.Key.Key_Return)
    qtbot.keyClick(field.entry, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert undone == [30.0]
