"""Voltage and current along the secondary in its lowest mode."""

from __future__ import annotations

import numpy as np
from PySide6.QtWidgets import QVBoxLayout, QWidget

from burstwise.app.plots.axis import Axis
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.theme import Theme
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.coil.resolve import ResolvedCoil
from burstwise.core.units import shown


class Profiles(QWidget):
    """Two plots over the height above the bottom turn, at 1 kV peak on top.

    Parameters
    ----------
    theme : Theme
        Colours.
    """

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        height = Axis("Height above bottom turn", "m")
        voltage = Axis("Voltage, peak, at 1 kV on top", "V", from_zero=True)
        current = Axis("Current, peak, at 1 kV on top", "A", from_zero=True)
        self.voltage = LinePlot(theme, x=height, y=voltage, curves=("",))
        self.current = LinePlot(theme, x=height, y=current, curves=("",))
        self.words = TextLabel(self, wraps=True, role="muted")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.addWidget(self.voltage, 1)
        layout.addWidget(self.current, 1)
        layout.addWidget(self.words)

    def show_pinned(self, coil: ResolvedCoil | None) -> None:
        """Keep the profile of a coil as ghosts, or none."""
        for plot in (self.voltage, self.current):
            plot.clear_pinned()
        if coil is None or coil.constants is None:
            return
        with self.voltage.as_pinned(), self.current.as_pinned():
            words = self.words.text()
            self.show_coil(coil)
            self.words.setText(words)

    def show_coil(self, coil: ResolvedCoil) -> None:
        """Draw a coil's profile; one given by measured values has none."""
        found = coil.constants
        if found is None:
            self.voltage.set_curves([])
            self.current.set_curves([])
            self.words.setText("A coil given by measured values has no profile.")
            return
        profile = found.profile
        heights = np.concatenate([[0.0], profile.ring_heights, profile.edge_heights[-1:]])
        volts = 1e3 * np.concatenate([[0.0], profile.voltage, [1.0]])
        self.voltage.set_data(heights, volts)
        self.current.set_data(profile.edge_heights, 1e3 * profile.current)
        top = 1e3 * float(profile.current[-1])
        base = 1e3 * found.base_current_per_top_volt
        self.words.setText(
            f"Base current {shown(base, 'A')} per kV on top, {found.base_current_ratio:.3f} times "
            f"the lumped current; {shown(top, 'A')} leaves the winding into the top load."
        )
