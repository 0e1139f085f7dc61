from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QCheckBox, QComboBox, QFileDialog, QLabel, QWidget

from burstwise.app.binding import bind_choice
from burstwise.app.field_tips import tip_of
from burstwise.app.file_dialogs import ask_open, last_folder, set_last_folder, show_saved
from burstwise.app.screens.registry import SCREENS
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.notice import Notice
from burstwise.app.widgets.quantity_field import QuantityField


def test_a_tip_has_meaning_unit_and_limits() -> None:
    assert tip_of("supply.voltage") == "Supply voltage\nUnit: V. Between 1 V and 400 V."
    assert tip_of("interrupter.duty") == "Duty\nUnit: %. Between 0 % and 100 %."
    assert "Without unit." in tip_of("coil.measured.coupling")
    assert tip_of("nowhere.at.all") == ""


def test_every_field_of_the_coil_drive_and_supply_has_a_tip(
    still_session: Session, theme: Theme, qtbot
) -> None:
    for title in ("Coil", "Switch and drive", "Supply and cooling", "Operating point"):
        screen = next(each for each in SCREENS if each.title == title)
        page = screen.made(still_session, theme)
        qtbot.addWidget(page)
        fields = page.findChildren(QuantityField)
        assert fields
        bare = [field.entry.accessibleName() for field in fields if not tip(field)]
        assert not bare, f"{title}: {bare}"


def tip(widget: QWidget) -> str:
    """Tip that shows over a widget: its own, or that of the nearest owner."""
    here: QWidget | None = widget
    while here is not None and not here.toolTip():
        here = here.parentWidget()
    return "" if here is None else here.toolTip()


def test_a_refused_choice_is_told_in_the_tip_until_one_is_taken(session: Session, qtbot) -> None:
    box = QComboBox()
    qtbot.addWidget(box)
    choices = {"numbers": "Numbers", "nonsense": "Nonsense"}
    bind_choice(session.document, "interrupter.given_by", box, choices)
    plain = box.toolTip()
    assert plain
    box.setCurrentIndex(1)
    assert "must be" in box.toolTip()
    assert box.toolTip().endswith(plain)
    assert box.currentIndex() == 0
    session.document.edit("interrupter.enabled", False)
    box.addItem("Parts", "parts")
    box.setCurrentIndex(2)
    assert session.document.value("interrupter.given_by") in ("parts", "numbers")
    if session.document.value("interrupter.given_by") == "parts":
        assert box.toolTip() == plain


def test_dialogs_begin_where_the_last_file_was(qtbot, monkeypatch, tmp_path: Path) -> None:
    asked = []
    file = tmp_path / "a" / "x.csv"
    file.parent.mkdir()

    def answer(_parent, _title, folder, _kinds):
        asked.append(folder)
        return str(file), ""

    monkeypatch.setattr(QFileDialog, "getOpenFileName", answer)
    owner = QLabel()
    qtbot.addWidget(owner)
    set_last_folder("")
    assert ask_open(owner, "Open", "*") == file
    assert ask_open(owner, "Open", "*") == file
    assert asked == [str(Path.home()), str(file.parent)]
    file.parent.rmdir()
    assert last_folder() == str(Path.home())


def test_a_save_is_told_in_the_window_and_goes_by_itself(qtbot, tmp_path: Path) -> None:
    window = QWidget()
    qtbot.addWidget(window)
    window.resize(420, 200)
    inner = QCheckBox(window)
    window.show()
    file = tmp_path / ("a-long-name-" * 8) / "sheet.pdf"
    show_saved(inner, file)
    notice = window.findChild(Notice)
    assert notice.isVisible()
    assert str(file) in notice.text_in_full
    assert notice.text().startswith("Saved: ")
    assert window.rect().contains(notice.geometry())
    show_saved(inner, tmp_path / "b.pdf")
    assert len(window.findChildren(Notice)) == 1
    QTest.keyClick(window, Qt.Key.Key_Tab)
    notice._end.timeout.emit()
    assert not notice.isVisible()
