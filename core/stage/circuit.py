"""Numbers of the stage circuit: what the network needs, free of the design document.

The engine works on a `StageCircuit`; tests, calibration and fault studies build or change one
directly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from core.stage.charge import ChargeSegments

_NEVER = math.inf


@dataclass(frozen=True, slots=True)
class CoilValues:
    """Lumped coil: two coupled inductors, top capacitance, breakout.

    Parameters
    ----------
    primary_inductance, secondary_inductance : float
        Self-inductances [H].
    coupling : float
        Coupling coefficient [1], positive; the winding sense stands in the drive.
    primary_resistance, secondary_resistance : float
        Series resistances at the carrier [ohm].
    secondary_capacitance : float
        Capacitance from top to earth [F].
    breakout_voltage : float
        Voltage of either sign beyond which the top load conducts [V].
    breakout_resistance : float
        Slope resistance beyond it [ohm].
    base_current_ratio : float
        Current at the winding's foot over the lumped current [1].
    """

    primary_inductance: float
    secondary_inductance: float
    coupling: float
    primary_resistance: float
    secondary_resistance: float
    secondary_capacitance: float
    breakout_voltage: float = _NEVER
    breakout_resistance: float = 200e3
    base_current_ratio: float = 1.0

    @property
    def mutual_inductance(self) -> float:
        """Mutual inductance M = k sqrt(L1 L2) [H]."""
        return self.coupling * math.sqrt(self.primary_inductance * self.secondary_inductance)

    @property
    def resonance(self) -> float:
        """Resonance of the secondary alone, 1/(2 pi sqrt(L2 C2)) [Hz]."""
        return 0.5 / (math.pi * math.sqrt(self.secondary_inductance * self.secondary_capacitance))

    @property
    def quality_factor(self) -> float:
        """Unloaded quality factor of the secondary, w0 L2 / R2 [1]."""
        return 2 * math.pi * self.resonance * self.secondary_inductance / self.secondary_resistance


@dataclass(frozen=True, slots=True)
class SwitchValues:
    """Power MOSFET, piecewise linear: channel, charges, body diode, avalanche.

    The drain-source charge is a law of v_ds, the gate-drain charge one of v_dg.

    Channel current is 0 below threshold, else the smaller of |v_ds|/R_on and g_m (v_gs - V_th),
    with the sign of v_ds. With the drain below the source the two change places: v_gd takes the
    part of v_gs. The law is continuous in both voltages.
    """

    on_resistance: float
    threshold: float
    transconductance: float
    gate_source_capacitance: float
    gate_drain_capacitance: ChargeSegments
    drain_source_capacitance: ChargeSegments
    diode_voltage: float = 0.9
    diode_resistance: float = 0.1
    avalanche_voltage: float = _NEVER
    avalanche_resistance: float = 2.0


@dataclass(frozen=True, slots=True)
class DirectFeed:
    """Base current into the gate: bias source, gate clamp, pull-down of the interrupter."""

    bias_voltage: float
    bias_resistance: float
    clamp_high: float
    clamp_low: float
    clamp_resistance: float
    pull_down_resistance: float


@dataclass(frozen=True, slots=True)
class GatedFeed:
    """Base current into a driver's clamped input, driver into the gate."""

    supply: float
    pull_up_resistance: float
    pull_down_resistance: float
    delay: float
    inverting: bool
    threshold_high: float
    threshold_low: float
    input_capacitance: float
    clamp_high: float
    clamp_low: float
    clamp_resistance: float
    bias_voltage: float
    bias_resistance: float
    locked_out: bool = False


@dataclass(frozen=True, slots=True)
class ClampValues:
    """Protection at the drain; an infinite voltage or a zero capacitance means 'not fitted'."""

    drain_voltage: float = _NEVER
    drain_resistance: float = 4.0
    snubber_resistance: float = 100.0
    snubber_capacitance: float = 0.0
    reservoir_capacitance: float = 0.0
    reservoir_resistance: float = 22e3
    reservoir_diode_voltage: float = 0.9
    reservoir_diode_resistance: float = 0.3


@dataclass(frozen=True, slots=True)
class StageCircuit:
    """The whole stage at carrier scale, supply taken as stiff over one carrier cycle.

    Parameters
    ----------
    supply_voltage : float
        Voltage across bulk capacitor [V].
    coil, switch : CoilValues, SwitchValues
        Coil and device.
    feed : DirectFeed or GatedFeed
        How the base current reaches the gate.
    reversed_sense : bool
        Ends of one winding swapped.
    shunt_resistance : float
        Shunt in the source lead [ohm]; 0 for none.
    clamps : ClampValues
        Protection at the drain.
    """

    supply_voltage: float
    coil: CoilValues
    switch: SwitchValues
    feed: DirectFeed | GatedFeed
    reversed_sense: bool = False
    shunt_resistance: float = 0.0
    clamps: ClampValues = field(default_factory=ClampValues)

    @property
    def gated(self) -> bool:
        """Whether a gate driver stands between base current and gate."""
        return isinstance(self.feed, GatedFeed)

    @property
    def shunted(self) -> bool:
        """Whether a shunt stands in the source lead."""
        return self.shunt_resistance > 0

    @property
    def snubbed(self) -> bool:
        """Whether a snubber is fitted at the drain."""
        return self.clamps.snubber_capacitance > 0

    @property
    def has_reservoir(self) -> bool:
        """Whether a reservoir clamp is fitted at the drain."""
        return self.clamps.reservoir_capacitance > 0

    def with_supply(self, voltage: float) -> StageCircuit:
        """Same stage at another supply voltage [V]."""
        return replace(self, supply_voltage=voltage)

    def with_clamps(self, **values: float) -> StageCircuit:
        """Same stage with other values of its clamps and its snubber."""
        return replace(self, clamps=replace(self.clamps, **values))

    def with_drain_source(self, law: ChargeSegments) -> StageCircuit:
        """Same stage with another charge between drain and source."""
        return replace(self, switch=replace(self.switch, drain_source_capacitance=law))

    def with_on_resistance(self, resistance: float) -> StageCircuit:
        """Same stage with another on-resistance [ohm]."""
        return replace(self, switch=replace(self.switch, on_resistance=resistance))
