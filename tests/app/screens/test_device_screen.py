"""Switch and drive screen: classes, typed figures, curves pasted and used, protection fitted."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QKeySequence

from burstwise.app.screens.device.datasheet import SHEET
from burstwise.app.screens.device.screen import DeviceScreen
from burstwise.app.session import Session
from burstwise.core.design.device import Device


@pytest.fixture
def screen(qtbot, session: Session, theme) -> DeviceScreen:
    made = DeviceScreen(session, theme)
    qtbot.addWidget(made)
    made.resize(1114, 666)
    with qtbot.waitActive(made):
        made.show()
    return made


def type_into(qtbot, line, text: str) -> None:
    line.setFocus()
    line.selectAll()
    qtbot.keyClicks(line, text)
    qtbot.keyClick(line, Qt.Key.Key_Return)


def test_every_figure_has_its_place_in_a_datasheet():
    named = {entry.name for section in SHEET for entry in section.entries}
    plain = set(Device.model_fields) - {
        "name", "impedance_curve", "capacitance_curve",
        "reverse_curve", "safe_area",
    }  # fmt: skip
    assert named == plain
    assert all(entry.where for section in SHEET for entry in section.entries)


def test_a_class_is_taken_and_undone(qtbot, screen, session):
    box = screen.sheet.classes
    box.setFocus()
    box.setCurrentIndex(box.findText("100 V, 30 A trench, non-isolated"))
    assert "from memory" in screen.sheet.provenance.text()
    qtbot.mouseClick(screen.sheet.take_button, Qt.MouseButton.LeftButton)
    assert session.document.design.device.drain_voltage_rating == 100
    assert screen.sheet.fields["device.drain_voltage_rating"].value == 100
    session.document.undo()
    assert session.document.design.device.drain_voltage_rating == 600


def test_one_click_takes_the_law_of_the_class(qtbot, screen, session):
    assert not screen.sheet.law_button.isVisible()
    session.document.edit("device.capacitance_law", "constant")
    assert screen.sheet.law_button.isVisible()
    assert "600 V, 4 A planar, full-pack: planar junction" in screen.sheet.law_words.text()
    farad = session.document.design.device.output_capacitance
    qtbot.mouseClick(screen.sheet.law_button, Qt.MouseButton.LeftButton)
    device = session.document.design.device
    assert (device.capacitance_law, device.output_capacitance) == ("junction", farad)
    assert not screen.sheet.law_button.isVisible()
    session.document.undo()
    assert screen.sheet.law_button.isVisible()


def test_a_slip_is_doubted_in_words(qtbot, screen, session):
    assert "fit together" in screen.sheet.doubts.text()
    type_into(qtbot, screen.sheet.fields["device.power_rating"].entry, "350W")
    assert session.document.design.device.power_rating == 350
    assert "power rating" in screen.sheet.doubts.text()
    assert screen.sheet.doubts.text().startswith("▲")


def test_a_bad_figure_keeps_the_last_good_one(qtbot, screen, session):
    type_into(qtbot, screen.sheet.fields["device.avalanche_voltage"].entry, "10 V")
    assert session.document.design.device.avalanche_voltage == 690


def test_curve_is_pasted_and_used(qtbot, screen, session):
    screen.tabs.setCurrentWidget(screen.curves)
    table = screen.curves.impedance.table
    QGuiApplication.clipboard().setText(
        "10us\t0.03\n100us\t0.12\n1ms\t0.4\n10ms\t1\n100ms\t1.8\n1s\t3\n10s\t3.5"
    )
    table.setFocus()
    paste = QKeySequence(QKeySequence.StandardKey.Paste)[0]
    qtbot.keyClick(table, paste.key(), paste.keyboardModifiers())
    points = session.document.design.device.impedance_curve
    assert [point.time for point in points][:2] == pytest.approx([1e-5, 1e-4])
    qtbot.mouseClick(screen.curves.fit, Qt.MouseButton.LeftButton)
    assert session.document.design.device.junction_to_case == pytest.approx(3.5, rel=0.05)


def test_an_incomplete_row_waits(qtbot, screen, session):
    screen.tabs.setCurrentWidget(screen.curves)
    curve = screen.curves.capacitance
    curve.table.item(0, 0).setText("25 V")
    assert "not complete" in curve.error.text()
    assert session.document.design.device.capacitance_curve == ()
    curve.table.item(0, 1).setText("nonsense")
    assert "Row 1" in curve.error.text()
    curve.table.item(0, 1).setText("200p")
    assert not curve.error.isVisible()
    assert session.document.design.device.capacitance_curve[0].capacitance == pytest.approx(2e-10)
    assert curve.table.rowCount() == 2


def test_a_bare_number_in_a_cell_has_the_unit_that_the_cell_showed(screen, session):
    curve = screen.curves.capacitance
    curve.paste("25 V\t200p")
    assert curve.table.item(0, 1).text() == "200 pF"
    curve.table.item(0, 1).setText("220")
    assert session.document.design.device.capacitance_curve[0].capacitance == 220e-12
    curve.table.item(1, 0).setText("50 V")
    curve.table.item(1, 1).setText("180")
    assert "Capacitance must be" in curve.error.text()
    assert "did you mean 180 pF" in curve.error.text()
    assert "device." not in curve.error.text()
    assert len(session.document.design.device.capacitance_curve) == 1


def test_capacitance_from_its_curve(qtbot, screen, session):
    screen.tabs.setCurrentWidget(screen.curves)
    qtbot.mouseClick(screen.curves.use, Qt.MouseButton.LeftButton)
    assert "at least two points" in screen.curves.note.text()
    screen.curves.capacitance.paste("0 1n\n600 1n")
    qtbot.mouseClick(screen.curves.use, Qt.MouseButton.LeftButton)
    assert session.document.design.device.capacitance_law == "curve"
    assert "energy related 1 nF" in screen.curves.note.text().replace("\u00a0", " ")


def test_rows_are_removed(qtbot, screen, session):
    screen.tabs.setCurrentWidget(screen.curves)
    curve = screen.curves.area
    curve.paste("1m 10 5\n1m 100 0.5")
    assert len(session.document.design.device.safe_area) == 2
    curve.table.setCurrentCell(0, 0)
    qtbot.mouseClick(curve.remove, Qt.MouseButton.LeftButton)
    assert len(session.document.design.device.safe_area) == 1
    qtbot.mouseClick(curve.clear, Qt.MouseButton.LeftButton)
    assert session.document.design.device.safe_area == ()


def test_protection_is_fitted_and_removed(qtbot, screen, session):
    screen.tabs.setCurrentWidget(screen.protection)
    check = screen.protection.checks["snubber"]
    check.setFocus()
    qtbot.keyClick(check, Qt.Key.Key_Space)
    assert session.document.design.protection.snubber is not None
    session.document.undo()
    assert not check.isChecked()


def test_the_drive_in_use_stands_beside_its_sketch_and_the_other_is_folded(screen, session, qtbot):
    page = screen.drive
    screen.tabs.setCurrentWidget(page)
    used = session.document.value("drive.kind")
    other = next(kind for kind in page.kinds if kind != used)
    assert page.kinds[used].isVisible()
    assert not page.kinds[other].isVisible()
    assert "not in use" in page.fold.text()
    qtbot.mouseClick(page.fold, Qt.MouseButton.LeftButton)
    assert page.kinds[other].isVisible()
    assert "dot of the primary goes to MAIN +" in page.drawing.describe()
    session.document.edit("drive.feedback_sense", "reversed")
    assert "dot of the primary goes to the drain" in page.drawing.describe()
    session.document.edit("drive.kind", other)
    qtbot.mouseClick(page.fold, Qt.MouseButton.LeftButton)
    assert page.kinds[other].isVisible()
    assert not page.kinds[used].isVisible()


def test_the_form_and_the_sketch_follow_what_feeds_the_driver(qtbot, screen, session):
    page = screen.drive
    screen.tabs.setCurrentWidget(page)
    session.document.edit("drive.kind", "gated")
    rows = page.kinds["gated"].rows
    own = {
        "current transformer": ("transformer_turns", "transformer_inductance", "burden"),
        "antenna": ("antenna_capacitance",),
    }
    said = {"base current": "BASE and the gate driver", "antenna": "an antenna near the top"}
    box = rows["drive.gated.feedback"]
    for feedback in ("current transformer", "antenna", "base current"):
        box.setFocus()
        box.setCurrentIndex(box.findData(feedback))
        assert session.document.value("drive.gated.feedback") == feedback
        for kind, names in own.items():
            for name in names:
                assert rows[f"drive.gated.{name}"].isVisibleTo(page) is (kind == feedback), name
        words = page.drawing.describe()
        assert said.get(feedback, "through the current transformer") in words


def test_junction_to_case_stands_in_the_sheet_and_scales_the_network(qtbot, screen, session):
    """Time constants stay: resistance falls and capacity grows with the area of a die."""
    field, before = screen.sheet.fields["device.thermal_network"], session.document.value("device")
    assert field.value == pytest.approx(sum(one.resistance for one in before.thermal_network))
    type_into(qtbot, field.entry, "1.5 K/W")
    after = session.document.value("device")
    assert sum(one.resistance for one in after.thermal_network) == pytest.approx(1.5, rel=1e-5)
    assert [one.time_constant for one in after.thermal_network] == [
        one.time_constant for one in before.thermal_network
    ]
    session.document.undo()
    assert field.value == pytest.approx(before.junction_to_case)
