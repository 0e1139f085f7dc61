"""Quick picture of a design for a drag: everything but the engine's own run.

A carrier table over the whole reach of the supply's slider stands already; one operating point, the
duty curves and the limits then cost a few milliseconds. Carrier figures are interpolated from the
table instead of run, waveforms are missing, and findings wait for the full evaluation.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

import numpy as np
from scipy.interpolate import PchipInterpolator

from burstwise.core.arrays import Array
from burstwise.core.burst.operation import Operation
from burstwise.core.burst.table import ORDERS, CarrierTable, table_of
from burstwise.core.burst.warmup import WarmUp, warm_up
from burstwise.core.coil.resolve import ResolvedCoil, coil_of
from burstwise.core.design.document import Design
from burstwise.core.evaluate.evaluation import at_burst_scale, table_resistances
from burstwise.core.evaluate.load import SLOPE, load_of
from burstwise.core.evaluate.lost_loop import lost_loop, lost_loop_load
from burstwise.core.evaluate.results import Results
from burstwise.core.limits.load import Load
from burstwise.core.limits.rating import AS_DESIGNED, LOST_LOOP, Limit, Rating
from burstwise.core.limits.ratings import RATINGS
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import Carrier
from burstwise.core.stage.elements import Monitor
from burstwise.core.studies.stage_table import StageTable

if TYPE_CHECKING:
    from burstwise.core.studies.chance import BuildsPoint

COURSE_POINTS: Final = 6
"""Points in each of on-time and off-time of the quick interrupter period, which is coarse."""
_LEAST: Final = 0.9
"""How far below its lowest supply voltage a table is used."""
_MOST: Final = 1.12
"""The same above its highest, over which figures are scaled."""
_APART: Final = 0.03
"""Least distance of a wide table's line from the lines set into it, over the voltage."""


def reaches(ready: StageTable, design: Design) -> bool:
    """Whether a table is of the design's stage and its supply lies on it or close to its ends."""
    volts = ready.table.voltages
    inside = _LEAST * volts[0] <= design.supply.voltage <= _MOST * volts[-1]
    return bool(inside) and ready.serves(design, highest=float(volts[-1]))


def near_table(results: Results) -> StageTable:
    """Table that a full evaluation used, good around its own supply voltage.

    Lines for a device hotter than usual are left out: wide tables do not have them.
    """
    table = results.table
    usual = len(table_resistances(results.design))
    if usual < len(table.resistances):
        rows = tuple(row[:usual] for row in table.results)
        table = table_of(table.voltages, table.resistances[:usual], rows)
    slope = results.load.diode_slope / results.load.supply_voltage**2
    volts = np.broadcast_to(table.voltages[:, None], (len(table.voltages), len(table.resistances)))
    return _with_slopes(results.design, results.coil, table, slope * volts**2)


def merged(wide: StageTable, near: StageTable) -> StageTable:
    """Wide table with the lines of a near one set in, so that both agree around its point."""
    lines = dict(zip(near.table.voltages.tolist(), near.table.results, strict=True))
    fine = near.table.voltages
    for volts, row in zip(wide.table.voltages.tolist(), wide.table.results, strict=True):
        if np.min(np.abs(fine - volts)) > _APART * volts:
            lines[volts] = row
    ordered = np.array(sorted(lines))
    table = table_of(ordered, near.table.resistances, tuple(lines[v] for v in ordered.tolist()))
    inside = np.clip(ordered, wide.table.voltages[0], wide.table.voltages[-1])
    slopes = wide.losses(inside)[..., wide.loss_names.index(SLOPE)] * ordered[:, None] ** 2
    return _with_slopes(near.design, near.coil, table, slopes)


def same_stage(one: Design, other: Design) -> bool:
    """Whether two designs make the same stage, so that a table serves both."""
    return _stage(one) == _stage(other)


def moved_to(ready: StageTable, design: Design) -> StageTable:
    """The same table for a design that makes the same stage; see `same_stage`."""
    coil = coil_of(design)
    return replace(ready, design=design, coil=coil)


def quick(design: Design, ready: StageTable, *, corners: KnownCorners | None = None) -> Results:
    """Quick picture of a design that `ready` reaches.

    The carrier has no trace, its envelopes are those of the nearest run, the course of the
    interrupter period is coarse, limits have no sentence, and there are no findings.

    Parameters
    ----------
    design : Design
        The design, with an active calibration laid over it.
    ready : StageTable
        Table of the same stage.
    corners : KnownCorners, optional
        What the worst corners asked in a full evaluation near by; without them the limits are
        those of the stage as designed.
    """

    def stage_at(point: Operation[float]) -> tuple[Carrier, Load]:
        run, slope = carrier_figures(ready, point.voltage, point.on_resistance)
        return run, load_of(design, ready.coil, run, point, slope=slope)

    found = at_burst_scale(design, ready.coil, ready.table, stage_at, points=COURSE_POINTS)
    return replace(found, limits=_limits(design, ready.coil, found.load, corners or KnownCorners()))


@dataclass(frozen=True, slots=True)
class CornerShare:
    """What the worst corner of a rating asked in a full evaluation, over the stage as designed.

    Attributes
    ----------
    corner : str
        Name of the corner.
    value, limit : float
        Ratios of what was asked and of what was allowed, temperatures over ambient [1].
    """

    corner: str
    value: float
    limit: float

    def on(self, plain: Limit, ambient: float) -> Limit:
        """A limit as designed, scaled to this corner; its ambient in C."""
        zero = ambient if plain.unit == "°C" else 0.0
        value = zero + (plain.value - zero) * self.value
        limit = zero + (plain.limit - zero) * self.limit
        margin = (limit - value) / (limit - zero) if limit > zero else plain.margin
        return replace(plain, value=value, limit=limit, margin=margin, corner=self.corner)


@dataclass(frozen=True, slots=True)
class KnownCorners:
    """What the corners of a full evaluation tell a quick picture near it.

    Attributes
    ----------
    shares : mapping
        By rating, where the worst corner is not the stage as designed.
    kept : tuple of Limit
        Ratings that the stage as designed does not have, as they stood; a quick picture that works
        one out has no use for it.
    """

    shares: Mapping[str, CornerShare] = field(default_factory=dict)
    kept: tuple[Limit, ...] = ()

    def over(self, plain: Sequence[Limit], ambient: float) -> tuple[Limit, ...]:
        """Ratings in their worst corners from those of the stage as designed, smallest first."""
        moved = [
            self.shares[item.rating].on(item, ambient) if item.rating in self.shares else item
            for item in plain
        ]
        known = {item.rating for item in plain}
        kept = [item for item in self.kept if item.rating not in known]
        return tuple(sorted((*kept, *moved), key=lambda item: item.margin))


def known_corners(results: Results) -> KnownCorners:
    """Corners of a full evaluation, for quick pictures near it.

    A rating that asks nothing as designed has no share: a quick picture shows it as designed.
    """
    ambient = results.design.cooling.ambient
    plain = {item.rating: item for item in results.limits_as_designed}
    shares = {}
    for item in results.limits:
        one = plain.get(item.rating)
        if one is None or item.corner == AS_DESIGNED:
            continue
        zero = ambient if item.unit == "°C" else 0.0
        asked, allowed = one.value - zero, one.limit - zero
        share = (item.value - zero) / asked if asked else math.nan
        other = (item.limit - zero) / allowed if allowed else math.nan
        if math.isfinite(share) and math.isfinite(other):
            shares[item.rating] = CornerShare(item.corner, share, other)
    kept = tuple(item for item in results.limits if item.rating not in plain)
    return KnownCorners(shares, kept)


def drawn_on(results: Results) -> bool:
    """Whether the junction is hotter than the table's hottest line.

    The device's heat then goes on in a straight line along the on-resistance, until the full
    evaluation asks the engine.
    """
    reached = results.operation.on_resistance
    return reached > (1.0 + 1e-6) * float(results.table.resistances[-1])


def carrier_figures(ready: StageTable, voltage: float, resistance: float) -> tuple[Carrier, float]:
    """Carrier figures between the table's runs, and the diode slope [V/s].

    What cannot be interpolated is the nearest run's.

    Parameters
    ----------
    ready : StageTable
        The table.
    voltage, resistance : float
        Bus voltage [V] and on-resistance [ohm].
    """
    table = ready.table
    low = int(np.searchsorted(table.resistances, resistance, side="right")) - 1
    low = min(max(low, 0), len(table.resistances) - 2)
    left, right = table.resistances[low], table.resistances[low + 1]
    share = float((resistance - left) / (right - left))
    rows = table.at(np.array([voltage])).scalars[0]
    scalars = dict(zip(ORDERS, _between(rows, low, share).tolist(), strict=True))
    inside = min(max(voltage, float(table.voltages[0])), float(table.voltages[-1]))
    powers = (_between(ready.losses(inside), low, share) * voltage**2).tolist()
    losses = dict(zip(ready.loss_names, powers, strict=True))
    slope = losses.pop(SLOPE)
    near = table.results[int(np.argmin(np.abs(table.voltages - voltage)))]
    run = near[int(np.argmin(np.abs(table.resistances - resistance)))]
    scale = voltage / run.circuit.supply_voltage
    peaks, valleys = run.peaks * scale, run.valleys * scale
    worst, lowest = run.worst_peaks * scale, run.worst_valleys * scale
    peaks[Monitor.GATE], valleys[Monitor.GATE] = scalars["gate_peak"], scalars["gate_valley"]
    worst[Monitor.GATE], lowest[Monitor.GATE] = scalars["gate_highest"], scalars["gate_lowest"]
    worst[Monitor.DRAIN] = scalars["drain_voltage_worst"]
    worst[Monitor.DRAIN_CURRENT] = scalars["drain_current_worst"]
    peaks[Monitor.DRAIN] = scalars["drain_voltage_peak"]
    peaks[Monitor.DRAIN_CURRENT] = scalars["drain_current_peak"]
    peaks[Monitor.TOP] = scalars["top_voltage_peak"]
    valleys[Monitor.TOP] = -scalars["top_voltage_peak"]
    figures = replace(
        run,
        circuit=run.circuit.with_supply(voltage).with_on_resistance(resistance),
        oscillates=scalars["oscillates"] >= 0.5,
        frequency=scalars["frequency"],
        supply_current_mean=scalars["supply_current_mean"],
        supply_current_rms=scalars["supply_current_rms"],
        drain_current_rms=scalars["drain_current_rms"],
        peaks=peaks,
        valleys=valleys,
        worst_peaks=worst,
        worst_valleys=lowest,
        input_power=scalars["input_power"],
        auxiliary_power=scalars["auxiliary_power"],
        losses=losses,
        residual=table.worst_residual,
        time_to_90_percent=scalars["time_to_90_percent"],
        findings=(),
        trace=None,
    )
    return figures, slope


def warm_up_of(at: Results | BuildsPoint) -> WarmUp:
    """Heat sink and junction from power-up on, at the operating point of some results or builds."""
    design = at.design
    return warm_up(
        at.table,
        design.device,
        design.supply,
        design.cooling,
        at.path,
        duty=at.duty,
        frequency=at.frequency,
        source_voltage=at.source_voltage,
    )


def _stage(design: Design) -> object:
    coil = coil_of(design)
    circuit = stage_circuit(design, coil, supply_voltage=1.0)
    return circuit, design.device.hot_resistance_ratio


def _limits(
    design: Design, coil: ResolvedCoil, load: Load, corners: KnownCorners
) -> tuple[Limit, ...]:
    """Ratings, the smallest margin first; writing their sentences would take half the frame.

    Those that only a lost loop has are worked out for it, as the full evaluation does.
    """
    found = [_limit(rating, design, load) for rating in RATINGS if rating.fits(design, load)]
    lost = lost_loop(design, coil, load)
    if lost is not None:
        asked = lost_loop_load(design, coil, load, lost).load
        found += [
            _limit(rating, design, asked, corner=LOST_LOOP)
            for rating in RATINGS
            if rating.fits(design, asked) and not rating.fits(design, load)
        ]
    return corners.over(found, design.cooling.ambient)


def _limit(rating: Rating, design: Design, load: Load, *, corner: str = AS_DESIGNED) -> Limit:
    value, limit, margin = (float(x) for x in rating.figures(design, load))
    return Limit(rating.name, rating.title, value, limit, rating.unit, margin, "", corner=corner)


def _between(rows: Array, low: int, share: float) -> Array:
    return np.asarray(rows[low] + share * (rows[low + 1] - rows[low]))


def _with_slopes(
    design: Design, coil: ResolvedCoil, table: CarrierTable, slopes: Array
) -> StageTable:
    """Table with the losses of its runs and given diode slopes (voltages, resistances) [V/s]."""
    names = tuple(sorted({name for row in table.results for run in row for name in run.losses}))
    powers = np.array(
        [[[run.losses.get(name, 0.0) for name in names] for run in row] for row in table.results]
    )
    grid = np.concatenate([powers, slopes[..., None]], axis=-1)
    over = grid / table.voltages[:, None, None] ** 2
    losses = PchipInterpolator(table.voltages, over, axis=0)
    return StageTable(design, coil, table, (*names, SLOPE), losses)
