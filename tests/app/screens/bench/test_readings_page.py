"""Readings typed, pasted, opened and saved; nothing typed is lost."""

from __future__ import annotations

import csv

from PySide6.QtCore import QPoint, Qt, QTimer
from PySide6.QtGui import QTextDocument
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit

from burstwise.app.screens.bench.headings_dialog import HeadingsDialog
from burstwise.app.screens.bench.table_model import DERIVED, NOTE_COLUMN
from burstwise.core.bench.pasted import NAMES
from burstwise.core.design.readings import ReadingCells

_RMS = NAMES.index("shunt_rms")
_MEAN = NAMES.index("shunt_mean")


def _type(screen, row: int, column: int, text: str) -> None:
    """Click the cell and type with the keyboard, ended with Return."""
    table = screen.readings.table
    at = table.visualRect(screen.readings.model.index(row, column)).center()
    QTest.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, pos=QPoint(at))
    QTest.keyClick(table, text[0])
    editor = QApplication.focusWidget()
    assert isinstance(editor, QLineEdit)
    QTest.keyClicks(editor, text[1:])
    _end(editor)


def _end(editor) -> None:
    """Return, which the table takes in its next turn."""
    QTest.keyClick(editor, Qt.Key.Key_Return)
    QApplication.processEvents()


def _shown(screen, row: int, column: int) -> str:
    return screen.readings.model.index(row, column).data()


def test_typed_row_has_its_derived_columns_at_once(screen, session):
    _type(screen, 0, 0, "24 V")
    _type(screen, 0, _RMS, "345 mV")
    _type(screen, 0, _MEAN, "0,2")
    rows = session.document.design.readings.rows
    assert (rows[0].supply, rows[0].shunt_rms, rows[0].shunt_mean) == ("24 V", "345 mV", "0,2")
    titles = [column.title.replace("\n", " ") for column in DERIVED]
    mean = NOTE_COLUMN + 1 + titles.index("Mean current")
    power = NOTE_COLUMN + 1 + titles.index("Input power")
    assert _shown(screen, 0, mean) == "2"
    assert _shown(screen, 0, power) == "48"
    assert screen.readings.model.rowCount() == 2


def test_return_goes_down_so_that_columns_can_be_typed(screen, session):
    _type(screen, 0, 0, "12")
    table = screen.readings.table
    assert table.currentIndex().row() == 1
    QTest.keyClick(table, "2")
    editor = QApplication.focusWidget()
    QTest.keyClicks(editor, "4")
    _end(editor)
    assert [row.supply for row in session.document.design.readings.rows] == ["12", "24"]


def test_missing_mean_is_marked_as_a_bound(screen):
    _type(screen, 0, 0, "24")
    _type(screen, 0, _RMS, "0.3")
    assert _shown(screen, 0, NOTE_COLUMN + 1).startswith("≤ ")
    tip = screen.readings.model.index(0, NOTE_COLUMN + 1).data(Qt.ItemDataRole.ToolTipRole)
    assert "stands for the mean" in tip


def test_bad_cell_stays_is_marked_and_says_why(screen, session):
    _type(screen, 0, 0, "24")
    _type(screen, 0, _RMS, "lots")
    assert session.document.design.readings.rows[0].shunt_rms == "lots"
    index = screen.readings.model.index(0, _RMS)
    assert index.data() == "■ lots"
    assert index.data(Qt.ItemDataRole.EditRole) == "lots"
    assert "Shunt RMS must be" in index.data(Qt.ItemDataRole.ToolTipRole)
    assert "Row 1" in screen.readings.problems.text()
    _type(screen, 0, _RMS, "0.3")
    assert index.data() == "0.3"
    assert "Row 1" not in screen.readings.problems.text()


def test_a_cell_with_markup_is_told_as_it_is_written(screen):
    _type(screen, 0, _RMS, "<i>9</i>")
    read = QTextDocument()
    read.setHtml(screen.readings.problems.text())
    assert "instead received <i>9</i>" in read.toPlainText()
    tip = screen.readings.model.index(0, _RMS).data(Qt.ItemDataRole.ToolTipRole)
    read.setHtml(tip)
    assert "instead received <i>9</i>" in read.toPlainText()


def test_every_edit_can_be_undone(screen, session):
    _type(screen, 0, 0, "24")
    _type(screen, 0, 0, "30")
    session.document.undo()
    assert _shown(screen, 0, 0) == "24"
    session.document.undo()
    assert session.document.design.readings.rows == ()
    session.document.redo()
    assert _shown(screen, 0, 0) == "24"


def test_paste_from_a_spreadsheet_with_header(screen, session, paste):
    choose_columns([], Qt.Key.Key_Return, day="Keep in Note")
    paste(screen, "supply [V]\tshunt rms [mV]\tday\n12,5\t345\tMonday\n24\t??\tTuesday\n")
    rows = session.document.design.readings.rows
    assert [row.supply for row in rows] == ["12,5", "24"]
    assert rows[0].shunt_rms == "345 mV"
    assert rows[1].shunt_rms == "??"
    assert [row.note for row in rows] == ["day: Monday", "day: Tuesday"]
    assert screen.readings.model.problem(1, _RMS)
    session.document.undo()
    assert session.document.design.readings.rows == ()


def test_paste_of_more_rows_than_fit_says_so_in_one_line(screen, session, paste):
    paste(screen, "12\t0.5")
    before = session.document.design.readings.rows
    for text in ("24\t0.4\n" * 1001, "supply [V]\tduty\n" + "24\t0.4\n" * 1200):
        paste(screen, text)
        told = screen.readings.message.text()
        assert told.startswith("■ Nothing was pasted")
        assert "at most 1,000 rows" in told
        assert "1,20" in told or "1,001" in told
        assert "\n" not in told
        assert session.document.design.readings.rows == before
    paste(screen, "36")
    assert screen.readings.message.text() == ""
    assert session.document.design.readings.rows[0].supply == "36"


def test_file_of_more_rows_than_fit_says_so(screen, session, paste, tmp_path):
    file = tmp_path / "r.csv"
    paste(screen, "12\t0.5")
    for rows in (1000, 1001):
        file.write_text("supply [V];duty\n" + "24;0.4\n" * rows)
        assert not screen.readings.load(file)
        told = screen.readings.message.text()
        assert told.startswith("■")
        assert "1000" in told.replace(",", "")
        assert len(told) < 200
    assert len(session.document.design.readings.rows) == 1


def test_paste_with_returns_and_a_very_long_cell(screen, session, paste):
    paste(screen, "12\t0.5\r24\t" + "x" * 200_000 + "\r36\t0.3")
    rows = session.document.design.readings.rows
    assert [row.supply for row in rows] == ["12", "24", "36"]
    assert rows[1].duty == "x" * 200


def test_paste_of_bare_cells_copy_cut_and_clear(screen, session, paste, qapp):
    paste(screen, "12\t0.5\n24\t0.4\n36\t0.3")
    table, model = screen.readings.table, screen.readings.model
    assert [row.duty for row in model.rows] == ["0.5", "0.4", "0.3"]
    table.setFocus()
    table.setCurrentIndex(model.index(0, 0))
    QTest.keyClick(table, Qt.Key.Key_Down, Qt.KeyboardModifier.ShiftModifier)
    QTest.keyClick(table, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    QTest.keyClick(table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    assert qapp.clipboard().text() == "12\t0.5\n24\t0.4"
    QTest.keyClick(table, Qt.Key.Key_X, Qt.KeyboardModifier.ControlModifier)
    assert [row.supply for row in model.rows] == ["", "", "36"]
    session.document.undo()
    QTest.keyClick(table, Qt.Key.Key_Delete)
    assert [row.supply for row in model.rows] == ["", "", "36"]
    session.document.undo()
    QTest.mouseClick(screen.readings.remove_button, Qt.MouseButton.LeftButton)
    assert [row.supply for row in model.rows] == ["36"]


def test_file_is_saved_and_read_back_cell_by_cell(screen, session, paste, tmp_path):
    paste(
        screen, "supply [V]\tshunt rms [V]\tnote\n12,5 V\t345 mV\tcold; long, light\n24\tlots\t\n"
    )
    file = tmp_path / "r.csv"
    assert screen.readings.save(file)
    before = session.document.design.readings.rows
    session.document.edit("readings.rows", ())
    assert screen.readings.load(file)
    assert session.document.design.readings.rows == before
    assert "2 rows added" in screen.readings.message.text()


def test_formulas_are_saved_as_words_and_come_back_as_typed(screen, session, paste, tmp_path):
    paste(screen, "supply [V]\tshunt mean [mV]\tnote\n24\t-12\t=HYPERLINK(1)\n36\t-\t@home\n")
    file = tmp_path / "r.csv"
    assert screen.readings.save(file)
    rows = list(csv.DictReader(file.read_text(encoding="utf-8").splitlines()))
    assert [row["note"] for row in rows] == ["'=HYPERLINK(1)", "'@home"]
    assert [row["shunt mean [V]"] for row in rows] == ["-12 mV", "-"]
    before = session.document.design.readings.rows
    session.document.edit("readings.rows", ())
    assert screen.readings.load(file)
    assert session.document.design.readings.rows == before


def choose_columns(asked: list[list[str]], end: Qt.Key, **wanted: str) -> None:
    """Answer the question about headings by keys once it comes."""

    def answer() -> None:
        dialog = QApplication.activeModalWidget()
        if not isinstance(dialog, HeadingsDialog):
            QTimer.singleShot(5, answer)
            return
        asked.append(list(dialog.boxes))
        for title, words in wanted.items():
            box = dialog.boxes[title]
            box.setFocus()
            for _ in range(box.findText(words)):
                QTest.keyClick(box, Qt.Key.Key_Down)
        QTest.keyClick(dialog, end)

    QTimer.singleShot(5, answer)


def test_headings_that_name_no_column_are_offered_for_assignment(screen, session, tmp_path, paste):
    file = tmp_path / "r.csv"
    file.write_text("supply [V];shunt rsm [mV];meter;day;note\n12;345;B;Monday;cold\n")
    asked: list[list[str]] = []
    choose_columns(asked, Qt.Key.Key_Escape)
    assert not screen.readings.load(file)
    assert session.document.design.readings.rows == ()
    columns = {"shunt rsm [mV]": "Shunt rms", "meter": "Keep in Note"}
    choose_columns(asked, Qt.Key.Key_Return, **columns)
    assert screen.readings.load(file)
    assert asked == [["shunt rsm [mV]", "meter", "day"]] * 2
    row = session.document.design.readings.rows[0]
    assert (row.shunt_rms, row.note) == ("345 mV", "cold; meter: B")
    text = screen.readings.message.text()
    assert text.startswith("▲ 1 rows added from r.csv.")
    assert "No column is called 'day': its cells are left out." in text
    paste(screen, "supply [V]\tshunt rms [V]\n12\t0.3\n")
    assert screen.readings.message.text() == ""
    choose_columns(asked, Qt.Key.Key_Return)
    paste(screen, "supply [V]\tday\n12\tMonday\n")
    assert session.document.design.readings.rows[-1].note == ""
    assert screen.readings.message.text().startswith("▲ No column is called 'day': its cells")


def test_a_file_with_another_name_for_the_supply_can_be_read(screen, session, tmp_path):
    file = tmp_path / "r.csv"
    file.write_text("bus (V),shunt rms [mV]\n12,345\n")
    asked: list[list[str]] = []
    choose_columns(asked, Qt.Key.Key_Return, **{"bus (V)": "Supply"})
    assert screen.readings.load(file)
    row = session.document.design.readings.rows[0]
    assert (row.supply, row.shunt_rms) == ("12", "345 mV")


def test_file_that_cannot_be_used_is_named_and_changes_nothing(screen, session, tmp_path):
    file = tmp_path / "r.csv"
    file.write_text("12;3\n")
    assert not screen.readings.load(file)
    assert screen.readings.message.text().startswith("■")
    assert "line 1" in screen.readings.message.text()
    assert not screen.readings.load(tmp_path / "missing.csv")
    assert session.document.design.readings.rows == ()


def test_chosen_row_shows_both_pictures_and_the_difference(screen, session, paste):
    paste(screen, "supply [V]\tshunt rms [V]\tshunt mean [V]\n60\t0.3\t0.2\n")
    screen.readings.table.setCurrentIndex(screen.readings.model.index(0, 0))
    text = screen.readings.explanation.text()
    assert "simple" in text
    assert "honest" in text
    assert "180 W" in text
    assert "120 W" in text
    assert "form factor is 1.5" in text


def test_shunt_and_accuracy_are_fields_of_the_design(screen, session, qtbot):
    session.document.edit("readings.rows", (ReadingCells(supply="24", shunt_rms="0.3"),))
    fields = [
        field
        for field in screen.readings.findChildren(QLineEdit)
        if field.accessibleName() == "Shunt"
    ]
    field = fields[0]
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "0R2")
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert session.document.design.readings.shunt_resistance == 0.2
    assert _shown(screen, 0, NOTE_COLUMN + 2) == "1.5"


def test_nothing_is_cut_off_at_the_smallest_size(screen, paste):
    paste(screen, "supply [V]\tshunt rms [mV]\n12.5\t345.6\n")
    table = screen.readings.table
    for column in range(NOTE_COLUMN):
        for text in (_shown(screen, 0, column), *_header(screen, column)):
            width = table.fontMetrics().horizontalAdvance(text or "")
            assert width + 6 <= table.columnWidth(column), text


def _header(screen, column: int) -> list[str]:
    title = screen.readings.model.headerData(column, Qt.Orientation.Horizontal)
    return str(title).split("\n")


def test_a_pipe_or_an_endless_file_is_told_in_a_line(screen, session, odd_files):
    for words, file in odd_files.items():
        assert not screen.readings.load(file)
        assert screen.readings.message.text().endswith(words)
    assert session.document.design.readings.rows == ()


def test_an_endless_cell_is_pasted_as_far_as_a_cell_holds(screen, session, paste):
    paste(screen, "1" * 200_000 + "\t0.5\n")
    (row,) = session.document.design.readings.rows
    assert (row.supply, row.duty) == ("1" * 200, "0.5")
