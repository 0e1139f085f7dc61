"""What operating points ask of the parts: from an engine run, or from a table for many at once."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any, Final, Protocol

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.burst.operation import Operation
from burstwise.core.burst.table import CarrierTable
from burstwise.core.coil.resolve import ResolvedCoil
from burstwise.core.design.document import Design
from burstwise.core.interrupter.resolve import resolved_interrupter
from burstwise.core.limits.avalanche import avalanche_energy
from burstwise.core.limits.fuse import heating_current
from burstwise.core.limits.insulation import Insulation, insulation
from burstwise.core.limits.load import Load, Value
from burstwise.core.stage.build import coil_values
from burstwise.core.stage.carrier import Carrier
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.engine import Trace

RECOVERY: Final = 0.1
"""Part of a carrier period after the body diode's conduction in which it may still hold charge."""
TEST_FALL: Final = 100e6
"""Fall of the diode current that datasheets test with [A/s]; common practice, no source."""
SLOPE: Final = "diode_slope"
"""Name of the diode slope beside the losses of a table."""
_LASTING: Final = 0.01
"""Least conduction of the body diode that counts, over the carrier period."""
_GATE_LOOP: Final = ("gate_drive", "internal_gate")
"""Losses of the gate loop: in driver and gate resistor, and on the device's die."""
_NO_INSULATION: Final = Insulation(*[math.nan] * 7)


@dataclass(frozen=True, slots=True)
class Figures:
    """Carrier figures that a load is made of, steady and while on; SI units.

    `diode_slope` is that of the function of this name [V/s].
    """

    oscillates: Value
    frequency: Value
    drain_voltage_peak: Value
    gate_peak: Value
    gate_valley: Value
    drain_current_peak: Value
    drain_current_rms: Value
    supply_current_mean: Value
    supply_current_rms: Value
    top_voltage_peak: Value
    auxiliary_power: Value
    avalanche_power: Value
    shunt_power: Value
    clamp_power: Value
    gate_power: Value
    diode_slope: Value


def diode_slope(trace: Trace | None, *, frequency: float, diode_voltage: float) -> float:
    """Rise of the drain on the body diode's stored charge, as its rating's test counts it [V/s].

    The steepest rise within `RECOVERY` of a period after the diode conducts, times the charge left
    in it over that of the test. Charge control: a current that falls with I' leaves about
    ``I' tau^2``, so the share is I' over `TEST_FALL`, 1 at most.

    Parameters
    ----------
    trace : Trace or None
        One steady carrier cycle; None gives 0.
    frequency : float
        Carrier [Hz].
    diode_voltage : float
        Forward voltage of the body diode [V].

    Notes
    -----
    In a single-switch stage the current leaves the diode by itself, some 10 times slower than in a
    bridge, for which the rating is written. Source: charge control of junction diodes (from
    memory); the test's rate is common practice, no source.
    """
    if trace is None or frequency <= 0 or len(trace.time) < 4:
        return 0.0
    time, drain = trace.time, trace.signal(Monitor.DRAIN)
    step = np.maximum(np.diff(time), 1e-15)
    conducts = drain < -diode_voltage
    rise = np.diff(drain) / step
    fall = np.diff(trace.signal(Monitor.DRAIN_CURRENT)) / step
    worst, start = 0.0, 0
    for end in np.flatnonzero(conducts[:-1] & ~conducts[1:]).tolist():
        off = np.flatnonzero(~conducts[: end + 1])
        start = int(off[-1]) + 1 if len(off) else 0
        if time[end] - time[start] < _LASTING / frequency:
            continue  # a dip of one step at a hard turn-on stores no charge
        since = time[:-1] - time[end]
        after = (since >= 0) & (since <= RECOVERY / frequency)
        share = min(max(float(fall[max(end - 1, 0)]), 0.0) / TEST_FALL, 1.0)
        worst = max(worst, share * float(np.max(rise[after], initial=0.0)))
    return worst


def figures_of(run: Carrier, *, diode_voltage: float, bursts: bool) -> Figures:
    """Figures of one engine run.

    With an interrupter every burst is a cold start at the full supply, so the highest values of the
    whole burst count; a continuous stage is taken as brought up slowly, and the steady ones do.
    """
    return Figures(
        oscillates=float(run.oscillates),
        frequency=run.frequency,
        drain_voltage_peak=run.drain_voltage_worst if bursts else run.drain_voltage_peak,
        gate_peak=run.gate_highest if bursts else run.gate_peak,
        gate_valley=run.gate_lowest if bursts else run.gate_valley,
        drain_current_peak=run.drain_current_worst if bursts else run.drain_current_peak,
        drain_current_rms=run.drain_current_rms,
        supply_current_mean=run.supply_current_mean,
        supply_current_rms=run.supply_current_rms,
        top_voltage_peak=run.top_voltage_peak,
        auxiliary_power=run.auxiliary_power,
        avalanche_power=run.losses.get("avalanche", 0.0),
        shunt_power=run.losses.get("shunt", 0.0),
        clamp_power=run.losses.get("drain_clamp", 0.0),
        gate_power=sum(run.losses.get(name, 0.0) for name in _GATE_LOOP),
        diode_slope=diode_slope(run.trace, frequency=run.frequency, diode_voltage=diode_voltage),
    )


_TABLED: Final = (
    "oscillates",
    "frequency",
    "drain_voltage_peak",
    "gate_peak",
    "gate_valley",
    "drain_current_peak",
    "drain_current_rms",
    "supply_current_mean",
    "supply_current_rms",
    "top_voltage_peak",
    "auxiliary_power",
    "clamp_power",
)
_IN_BURSTS: Final = {
    "drain_voltage_peak": "drain_voltage_worst",
    "gate_peak": "gate_highest",
    "gate_valley": "gate_lowest",
    "drain_current_peak": "drain_current_worst",
}
"""What counts in place of some of them where every burst is a cold start."""


class LossTable(Protocol):
    """Carrier table with losses over V^2, (resistances, names), the diode slope the last one."""

    @property
    def table(self) -> CarrierTable:
        """Carrier results."""

    @property
    def loss_names(self) -> tuple[str, ...]:
        """Names of the losses."""

    @property
    def losses(self) -> Callable[[Any], Array]:
        """Losses over V^2 at supply voltages [V]."""


def figures_between(
    ready: LossTable, voltage: Array, resistance: Array, *, bursts: bool
) -> Figures:
    """Figures interpolated from a table; `bursts` as in `figures_of`.

    Parameters
    ----------
    ready : LossTable
        Table with losses.
    voltage, resistance : array (...)
        Bus voltages [V] and on-resistances [ohm].
    """
    table = ready.table
    part = table.at(voltage)
    instead = _IN_BURSTS if bursts else {}
    known = {name: table.along(part.rows(instead.get(name, name)), resistance) for name in _TABLED}
    inside = np.clip(voltage, table.voltages[0], table.voltages[-1])
    rows = ready.losses(inside) * (voltage**2)[..., None, None]

    def loss(name: str) -> Array:
        if name not in ready.loss_names:
            return np.zeros_like(voltage)
        return np.maximum(table.along(rows[..., ready.loss_names.index(name)], resistance), 0.0)

    return Figures(
        **known,
        avalanche_power=loss("avalanche"),
        shunt_power=loss("shunt"),
        gate_power=loss(_GATE_LOOP[0]) + loss(_GATE_LOOP[1]),
        diode_slope=loss(SLOPE),
    )


def load_of(
    design: Design,
    coil: ResolvedCoil,
    run: Carrier,
    point: Operation[float],
    *,
    slope: float | None = None,
) -> Load:
    """What one operating point asks of the parts; a run without a trace needs its diode slope."""
    figures = figures_of(
        run,
        diode_voltage=design.device.body_diode_voltage,
        bursts=design.interrupter.enabled,
    )
    if slope is not None:
        figures = replace(figures, diode_slope=slope)
    return single(load_from(design, coil, figures, point, source_voltage=design.supply.voltage))


def single(many: Load) -> Load:
    """First operating point of a load."""
    return Load(
        **{item.name: float(np.ravel(getattr(many, item.name))[0]) for item in fields(Load)}
    )


def load_from(
    design: Design,
    coil: ResolvedCoil,
    figures: Figures,
    point: Operation[Value],
    *,
    source_voltage: Value,
    frequency: Value | None = None,
) -> Load:
    """Load of operating points whose carrier figures are known.

    Parameters
    ----------
    design, coil
        Design and its coil.
    figures : Figures
        Carrier figures at the points.
    point : Operation
        Burst scale at the points.
    source_voltage : Value
        Open-circuit supply [V].
    frequency : Value, optional
        Interrupter frequency [Hz]; the design's by default.
    """
    duty, share = point.duty, np.minimum(point.duty, 1.0)
    between = resolved_interrupter(design).frequency if frequency is None else frequency
    carrier_ripple = np.maximum(
        np.asarray(figures.supply_current_rms) ** 2 - np.asarray(figures.supply_current_mean) ** 2,
        0.0,
    )
    runs = np.asarray(figures.oscillates) > 0.5
    cycles = np.where(runs, figures.frequency, 1.0)
    stress = _insulation(design, coil)
    top = np.asarray(figures.top_voltage_peak)
    foot = top * 2 * np.pi * figures.frequency * coil.secondary_capacitance
    part = design.drive.gated
    driver_share, driver_peak = _driver(design)
    gated = float(design.drive.kind == "gated")
    return Load(
        supply_voltage=source_voltage,
        bus_voltage=point.voltage,
        drain_voltage_peak=figures.drain_voltage_peak,
        gate_peak=figures.gate_peak,
        gate_valley=figures.gate_valley,
        drain_current_peak=figures.drain_current_peak,
        drain_current_rms=figures.drain_current_rms * np.sqrt(share),
        diode_slope=np.where(runs, figures.diode_slope, 0.0),
        heat=point.device_power,
        burst_heat=point.device_power / np.maximum(share, 1e-12),
        junction_peak=point.junction_peak,
        junction_mean=point.junction_mean,
        case=point.case,
        heat_sink=point.heat_sink,
        on_time=point.on_time,
        period=np.broadcast_to(1.0 / np.asarray(between), np.shape(duty)),
        source_current_peak=point.bus.source_peak,
        fuse_current=heating_current(
            point.bus.source_square,
            np.where(np.isfinite(point.on_time), 1.0 / np.asarray(between), 1.0),
            point.bus.source_peak,
        ),
        supply_current_mean=point.average_power / point.voltage,
        bulk_ripple=np.sqrt(point.bus.capacitor_rms**2 + share * carrier_ripple),
        avalanche_energy=np.where(runs, figures.avalanche_power, 0.0) / cycles,
        turn_off_energy=avalanche_energy(
            coil_values(design, coil).loop_inductance,
            figures.drain_current_peak,
            breakdown=design.device.avalanche_voltage,
            supply=np.minimum(source_voltage, 0.99 * design.device.avalanche_voltage),
        ),
        shunt_power=figures.shunt_power * share,
        clamp_power=figures.clamp_power * share,
        driver_current_peak=gated * driver_peak,
        driver_heat=gated
        * (figures.gate_power * share * driver_share + part.driver_supply * part.quiescent_current),
        low_current=gated
        * (figures.auxiliary_power * share / part.driver_supply + part.quiescent_current),
        pull_down_current=foot * coil.base_current_ratio,
        turn_voltage=top * stress.turn_stress,
        turn_withstand=stress.turn_withstand,
        gap_voltage=top * stress.gap_stress,
        gap_withstand=stress.gap_withstand,
        strike_voltage=np.where(top >= coil.breakout_voltage, top, 0.0),
        strike_withstand=stress.strike_withstand,
    )


def _insulation(design: Design, coil: ResolvedCoil) -> Insulation:
    found = insulation(design.coil.geometry, coil, temperature=design.cooling.ambient)
    return _NO_INSULATION if found is None else found


def _driver(design: Design) -> tuple[float, float]:
    """Part of the gate loop's heat that the driver takes, and its peak current [A]."""
    part = design.drive.gated
    outside = part.gate_resistor + design.device.internal_gate_resistance
    inside = 0.5 * (part.pull_up_resistance + part.pull_down_resistance)
    least = min(part.pull_up_resistance, part.pull_down_resistance) + outside
    return inside / (inside + outside), part.driver_supply / least
