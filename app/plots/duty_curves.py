"""Curves over the duty that results have, by their names there, with the axes to draw them on."""

from __future__ import annotations

from typing import Final

from burstwise.app.plots.axis import Axis

CURVES: Final = {
    "average_power": Axis("Average power", "W", from_zero=True),
    "junction_peak": Axis("Junction peak", "°C"),
    "peak_current": Axis("Peak drain current", "A", from_zero=True),
    "top_voltage": Axis("Top voltage reached", "V", from_zero=True),
}
