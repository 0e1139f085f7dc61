"""Limits screen: ratings, map, order, remedies, protection, modes, chance, goal."""

from __future__ import annotations

from PySide6.QtWidgets import QVBoxLayout, QWidget

from burstwise.app.screens.limits.chance_panel import ChancePanel
from burstwise.app.screens.limits.goal_panel import GoalPanel
from burstwise.app.screens.limits.map_panel import MapPanel
from burstwise.app.screens.limits.modes_panel import ModesPanel
from burstwise.app.screens.limits.order_panel import OrderPanel
from burstwise.app.screens.limits.protection_panel import ProtectionPanel
from burstwise.app.screens.limits.ratings_panel import RatingsPanel
from burstwise.app.screens.limits.remedies_panel import RemediesPanel
from burstwise.app.screens.limits.stage_tables import StageTables
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.caution import caution_line
from burstwise.app.widgets.page_tabs import PageTabs
from burstwise.app.widgets.text_label import TextLabel


class LimitsScreen(QWidget):
    """Tabs; each computes when it is in view.

    Parameters
    ----------
    session : Session
        Document and results.
    theme : Theme
        Look.
    """

    def __init__(self, session: Session, theme: Theme) -> None:
        super().__init__()
        tables = StageTables()
        self.ratings = RatingsPanel(session, theme)
        self.map = MapPanel(session, theme, tables)
        self.order = OrderPanel(session, theme, tables)
        self.remedies = RemediesPanel(session, theme)
        self.protection = ProtectionPanel(session, theme)
        self.modes = ModesPanel(session, theme, tables)
        self.chance = ChancePanel(session, theme)
        self.goal = GoalPanel(session, theme)
        self.tabs = PageTabs(self)
        self.tabs.setUsesScrollButtons(True)
        for title, panel in (
            ("&Ratings", self.ratings),
            ("&Map", self.map),
            ("&What fails first", self.order),
            ("Remedie&s", self.remedies),
            ("&Protection", self.protection),
            ("Continuous or &interrupted", self.modes),
            ("&Chance", self.chance),
            ("Reach a &goal", self.goal),
        ):
            self.tabs.addTab(panel, title)
        heading = TextLabel("Limits", self, role="heading")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(20, 12, 20, 12)
        layout.addWidget(heading)
        layout.addWidget(caution_line("limits", self))
        layout.addWidget(self.tabs, 1)
