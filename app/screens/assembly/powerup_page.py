"""First power-up on the screen: readings typed in, judged, and passed to the bench table."""

from __future__ import annotations

from functools import partial
from typing import Any, Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.document import Document
from burstwise.app.theme import MARKS, OK, Mark
from burstwise.app.widgets.caution import caution_line
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.app.widgets.words import unbroken
from burstwise.core.assembly.powerup import (
    Expectation,
    Judgement,
    PowerupPlan,
    Stage,
    bench_reading,
    judge,
)
from burstwise.core.assembly.powerup_naming import named_fault
from burstwise.core.bench.readings import Column
from burstwise.core.design.readings import ReadingCells
from burstwise.core.errors import InputError
from burstwise.core.findings import Severity
from burstwise.core.units import shown
from burstwise.core.written import is_bare

_STAGES_WIDTH: Final = 262
_READINGS_WIDTH: Final = 600
"""Width from which the readings stand beside the stages [px]."""
_OPEN = Mark("○", "open")
_STOP = MARKS[Severity.STOP]


class PowerupPage(QWidget):
    """Stages on the left; what to do and to read of the chosen one on the right."""

    def __init__(self, document: Document[Any], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._document = document
        self._plan: PowerupPlan | None = None
        self.typed: dict[tuple[str, str], str] = {}
        self.fields: dict[str, QLineEdit] = {}
        self.verdicts: dict[str, QLabel] = {}
        self.fits = TextLabel(self)
        self.fits.hide()  # until a stage has its own
        self.stages = QListWidget(self)
        self.stages.setAccessibleName("Stages of the first power-up")
        set_style_property(self.stages, "role", "screens")
        self.stages.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area = QScrollArea(self)
        self.area.setWidgetResizable(True)
        across = Reflow(parent=self)
        across.add(self.stages, 0, width=_STAGES_WIDTH)
        across.add(self.area, row_width=_READINGS_WIDTH)
        layout = QVBoxLayout(self)
        layout.addWidget(caution_line("power-up", self))
        layout.addWidget(across, 1)
        self.stages.currentRowChanged.connect(self._show_stage)

    def show_plan(self, plan: PowerupPlan) -> None:
        """Take a plan; what was typed into stages of the same name stays and is judged anew."""
        row = max(self.stages.currentRow(), 0)
        self._plan = plan
        self.stages.blockSignals(True)
        self.stages.clear()
        for _ in plan.stages:
            self.stages.addItem(QListWidgetItem())
        self.stages.setCurrentRow(min(row, len(plan.stages) - 1))
        self.stages.blockSignals(False)
        self._name_stages()
        rows = sum(self.stages.sizeHintForRow(row) for row in range(self.stages.count()))
        self.stages.setMinimumHeight(rows + 2 * self.stages.frameWidth())
        self._show_stage(self.stages.currentRow())

    def judgement(self, stage: Stage, wanted: Expectation) -> Judgement | None:
        """Judgement of what was typed; None where nothing usable was."""
        text = self.typed.get((stage.name, wanted.name), "")
        try:
            return judge(wanted, text) if text else None
        except InputError:
            return None

    def stage_mark(self, stage: Stage) -> Mark:
        """Stop if any reading fails, ok if all pass, open otherwise."""
        found = [self.judgement(stage, wanted) for wanted in stage.expectations]
        if any(item is not None and not item.passed for item in found):
            return _STOP
        return OK if all(item is not None for item in found) else _OPEN

    def _name_stages(self) -> None:
        assert self._plan is not None
        for number, stage in enumerate(self._plan.stages):
            mark = self.stage_mark(stage)
            self.stages.item(number).setText(f"{mark.glyph} {number + 1}. {stage.title}")
            set_tip(self.stages.item(number), mark.word)

    def _show_stage(self, row: int) -> None:
        if self._plan is None or not 0 <= row < len(self._plan.stages):
            return
        stage = self._plan.stages[row]
        inner = QWidget()
        layout = QVBoxLayout(inner)
        title = TextLabel(f"{row + 1}. {stage.title}", inner, role="heading")
        layout.addWidget(title)
        for action in stage.actions:
            layout.addWidget(_words(f"•  {action}", inner))
        self.fits = _words("", inner)
        set_style_property(self.fits, "severity", "stop")
        layout.addWidget(self.fits)
        layout.addWidget(self._readings(stage, inner))
        self._name_fault(stage)
        layout.addWidget(_words(stage.go_on, inner))
        stop = _words(f"■ {stage.stop}", inner)
        set_style_property(stop, "severity", "stop")
        layout.addWidget(stop)
        layout.addStretch(1)
        self.area.setWidget(inner)

    def _readings(self, stage: Stage, parent: QWidget) -> QWidget:
        panel = QFrame(parent)
        set_style_property(panel, "role", "panel")
        grid = QGridLayout(panel)
        grid.setHorizontalSpacing(10)
        grid.setColumnStretch(0, 5)
        grid.setColumnStretch(4, 4)
        for column, head in enumerate(("Reading", "Expected", "Band", "Read", "What it says")):
            label = TextLabel(head, panel, role="title")
            grid.addWidget(label, 0, column)
        self.fields, self.verdicts = {}, {}
        for row, wanted in enumerate(stage.expectations, start=1):
            field = QLineEdit(self.typed.get((stage.name, wanted.name), ""), panel)
            field.setFixedWidth(80)
            field.setPlaceholderText(_shown_unit(wanted) or "ratio")
            field.setAccessibleName(f"{wanted.title}, in {_shown_unit(wanted) or 'a ratio'}")
            field.setAccessibleDescription(wanted.hookup.text)
            verdict = _words("", panel)
            self.fields[wanted.name], self.verdicts[wanted.name] = field, verdict
            field.editingFinished.connect(partial(self._take, stage, wanted, field))
            grid.addWidget(_taken(wanted, panel), row, 0)
            grid.addWidget(TextLabel(wanted.text(wanted.expected, digits=3), panel), row, 1)
            grid.addWidget(TextLabel(wanted.band_text, panel), row, 2)
            grid.addWidget(field, row, 3)
            grid.addWidget(verdict, row, 4)
            self._say(stage, wanted)
        return panel

    def _take(self, stage: Stage, wanted: Expectation, field: QLineEdit) -> None:
        """Keep and judge what was typed; pass it on if it has a column of the bench table.

        A number without unit has the one that the field shows while it is empty.
        """
        key = (stage.name, wanted.name)
        text, unit = field.text().strip(), _shown_unit(wanted)
        if text and unit and not wanted.answers and is_bare(text):
            field.setText(f"{text} {unit}")
        if self.typed.get(key, "") == field.text():
            return
        self.typed[key] = field.text()
        self._say(stage, wanted)
        self._name_stages()
        self._name_fault(stage)
        self._pass_on(stage)

    def _say(self, stage: Stage, wanted: Expectation) -> None:
        label = self.verdicts[wanted.name]
        text = self.typed.get((stage.name, wanted.name), "")
        try:
            found = judge(wanted, text) if text else None
        except InputError as error:
            label.setText(f"{_STOP.glyph} must be {error.limit}")
            set_style_property(label, "severity", "stop")
            return
        if found is None:
            label.setText("")
            return
        mark = OK if found.passed else _STOP
        label.setText(unbroken(f"{mark.glyph} {found.text}"))
        set_style_property(label, "severity", "ok" if found.passed else "stop")

    def _name_fault(self, stage: Stage) -> None:
        """Which common fault a reading outside its band speaks for, with the others of the plan."""
        assert self._plan is not None
        read = {
            (one.name, wanted.name): found.value
            for one in self._plan.stages
            for wanted in one.expectations
            if (found := self.judgement(one, wanted)) is not None
        }
        failed = self.stage_mark(stage) is _STOP
        named = named_fault(self._plan, stage, read) if failed else None
        none_fits = "None of the common faults reads like this." if stage.faults else ""
        text = named.text if named is not None else none_fits if failed else ""
        self.fits.setText(unbroken(f"{_STOP.glyph} {text}") if text else "")
        self.fits.setVisible(bool(text))

    def _pass_on(self, stage: Stage) -> None:
        values = {}
        for wanted in stage.expectations:
            found = self.judgement(stage, wanted)
            if found is not None:
                values[wanted.name] = found.value
        reading = bench_reading(stage, values)
        if reading is None:
            return
        cells = ReadingCells(
            note=reading.note,
            **{
                column.value: shown(value, "%" if column is Column.DUTY else column.unit, digits=6)
                for column in Column
                if (value := reading.value(column)) is not None
            },
        )
        kept = [row for row in self._document.value("readings.rows") if row.note != reading.note]
        rows = [row.model_dump() for row in (*kept, cells)]
        self._document.edit("readings.rows", rows, text="reading of the first power-up")


def _words(text: str, parent: QWidget) -> TextLabel:
    label = TextLabel(text, parent, wraps=True)
    return label


def _taken(wanted: Expectation, parent: QWidget) -> QWidget:
    """What to read, and below it where the leads go."""
    box = QWidget(parent)
    layout = QVBoxLayout(box)
    layout.setContentsMargins(0, 0, 0, 4)
    layout.setSpacing(1)
    where = _words(wanted.hookup.text, box)
    set_style_property(where, "role", "muted")
    layout.addWidget(_words(wanted.title, box))
    layout.addWidget(where)
    return box


def _shown_unit(wanted: Expectation) -> str:
    """Unit with prefix in which a reading is expected, or the two answers."""
    if wanted.answers:
        return "/".join(wanted.answers)
    text = shown(wanted.expected, wanted.unit, digits=3)
    return text.rpartition(" ")[2] if wanted.unit and " " in text else wanted.unit
