"""A capture with the predicted waveform laid over it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.bench.burst_waveform import BurstTiming, Signal, burst_capture
from burstwise.core.bench.capture import Capture
from burstwise.core.bench.capture_bursts import bursts
from burstwise.core.bench.capture_measure import CaptureMeasures
from burstwise.core.bench.overlay import TimeShift, best_time_shift, burst_time_shift
from burstwise.core.bench.waveform import carrier
from burstwise.core.coil.resolve import coil_of
from burstwise.core.design.calibrated import calibrated
from burstwise.core.design.document import Design
from burstwise.core.stage.build import stage_circuit

_SAMPLES_PER_CYCLE: Final = 40
_CYCLES: Final = 250.0
_BEFORE: Final = 10.0
_JUNCTION: Final = 60.0


@dataclass(frozen=True, slots=True, eq=False)
class CaptureOverlay:
    """Predicted waveform in the time of the capture.

    Attributes
    ----------
    time, predicted : ndarray
        [s], and [V] times `gain` for a signal whose height means nothing.
    shift : TimeShift
        How it was laid on the measured one.
    gain : float
        Factor by which the prediction was scaled, 1 for a signal in true volts [-].
    """

    time: Array
    predicted: Array
    shift: TimeShift
    gain: float


def capture_overlay(
    design: Design,
    capture: Capture,
    name: str,
    measures: CaptureMeasures,
    *,
    signal: Signal,
    supply: float,
) -> CaptureOverlay:
    """Prediction of a design, calibration included, laid on a channel with the best time shift.

    The first whole burst is compared, up to 250 carrier cycles of it; of a continuous carrier as
    many cycles from its begin.

    Parameters
    ----------
    design : Design
        The design.
    capture : Capture
        True values.
    name : str
        Channel.
    measures : CaptureMeasures
        Of that channel.
    signal : Signal
        What the probe was on.
    supply : float
        Supply voltage [V].

    Raises
    ------
    InputError
        The prediction or the channel does not vary.
    """
    design = calibrated(design)
    coil = coil_of(design)
    circuit = stage_circuit(design, coil, supply_voltage=supply, junction_c=_JUNCTION)
    period = 1.0 / circuit.coil.resonance
    step = period / _SAMPLES_PER_CYCLE
    values = capture.channel(name).values
    on_time = measures.bursts.on_time if measures.bursts is not None else None
    if on_time is None:
        first = capture.start
        length = min(_CYCLES * period, capture.duration)
        timing = BurstTiming(0.0, 1.5 * _CYCLES * period, 0.0, step)
    else:
        first = max(_first_burst(values, capture) - _BEFORE * period, capture.start)
        shown = min(on_time, _CYCLES * period)
        length = min(1.6 * shown + _BEFORE * period, capture.start + capture.duration - first)
        after = max(length - shown, _BEFORE * period)
        timing = BurstTiming(_BEFORE * period, shown, after, step)
    predicted = burst_capture(circuit, signal, timing)
    wave = predicted.channels[0].values
    if on_time is None:
        wave = wave[-round(_CYCLES * _SAMPLES_PER_CYCLE) :]
    at = np.arange(first, first + length, step)
    measured = np.interp(at, capture.start + capture.step * np.arange(len(values)), values)
    if on_time is None:
        shift = best_time_shift(measured, wave, step=step, starts=(first, 0.0))
    else:
        shift = burst_time_shift(measured, wave, step=step, period=period, starts=(first, 0.0))
    gain = 1.0 if signal.scaled else shift.gain
    time = shift.shift + step * np.arange(len(wave), dtype=np.float64)
    return CaptureOverlay(time, gain * wave, shift, gain)


def _first_burst(values: Array, capture: Capture) -> float:
    """Time at which the first burst begins that the capture holds from its begin [s]."""
    found = bursts(values, carrier(values).period)
    whole = next((burst for burst in found if burst.complete), found[0])
    return capture.start + whole.start * capture.step
