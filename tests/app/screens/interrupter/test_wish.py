"""The wish lives in the design: edits by mouse and keys, undo, refusals, files."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from burstwise.app.screens.interrupter.size_page import SizePage
from burstwise.core.design.document import with_values
from burstwise.core.design.timer_wish import TimerWish
from burstwise.core.drawer import Drawer, parts_from
from burstwise.core.storage import load, save

WISH = "interrupter.wish"


@pytest.fixture
def page(qtbot, theme, session):
    made = SizePage(session.document, session.drawer)
    qtbot.addWidget(made)
    made.resize(1114, 600)
    with qtbot.waitExposed(made):
        made.show()
    yield made
    made.worker.close()


def type_into(field, text, key=Qt.Key.Key_Return):
    entry = field.entry
    entry.setFocus()
    entry.selectAll()
    QTest.keyClicks(entry, text)
    QTest.keyClick(entry, key)


def click(box):
    QTest.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(8, box.height() // 2))


def test_a_design_without_a_wish_shows_the_usual_one(page, session):
    assert session.document.value(WISH) is None
    assert page.form.frequency.value == session.document.value("interrupter.frequency")
    session.document.edit("interrupter.frequency", 40.0)
    assert page.form.frequency.value == 40.0
    assert session.document.value(WISH) is None


def test_each_edit_is_one_step_and_comes_back_by_undo(page, session):
    form, document = page.form, session.document
    type_into(form.frequency, "15 Hz")
    type_into(form.duty_high, "60 %", Qt.Key.Key_Tab)
    click(form.adjustable)
    type_into(form.frequency_high, "200")
    click(form.kinds["x7r"])
    form.resistors.setFocus()
    QTest.keyClick(form.resistors, Qt.Key.Key_Down)
    form.drawer.setFocus()
    form.drawer.selectAll()
    QTest.keyClicks(form.drawer, "47k 100k")
    QTest.keyClick(form.drawer, Qt.Key.Key_Return)
    click(form.circuits["two-timer"])
    click(form.timers["bipolar"])
    type_into(form.weights["parts"], "2")
    click(form.own_cap)
    wish = document.value(WISH)
    assert (wish.frequency, wish.duty_high, wish.frequency_high) == (15.0, 0.6, 200.0)
    assert wish.capacitors == ("film", "c0g")
    assert wish.resistor_series == "E48"
    assert wish.potentiometers == (47e3, 100e3)
    assert "two-timer" not in wish.circuits
    assert len(wish.circuits) == 5
    assert wish.timers == ("cmos",)
    assert wish.weights.parts == 2.0
    assert wish.on_time_cap == pytest.approx(1.5 * 0.6 / 15)
    assert document.undo_stack.count() == 11
    assert document.undo_stack.undoText() == "Wish: On-time cap"
    for _ in range(11):
        document.undo()
    assert document.value(WISH) is None
    assert form.drawer.text().startswith("1k 2k2")
    assert form.kinds["x7r"].isChecked()
    assert form.resistors.currentText() == "E24"
    assert not form.adjustable.isChecked()


def test_step_keys_make_one_step(page, session):
    entry = page.form.supply.entry
    entry.setFocus()
    for _ in range(4):
        QTest.keyPress(entry, Qt.Key.Key_Up)
    QTest.keyRelease(entry, Qt.Key.Key_Up)
    assert session.document.value(WISH).supply == 16.0
    assert session.document.undo_stack.count() == 1


def test_stops_out_of_order_are_refused_by_name_value_and_limit(page, session):
    before = session.document.design
    type_into(page.form.duty_low, "99 %")
    told = page.status.text()
    assert "Wish: Duty, high stop must be at least the low stop of 99 %" in told
    assert "instead received 98 %" in told
    assert page.form.duty_low.value == 0.02
    assert "Duty, high stop must be" in page.form.duty_low.error
    assert session.document.design == before
    type_into(page.form.duty_low, "50 %")
    assert "must be" not in page.status.text()
    assert session.document.value(WISH).duty_low == 0.5


def test_the_last_kind_of_capacitor_stays(page, session):
    for name in ("c0g", "x7r", "film"):
        click(page.form.kinds[name])
    assert page.form.kinds["film"].isChecked()
    assert session.document.value(WISH).capacitors == ("film",)
    assert "must be one or more" in page.status.text()


def test_the_search_takes_the_wish_of_the_document(qtbot, page, session):
    wish = {"frequency": 15.0, "circuits": ["two-timer"], "timers": ["cmos"], "duty_high": 0.5}
    session.document.edit(WISH, wish)
    model = page.table.sets_model
    qtbot.waitUntil(
        lambda: bool(model.sets) and model.sets[0].circuit == "two-timer", timeout=20000
    )
    assert {one.timer.name for one in model.sets} == {"cmos"}
    assert page.form.circuits["two-timer"].isChecked()
    assert not page.form.circuits["astable-classic"].isChecked()


def test_the_wish_is_saved_and_shown_when_the_file_is_opened(page, session, tmp_path):
    type_into(page.form.frequency, "33")
    click(page.form.timers["bipolar"])
    kept = session.document.design
    save(kept, tmp_path / "a.burstwise")
    session.document.open(with_values(kept, {WISH: None}), None)
    assert page.form.frequency.value == 150.0
    session.document.open(load(tmp_path / "a.burstwise"), tmp_path / "a.burstwise")
    assert session.document.design == kept
    assert page.form.frequency.value == 33.0
    assert not page.form.timers["bipolar"].isChecked()


def test_sets_of_the_drawers_parts_only_and_what_they_cost(page, session, qtbot):
    form, model = page.form, page.table.sets_model
    wanted = TimerWish(frequency=16.0, duty_low=0.05, duty_high=0.9)
    session.document.edit(WISH, wanted)
    box = form.from_drawer.box
    click(box)
    qtbot.waitUntil(lambda: "no resistor" in page.status.text(), timeout=60_000)
    assert not form.resistors.isEnabled()
    assert not form.drawer.isEnabled()
    parts = [
        *parts_from("resistor", "E6 100:1M", "", "0.10"),
        *parts_from("potentiometer", "47k 100k 470k", "", "2"),
        *parts_from("film capacitor", "E6 1n:1u", "", "0.40"),
    ]
    # E6 of IEC 60063.
    decade = (1, 1.5, 2.2, 3.3, 4.7, 6.8)
    ohms = {round(ten * one) for ten in (1e2, 1e3, 1e4, 1e5) for one in decade} | {1_000_000}
    nanofarads = {round(ten * one, 1) for ten in (1, 10, 100) for one in decade} | {1000.0}
    session.drawer.keep(Drawer(tuple(parts)))
    qtbot.waitUntil(lambda: "sets" in page.status.text(), timeout=60_000)

    def of_the_drawer():
        return all(
            part.value in (47e3, 100e3, 470e3)
            if part.kind == "potentiometer"
            else round(part.value) in ohms
            if part.unit == "ohm"
            else round(part.value * 1e9, 1) in nanofarads
            for one in model.sets
            for part in one.parts
        )

    qtbot.waitUntil(of_the_drawer, timeout=60_000)
    first = model.sets[0]
    cost = sum(
        0.4 if part.unit == "F" else 2.0 if part.kind == "potentiometer" else 0.1
        for part in first.parts
    )
    cell = model.data(model.index(0, 4))
    assert f"cost {cost:.2f}" in cell
    click(box)
    qtbot.waitUntil(lambda: "cost" not in model.data(model.index(0, 4)), timeout=60_000)
    assert form.resistors.isEnabled()
    assert session.document.value(WISH) == wanted, "the stock at hand is no part of the design"
