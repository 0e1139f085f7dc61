"""Supply and cooling: forms, the way of the heat, warm-up, and what a larger sink would bring."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QVBoxLayout, QWidget

from burstwise.app.drawing.heat_drawing import HeatDrawing
from burstwise.app.plots.temperature_plots import SinkPlot, WarmUpPlot
from burstwise.app.section_form import SectionForm
from burstwise.app.session import Evaluated, Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.in_view import ShownInView
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.design.document import field_info
from burstwise.core.evaluate.results import Results
from burstwise.core.studies.cooling import heat_way

if TYPE_CHECKING:
    from burstwise.core.studies.bands import Bands

_PLOT_HEIGHT = 230


def fields_of(session: Session, section: str) -> list[str]:
    """Paths of the plain fields of a section, sections within it left out."""
    part = session.document.value(section)
    paths = []
    for name in type(part).model_fields:
        value = getattr(part, name)
        path = f"{section}.{name}"
        if not hasattr(type(value), "model_fields"):
            info = field_info(path)
            if "unit" in info or "choices" in info or isinstance(value, (bool, str)):
                paths.append(path)
    return paths


class SupplyScreen(QWidget):
    """Forms on top; what the cooling does below them, of full results.

    Parameters
    ----------
    session, theme
        Document with results, and look.
    """

    def __init__(self, session: Session, theme: Theme) -> None:
        super().__init__()
        self.heat = HeatDrawing(theme, self)
        self.warm_up = WarmUpPlot(theme, self)
        self.sinks = SinkPlot(theme, self)
        forms = Reflow(spacing=16, parent=self)
        for title, section in (("Supply", "supply"), ("Cooling", "cooling")):
            forms.add(SectionForm(session.document, title, fields_of(session, section)))
        plots = Reflow(parent=self)
        for plot in (self.warm_up, self.sinks):
            plot.setMinimumHeight(_PLOT_HEIGHT)
            plots.add(plot)
        heading = TextLabel("Supply and cooling", self, role="heading")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(20, 12, 20, 12)
        layout.setSpacing(8)
        layout.addWidget(heading)
        layout.addWidget(forms)
        layout.addWidget(self.heat)
        layout.addWidget(plots, 1)
        self._shown: ShownInView[Evaluated] = ShownInView(self, self._show)
        self._banded: ShownInView[Bands | None] = ShownInView(self, self._show_bands)
        session.evaluated.connect(self._shown.put)
        session.banded.connect(self._banded.put)
        if session.latest is not None:
            self._shown.put(session.latest)
        if session.bands is not None:
            self._banded.put(session.bands)

    def _show_bands(self, bands: Bands | None) -> None:
        self.warm_up.show_bands(bands)
        self.sinks.show_bands(bands)

    def _show(self, evaluated: Evaluated) -> None:
        results = evaluated.results
        if not isinstance(results, Results):
            return
        self.heat.show_way(heat_way(results))
        self.warm_up.show_results(results)
        self.sinks.show_results(results)
