"""What a capture contributes beside the table: figures for a fit, and a row for the table."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from burstwise.core.bench.burst_waveform import BurstTiming, Signal, burst_capture
from burstwise.core.bench.capture import Capture
from burstwise.core.bench.capture_measure import CaptureMeasures, capture_measures
from burstwise.core.bench.readings import Reading
from burstwise.core.errors import InputError
from burstwise.core.stage.circuit import StageCircuit

_SAMPLES_PER_CYCLE: Final = 48
_LONGEST: Final = 300.0
_SHORTEST: Final = 24.0
_QUIET: Final = 12.0


@dataclass(frozen=True, slots=True)
class CaptureFigures:
    """Figures of one capture that a prediction can be compared with.

    Attributes
    ----------
    signal : Signal
        What the probe was on.
    supply : float
        Supply voltage while it was taken [V].
    frequency : float
        Carrier frequency while the drive is on [Hz].
    ring_down_time, ring_down_frequency : float or None
        Time constant of the amplitude after the drive [s], and its frequency [Hz].
    peak : float or None
        Highest value while the drive is on [V]; None where the height means nothing.
    on_time : float or None
        Length of a burst [s], None for a carrier that runs all the time.
    """

    signal: Signal
    supply: float
    frequency: float
    ring_down_time: float | None = None
    ring_down_frequency: float | None = None
    peak: float | None = None
    on_time: float | None = None


def capture_figures(measures: CaptureMeasures, *, signal: Signal, supply: float) -> CaptureFigures:
    """Figures of a measured capture.

    Parameters
    ----------
    measures : CaptureMeasures
        Of the channel that the probe was on.
    signal : Signal
        What the probe was on.
    supply : float
        Supply voltage while it was taken [V].
    """
    bursts = measures.bursts
    return CaptureFigures(
        signal=signal,
        supply=supply,
        frequency=(bursts and bursts.driven_frequency) or measures.carrier_frequency,
        ring_down_time=bursts.ring_down_time if bursts is not None and signal.rings else None,
        ring_down_frequency=bursts.ringing_frequency if bursts and signal.rings else None,
        peak=measures.spike if signal.scaled else None,
        on_time=None if bursts is None else bursts.on_time,
    )


def predicted_figures(circuit: StageCircuit, like: CaptureFigures) -> CaptureFigures:
    """The same figures of a predicted capture, taken by the same rules.

    Bursts longer than 300 carrier cycles are cut to that length: the oscillation stands long
    before.

    Raises
    ------
    InputError
        The prediction does not oscillate.
    """
    period = 1.0 / circuit.coil.resonance
    ring = min(max(0.9 * circuit.coil.quality_factor, 60.0), _LONGEST) * period
    on_time = _LONGEST * period if like.on_time is None else like.on_time
    timing = BurstTiming(
        before=_QUIET * period,
        on_time=min(max(on_time, _SHORTEST * period), _LONGEST * period),
        after=0.0 if like.on_time is None else ring,
        step=period / _SAMPLES_PER_CYCLE,
    )
    name = like.signal.value
    capture = burst_capture(circuit, like.signal, timing)
    if like.on_time is None:
        capture = _second_half(capture)
    measures = capture_measures(capture, name)
    return capture_figures(measures, signal=like.signal, supply=like.supply)


def _second_half(capture: Capture) -> Capture:
    """The later half, in which the oscillation stands."""
    channels = tuple(
        replace(channel, values=channel.values[channel.values.size // 2 :])
        for channel in capture.channels
    )
    return replace(capture, channels=channels)


def reading_of_capture(
    measures: CaptureMeasures, *, signal: Signal, supply: float, note: str = ""
) -> Reading:
    """Row of the table from a capture.

    Statistics over whole bursts, or over whole carrier periods of a continuous one, go to the
    shunt's columns for a probe at the shunt; the highest sample goes to the drain peak for a probe
    at the drain. A capture within one burst gives mean and RMS at a duty of 1.

    Parameters
    ----------
    measures : CaptureMeasures
        Of the channel, as true volts.
    signal : Signal
        What the probe was on.
    supply : float
        Supply voltage [V].
    note : str
        Remark of the row.

    Raises
    ------
    InputError
        The table has no column for this signal.

    Examples
    --------
    >>> from burstwise.core.bench.waveform import Statistics
    >>> told = CaptureMeasures(3e5, 40, Statistics(0.1, 0.2, 0.5, 0.0, 1e-4), 0.5, 0.0, None, ())
    >>> row = reading_of_capture(told, signal=Signal.SHUNT, supply=24.0)
    >>> row.shunt_mean, row.shunt_rms, row.shunt_peak
    (0.1, 0.2, 0.5)
    """
    whole = measures.bursts is not None and measures.bursts.count > 1
    duty = measures.bursts.duty if measures.bursts is not None and whole else None
    if signal is Signal.DRAIN:
        return Reading(supply=supply, duty=duty, drain_peak=measures.spike, note=note)
    if signal is not Signal.SHUNT:
        raise InputError("signal", signal.label, "the shunt's or the drain's to become a row")
    statistics = measures.statistics
    return Reading(
        supply=supply,
        duty=duty,
        shunt_rms=statistics.rms,
        shunt_mean=statistics.mean if statistics.mean > 0.0 else None,
        shunt_peak=measures.spike,
        note=note,
    )
