"""Bench readings kept with the design: cells as they were typed, instruments, shunt, probe."""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import Field

from burstwise.core.design.fields import Section, quantity_field, words

LONGEST_CELL: Final = 200
"""Longest text of a cell [characters]."""
LONGEST_NOTE: Final = 2000
"""Longest note to a row [characters]."""
MOST_ROWS: Final = 1000
"""Most rows of the table."""

_Cell = Annotated[str, words(lines=True), Field(max_length=LONGEST_CELL)]


class ReadingCells(Section):
    """One row of the bench table, each cell as it was typed, so that nothing is lost."""

    supply: _Cell = ""
    duty: _Cell = ""
    shunt_rms: _Cell = ""
    shunt_mean: _Cell = ""
    shunt_peak: _Cell = ""
    drain_peak: _Cell = ""
    heat_sink_temperature: _Cell = ""
    breakout_length: _Cell = ""
    note: Annotated[str, words(lines=True), Field(max_length=LONGEST_NOTE)] = ""


class ColumnAccuracy(Section):
    """Accuracy of each measured column, as a part of the reading."""

    supply: Annotated[float, *quantity_field("", 0, 0.4, "Supply", percent=True)] = 0.005
    shunt_rms: Annotated[float, *quantity_field("", 0, 0.4, "Shunt RMS", percent=True)] = 0.005
    shunt_mean: Annotated[float, *quantity_field("", 0, 0.4, "Shunt mean", percent=True)] = 0.005
    shunt_peak: Annotated[float, *quantity_field("", 0, 0.4, "Shunt peak", percent=True)] = 0.03
    drain_peak: Annotated[float, *quantity_field("", 0, 0.4, "Drain peak", percent=True)] = 0.03


class CaptureProbe(Section):
    """Probe of the scope capture: true value = attenuation * (shown - offset)."""

    attenuation: Annotated[float, *quantity_field("", -1e5, 1e5, "Probe attenuation")] = 1.0
    offset: Annotated[float, *quantity_field("", -1e4, 1e4, "Offset as shown")] = 0.0


class Readings(Section):
    """Readings table with what its columns were measured with."""

    rows: Annotated[tuple[ReadingCells, ...], Field(title="Rows", max_length=MOST_ROWS)] = ()
    shunt_resistance: Annotated[float, *quantity_field("Ω", 1e-5, 1e3, "Shunt", log=True)] = 0.1
    shunt_tolerance: Annotated[float, *quantity_field("", 0, 0.4, "Tolerance", percent=True)] = 0.01
    on_resistance: Annotated[
        float | None, *quantity_field("Ω", 1e-4, 300, "On-resistance, hot, when measured")
    ] = None
    side_load: Annotated[float, *quantity_field("", 0, 0.9, "Side loading", percent=True)] = 0.12
    accuracy: ColumnAccuracy = ColumnAccuracy()
    probe: CaptureProbe = CaptureProbe()
