"""Readings and a capture beside what the engine predicts for them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.bench.capture_figures import CaptureFigures, predicted_figures
from burstwise.core.bench.derived import BenchSetup
from burstwise.core.bench.fit_parameters import Parameter, with_parameters
from burstwise.core.bench.prediction import PredictedReading, junction_estimate, predicted_reading
from burstwise.core.bench.readings import Reading
from burstwise.core.coil.resolve import ResolvedCoil
from burstwise.core.design.document import Design
from burstwise.core.errors import InputError
from burstwise.core.interrupter.resolve import resolved_interrupter
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import carrier
from burstwise.core.stage.circuit import StageCircuit
from burstwise.core.stage.engine import NOTHING_VISITED

CURRENT_FLOOR: Final = 0.005
"""What the model itself is worth for a current, as a part of it [-]."""
PEAK_FLOOR: Final = 0.01
"""The same for a peak voltage [-]."""
CURRENT_PEAK_FLOOR: Final = 0.02
"""The same for a peak current, to which stray capacitance adds spikes [-]."""
FREQUENCY_FLOOR: Final = 5e-4
"""The same for the carrier frequency [-]."""
RING_DOWN_FLOOR: Final = 0.02
"""The same for a ring-down time [-]."""


@dataclass(frozen=True, slots=True)
class Observation:
    """One measured figure.

    Attributes
    ----------
    name : str
        What was measured, e.g. ``"mean current"``.
    where : str
        Row or capture that it comes from.
    unit : str
        SI unit.
    measured : float
        In that unit.
    uncertainty : float
        Standard uncertainty as a part of the value, instrument and model together [-].
    """

    name: str
    where: str
    unit: str
    measured: float
    uncertainty: float


@dataclass(frozen=True, slots=True)
class RowBreakout:
    """Breakout that a row tells of, beside the model.

    Attributes
    ----------
    where : str
        Row that it comes from.
    length : float
        Length of the discharge as read [m]; 0 where there was none.
    top_peak, onset : float
        Peak top voltage of the model, and voltage at which its breakout sets in [V].
    """

    where: str
    length: float
    top_peak: float
    onset: float


@dataclass(frozen=True, slots=True)
class _Row:
    where: str
    reading: Reading
    circuit: StageCircuit
    duty: float
    names: tuple[str, ...]


class BenchModel:
    """Predictions of all measured figures for given values of the parameters.

    Parameters
    ----------
    design : Design
        Design without calibration.
    coil : ResolvedCoil
        Its coil.
    rows : sequence of Reading
        Rows with a supply; those without any current or peak are passed over.
    setup : BenchSetup
        Shunt and instruments.
    capture : CaptureFigures, optional
        Figures of a scope capture.
    prior : mapping
        Values of all parameters that the design has.
    check : callable, optional
        Called before each engine run, may raise to stop.

    Raises
    ------
    InputError
        Nothing measured at all.
    """

    def __init__(
        self,
        design: Design,
        coil: ResolvedCoil,
        rows: Sequence[Reading],
        setup: BenchSetup,
        capture: CaptureFigures | None,
        *,
        prior: Mapping[Parameter, float],
        check: Callable[[], None] = lambda: None,
    ) -> None:
        self._design, self._prior, self._check = design, dict(prior), check
        self._reverse = design.device.reverse_capacitance
        self._frequency = resolved_interrupter(design).frequency
        self._regions = NOTHING_VISITED
        self.runs = 0
        self._rows: list[_Row] = []
        self.observations: list[Observation] = []
        for number, reading in enumerate(rows, start=1):
            self._add_row(number, reading, coil, setup)
        self._capture = capture
        self._capture_circuit: StageCircuit | None = None
        if capture is not None:
            self._capture_circuit = stage_circuit(
                design, coil, supply_voltage=capture.supply, junction_c=60.0
            )
            self.observations += _capture_observations(capture, setup)
        if not self.observations:
            limit = "rows with supply and shunt RMS, mean or peak, or drain peak, or a capture"
            raise InputError("readings", "nothing to compare with", limit)

    def _add_row(
        self, number: int, reading: Reading, coil: ResolvedCoil, setup: BenchSetup
    ) -> None:
        seen = _row_observations(number, reading, setup)
        if not seen or reading.supply is None:
            return
        duty = 1.0 if reading.duty is None else reading.duty
        cold = stage_circuit(self._design, coil, supply_voltage=reading.supply)
        first = self._read(cold, duty)
        junction = junction_estimate(self._design, reading, first.device_power)
        circuit = stage_circuit(
            self._design, coil, supply_voltage=reading.supply, junction_c=junction
        )
        names = tuple(item.name for item in seen)
        self._rows.append(_Row(seen[0].where, reading, circuit, duty, names))
        self.observations += seen

    def _read(self, circuit: StageCircuit, duty: float) -> PredictedReading:
        self._check()
        run = carrier(circuit, hint=self._regions)
        self._regions, self.runs = run.regions, self.runs + 1
        return predicted_reading(run, duty=duty, frequency=self._frequency)

    @property
    def measured(self) -> Array:
        """Measured figures, in the order of `observations`."""
        return np.array([item.measured for item in self.observations])

    def predicted(self, values: Mapping[Parameter, float]) -> Array:
        """Predicted figures, in the order of `observations`; zero where nothing oscillates."""
        found: list[float] = []
        for row in self._rows:
            told = self._read(self._with(row.circuit, values), row.duty)
            found += [_FIGURES[name](told) for name in row.names]
        if self._capture is not None and self._capture_circuit is not None:
            self._check()
            self.runs += 1
            found += self._predicted_capture(self._capture, self._capture_circuit, values)
        return np.array(found)

    def breakouts(self, values: Mapping[Parameter, float]) -> tuple[RowBreakout, ...]:
        """Breakouts of the rows that tell of them; one engine run for each."""
        found = []
        for row in self._rows:
            length = row.reading.breakout_length
            if length is not None:
                circuit = self._with(row.circuit, values)
                top = self._read(circuit, row.duty).top_peak
                found.append(RowBreakout(row.where, length, top, circuit.coil.breakout_voltage))
        return tuple(found)

    def _predicted_capture(
        self,
        capture: CaptureFigures,
        circuit: StageCircuit,
        values: Mapping[Parameter, float],
    ) -> list[float]:
        try:
            told = predicted_figures(self._with(circuit, values), capture)
        except InputError:
            told = CaptureFigures(capture.signal, capture.supply, 0.0)
        found = [told.frequency]
        if capture.ring_down_frequency is not None:
            found.append(told.ring_down_frequency or 0.0)
        if capture.ring_down_time is not None:
            found.append(told.ring_down_time or 0.0)
        if capture.peak is not None:
            found.append(told.peak or 0.0)
        return found

    def _with(self, circuit: StageCircuit, values: Mapping[Parameter, float]) -> StageCircuit:
        return with_parameters(
            circuit, values, prior=self._prior, reverse_capacitance=self._reverse
        )


_MEAN: Final = "mean current"
_RMS: Final = "RMS current"
_CURRENT_PEAK: Final = "peak current"
_PEAK: Final = "drain peak"
_FIGURES: Final[Mapping[str, Callable[[PredictedReading], float]]] = {
    _MEAN: lambda told: told.current_mean,
    _RMS: lambda told: told.current_rms,
    _CURRENT_PEAK: lambda told: told.current_peak,
    _PEAK: lambda told: told.drain_peak,
}


def _row_observations(number: int, reading: Reading, setup: BenchSetup) -> list[Observation]:
    if reading.supply is None:
        return []
    meters, resistance = setup.instruments, setup.shunt.resistance
    supply = meters.supply.uncertainty(reading.supply) / reading.supply
    shunt = setup.shunt.uncertainty / resistance
    where = f"row {number}, {reading.supply:g} V"
    found = []
    for name, volts, meter, floor in (
        (_MEAN, reading.shunt_mean, meters.shunt_mean, CURRENT_FLOOR),
        (_RMS, reading.shunt_rms, meters.shunt_rms, CURRENT_FLOOR),
        (_CURRENT_PEAK, reading.shunt_peak, meters.shunt_peak, CURRENT_PEAK_FLOOR),
    ):
        if volts is not None:
            spread = math.hypot(meter.uncertainty(volts) / volts, shunt, supply, floor)
            found.append(Observation(name, where, "A", volts / resistance, spread))
    peak = reading.drain_peak
    if peak is not None:
        spread = math.hypot(meters.drain_peak.uncertainty(peak) / peak, supply, PEAK_FLOOR)
        found.append(Observation(_PEAK, where, "V", peak, spread))
    return found


def _capture_observations(capture: CaptureFigures, setup: BenchSetup) -> list[Observation]:
    where = f"capture, {capture.signal.label.lower()}"
    found = [
        Observation("carrier frequency", where, "Hz", capture.frequency, FREQUENCY_FLOOR),
    ]
    if capture.ring_down_frequency is not None:
        rings = capture.ring_down_frequency
        found.append(Observation("ring-down frequency", where, "Hz", rings, FREQUENCY_FLOOR))
    if capture.ring_down_time is not None:
        found.append(
            Observation("ring-down time", where, "s", capture.ring_down_time, RING_DOWN_FLOOR)
        )
    if capture.peak is not None:
        meter = setup.instruments.drain_peak
        spread = math.hypot(meter.uncertainty(capture.peak) / abs(capture.peak), PEAK_FLOOR)
        found.append(Observation("highest value", where, "V", capture.peak, spread))
    return found
