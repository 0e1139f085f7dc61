"""What a run of one operating point leaves behind: steady state, ring-up, ring-down."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from burstwise.core.arrays import Array
from burstwise.core.findings import Finding
from burstwise.core.stage.circuit import GatedFeed, StageCircuit
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.engine import Trace
from burstwise.core.stage.network import Visited

RESIDUAL_LIMIT: Final = 1e-4
"""Open energy balance above which a result is refused."""
DEVICE_LOSSES: Final = ("channel", "body_diode", "avalanche", "internal_gate")
"""Losses that heat the junction."""


@dataclass(frozen=True, slots=True)
class RingUp:
    """Energies and envelope from the cold start on, at marks.

    Attributes
    ----------
    time, supplied, device_heat, stored : Array (marks,)
        Time [s], energy from the main supply [J], heat in the device [J], stored energy [J],
        all since the start; the first entry is the start.
    charge : Array (marks,)
        Charge drawn from the main supply [C].
    top : Array (marks,)
        Peak top voltage of the cycle that ends at the mark [V].
    """

    time: Array
    supplied: Array
    device_heat: Array
    stored: Array
    charge: Array
    top: Array


@dataclass(frozen=True, slots=True)
class RingDown:
    """What follows when the drive is held off from the steady state.

    Attributes
    ----------
    device_heat : float
        Heat in the device until all stored energy is gone [J].
    supplied : float
        Energy from the main supply meanwhile [J]; below zero where it is given back.
    time_constant : float
        Time constant of the amplitude, from the envelope [s].
    time, top : Array (cycles,)
        Envelope of the top voltage [s], [V].
    """

    device_heat: float
    supplied: float
    time_constant: float
    time: Array
    top: Array


@dataclass(frozen=True, slots=True)
class Carrier:
    """Steady state of one operating point, with ring-up and ring-down.

    Currents in A, voltages in V, powers in W, times in s, energies in J. `peaks` and `valleys`
    are the extremes of each monitor over the steady window, in the order of `Monitor`;
    `worst_peaks` and `worst_valleys` over the whole burst, from the cold start on. `step_error` and
    `pieces_error` are the largest relative changes on halving the step and on doubling the straight
    pieces of the device's charges, where that was tried. `driver_delays` are those after the
    input's last fall and rise, 0 where it did not move.
    """

    circuit: StageCircuit
    oscillates: bool
    frequency: float
    supply_current_mean: float
    supply_current_rms: float
    drain_current_rms: float
    peaks: Array
    valleys: Array
    worst_peaks: Array
    worst_valleys: Array
    input_power: float
    auxiliary_power: float
    losses: dict[str, float]
    residual: float
    held_off: bool
    step_error: float
    cycles_to_90_percent: float
    time_to_90_percent: float
    spread: float
    ring_up: RingUp
    ring_down: RingDown
    envelope: Array
    regions: Visited
    findings: tuple[Finding, ...]
    trace: Trace | None = None
    driver_delays: tuple[float, float] = (0.0, 0.0)
    pieces_error: float = 0.0

    @property
    def drain_current_peak(self) -> float:
        """Peak drain current [A]."""
        return float(self.peaks[Monitor.DRAIN_CURRENT])

    @property
    def drain_voltage_peak(self) -> float:
        """Peak drain-source voltage [V]."""
        return float(self.peaks[Monitor.DRAIN])

    @property
    def drain_current_worst(self) -> float:
        """Highest drain current of the whole burst [A]."""
        return float(self.worst_peaks[Monitor.DRAIN_CURRENT])

    @property
    def drain_voltage_worst(self) -> float:
        """Highest drain-source voltage of the whole burst [V]."""
        return float(self.worst_peaks[Monitor.DRAIN])

    @property
    def gate_highest(self) -> float:
        """Highest gate-source voltage of the whole burst [V]."""
        return float(self.worst_peaks[Monitor.GATE])

    @property
    def gate_lowest(self) -> float:
        """Lowest gate-source voltage of the whole burst [V]."""
        return float(self.worst_valleys[Monitor.GATE])

    @property
    def gate_peak(self) -> float:
        """Highest gate-source voltage [V]."""
        return float(self.peaks[Monitor.GATE])

    @property
    def gate_valley(self) -> float:
        """Lowest gate-source voltage [V]."""
        return float(self.valleys[Monitor.GATE])

    @property
    def top_voltage_peak(self) -> float:
        """Peak top voltage, the larger of both signs [V]."""
        return float(max(self.peaks[Monitor.TOP], -self.valleys[Monitor.TOP]))

    @property
    def device_power(self) -> float:
        """Heat in the device while the drive is on and steady [W]."""
        return sum(self.losses.get(name, 0.0) for name in DEVICE_LOSSES)

    @property
    def driver_delay(self) -> float:
        """Longer delay of the driver's two edges [s]; 0 without a driver."""
        feed = self.circuit.feed
        return max(*self.driver_delays, feed.delay) if isinstance(feed, GatedFeed) else 0.0

    @property
    def trusted(self) -> bool:
        """Whether the books are closed and the solve went through."""
        return self.residual <= RESIDUAL_LIMIT
