"""Table of bench readings: what was typed, pasted or loaded, row by row."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from burstwise.core.findings import Finding


@dataclass(frozen=True, slots=True)
class Reading:
    """One row of the bench table; what was not measured, or could not be read, is None.

    Parameters
    ----------
    supply : float or None
        Supply voltage [V].
    duty : float or None
        Duty of the interrupter [-], above 0 up to 1; None counts as continuous.
    shunt_rms, shunt_mean, shunt_peak : float or None
        Voltage at the shunt [V]: RMS and mean over whole periods, and peak.
    drain_peak : float or None
        Highest drain voltage, spike included [V].
    heat_sink_temperature : float or None
        Temperature of the heat sink [°C].
    breakout_length : float or None
        Length of the discharge into air [m].
    note : str
        What the builder wrote beside it.
    line : int
        Line of the text that the row came from, counted from 1; 0 for a row typed into a field.
    text : str
        The line as it was received, so that nothing typed is lost.
    """

    supply: float | None = None
    duty: float | None = None
    shunt_rms: float | None = None
    shunt_mean: float | None = None
    shunt_peak: float | None = None
    drain_peak: float | None = None
    heat_sink_temperature: float | None = None
    breakout_length: float | None = None
    note: str = ""
    line: int = 0
    text: str = ""

    def value(self, column: Column) -> float | None:
        """Number in a column of this row, None where there is none."""
        number: float | None = getattr(self, column.value)
        return number


class Column(StrEnum):
    """Numeric columns of the table, by the attribute of a `Reading` that holds them."""

    SUPPLY = "supply"
    DUTY = "duty"
    SHUNT_RMS = "shunt_rms"
    SHUNT_MEAN = "shunt_mean"
    SHUNT_PEAK = "shunt_peak"
    DRAIN_PEAK = "drain_peak"
    HEAT_SINK_TEMPERATURE = "heat_sink_temperature"
    BREAKOUT_LENGTH = "breakout_length"

    @property
    def label(self) -> str:
        """Name of the column in a header, without its unit."""
        return _LABELS[self]

    @property
    def unit(self) -> str:
        """SI unit of the column, empty for a ratio."""
        return _UNITS[self]

    @property
    def header(self) -> str:
        """Header of the column with its unit.

        Examples
        --------
        >>> Column.SHUNT_RMS.header, Column.DUTY.header
        ('shunt rms [V]', 'duty [-]')
        """
        return f"{self.label} [{self.unit or '-'}]"


_LABELS: dict[Column, str] = {
    Column.SUPPLY: "supply",
    Column.DUTY: "duty",
    Column.SHUNT_RMS: "shunt rms",
    Column.SHUNT_MEAN: "shunt mean",
    Column.SHUNT_PEAK: "shunt peak",
    Column.DRAIN_PEAK: "drain peak",
    Column.HEAT_SINK_TEMPERATURE: "heat sink",
    Column.BREAKOUT_LENGTH: "breakout",
}
_UNITS: dict[Column, str] = {
    Column.SUPPLY: "V",
    Column.DUTY: "",
    Column.SHUNT_RMS: "V",
    Column.SHUNT_MEAN: "V",
    Column.SHUNT_PEAK: "V",
    Column.DRAIN_PEAK: "V",
    Column.HEAT_SINK_TEMPERATURE: "°C",
    Column.BREAKOUT_LENGTH: "m",
}


@dataclass(frozen=True, slots=True)
class ReadingsTable:
    """Readings in the order they were given, and what was found while reading them."""

    rows: tuple[Reading, ...]
    findings: tuple[Finding, ...] = ()

    def with_values(self, *columns: Column) -> tuple[Reading, ...]:
        """Rows that hold a number in each of the columns.

        Examples
        --------
        >>> table = ReadingsTable((Reading(supply=12.0, shunt_rms=0.1), Reading(supply=24.0)))
        >>> len(table.with_values(Column.SUPPLY, Column.SHUNT_RMS))
        1
        """
        return tuple(
            row for row in self.rows if all(row.value(column) is not None for column in columns)
        )
