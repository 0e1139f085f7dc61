"""The timer parts that the design holds, for all pages of the screen."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QObject, Signal

from burstwise.app.session import Evaluated, Session
from burstwise.core.assembly.references import timer_references
from burstwise.core.design.interrupter import Interrupter, TimerParts
from burstwise.core.interrupter.resolve import timer_set
from burstwise.core.interrupter.sets import TimerSet

_TRAVEL = "interrupter.parts.travel"


class Chosen(QObject):
    """Follows the document: tells a change of the parts apart from a turn of the knob.

    `set_changed` comes when any part changed, `turned` when only the knob's travel did;
    `stage_changed` when new results tell other ring-up and ring-down times.
    """

    set_changed = Signal()
    turned = Signal(float)
    stage_changed = Signal()

    def __init__(self, session: Session, parent: QObject) -> None:
        super().__init__(parent)
        self.session = session
        self._parts: TimerParts = session.document.value("interrupter.parts")
        self.ring_up, self.ring_down = float("inf"), 0.0
        session.document.changed.connect(self._follow)
        session.evaluated.connect(self._take)
        if session.latest is not None:
            self._take(session.latest)

    @property
    def parts(self) -> TimerParts:
        """Parts as the design holds them."""
        return self._parts

    @property
    def interrupter(self) -> Interrupter:
        """The whole section of the design."""
        found: Interrupter = self.session.document.value("interrupter")
        return found

    @property
    def set(self) -> TimerSet:
        """The parts as a set with bands and findings; made once per change of the parts."""
        return timer_set(self._parts)

    @property
    def references(self) -> Mapping[str, str]:
        """Reference designators by role, as on the Build screen once the parts are in use."""
        return timer_references(self.session.document.design)

    @property
    def runs(self) -> bool:
        """Whether the timer oscillates, in its worst build as well."""
        return self.set.frequency.low > 0

    def turn(self, travel: float) -> None:
        """Edit the knob's travel, as part of a run that makes one undo step."""
        self.session.document.edit(_TRAVEL, travel, live=True, text="Knob")

    def let_go(self) -> None:
        """End a run of turns."""
        self.session.document.close_step()

    def _follow(self, _design: object = None) -> None:
        before, now = self._parts, self.session.document.value("interrupter.parts")
        if now == before:
            return
        self._parts = now
        if now.model_copy(update={"travel": before.travel}) == before:
            self.turned.emit(now.travel)
        else:
            self.set_changed.emit()

    def _take(self, evaluated: Evaluated) -> None:
        run = getattr(evaluated.results, "carrier", None)
        if run is None:
            return
        oscillates = bool(run.oscillates)
        times = (
            float(run.time_to_90_percent) if oscillates else float("inf"),
            float(run.ring_down.time_constant) if oscillates else 0.0,
        )
        if times != (self.ring_up, self.ring_down):
            self.ring_up, self.ring_down = times
            self.stage_changed.emit()
