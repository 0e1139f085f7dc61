"""Build sheet on a printer, chosen in the system's own dialog."""

from __future__ import annotations

from PySide6.QtCore import QMarginsF
from PySide6.QtGui import QPageLayout, QPageSize
from PySide6.QtPrintSupport import QPrintDialog, QPrinter
from PySide6.QtWidgets import QWidget

from burstwise.app.sheet import draw_sheet
from burstwise.app.widgets.notice import tell
from burstwise.core.report.sheet import Sheet


def ask_and_print(parent: QWidget, sheet: Sheet) -> bool:
    """Ask for a printer and print a sheet; tells whether it went there."""
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setDocName(f"{sheet.title}: {sheet.subtitle}")
    printer.setPageSize(QPageSize(QPageSize.PageSizeId.A4))
    printer.setFullPage(True)
    dialog = QPrintDialog(printer, parent)
    dialog.setWindowTitle("Print")
    accepted = dialog.exec() == QPrintDialog.DialogCode.Accepted
    dialog.deleteLater()
    if not accepted:
        return False
    printer.setPageMargins(QMarginsF(0, 0, 0, 0), QPageLayout.Unit.Point)
    draw_sheet(printer, sheet)
    where = printer.outputFileName() or printer.printerName() or "the printer"
    tell(parent, f"Printed: {where}")
    return True
