"""Drive page: the drive in use beside its sketch, the other one folded away."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from pydantic import BaseModel
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from burstwise.app.drawing.drive_drawing import DriveDrawing, DriveState
from burstwise.app.section_form import SectionForm
from burstwise.app.session import Evaluated, Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.reflow import Reflow
from burstwise.core.design.document import field_info
from burstwise.core.design.drive import FEEDBACK_FIELDS
from burstwise.core.evaluate.feedback import foot_current
from burstwise.core.evaluate.results import Results
from burstwise.core.units import shown

_WORDS: Final = {
    "drive.kind": {"direct": "Direct, base current into the gate", "gated": "Gate driver"},
    "drive.feedback_sense": {"normal": "As drawn", "reversed": "One winding's ends swapped"},
    "drive.gated.feedback": {
        "base current": "Base current",
        "current transformer": "Current transformer",
        "antenna": "Antenna",
    },
}
_KINDS: Final = {"direct": "Direct drive", "gated": "Gate driver"}
_FORM_WIDTH: Final = 420


class DrivePage(QWidget):
    """Forms on the left, the sketch with its currents on the right.

    Parameters
    ----------
    session, theme
        Document with results, and look.
    """

    def __init__(self, session: Session, theme: Theme) -> None:
        super().__init__()
        self._document = session.document
        self._currents = ("", "")
        self.drawing = DriveDrawing(theme, self)
        self.common = self._form("Drive", "drive")
        self.kinds = {kind: self._form(words, f"drive.{kind}") for kind, words in _KINDS.items()}
        self.fold = QPushButton(self)
        self.fold.setCheckable(True)
        self.fold.toggled.connect(self._follow)
        forms = QWidget(self)
        forms.setMinimumWidth(_FORM_WIDTH)
        self._down = QVBoxLayout(forms)
        self._down.setContentsMargins(0, 0, 0, 0)
        for part in (self.common, *self.kinds.values(), self.fold):
            self._down.addWidget(part)
        self._down.addStretch(1)
        across = Reflow(spacing=16, parent=self)
        across.add(forms)
        across.add(self.drawing)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.addWidget(across)
        self._document.changed.connect(self._follow)
        session.evaluated.connect(self._take)
        if session.latest is not None:
            self._take(session.latest)
        self._follow()

    def _form(self, title: str, section: str) -> SectionForm:
        paths = _fields(self._document.value(section), section)
        return SectionForm(self._document, title, paths, words=_WORDS)

    def _take(self, evaluated: Evaluated) -> None:
        results: Any = evaluated.results
        if not isinstance(results, Results):
            return
        run, self._currents = results.carrier, ("", "")
        if run.oscillates:
            amps = run.drain_current_peak, foot_current(results.coil, run)
            drain, base = (f"{shown(value, 'A', digits=3)} peak" for value in amps)
            self._currents = drain, base
        self._follow()

    def _follow(self, _changed: object = None) -> None:
        drive = self._document.value("drive")
        unused = {
            f"drive.gated.{name}"
            for kind, names in FEEDBACK_FIELDS.items()
            if kind != drive.gated.feedback
            for name in names
        }
        gated = self.kinds["gated"]
        gated.show_only([path for path in gated.rows if path not in unused])
        other = next(kind for kind in _KINDS if kind != drive.kind)
        for kind, form in self.kinds.items():
            form.setTitle(_KINDS[kind] if kind == drive.kind else f"{_KINDS[kind]} (not in use)")
            form.setVisible(kind == drive.kind or self.fold.isChecked())
        # The one in use stands on top, the other below the button that unfolds it.
        self._down.insertWidget(1, self.kinds[drive.kind])
        self._down.insertWidget(2, self.fold)
        self._down.insertWidget(3, self.kinds[other])
        word = "Hide" if self.fold.isChecked() else "Show"
        self.fold.setText(f"{word} the {_KINDS[other].lower()}, not in use")
        swapped = drive.feedback_sense == "reversed"
        feedback = "base current" if drive.kind == "direct" else drive.gated.feedback
        self.drawing.show_state(DriveState(drive.kind, swapped, *self._currents, feedback))


def _fields(part: Any, section: str) -> Sequence[str]:
    """Paths of the plain fields of a section."""
    names = [
        name for name in type(part).model_fields if not isinstance(getattr(part, name), BaseModel)
    ]
    return [
        f"{section}.{name}"
        for name in names
        if "unit" in (info := field_info(f"{section}.{name}"))
        or "choices" in info
        or isinstance(getattr(part, name), bool)
    ]
