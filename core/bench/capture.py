"""Scope capture: channels on a common, even time base, and the probes they came through."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.errors import InputError
from burstwise.core.findings import Finding


@dataclass(frozen=True, slots=True)
class Probe:
    """What stands between the circuit and the scope: true = attenuation * (shown - offset).

    Parameters
    ----------
    attenuation : float
        True value per value in the capture: 10 for a 10:1 probe that the scope was not told of,
        1/R [1/ohm] to turn the voltage at a shunt into its current; negative for a probe that
        was connected the wrong way round.
    offset : float
        What the scope shows for zero input, in the unit of the capture.

    Raises
    ------
    InputError
        Attenuation zero or not finite, or offset not finite.
    """

    attenuation: float = 1.0
    offset: float = 0.0

    def __post_init__(self) -> None:
        if self.attenuation == 0.0 or not math.isfinite(self.attenuation):
            raise InputError("probe.attenuation", self.attenuation, "a number other than 0")
        if not math.isfinite(self.offset):
            raise InputError("probe.offset", self.offset, "a finite number")


@dataclass(frozen=True, slots=True, eq=False)
class Channel:
    """One column of a capture.

    Attributes
    ----------
    name, unit : str
        As the file gave them, or a number and nothing.
    values : ndarray, shape (n,)
        Samples in the SI unit.
    """

    name: str
    unit: str
    values: Array

    def through(self, probe: Probe, *, unit: str | None = None) -> Channel:
        """Channel with a probe taken into account.

        Examples
        --------
        >>> shown = Channel("CH1", "V", np.array([0.02, 1.02]))
        >>> shown.through(Probe(attenuation=10.0, offset=0.02)).values.tolist()
        [0.0, 10.0]
        """
        true = probe.attenuation * (self.values - probe.offset)
        return replace(self, values=true, unit=self.unit if unit is None else unit)


@dataclass(frozen=True, slots=True, eq=False)
class Capture:
    """Channels sampled at even intervals.

    Attributes
    ----------
    start, step : float
        Time of the first sample, and the interval between samples [s].
    channels : tuple of Channel
        All of the same length.
    findings : tuple of Finding
        What was found while reading.
    """

    start: float
    step: float
    channels: tuple[Channel, ...]
    findings: tuple[Finding, ...] = ()

    def __post_init__(self) -> None:
        if not 0.0 < self.step < math.inf:
            raise InputError("sample interval", self.step, "above 0 s")
        lengths = {len(channel.values) for channel in self.channels}
        if len(lengths) != 1 or min(lengths) < 2:
            raise InputError("channels", sorted(lengths), "of one length of at least two samples")

    @property
    def count(self) -> int:
        """Number of samples in each channel."""
        return len(self.channels[0].values)

    @property
    def duration(self) -> float:
        """Time from the first sample to the last [s]."""
        return (self.count - 1) * self.step

    @property
    def time(self) -> Array:
        """Time of each sample [s]."""
        return self.start + self.step * np.arange(self.count, dtype=np.float64)

    def channel(self, name: str) -> Channel:
        """Channel of a name.

        Raises
        ------
        InputError
            No channel has it.
        """
        for channel in self.channels:
            if channel.name == name:
                return channel
        names = ", ".join(channel.name for channel in self.channels)
        raise InputError("channel", name, f"one of {names}")
