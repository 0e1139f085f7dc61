"""What the drawer holds: kept in a file of the user, edited in a window, nothing lost."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit

from burstwise.app import drawer_dialog
from burstwise.app.drawer_dialog import DrawerDialog
from burstwise.app.own_drawer import OwnDrawer
from burstwise.app.window import MainWindow
from burstwise.core.drawer import KINDS, Drawer, parts_from
from burstwise.core.errors import InputError
from burstwise.core.limits.device_classes import devices_by_name

HEAD = "kind,value,name,price"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "data" / "drawer.csv"


@pytest.fixture
def drawer(qapp, file: Path) -> OwnDrawer:
    made = OwnDrawer()
    made.keep_in(file)
    return made


@pytest.fixture
def dialog(qtbot, drawer: OwnDrawer) -> DrawerDialog:
    made = DrawerDialog(drawer)
    made.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    qtbot.addWidget(made)
    with qtbot.waitActive(made):
        made.show()
    return made


def lines(file: Path) -> list[str]:
    return file.read_text(encoding="utf-8").splitlines()


def add(qtbot, dialog: DrawerDialog, kind: str, values: str, price: str = "") -> None:
    dialog.entry.kind.setCurrentIndex(tuple(KINDS).index(kind))
    for entry, text in ((dialog.entry.values, values), (dialog.entry.price, price)):
        entry.clear()
        qtbot.keyClicks(entry, text)
    qtbot.mouseClick(dialog.entry.add_button, Qt.MouseButton.LeftButton)


def test_parts_are_added_by_hand_and_kept_at_once(qtbot, dialog: DrawerDialog, file: Path) -> None:
    add(qtbot, dialog, "resistor", "4k7 10k", "0.05")
    add(qtbot, dialog, "tube", "50")
    assert lines(file) == [
        HEAD,
        "resistor,4.7 kΩ,,0.05",
        "resistor,10 kΩ,,0.05",
        "tube,50 mm,,",
    ]
    assert dialog.table.rowCount() == 3
    other = OwnDrawer()
    other.keep_in(file)
    assert other.parts.values("tube") == (0.05,)
    add(qtbot, dialog, "tube", "50")
    assert "There already" in dialog.status.text()
    add(qtbot, dialog, "wire", "5 kg")
    assert "wire" not in file.read_text(encoding="utf-8")
    assert dialog.entry.values.text() == "5 kg", "what was typed stays"
    assert dialog.status.text().startswith("Value must be a quantity in m")


def test_a_list_changed_elsewhere_is_shown(dialog: DrawerDialog, drawer: OwnDrawer) -> None:
    assert dialog.status.text().startswith("0 parts")
    drawer.keep(Drawer(parts_from("wire", "0.2 mm", "", "")))
    assert dialog.table.rowCount() == 1
    assert dialog.status.text().startswith("1 part.")


def test_a_device_is_chosen_from_the_classes(
    qtbot, dialog: DrawerDialog, drawer: OwnDrawer
) -> None:
    dialog.entry.kind.setCurrentIndex(tuple(KINDS).index("device"))
    assert dialog.entry.device.isVisible()
    assert not dialog.entry.values.isVisible()
    name = list(devices_by_name())[2]
    dialog.entry.device.setCurrentText(name)
    qtbot.mouseClick(dialog.entry.add_button, Qt.MouseButton.LeftButton)
    assert drawer.parts.names("device") == (name,)


def test_remove_and_take_back(qtbot, dialog: DrawerDialog, drawer: OwnDrawer, file: Path) -> None:
    add(qtbot, dialog, "resistor", "1k 2k2 4k7")
    three = drawer.parts
    dialog.table.selectRow(1)
    qtbot.keyClick(dialog.table, Qt.Key.Key_Delete)
    assert drawer.parts.values("resistor") == (1e3, 4.7e3)
    assert len(lines(file)) == 3
    dialog.table.selectAll()
    qtbot.mouseClick(dialog.remove_button, Qt.MouseButton.LeftButton)
    assert drawer.parts == Drawer()
    qtbot.mouseClick(dialog.back_button, Qt.MouseButton.LeftButton)
    assert drawer.parts.values("resistor") == (1e3, 4.7e3)
    qtbot.mouseClick(dialog.back_button, Qt.MouseButton.LeftButton)
    assert drawer.parts == three
    assert len(lines(file)) == 4
    qtbot.mouseClick(dialog.back_button, Qt.MouseButton.LeftButton)
    assert drawer.parts == Drawer()
    assert not dialog.back_button.isEnabled()


def test_a_cell_is_typed_over(qtbot, dialog: DrawerDialog, drawer: OwnDrawer) -> None:
    add(qtbot, dialog, "wire", "0.2 mm 0.3 mm")

    def retype(column: int, text: str) -> None:
        item = dialog.table.item(0, column)
        dialog.table.editItem(item)
        entry = dialog.table.viewport().findChild(QLineEdit)
        assert entry is not None
        entry.selectAll()
        qtbot.keyClicks(entry, text)
        qtbot.keyClick(entry, Qt.Key.Key_Return)
        qtbot.waitUntil(lambda: dialog.table.viewport().findChild(QLineEdit) is None)

    retype(1, "0.25")
    assert drawer.parts.values("wire") == (0.25e-3, 0.3e-3)
    retype(3, "-2")
    assert drawer.parts.parts[0].price is None
    cell = dialog.table.item(0, 3)
    assert cell is not None
    assert cell.text() == "", "what stood there is back"
    assert "price" in dialog.status.text().lower()
    retype(3, "4.5")
    assert drawer.parts.parts[0].price == 4.5


def test_import_and_export(
    qtbot, dialog: DrawerDialog, drawer: OwnDrawer, tmp_path: Path, monkeypatch
) -> None:
    add(qtbot, dialog, "resistor", "1k")
    source, target = tmp_path / "mine.csv", tmp_path / "out"
    monkeypatch.setattr(drawer_dialog, "ask_open", lambda *_: source)
    monkeypatch.setattr(drawer_dialog, "ask_save", lambda *_: (target, ""))
    source.write_text(f"{HEAD}\nresistor,1k,,\nspanner,1,,\n", encoding="utf-8")
    qtbot.mouseClick(dialog.import_button, Qt.MouseButton.LeftButton)
    assert "line 3" in dialog.status.text()
    assert drawer.parts.values("resistor") == (1e3,)
    source.write_text(f"{HEAD}\nresistor,1k,,\nwire,0.2mm,,\n", encoding="utf-8")
    qtbot.mouseClick(dialog.import_button, Qt.MouseButton.LeftButton)
    assert "1 part added of 2" in dialog.status.text()
    qtbot.mouseClick(dialog.export_button, Qt.MouseButton.LeftButton)
    assert lines(target.with_suffix(".csv")) == [HEAD, "resistor,1 kΩ,,", "wire,0.2 mm,,"]


def test_a_list_that_cannot_be_read_is_put_aside(qtbot, drawer: OwnDrawer, file: Path) -> None:
    file.parent.mkdir(parents=True)
    file.write_text("my own notes", encoding="utf-8")
    drawer.read()
    assert str(file) in drawer.complaint
    dialog = DrawerDialog(drawer)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    qtbot.addWidget(dialog)
    assert "cannot be read" in dialog.status.text()
    drawer.keep(Drawer(parts_from("wire", "0.2 mm", "", "")))
    assert lines(file) == [HEAD, "wire,0.2 mm,,"]
    assert lines(file.with_name("drawer-not-read-1.csv")) == ["my own notes"]
    assert drawer.complaint == ""


def test_a_list_that_cannot_be_written_stays_as_it_was(drawer: OwnDrawer, file: Path) -> None:
    file.mkdir(parents=True)
    with pytest.raises(InputError):
        drawer.keep(Drawer(parts_from("wire", "0.2 mm", "", "")))
    assert drawer.parts == Drawer()


def test_the_window_keeps_it_with_the_users_data(window: MainWindow) -> None:
    assert window.session.drawer.file == window.places.data / "drawer.csv"
    action = next(
        action
        for head in window.menuBar().actions()
        for action in head.menu().actions()
        if "dra&wer" in action.text()
    )
    action.trigger()
    dialog = window.findChild(DrawerDialog)
    assert dialog is not None
    assert dialog.isVisible()
    dialog.reject()
