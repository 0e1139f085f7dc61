"""Results of an evaluation: frozen, in SI units, complete for every screen and report."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.burst.operation import Operation, ThermalPath, thermal_path
from burstwise.core.burst.table import CarrierTable
from burstwise.core.burst.warmup import PeriodCourse
from burstwise.core.coil.resolve import ResolvedCoil
from burstwise.core.design.document import Design
from burstwise.core.evaluate.corners import CornerPoint
from burstwise.core.evaluate.earth_strike import EarthStrike
from burstwise.core.evaluate.lost_loop import LostLoop
from burstwise.core.findings import Finding, Severity
from burstwise.core.interrupter.resolve import resolved_interrupter
from burstwise.core.limits.ratings import Limit, Load, limits
from burstwise.core.stage.carrier import Carrier


@dataclass(frozen=True, slots=True)
class DutyCurves:
    """What the duty does, all else as designed.

    Attributes
    ----------
    duty : Array (duties,)
        Duty cycle [1].
    average_power, peak_current, junction_mean, junction_peak, top_voltage : Array (duties,)
        [W], [A], [C], [C], [V]; temperatures are inf where the device runs away.
    """

    duty: Array
    average_power: Array
    peak_current: Array
    junction_mean: Array
    junction_peak: Array
    top_voltage: Array


@dataclass(frozen=True, slots=True)
class Results:
    """Everything that `evaluate` found out about one design.

    Attributes
    ----------
    design : Design
        The design itself.
    coil : ResolvedCoil
        Coil values in use.
    carrier : Carrier
        Engine run at the operating point's bus voltage and on-resistance.
    table : CarrierTable
        Carrier table that the burst scale used.
    operation : Operation
        Burst scale at the operating point.
    top_part : float
        Part of the steady top voltage that the on-time reaches [1].
    curves : DutyCurves
        Duty curves.
    course : PeriodCourse
        One interrupter period.
    load : Load
        What is asked of the parts.
    corners : tuple of CornerPoint
        Other states of the stage, see `burstwise.core.evaluate.corners`; none in a quick picture.
    lost_loop : LostLoop or None
        What happens when the drive is enabled and nothing oscillates; None in a quick picture.
    earth_strike : EarthStrike or None
        What an arc from top to earth does; None where no discharge is reached, and in a quick
        picture.
    limits : tuple of Limit
        Ratings in their worst corners, the first to break first.
    findings : tuple of Finding
        Heaviest first; none in a quick picture.
    """

    design: Design
    coil: ResolvedCoil
    carrier: Carrier
    table: CarrierTable
    operation: Operation[float]
    top_part: float
    curves: DutyCurves
    course: PeriodCourse
    load: Load
    corners: tuple[CornerPoint, ...] = ()
    lost_loop: LostLoop | None = None
    earth_strike: EarthStrike | None = None
    limits: tuple[Limit, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def duty(self) -> float:
        """Duty [1], 1 without interrupter."""
        return self.operation.duty

    @property
    def frequency(self) -> float:
        """Interrupter frequency [Hz]."""
        return resolved_interrupter(self.design).frequency

    @property
    def source_voltage(self) -> float:
        """Supply voltage [V]."""
        return self.design.supply.voltage

    @property
    def path(self) -> ThermalPath[float]:
        """Junction to air."""
        return thermal_path(self.design.device, self.design.cooling)

    @property
    def first_limit(self) -> Limit:
        """The rating with the smallest margin."""
        return self.limits[0]

    @property
    def limits_as_designed(self) -> tuple[Limit, ...]:
        """Ratings of the operating point alone, as maps, tables and chances look at them."""
        return limits(self.design, self.load)

    @property
    def stopped(self) -> bool:
        """Whether any finding says stop."""
        return any(finding.severity is Severity.STOP for finding in self.findings)

    @property
    def top_voltage_reached(self) -> float:
        """Peak top voltage at the end of the on-time [V]."""
        return self.top_part * self.carrier.top_voltage_peak

    @property
    def average_power(self) -> float:
        """Mean power from the main supply [W]."""
        return self.operation.average_power

    @property
    def junction_mean(self) -> float:
        """Mean junction temperature [C]; inf on runaway."""
        return self.operation.junction_mean

    @property
    def junction_peak(self) -> float:
        """Peak junction temperature [C]; inf on runaway."""
        return self.operation.junction_peak

    @property
    def junction_ripple(self) -> float:
        """Peak to peak ripple of the junction [K]; nan-free: 0 on runaway."""
        low = self.operation.junction_valley
        return self.junction_peak - low if np.isfinite(low) else 0.0

    @property
    def droop(self) -> float:
        """Fall of the bus below the source's open-circuit voltage at the burst's end [V]."""
        return self.design.supply.voltage - self.operation.bus.end
