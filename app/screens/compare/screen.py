"""Compare screen: choose up to four designs; see what differs, what comes out, and the curves."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.file_dialogs import ask_open
from burstwise.app.messages import warn
from burstwise.app.refusals import refusal
from burstwise.app.saving import ask_and_save
from burstwise.app.screens.compare.curves_page import CurvesPage
from burstwise.app.screens.compare.entries import MOST, Entry, entries, free_name
from burstwise.app.screens.compare.part_variants import PartVariants
from burstwise.app.screens.compare.tables import compare_table, fill
from burstwise.app.session import Evaluated, Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.page_tabs import PageTabs
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.app.worker import BusyPolicy, Outcome, Task, Worker
from burstwise.core.design.differences import differences, differing_values
from burstwise.core.design.document import Design
from burstwise.core.design.optional_parts import PartChange
from burstwise.core.design.variant import Variant
from burstwise.core.design.variants import variant_of
from burstwise.core.disk import write_whole
from burstwise.core.errors import InputError
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.results import Results
from burstwise.core.report.compare import CompareRow, Comparison, comparison, comparison_csv
from burstwise.core.storage import text_of

_KEY = Qt.ItemDataRole.UserRole
_LIST_LINE: Final = 23
"""Longest line of a design's name in the list [characters]."""
_CHOOSE: Final = "Choose at least one design."


class CompareScreen(QWidget):
    """List of designs with check boxes; tables and overlaid curves of those that are checked.

    Parameters
    ----------
    session : Session
        Document and results.
    theme : Theme
        Look.
    """

    def __init__(self, session: Session, theme: Theme) -> None:
        super().__init__()
        self._session, self._theme = session, theme
        self._document = session.document
        self._base: Design = self._document.opened
        self._others: dict[Path, Design] = {}
        self._known: dict[str, Results] = {}
        self._entries: tuple[Entry, ...] = ()
        self._checked: set[str] = {"present"}
        self.shown: tuple[Results, ...] = ()
        self.comparison: Comparison | None = None
        self.worker = Worker(self, when_busy=BusyPolicy.CANCEL, name="compare")
        self._build()
        self._document.changed.connect(self.refresh)
        self._document.file_changed.connect(self._new_base)
        self.worker.finished.connect(self._take)
        session.evaluated.connect(self._keep_found)
        if session.latest is not None:
            self._keep(session.latest.design, session.latest.results)
        self.refresh()

    def _build(self) -> None:
        self.list = QListWidget(self)
        self.list.setAccessibleName("Designs to compare, up to four")
        set_style_property(self.list, "role", "screens")
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setWordWrap(True)
        self.list.setTextElideMode(Qt.TextElideMode.ElideNone)
        self.list.itemChanged.connect(self._check)
        self.list.currentRowChanged.connect(self._say_problem)
        self.changes = TextLabel(self, wraps=True, role="muted")
        self.name = QLineEdit(self)
        self.name.setPlaceholderText("Name of the variant")
        self.name.setAccessibleName("Name of the variant")
        self.keep = QPushButton("&Keep changes as variant", self)
        self.keep.setToolTip("Keeps them beside the design, which goes back to what it was before")
        self.keep.clicked.connect(self.keep_variant)
        self.parts = PartVariants(self)
        self.parts.wanted.connect(self.keep_part)
        self.take = QPushButton("&Take variant in hand", self)
        self.take.clicked.connect(self.take_variant)
        self.remove = QPushButton("Re&move from list", self)
        self.remove.clicked.connect(self.remove_entry)
        add = QPushButton("&Add another file…", self)
        add.clicked.connect(self._ask_file)
        self.save = QPushButton("&Save comparison…", self)
        self.save.clicked.connect(self._save)
        self.status = TextLabel(self, wraps=True)
        left = QVBoxLayout()
        left.setContentsMargins(0, 0, 0, 0)
        left.addWidget(TextLabel("Designs (Space to choose)", self))
        for widget in (self.list, self.changes, self.name, self.keep, self.parts, self.take,
                       self.remove, add, self.save, self.status):  # fmt: skip
            left.addWidget(widget, 1 if widget is self.list else 0)
        side = QWidget(self)
        side.setLayout(left)
        side.setFixedWidth(256)
        self.tables = {name: compare_table(self) for name in ("What differs", "Results", "Margins")}
        self.tabs = PageTabs(self)
        for name, table in self.tables.items():
            self.tabs.addTab(table, name)
        self.curves = CurvesPage(self._theme, self)
        self.curves.told.connect(self._say)
        self.tabs.addTab(self.curves, "Curves")
        heading = TextLabel("Compare", self, role="heading")
        across = QHBoxLayout()
        across.addWidget(side)
        across.addWidget(self.tabs, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(20, 12, 20, 12)
        layout.addWidget(heading)
        layout.addLayout(across, 1)

    @property
    def ready(self) -> bool:
        """Whether all chosen designs are shown as they stand."""
        wanted = [text_of(design) for design in self._chosen()]
        return [text_of(item.design) for item in self.shown] == wanted and bool(wanted)

    def refresh(self, _design: object = None) -> None:
        """Follow the document: list, count of changes, and comparison."""
        self._entries = entries(self._document.design, self._others)
        present = {entry.key for entry in self._entries if entry.design is not None}
        self._checked &= present
        self.list.blockSignals(True)
        row = max(self.list.currentRow(), 0)
        self.list.clear()
        for entry in self._entries:
            item = QListWidgetItem(textwrap.fill(entry.name, _LIST_LINE))
            set_tip(item, entry.problem or entry.name)
            item.setData(_KEY, entry.key)
            if entry.design is not None:
                item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
                on = entry.key in self._checked
                item.setCheckState(Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)
            self.list.addItem(item)
        self.list.setCurrentRow(min(row, len(self._entries) - 1))
        self.list.blockSignals(False)
        count = len(differences([self._base, self._document.design]))
        self.changes.setText(
            f"{count} field{'s' if count != 1 else ''} changed since the design was opened or "
            "saved, or the last variant was kept."
        )
        self.keep.setEnabled(count > 0)
        self.parts.show_design(self._document.design)
        self._compute()

    def keep_variant(self) -> None:
        """Keep the changes since the base as a variant and bring the base back in hand."""
        name = self.name.text().strip()
        if not name:
            self._say("■ Give the variant a name first.")
            self.name.setFocus()
            return
        design, base = self._document.design, self._base
        try:
            variant = variant_of(name, base, design)
            back = differing_values(design, base)
            kept = [one.model_dump() for one in (*design.variants, variant)]
            self._document.edit_many({**back, "variants": kept}, text=f"Keep variant {name}")
        except InputError as error:
            self._say(f"■ {refusal(error)}")
            return
        if len(self._checked) < MOST:
            self._checked.add(f"variant:{len(kept) - 1}")
        self.name.clear()
        self._base = self._document.design
        self.refresh()
        count = len(variant.changes)
        self._say(
            f"Kept as '{name}'. The design in hand is again without "
            f"{'its change' if count == 1 else f'these {count} changes'}; 'Take variant in hand' "
            "or Undo brings back what was changed."
        )

    def keep_part(self, change: PartChange) -> None:
        """Keep the design in hand with one part fitted, left out or exchanged as a variant."""
        variants = self._document.design.variants
        name = free_name(change.name, [one.name for one in variants])
        made = Variant(name=name, changes={change.path: change.value})
        kept = [one.model_dump() for one in (*variants, made)]
        try:
            self._document.edit("variants", kept, text=f"keep variant {name}")
        except InputError as error:
            self._say(f"■ {refusal(error)}")
            return
        self._say("")
        if len(self._checked) < MOST:
            self._checked.add(f"variant:{len(variants)}")
            self.refresh()

    def take_variant(self) -> None:
        """Bring the chosen variant's changes into the design in hand."""
        entry = self._current()
        if entry is None or entry.variant is None:
            self._say("■ Choose a variant in the list first.")
            return
        variant = self._document.design.variants[entry.variant]
        try:
            self._document.edit_many(dict(variant.changes), text=f"Take variant {variant.name}")
            self._say("")
        except InputError as error:
            self._say(f"■ {refusal(error)}")

    def remove_entry(self) -> None:
        """Take a variant out of the design, or another file out of the list."""
        entry = self._current()
        if entry is None or entry.key == "present":
            self._say("■ The design in hand stays.")
            return
        self._checked.discard(entry.key)
        if entry.variant is None:
            self._others.pop(Path(entry.key.removeprefix("file:")), None)
            self.refresh()
            return
        left = [v.model_dump() for n, v in enumerate(self._document.design.variants)
                if n != entry.variant]  # fmt: skip
        self._document.edit("variants", left, text="Remove variant")
        self._base = self._document.design

    def add_file(self, path: Path) -> None:
        """Add the design of a file to the list.

        Raises
        ------
        InputError
            The file cannot be used.
        """
        self._others[path] = self._session.job.load(path)
        if len(self._checked) < MOST:
            self._checked.add(f"file:{path}")
        self.refresh()

    def _new_base(self) -> None:
        self._base = self._document.opened
        self.refresh()

    def _ask_file(self) -> None:
        file = ask_open(self, "Add a design", "Designs (*.burstwise)")
        if file is None:
            return
        try:
            self.add_file(file)
        except InputError as error:
            warn(self, "Not added", refusal(error))

    def _save(self) -> None:
        made = self.comparison
        if made is None:
            return
        content = comparison_csv(made).encode("utf-8")
        ask_and_save(
            self, "Save comparison", "Table (*.csv)", "comparison.csv",
            lambda file: write_whole(file, content),
        )  # fmt: skip

    def _current(self) -> Entry | None:
        row = self.list.currentRow()
        return self._entries[row] if 0 <= row < len(self._entries) else None

    def _say_problem(self, _row: int) -> None:
        entry = self._current()
        if entry is not None and entry.problem:
            self._say(f"■ {entry.problem}")

    def _chosen(self) -> list[Design]:
        chosen = (entry for entry in self._entries if entry.key in self._checked)
        return [entry.design for entry in chosen if entry.design is not None]

    def _check(self, item: QListWidgetItem) -> None:
        key = str(item.data(_KEY))
        if item.checkState() is not Qt.CheckState.Checked:
            self._checked.discard(key)
        elif len(self._checked) < MOST:
            self._checked.add(key)
        else:
            self.list.blockSignals(True)
            item.setCheckState(Qt.CheckState.Unchecked)
            self.list.blockSignals(False)
            self._say(f"■ At most {MOST} designs side by side.")
            return
        self._say("")
        self._compute()

    def _keep_found(self, evaluated: Evaluated) -> None:
        self._keep(evaluated.design, evaluated.results)

    def _keep(self, design: Design, results: Results) -> None:
        self._known[text_of(design)] = results
        while len(self._known) > 4 * MOST:
            self._known.pop(next(iter(self._known)))
        if design == self._document.design:
            self._compute()

    def _compute(self) -> None:
        designs = self._chosen()
        known = dict(self._known)
        if not designs:
            self._say(_CHOOSE)
            return
        if self.status.text() == _CHOOSE:
            self._say("")
        if designs == [self._document.design] and text_of(designs[0]) not in known:
            return  # the session is about to deliver it

        def work(task: Task) -> list[Results]:
            found = []
            for design in designs:
                task.check()
                found.append(known.get(text_of(design)) or evaluate(design, verify=False))
            return found

        self.worker.submit(work)

    def _take(self, outcome: Outcome) -> None:
        if outcome.error is not None:
            self._say(f"■ {outcome.complaint()}")
            return
        self.shown = tuple(outcome.value)
        for item in self.shown:
            self._known.setdefault(text_of(item.design), item)
        made = self.comparison = comparison(self.shown)
        first = CompareRow("first", "First limit", made.first_limits)
        fill(self.tables["What differs"], made.names, (first, *made.fields))
        fill(self.tables["Results"], made.names, made.results)
        fill(self.tables["Margins"], made.names, made.margins)
        self.curves.show_results(self.shown)

    def _say(self, text: str) -> None:
        self.status.setText(text)
        set_style_property(self.status, "severity", "stop" if text.startswith("■") else "note")
