"""Quick computation of the coil alone, ahead of the whole evaluation.

Off the GUI thread with all rings; while a slider is held, at once and with few rings, a few
milliseconds, so that picture and resonance come in the same frame.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QObject, Signal

from burstwise.app.session import Session
from burstwise.app.worker import Outcome, Task, Worker
from burstwise.core.coil.resolve import ResolvedCoil, coil_of
from burstwise.core.design.document import Design
from burstwise.core.errors import InputError

DRAG_RINGS: Final = 40
"""Rings of the distributed model while a slider is held: f0 up to 0.2 % high."""
FULL_RINGS: Final = 100


@dataclass(frozen=True, slots=True)
class CoilState:
    """A coil and the design and ring number that it was computed with."""

    design: Design
    coil: ResolvedCoil
    rings: int


class CoilWork(QObject):
    """Keeps the coil of the document computed; the last good one stays.

    `resolved` carries a `CoilState`; `refused` the `InputError` of a coil that cannot be built;
    `failed` the words of an error that nobody foresaw.
    Only coil, calibration and ambient temperature start a computation.
    """

    resolved = Signal(object)
    refused = Signal(object)
    failed = Signal(str)

    def __init__(self, session: Session, owner: QObject) -> None:
        super().__init__(owner)
        self._session = session
        self._coarse = False
        self._asked: tuple[object, ...] = ()
        self.latest: CoilState | None = None
        self.error: InputError | None = None
        self._worker = Worker(owner, name="coil")
        self._worker.finished.connect(self._take)
        session.document.changed.connect(self.refresh)

    @property
    def design(self) -> Design:
        """The document's design as it stands."""
        design: Design = self._session.document.design
        return design

    def set_coarse(self, coarse: bool) -> None:
        """Compute at once with few rings while a slider is held, with all of them afterwards."""
        self._coarse = coarse
        if not coarse:
            self.refresh()

    def refresh(self, _design: object = None) -> None:
        """Compute the coil of the design as it stands, if it changed."""
        design = self.design
        rings = DRAG_RINGS if self._coarse else FULL_RINGS
        asked = (design.coil, design.calibration, design.cooling.ambient, rings)
        if asked == self._asked:
            return
        self._asked = asked

        def work(_task: Task) -> CoilState:
            coil = coil_of(design, rings=rings)
            return CoilState(design, coil, rings)

        if self._coarse:
            self._worker.run_now(work)
        else:
            self._worker.submit(work)

    def _take(self, outcome: Outcome) -> None:
        error = outcome.error
        self.error = error if isinstance(error, InputError) else None
        if self.error is not None:
            self.refused.emit(self.error)
        elif error is not None:
            self.failed.emit(outcome.complaint("The coil"))
        else:
            self.latest = outcome.value
            self.resolved.emit(self.latest)
