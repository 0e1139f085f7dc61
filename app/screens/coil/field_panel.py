"""Field tab: a map of the field around the coil at the operating point, with the distances."""

from __future__ import annotations

import math
from typing import Final

from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from burstwise.app.drawing.contours import contours
from burstwise.app.drawing.field_drawing import REACH_OF_ARM, FieldDrawing, FieldLine, FieldPicture
from burstwise.app.screens.coil.picture import drawn
from burstwise.app.session import Evaluated, Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.worker import Outcome, Task, Worker
from burstwise.core.evaluate.results import Results
from burstwise.core.evaluate.surroundings import (
    LARGEST_MAP,
    field_map,
    surroundings_of,
    why_not_computed,
)
from burstwise.core.units import shown

NOTE: Final = (
    "RMS during a burst; distances from the axis, the largest over heights. Levels: ICNIRP 2010, "
    "from memory. Not in it: discharges, averaging, heating above 100 kHz, implants, emission "
    "limits; the build sheet says more. No permission to be there: local rules and licensed "
    "people decide."
)
_WAITING: Final = "No results yet; the map follows the operating point."


def field_picture(results: Results) -> FieldPicture | str:
    """What the map of some results shows, or a sentence that says why there is none.

    Parameters
    ----------
    results : Results
        Evaluated design.
    """
    found = surroundings_of(results)
    if found is None:
        return why_not_computed(results)
    around = field_map(found)
    levels = []
    for item in found.distances:
        level = item.level
        values = around.electric if level.electric else around.magnetic
        words = (
            f"keep {shown(item.largest, 'm', digits=3)}"
            if math.isfinite(item.largest)
            else "met beyond 1 km"
        )
        who = level.title.partition(",")[0].lower()
        levels.append(
            FieldLine(
                f"{shown(level.value, level.unit)}, {who}: {words}",
                contours(values, level.value, xs=around.radii, ys=around.heights),
            )
        )
    keep = min(found.farthest, LARGEST_MAP)
    section, _ = drawn(results.design.coil.geometry)
    return FieldPicture(
        section=section,
        levels=tuple(levels),
        keep=keep,
        reach=max(float(around.radii[-1]), keep + 2.2 * REACH_OF_ARM),
        height=float(around.heights[-1]),
    )


class FieldPanel(QWidget):
    """The map and what it leaves out; computed off the GUI thread, and only while it is seen.

    Parameters
    ----------
    session : Session
        Holder of the results.
    theme : Theme
        Colours.
    """

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._asked: Results | None = None
        self.drawing = FieldDrawing(theme, self)
        self.drawing.show_nothing(_WAITING)
        self.note = TextLabel(NOTE, self, wraps=True, role="muted")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.addWidget(self.drawing, 1)
        layout.addWidget(self.note)
        self._worker = Worker(self, name="field")
        self._worker.finished.connect(self._take)
        session.evaluated.connect(self._follow)

    @property
    def busy(self) -> bool:
        """Whether a map is being computed."""
        return self._worker.busy

    def showEvent(self, event: QShowEvent) -> None:
        """Catch up with what was evaluated meanwhile."""
        super().showEvent(event)
        self._follow(self._session.latest)

    def _follow(self, evaluated: Evaluated | None) -> None:
        results = None if evaluated is None else evaluated.results
        if not self.isVisible() or results is self._asked or not isinstance(results, Results):
            return
        self._asked = results

        def work(_task: Task) -> FieldPicture | str:
            return field_picture(results)

        self._worker.submit(work)

    def _take(self, outcome: Outcome) -> None:
        if outcome.error is not None:
            self.drawing.show_nothing(outcome.complaint())
        elif isinstance(outcome.value, str):
            self.drawing.show_nothing(outcome.value)
        else:
            self.drawing.show_picture(outcome.value)
