"""Plots of temperatures that several screens show: warm-up, and what other heat sinks bring."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

import numpy as np
from PySide6.QtWidgets import QWidget

from burstwise.app.plots.axis import Axis
from burstwise.app.plots.band_words import shade_of, tell_band
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.plots.overlay import Limit as Line
from burstwise.app.theme import Theme
from burstwise.core.findings import Severity
from burstwise.core.units import shown

if TYPE_CHECKING:
    from burstwise.core.evaluate.results import Results
    from burstwise.core.limits.ratings import Limit
    from burstwise.core.studies.bands import Band, Bands

_NAMES: Final = ("junction peak", "heat sink")
_FIGURES: Final = ("junction_peak", "heat_sink")
"""The same as the core names them."""


def limit_named(results: Results, rating: str) -> Limit | None:
    """Limit of some results by the stable name of its rating."""
    return next((limit for limit in results.limits if limit.rating == rating), None)


def temperature_lines(results: Results) -> list[Line]:
    """Limits of junction and heat sink as lines."""
    lines = []
    for rating, name in (("junction_peak", "junction limit"), ("heat_sink", "heat-sink limit")):
        limit = limit_named(results, rating)
        if limit is not None:
            words = f"{name} {shown(limit.limit, '°C', digits=3)}"
            lines.append(Line(limit.limit, words, limit.severity))
    return lines


class WarmUpPlot(LinePlot):
    """Junction and heat sink from power-up on."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        time = Axis("Time since power-up", "min")
        super().__init__(theme, x=time, y=Axis("Temperature", "°C"), curves=_NAMES, parent=parent)

    def show_results(self, results: Results) -> None:
        """Show the warm-up at the operating point of some results."""
        from burstwise.core.studies.quick import warm_up_of

        course = warm_up_of(results)
        with self.batch():
            minutes = course.time / 60.0
            self.set_x_range(0.0, float(minutes[-1]))
            self.set_data(minutes, course.junction_peak, course.heat_sink)
            self.set_limits(temperature_lines(results))

    def show_bands(self, bands: Bands | None) -> None:
        """Shade what most builds keep within, or nothing."""
        _shade(self, bands, {} if bands is None else bands.warm_up, unit=60.0)


class SinkPlot(LinePlot):
    """Temperatures over the heat sink's resistance; a larger sink has a smaller one."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        across = Axis("Heat sink to air: larger sinks are further left", "K/W")
        super().__init__(
            theme,
            x=across,
            y=Axis("Temperature with other sinks", "°C"),
            curves=_NAMES,
            parent=parent,
        )

    def show_results(self, results: Results) -> None:
        """Show what other heat sinks would bring at the operating point of some results."""
        from burstwise.core.studies.cooling import OTHER_SINKS, sink_study

        now = results.design.cooling.sink_resistance
        found = sink_study(results, now * OTHER_SINKS)
        here = sink_study(results, [now])
        with self.batch():
            self.set_x_range(0.0, float(found.resistance[-1]))
            self.set_data(found.resistance, found.junction_peak, found.heat_sink)
            self.set_point(now, (float(here.junction_peak[0]), float(here.heat_sink[0])))
            self.set_limits([*temperature_lines(results), *_need(results)])

    def show_bands(self, bands: Bands | None) -> None:
        """Shade what most builds keep within, or nothing."""
        _shade(self, bands, {} if bands is None else bands.sinks)


def _shade(
    plot: LinePlot, bands: Bands | None, found: Mapping[str, Band], *, unit: float = 1.0
) -> None:
    plot.set_shades([shade_of(found[name], unit=unit) for name in _FIGURES] if found else [])
    tell_band(plot, "", None if bands is None else bands.builds)


def _need(results: Results) -> list[Line]:
    from burstwise.core.assembly.heat_sink import heat_sink_need

    need = heat_sink_need(results).largest
    if not np.isfinite(need) or need <= 0.0:
        return []
    words = f"largest allowed {shown(need, 'K/W', digits=2)}"
    return [Line(need, words, Severity.NOTE, vertical=True)]
