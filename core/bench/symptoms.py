"""Figures by which faults are told apart, measured or predicted."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from burstwise.core.bench.capture_figures import CaptureFigures
from burstwise.core.bench.derived import BenchSetup
from burstwise.core.bench.readings import Reading
from burstwise.core.stage.carrier import Carrier

DEAD_CURRENT: Final = 2e-3
"""Current below which a stage counts as drawing nothing [A]."""


@dataclass(frozen=True, slots=True)
class Symptoms:
    """Figures of a stage at one supply; None for what was not measured.

    Attributes
    ----------
    supply : float
        Supply voltage [V].
    current_mean, current_rms : float or None
        Supply current while the drive is on [A].
    drain_peak : float or None
        [V].
    frequency : float or None
        Carrier frequency [Hz], 0 for a stage that does not oscillate.
    ring_down_time : float or None
        [s].
    gate_peak : float or None
        Peak gate voltage [V].
    device_power : float or None
        Heat in the device [W].
    """

    supply: float
    current_mean: float | None = None
    current_rms: float | None = None
    drain_peak: float | None = None
    frequency: float | None = None
    ring_down_time: float | None = None
    gate_peak: float | None = None
    device_power: float | None = None

    def value(self, figure: Figure) -> float | None:
        """One figure."""
        found: float | None = getattr(self, figure.field)
        return found


@dataclass(frozen=True, slots=True)
class Figure:
    """What one figure is called, and what it is worth in a comparison.

    Attributes
    ----------
    field : str
        Attribute of `Symptoms`.
    label, unit : str
        Words and SI unit.
    spread : float
        Standard deviation of measured against predicted for a build without fault, model and
        meters together [-].
    floor : float
        Absolute part of it, in the unit.
    how : str
        How to measure it.
    """

    field: str
    label: str
    unit: str
    spread: float
    floor: float
    how: str


_WIRE: Final = "a scope's loose wire near the coil"
FIGURES: Final = (
    Figure(
        "current_mean",
        "mean current while on",
        "A",
        0.05,
        DEAD_CURRENT,
        "mean voltage at the shunt",
    ),
    Figure(
        "current_rms", "RMS current while on", "A", 0.04, DEAD_CURRENT, "RMS voltage at the shunt"
    ),
    Figure("drain_peak", "drain peak", "V", 0.05, 1.0, "a 100:1 probe, drain to 0 V"),
    Figure("frequency", "carrier frequency", "Hz", 0.004, 1e3, _WIRE),
    Figure("ring_down_time", "ring-down time", "s", 0.15, 1e-7, f"{_WIRE}, single burst"),
    Figure("gate_peak", "gate peak", "V", 0.05, 0.2, "a probe, gate to 0 V"),
    Figure("device_power", "heat in the device", "W", 0.2, 0.2, "rise of the heat sink"),
)
"""All figures, those of a multimeter first."""


def symptoms_of_run(run: Carrier) -> Symptoms:
    """All figures of an engine run."""
    return Symptoms(
        supply=run.circuit.supply_voltage,
        current_mean=max(run.supply_current_mean, 0.0),
        current_rms=run.supply_current_rms,
        drain_peak=run.drain_voltage_peak,
        frequency=run.frequency if run.oscillates else 0.0,
        ring_down_time=run.ring_down.time_constant if run.oscillates else 0.0,
        gate_peak=float(run.peaks[0]),
        device_power=max(run.device_power, 0.0),
    )


def symptoms_of_rows(
    rows: Iterable[Reading], setup: BenchSetup, capture: CaptureFigures | None = None
) -> tuple[Symptoms, ...]:
    """Figures of readings; those of a capture join the row at its supply, or stand alone.

    Currents of an interrupted row are those while the drive is on: the mean over the duty, the
    RMS over its root.

    Examples
    --------
    >>> from burstwise.core.bench.instruments import Shunt
    >>> row = Reading(supply=24.0, duty=0.25, shunt_mean=0.05)
    >>> symptoms_of_rows([row], BenchSetup(Shunt(0.1), 1.0))[0].current_mean
    2.0
    """
    found = [_of_row(row, setup) for row in rows if row.supply is not None]
    if capture is None:
        return tuple(found)
    near = [
        number
        for number, one in enumerate(found)
        if math.isclose(one.supply, capture.supply, rel_tol=0.03)
    ]
    joined = found.pop(near[0]) if near else Symptoms(supply=capture.supply)
    found.insert(
        near[0] if near else len(found),
        replace(joined, frequency=capture.frequency, ring_down_time=capture.ring_down_time),
    )
    return tuple(found)


def _of_row(row: Reading, setup: BenchSetup) -> Symptoms:
    duty = 1.0 if row.duty is None else row.duty
    resistance = setup.shunt.resistance
    assert row.supply is not None
    return Symptoms(
        supply=row.supply,
        current_mean=None if row.shunt_mean is None else row.shunt_mean / resistance / duty,
        current_rms=None if row.shunt_rms is None else row.shunt_rms / resistance / math.sqrt(duty),
        drain_peak=row.drain_peak,
    )
