"""Bench screen: pages in the order of the work at the bench."""

from __future__ import annotations

from PySide6.QtWidgets import QVBoxLayout, QWidget

from burstwise.app.screens.bench.calibrate_page import CalibratePage
from burstwise.app.screens.bench.capture_page import CapturePage
from burstwise.app.screens.bench.diagnosis_page import DiagnosisPage
from burstwise.app.screens.bench.forecast_page import ForecastPage
from burstwise.app.screens.bench.readings_page import ReadingsPage
from burstwise.app.screens.bench.state import BenchState
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.page_tabs import PageTabs
from burstwise.app.widgets.text_label import TextLabel


class BenchScreen(QWidget):
    """Readings, capture, forecast, calibration and diagnosis of one design.

    Parameters
    ----------
    session : Session
        Document and results.
    theme : Theme
        Look.
    """

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.state = BenchState(session, self)
        self.readings = ReadingsPage(self.state, theme)
        self.capture = CapturePage(self.state, theme)
        self.forecast = ForecastPage(self.state, theme)
        self.calibrate = CalibratePage(self.state, theme)
        self.diagnosis = DiagnosisPage(self.state, theme)
        self.tabs = PageTabs(self)
        for page, words in (
            (self.readings, "&Readings"),
            (self.capture, "Scope &capture"),
            (self.forecast, "F&orecast"),
            (self.calibrate, "C&alibrate"),
            (self.diagnosis, "&Diagnosis"),
        ):
            self.tabs.addTab(page, words)
        heading = TextLabel("Bench", self, role="heading")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 8, 16, 10)
        layout.addWidget(heading)
        layout.addWidget(self.tabs, 1)
