"""The sheet on a printer has the pages of the PDF."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtPrintSupport import QPrintDialog, QPrinter
from PySide6.QtWidgets import QWidget

from burstwise.app.print_sheet import ask_and_print
from burstwise.app.sheet import pdf_bytes
from burstwise.app.widgets.notice import Notice
from burstwise.core.report.sheet import Paragraph, Section, Sheet


def sheet_of(pages: int) -> Sheet:
    sections = tuple(
        Section(f"Part {page}", (Paragraph("Words."),), new_page=page > 0) for page in range(pages)
    )
    return Sheet("Sheet", "of a test", "mark", sections)


def count(pdf: bytes) -> int:
    return pdf.count(b"/Type /Page\n") + pdf.count(b"/Type /Page ")


def test_print_draws_every_page(qtbot, monkeypatch, tmp_path: Path) -> None:
    owner = QWidget()
    qtbot.addWidget(owner)
    owner.show()
    file = tmp_path / "printed.pdf"

    def accept(dialog: QPrintDialog) -> int:
        dialog.printer().setOutputFormat(QPrinter.OutputFormat.PdfFormat)
        dialog.printer().setOutputFileName(str(file))
        return int(QPrintDialog.DialogCode.Accepted)

    monkeypatch.setattr(QPrintDialog, "exec", accept)
    assert ask_and_print(owner, sheet_of(3))
    assert count(file.read_bytes()) == count(pdf_bytes(sheet_of(3))) == 3
    assert str(file) in owner.findChild(Notice).text_in_full


def test_a_dialog_left_prints_nothing(qtbot, monkeypatch) -> None:
    owner = QWidget()
    qtbot.addWidget(owner)
    monkeypatch.setattr(QPrintDialog, "exec", lambda dialog: 0)
    assert not ask_and_print(owner, sheet_of(1))
    assert owner.findChild(Notice) is None
