"""What the pages of the bench screen share: the numbers behind the table, and the capture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QObject, Signal

from burstwise.app.refusals import refusal
from burstwise.app.session import Session
from burstwise.core.bench import burst_waveform
from burstwise.core.bench.capture import Capture
from burstwise.core.bench.capture_figures import CaptureFigures, capture_figures
from burstwise.core.bench.capture_measure import CaptureMeasures
from burstwise.core.bench.derived import BenchSetup
from burstwise.core.bench.sheet import Sheet, bench_setup, sheet_of
from burstwise.core.design.document import Design
from burstwise.core.errors import InputError


@dataclass(frozen=True, slots=True, eq=False)
class ShownCapture:
    """A capture as the capture page shows it.

    Attributes
    ----------
    capture : Capture
        Channels as true values, probe taken into account.
    name : str
        Channel in view.
    measures : CaptureMeasures
        Of that channel.
    signal : burst_waveform.Signal
        What the probe was on.
    supply : float
        Supply voltage [V].
    """

    capture: Capture
    name: str
    measures: CaptureMeasures
    signal: burst_waveform.Signal
    supply: float

    @property
    def figures(self) -> CaptureFigures:
        """Figures for fit and diagnosis."""
        return capture_figures(self.measures, signal=self.signal, supply=self.supply)


class BenchState(QObject):
    """Follows the document and holds the capture.

    `sheet_changed` when the readings or what they are read with changed; `capture_changed` when
    another capture is in view.
    """

    sheet_changed = Signal()
    capture_changed = Signal()

    def __init__(self, session: Session, owner: QObject) -> None:
        super().__init__(owner)
        self.session = session
        self.shown_capture: ShownCapture | None = None
        self.sheet: Sheet = sheet_of(self.design.readings)
        self.setup: BenchSetup | None = None
        self.setup_error = ""
        self._seen: tuple[Any, ...] = ()
        session.document.changed.connect(self._follow)
        self._follow()

    @property
    def design(self) -> Design:
        """The design as it stands."""
        design: Design = self.session.document.design
        return design

    def take(self, taken: ShownCapture | None) -> None:
        """Hold another capture."""
        self.shown_capture = taken
        self.capture_changed.emit()

    def _follow(self, _design: object = None) -> None:
        design = self.design
        seen = (design.readings, design.device, design.calibration, design.cooling)
        if seen == self._seen:
            return
        self._seen = seen
        self.sheet = sheet_of(design.readings)
        try:
            self.setup, self.setup_error = bench_setup(design), ""
        except InputError as error:
            self.setup, self.setup_error = None, refusal(error)
        self.sheet_changed.emit()
