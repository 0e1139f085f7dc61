from __future__ import annotations

import math

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from burstwise.app.widgets.quantity_field import QuantityField, nudge


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
        ("Ω", "0R47", 0.47, "0.47 Ω"),
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


def test_a_bare_number_has_the_unit_and_prefix_on_show(make_field, qtbot) -> None:
    """75 typed over '50 mm' is 75 mm; 2 is refused, and not 2 m."""
    field = make_field("m", name="height", value=0.05, low=0.005, high=5.0)
    assert field.entry.text() == "50 mm"
    with qtbot.waitSignal(field.value_changed) as blocker:
        type_in(qtbot, field, "75")
    assert blocker.args == [0.075]
    assert field.entry.text() == "75 mm"
    with qtbot.assertNotEmitted(field.value_changed):
        type_in(qtbot, field, "2")
    assert "between 5 mm and 5 m" in field.error
    assert field.value == 0.075


def test_the_unit_of_a_bare_number_is_painted_while_it_is_typed(make_field, qtbot) -> None:
    field = make_field("m", value=0.05)
    field.entry.selectAll()
    qtbot.keyClicks(field.entry, "75")
    assert field.entry.needs_unit
    assert field.entry.unit == "mm"
    qtbot.keyClicks(field.entry, " c")
    assert not field.entry.needs_unit


def test_a_typed_prefix_stays_until_another_is_typed(make_field, qtbot) -> None:
    field = make_field("m", value=0.05, low=0.005, high=5.0)
    seen = []
    for text in ("2000", "80", "1.5 m", "2", "30 cm", "40", "2 in", "3", "900"):
        type_in(qtbot, field, text)
        seen.append((field.entry.text(), field.value))
    assert seen == [
        ("2000 mm", 2.0),
        ("80 mm", 0.08),
        ("1.5 m", 1.5),
        ("2 m", 2.0),
        ("30 cm", 0.3),
        ("40 cm", 0.4),
        ("2 in", 0.0508),
        ("3 in", 0.0762),
        ("900", 0.0762),
    ]
    assert "must be between 5 mm and 5 m (did you mean 900 mm?)" in field.error


def test_a_value_from_outside_keeps_a_typed_prefix_where_it_fits(make_field, qtbot) -> None:
    field = make_field("Hz", value=100.0)
    type_in(qtbot, field, "10k")
    for value, text in ((500.0, "0.5 kHz"), (0.0, "0 kHz"), (20.0, "20 Hz"), (500e3, "500 kHz")):
        field.set_value(value)
        assert field.entry.text() == text


def test_steps_stay_in_the_unit_on_show(make_field, qtbot) -> None:
    field = make_field("m", value=0.98)
    for _ in range(3):
        qtbot.keyClick(field.entry, Qt.Key.Key_Up)
    assert field.entry.text() == "1100 mm"
    type_in(qtbot, field, "70")
    assert field.value == 0.07


@pytest.mark.parametrize(
    ("unit", "high", "text", "value"),
    [("m", 2.0, "3", 0.003), ("s", 5e-6, "2", 2e-6), ("Ω", 10.0, "3", 3.0), ("%", 1.0, "3", 0.03)],
)
def test_zero_shows_the_unit_that_a_bare_number_takes(
    make_field, qtbot, unit, high, text, value
) -> None:
    field = make_field(unit, value=0.0, low=0.0, high=high)
    prefixed = field.entry.text().removeprefix("0 ")
    type_in(qtbot, field, text)
    assert field.value == value
    assert field.entry.text() == f"{text} {prefixed}"


@pytest.mark.parametrize(
    ("unit", "value", "text", "read", "display"),
    [
        ("V/s", 50e9, "60", 60e9, "60 V/ns"),
        ("V/s", 50e9, "800 V/us", 0.8e9, "800 V/µs"),
        ("K/W", 1.0, "1.2 °C/W", 1.2, "1.2 K/W"),
        ("J", 0.1, "30 mJ", 0.03, "30 mJ"),
        ("C", 20e-9, "23,5", 23.5e-9, "23.5 nC"),
        ("F", 20e-12, "120", 120e-12, "120 pF"),
    ],
)
def test_datasheets_own_units(make_field, qtbot, unit, value, text, read, display) -> None:
    field = make_field(unit, value=value)
    type_in(qtbot, field, text)
    assert field.value == read
    assert field.entry.text() == display


def test_an_ambiguous_comma_is_refused_in_the_fields_own_unit(make_field, qtbot) -> None:
    field = make_field("m", name="height", value=0.05)
    type_in(qtbot, field, "1,234")
    assert field.value == 0.05
    assert "1.234 mm or 1234 mm" in field.error


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
