"""Numbers of the stage circuit: what the network needs, free of the design document.

The engine works on a `StageCircuit`; tests, calibration and fault studies build or change one
directly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from burstwise.core.stage.charge import ChargeSegments

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
    lead_inductance : float
        Inductance in series with the primary that does not couple [H].
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
    lead_inductance: float = 0.0

    @property
    def loop_inductance(self) -> float:
        """Inductance from the supply to the drain: primary and its leads [H]."""
        return self.primary_inductance + self.lead_inductance

    @property
    def loop_coupling(self) -> float:
        """Coupling of primary and leads together with the secondary, k sqrt(L1/(L1 + Lx)) [1]."""
        return self.coupling * math.sqrt(self.primary_inductance / self.loop_inductance)

    @property
    def stray_inductance(self) -> float:
        """What is left of the primary's inductance with the secondary shorted, and leads [H]."""
        return self.primary_inductance * (1.0 - self.coupling**2) + self.lead_inductance

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

    The drain-source charge is a law of v_ds, the gate-drain charge one of v_dg. The internal gate
    resistance [ohm] lies between the terminal and the gate that these voltages are of.

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
    internal_gate_resistance: float = 0.0


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
    """Base current into a driver's clamped input, driver into the gate.

    The delay [s] holds where the input crosses its threshold at `fast_slew` [V/s] or faster. A
    longer `slow_delay` is that of `slow_slew` or slower; between both it is linear in the time per
    volt, as the delay of a gate is in the transition time of its input (Sakurai and Newton, IEEE J.
    Solid-State Circuits 25 (1990) 584, from memory). `hold_resistance` [ohm] lies from gate
    terminal to source.

    A current transformer of `turns` (0: none) has its burden and its winding's `inductance` [H]
    from input to the bias, which is stiff: `bias_resistance` is the burden. With an `antenna` [F]
    from the top to the input the base current goes past it.
    """

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
    fast_slew: float = 1e9
    slow_slew: float = 1e7
    slow_delay: float = 0.0
    hold_resistance: float = math.inf
    turns: float = 0.0
    inductance: float = _NEVER
    antenna: float = 0.0

    @property
    def base_share(self) -> float:
        """Part of the base current that flows into the input, 1/N of a current transformer [1]."""
        if self.antenna > 0.0:
            return 0.0
        return 1.0 / self.turns if self.turns > 0.0 else 1.0

    @property
    def slew_counts(self) -> bool:
        """Whether the delay depends on how fast the input crosses its threshold."""
        return self.slow_delay > self.delay


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
    source_inductance : float
        Inductance between the die's source and the point that the gate's return shares with the
        drain current [H]; 0 for none. The shunt lies behind it.
    clamps : ClampValues
        Protection at the drain.
    """

    supply_voltage: float
    coil: CoilValues
    switch: SwitchValues
    feed: DirectFeed | GatedFeed
    reversed_sense: bool = False
    shunt_resistance: float = 0.0
    source_inductance: float = 0.0
    clamps: ClampValues = field(default_factory=ClampValues)

    @property
    def gated(self) -> bool:
        """Whether a gate driver stands between base current and gate."""
        return isinstance(self.feed, GatedFeed)

    @property
    def base_ratio(self) -> float:
        """Current into the gate's or the driver's node over the secondary's lumped current [1]."""
        feed = self.feed
        share = feed.base_share if isinstance(feed, GatedFeed) else 1.0
        return share * self.coil.base_current_ratio

    @property
    def magnetised(self) -> bool:
        """Whether a current transformer's winding stands from input to bias."""
        return isinstance(self.feed, GatedFeed) and math.isfinite(self.feed.inductance)

    @property
    def gate_resistance(self) -> float:
        """Resistance that drives the gate from outside, mean of both ways [ohm]; 0 without."""
        feed = self.feed
        if not isinstance(feed, GatedFeed):
            return 0.0
        return 0.5 * (feed.pull_up_resistance + feed.pull_down_resistance)

    @property
    def input_capacitance(self) -> float:
        """Input capacitance at the drain voltage of the supply [F]."""
        switch = self.switch
        reverse = float(switch.gate_drain_capacitance.capacitance(self.supply_voltage))
        return switch.gate_source_capacitance + reverse

    @property
    def gate_time_constant(self) -> float:
        """Time constant of the gate with the channel saturated, R C_iss + g_m L_s [s]."""
        ohms = self.gate_resistance + self.switch.internal_gate_resistance
        feedback = self.switch.transconductance * self.source_inductance
        return ohms * self.input_capacitance + feedback

    @property
    def shunted(self) -> bool:
        """Whether a shunt stands in the source lead."""
        return self.shunt_resistance > 0

    @property
    def lifted(self) -> bool:
        """Whether an inductance stands between the die's source and its terminal."""
        return self.source_inductance > 0

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
