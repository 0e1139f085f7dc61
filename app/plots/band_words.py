"""Bands of build tolerance as areas of a plot, and the words for them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from burstwise.app.plots.curves import Shade
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.widgets.text_label import set_tip

if TYPE_CHECKING:
    from burstwise.core.studies.bands import Band


def shade_of(band: Band, *, unit: float = 1.0) -> Shade | None:
    """Area of a band over places counted in a unit, e.g. 60 s; none for one without places."""
    return Shade(band.at / unit, band.low, band.high) if len(band.at) else None


def band_words(builds: int) -> str:
    """What the area under a curve stands for."""
    return (
        f"Shaded: 8 in 10 of {builds} builds whose parts scatter as on Limits, Chance; one in ten "
        "lies below, one above."
    )


def tell_band(plot: LinePlot, drag: str, builds: int | None) -> None:
    """Tip of a plot: how it is dragged, and what is shaded where something is."""
    set_tip(plot, " ".join([drag, *([] if builds is None else [band_words(builds)])]).strip())
