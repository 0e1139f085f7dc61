"""Everything that one channel of a capture says about the stage."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.bench.capture import Capture
from burstwise.core.bench.capture_bursts import Burst, bursts, quality_factor
from burstwise.core.bench.waveform import Carrier, Statistics, carrier, statistics_between
from burstwise.core.findings import Finding, caution, note
from burstwise.core.units import shown

_FEW_SAMPLES: Final = 10
_GUARD: Final = 2.0
_SHORTEST: Final = 2.0


@dataclass(frozen=True, slots=True)
class BurstMeasures:
    """Bursts of a capture, medians over the complete ones.

    Attributes
    ----------
    count : int
        Bursts seen, cut ones included.
    on_time : float or None
        From the begin of the oscillation to the end of its drive [s].
    period : float or None
        From burst to burst [s].
    duty : float or None
        On-time over period [-].
    ring_up_time, ring_down_time : float or None
        Time constants of the amplitude [s].
    loaded_q : float or None
        Quality factor from the ring-down [-].
    driven_frequency, ringing_frequency : float or None
        Carrier frequency while the drive is on, and in the ring-down [Hz].
    """

    count: int
    on_time: float | None
    period: float | None
    duty: float | None
    ring_up_time: float | None
    ring_down_time: float | None
    loaded_q: float | None
    driven_frequency: float | None = None
    ringing_frequency: float | None = None


@dataclass(frozen=True, slots=True)
class CaptureMeasures:
    """Figures of one channel.

    Attributes
    ----------
    carrier_frequency : float
        Frequency of the oscillation [Hz].
    periods : int
        Whole periods, of the bursts where there are two or more, else of the carrier, that the
        statistics cover.
    statistics : Statistics
        Mean, RMS, peak and trough over whole periods.
    spike, spike_time : float
        Highest sample of the whole channel, and its time [s].
    bursts : BurstMeasures or None
        None where the carrier runs all the time.
    findings : tuple of Finding
        What to know about these figures.
    """

    carrier_frequency: float
    periods: int
    statistics: Statistics
    spike: float
    spike_time: float
    bursts: BurstMeasures | None
    findings: tuple[Finding, ...]


def capture_measures(capture: Capture, name: str) -> CaptureMeasures:
    """Figures of the channel of a name.

    Parameters
    ----------
    capture : Capture
        Channels, as true values.
    name : str
        Channel.

    Raises
    ------
    InputError
        No such channel, or fewer than three periods of oscillation in it.

    Examples
    --------
    >>> from burstwise.core.bench.capture import Channel
    >>> wave = 2.0 + np.sin(2 * np.pi * 250e3 * np.arange(4000) * 1e-7)
    >>> got = capture_measures(Capture(0.0, 1e-7, (Channel("drain", "V", wave),)), "drain")
    >>> round(got.carrier_frequency), round(got.statistics.mean, 4), got.bursts is None
    (250000, 2.0, True)
    """
    values, step = capture.channel(name).values, capture.step
    oscillation = carrier(values)
    found = bursts(values, oscillation.period)
    first, last, periods = _window(oscillation, found, len(values))
    frequency = 1.0 / (oscillation.period * step)
    highest = int(np.argmax(values))
    return CaptureMeasures(
        carrier_frequency=frequency,
        periods=periods,
        statistics=statistics_between(values, first, last, step=step),
        spike=float(values[highest]),
        spike_time=capture.start + highest * step,
        bursts=_burst_measures(found, frequency=frequency, step=step) if found else None,
        findings=tuple(_findings(name, oscillation, found, values)),
    )


def _window(oscillation: Carrier, found: Sequence[Burst], samples: int) -> tuple[float, float, int]:
    """First and last instant of whole periods, and their number."""
    guard = _GUARD * oscillation.period
    starts = [burst.start - guard for burst in found if burst.start > guard]
    if len(starts) >= 2:
        return starts[0], starts[-1], len(starts) - 1
    crossings = oscillation.crossings
    if found:
        widest = max(found, key=lambda burst: burst.end - burst.start)
        inside = (crossings >= widest.start) & (crossings <= widest.end)
        crossings = crossings[inside] if np.count_nonzero(inside) >= 2 else crossings
    first, last = float(crossings[0]), float(min(crossings[-1], samples - 1))
    return first, last, round((last - first) / oscillation.period)


def _burst_measures(found: Sequence[Burst], *, frequency: float, step: float) -> BurstMeasures:
    whole = [burst for burst in found if burst.complete]
    # A burst without length is a ring-down whose drive does not show, as in a drain voltage that
    # rings higher after the turn-off than before it.
    lengths = [(burst.end - burst.start) * step for burst in whole]
    on_time = _median([length for length in lengths if length > _SHORTEST / frequency])
    starts = [burst.start for burst in found if burst.complete or burst is not found[0]]
    period = float(starts[-1] - starts[0]) / (len(starts) - 1) * step if len(starts) > 1 else None
    ring_down = _median([burst.ring_down * step for burst in found if burst.ring_down is not None])
    return BurstMeasures(
        count=len(found),
        on_time=on_time,
        period=period,
        duty=None if on_time is None or period is None else on_time / period,
        ring_up_time=_median(
            [burst.ring_up * step for burst in whole if burst.ring_up is not None]
        ),
        ring_down_time=ring_down,
        loaded_q=None if ring_down is None else quality_factor(frequency, ring_down),
        driven_frequency=_frequency([burst.driven_period for burst in found], step),
        ringing_frequency=_frequency([burst.ringing_period for burst in found], step),
    )


def _frequency(periods: Sequence[float | None], step: float) -> float | None:
    middle = _median([period for period in periods if period is not None])
    return None if middle is None else 1.0 / (middle * step)


def _median(values: Sequence[float]) -> float | None:
    return float(np.median(values)) if values else None


def _findings(
    name: str, oscillation: Carrier, found: Sequence[Burst], values: Array
) -> list[Finding]:
    said: list[Finding] = []
    if oscillation.period < _FEW_SAMPLES:
        said.append(
            caution(
                "capture-coarse",
                name,
                f"Only {oscillation.period:.3g} samples per carrier period: peaks and spikes "
                "between samples are lost. Sample faster or capture a shorter time.",
            )
        )
    if len(found) == 1:
        said.append(
            note(
                "capture-one-burst",
                name,
                "The capture holds one burst, so mean and RMS are those within the burst and not "
                "over the interrupter's period.",
            )
        )
    top = float(values.max())
    flat = int(np.count_nonzero(values == top))
    if flat > _FEW_SAMPLES and top > 0.0 and _flat_run(values, top) > 0.5 * oscillation.period:
        said.append(
            caution(
                "capture-clipped",
                name,
                f"{flat} samples stand at the very same highest value, {shown(top, '')}: the "
                "scope's range may have clipped the peak.",
            )
        )
    return said


def _flat_run(values: Array, level: float) -> int:
    """Longest run of samples at a level."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], (values == level).astype(np.int8), [0]])))
    return int((edges[1::2] - edges[::2]).max())
