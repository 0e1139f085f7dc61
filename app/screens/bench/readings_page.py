"""Readings page: the table, what it was measured with, and what the chosen row says."""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import Final

from PySide6.QtWidgets import (
    QHBoxLayout,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.file_dialogs import ask_open, ask_save, show_saved
from burstwise.app.screens.bench.headings_dialog import ask_columns
from burstwise.app.screens.bench.state import BenchState
from burstwise.app.screens.bench.table_model import ReadingsModel
from burstwise.app.screens.bench.table_view import ReadingsView
from burstwise.app.screens.bench.words import findings_html, paragraph, side_column, title
from burstwise.app.section_form import SectionForm
from burstwise.app.theme import MARKS, Theme, Tokens
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.widgets.words import unbroken
from burstwise.core.bench.derived import DerivedRow
from burstwise.core.bench.pasted import cells_csv, rows_from_text, unknown_headings_note
from burstwise.core.bench.prediction import switching_loss
from burstwise.core.bench.readings_text import unknown_titles
from burstwise.core.bench.series_explanation import series_explanation
from burstwise.core.disk import read_text, write_whole
from burstwise.core.errors import InputError
from burstwise.core.findings import Severity
from burstwise.core.units import shown

_CSV: Final = "Readings (*.csv *.txt *.tsv);;All files (*)"
_TOLD_HEIGHT: Final = 200
_EMPTY: Final = (
    "Type supply and shunt voltages row by row, or paste them from a spreadsheet (Ctrl+V). "
    "Cells take units: 345 mV, 50 %, 2 cm."
)


class ReadingsPage(QWidget):
    """Table on the left, instruments and explanation on the right.

    Parameters
    ----------
    state : BenchState
        Readings.
    theme : Theme
        Colours.
    """

    def __init__(self, state: BenchState, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state, self._theme = state, theme
        self.model = ReadingsModel(state, theme)
        self.table = ReadingsView(self.model, self)
        self.open_button = QPushButton("Open CSV…", self)
        self.save_button = QPushButton("Save CSV…", self)
        self.paste_button = QPushButton("Paste", self)
        self.remove_button = QPushButton("Remove rows", self)
        self.message = TextLabel(self)
        self.problems = paragraph(self)
        self.explanation = paragraph(self, role="plain")
        self.instruments = self._instruments()
        self._lay_out()
        self.open_button.clicked.connect(self._ask_open)
        self.save_button.clicked.connect(self._ask_save)
        self.model.refused.connect(self._refuse)
        self.paste_button.clicked.connect(self.table.paste)
        self.remove_button.clicked.connect(self.table.remove_rows)
        self.table.pasted.connect(self._tell)
        self.table.selectionModel().currentChanged.connect(self._explain)
        state.sheet_changed.connect(self._follow)
        state.session.evaluated.connect(self._explain)
        theme.changed.connect(self._recolour)
        self._follow()

    def load(self, path: Path) -> bool:
        """Add the rows of a CSV file; tells whether they are there now."""
        try:
            text = read_text(path)
            given = ask_columns(self, unknown_titles(text))
            if given is None:
                return False
            rows = rows_from_text(text, name=path.name, given=given)
        except InputError as error:
            self._say(str(error), bad=True)
            return False
        assert rows is not None
        taken = self.model.append(rows, text="Open readings")
        if taken:
            self._tell(
                unknown_headings_note(text, given=given),
                f"{len(rows)} rows added from {path.name}.",
            )
        return taken

    def save(self, path: Path) -> bool:
        """Write the table as CSV, cells as typed."""
        try:
            write_whole(path, cells_csv(self.model.rows).encode("utf-8"))
        except InputError as error:
            self._say(str(error), bad=True)
            return False
        self._say(f"Saved as {path.name}.")
        return True

    def _instruments(self) -> QWidget:
        document = self._state.session.document
        shunt = SectionForm(
            document,
            "Shunt and device",
            ["readings.shunt_resistance", "readings.shunt_tolerance"],
        )
        self.hot = paragraph(self)
        names = ("supply", "shunt_rms", "shunt_mean", "shunt_peak", "drain_peak")
        paths = [f"readings.accuracy.{name}" for name in names]
        accuracy = SectionForm(document, "Accuracy, part of reading", paths)
        for form in (shunt, accuracy):
            form.setMaximumWidth(300)
        shunt_and_device = QWidget(self)
        first = QVBoxLayout(shunt_and_device)
        first.setContentsMargins(0, 0, 0, 0)
        first.addWidget(shunt)
        first.addWidget(self.hot)
        first.addStretch(1)
        self.hot.setMaximumWidth(300)
        heading = title("What the chosen row says", self)
        heading.setWordWrap(True)
        told = side_column([heading, self.explanation], width=460, parent=self)
        told.setMinimumWidth(200)
        told.setMaximumWidth(16_777_215)
        told.setMinimumHeight(_TOLD_HEIGHT)
        below = Reflow(spacing=6, parent=self)
        below.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Maximum)
        below.add(shunt_and_device, 0)
        below.add(accuracy, 0)
        below.add(told)
        return below

    def _lay_out(self) -> None:
        buttons = QHBoxLayout()
        for button in (self.open_button, self.save_button, self.paste_button, self.remove_button):
            buttons.addWidget(button)
        buttons.addWidget(self.message, 1)
        self.message.setWordWrap(True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.addLayout(buttons)
        layout.addWidget(self.table, 1)
        layout.addWidget(self.problems)
        layout.addWidget(self.instruments)

    def _follow(self) -> None:
        self._say("")
        sheet = self._state.sheet
        glyph = MARKS[Severity.STOP].glyph
        lines = [f"{glyph} Row {item.row + 1}: {item.reason}" for item in sheet.problems[:3]]
        if len(sheet.problems) > 3:
            lines.append(f"… and {len(sheet.problems) - 3} more marked cells.")
        html = "".join(
            f'<p style="margin:0;color:{self._theme.tokens.stop}">{escape(line)}</p>'
            for line in lines
        )
        html += findings_html(sheet.findings[:2], self._theme.tokens)
        self.problems.set_markup(html or _EMPTY)
        setup = self._state.setup
        if setup is not None:
            given = self._state.design.readings.on_resistance is not None
            source = "as measured" if given else "the device's at 100 °C"
            self.hot.setText(
                f"On-resistance for the derived columns: {shown(setup.on_resistance, 'Ω')}, "
                f"{source}."
            )
        else:
            self.hot.setText(f"{glyph} {self._state.setup_error}")
        self._explain()

    def _explain(self, *_: object) -> None:
        row, setup = self.model.derived(self.table.currentIndex().row()), self._state.setup
        if row is None or setup is None or row.reading.supply is None:
            self.explanation.setText(
                "Choose a row with supply and shunt RMS voltage to see input power, coil and "
                "device in the simple picture of three resistances and in the full account."
            )
            return
        told = series_explanation(
            row.reading.supply,
            rms_current=row.current_rms.value,
            mean_current=None if row.mean_assumed else row.current_mean.value,
            shunt=setup.shunt.resistance,
            on_resistance=setup.on_resistance,
            switching=self._switching(row),
        )
        simple, honest = told.simple, told.honest
        table = "".join(
            f"<tr><td>{name}&nbsp;</td><td align=right>{shown(one, unit, digits=3)}&nbsp;</td>"
            f"<td align=right>{shown(two, unit, digits=3)}</td></tr>"
            for name, unit, one, two in (
                ("Input power", "W", simple.input_power, honest.input_power),
                ("Coil", "Ω", simple.coil_resistance, honest.coil_resistance),
                ("Device", "W", simple.device_power, honest.device_power),
                ("Efficiency", "%", simple.efficiency, honest.efficiency),
            )
        )
        head = "<tr><td></td><td align=right>simple&nbsp;</td><td align=right>full</td></tr>"
        words = "".join(f"<p>{escape(sentence)}</p>" for sentence in told.sentences)
        self.explanation.set_markup(f"<table>{head}{table}</table>{unbroken(words)}")

    def _switching(self, row: DerivedRow) -> float | None:
        """Switching loss of the latest evaluation at the row's supply; None before the first."""
        latest = self._state.session.latest
        run = getattr(getattr(latest, "results", None), "carrier", None)
        supply = row.reading.supply
        if run is None or supply is None:
            return None
        return switching_loss(run, supply=supply, duty=row.reading.duty or 1.0)

    def _recolour(self, _tokens: Tokens) -> None:
        self._follow()

    def _say(self, text: str, *, bad: bool = False) -> None:
        set_style_property(self.message, "role", "error" if bad else "muted")
        self.message.setText(f"{MARKS[Severity.STOP].glyph} {text}" if bad else text)

    def _tell(self, unknown: str, done: str = "") -> None:
        """What was done, and with the mark of a caution what of it found no column."""
        self._say(done)
        if unknown:
            self.message.setText(
                f"{MARKS[Severity.CAUTION].glyph} {done} {unknown}".replace("  ", " ")
            )

    def _refuse(self, why: str) -> None:
        self._say(why, bad=True)

    def _ask_open(self) -> None:
        file = ask_open(self, "Open readings", _CSV)
        if file is not None:
            self.load(file)

    def _ask_save(self) -> None:
        asked = ask_save(self, "Save readings", _CSV, "readings.csv")
        if asked is not None and self.save(asked[0]):
            show_saved(self, asked[0])
