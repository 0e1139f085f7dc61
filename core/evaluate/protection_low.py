"""Protection on the low side of the stage: gate clamp, base clamps, fuse."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from core.evaluate.sizing_bench import (
    Bench,
    Part,
    Proposal,
    heat_in,
    hot_findings,
    power_rating_for,
)
from core.findings import Finding, caution
from core.series import value_below
from core.stage.carrier import Carrier
from core.stage.circuit import DirectFeed, StageCircuit
from core.stage.elements import Monitor
from core.units import shown

FUSES: Final = (
    0.1, 0.16, 0.25, 0.315, 0.5, 0.63, 0.8, 1.0, 1.25, 1.6,
    2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0, 16.0,
)  # fmt: skip
"""Rated currents of miniature fuses [A]; after IEC 60127 (from memory)."""
FUSE_USE: Final = 0.75
"""Part of its rating that a fuse carries for good; common practice, no source."""


def gate_clamp(bench: Bench) -> Proposal:
    """Zener diode at the gate of a direct stage: 60 to 80 % of the rating, E24."""
    tol, limit = bench.tolerances, bench.design.device.gate_voltage_rating

    def spread(circuit: StageCircuit, sign: float) -> StageCircuit:
        feed = circuit.feed
        assert isinstance(feed, DirectFeed)
        changed = replace(
            feed,
            clamp_high=feed.clamp_high * (1.0 + sign * tol.clamp_voltage),
            clamp_low=feed.clamp_low * (1.0 + sign * tol.clamp_voltage),
        )
        return replace(circuit, feed=changed)

    full = bench.design.device.threshold_voltage + 6.0
    voltage = value_below(max(min(0.6 * limit, 1.5 * full), full), series="E24")
    edits = {"drive.direct.clamp_fitted": True, "drive.direct.clamp_high": voltage}
    corners, drawn = bench.corners(edits, spread), bench.run(edits)

    def peak(run: Carrier) -> float:
        return float(max(run.peaks[Monitor.GATE], -run.valleys[Monitor.GATE]))

    heat = max(heat_in(run, "gate_clamp", bench.duty) for run in corners)
    return Proposal(
        kind="gate_clamp",
        title="Zener diode from gate to source",
        parts=(
            Part("clamp", voltage, "V"),
            Part("power rating at least", power_rating_for(heat), "W"),
        ),
        edits=edits,
        quantity="gate voltage",
        unit="V",
        peak=peak(drawn),
        worst_peak=max(peak(run) for run in corners),
        limit=limit,
        heat=heat_in(drawn, "gate_clamp", bench.duty),
        worst_heat=heat,
        holds=max(peak(run) for run in corners) < limit,
        findings=hot_findings(heat, "drive.direct.clamp_high"),
    )


def base_clamps(bench: Bench) -> Proposal:
    """Clamp diodes at the driver's input: what they carry and where they hold the input."""
    part = bench.design.drive.gated
    drawn = bench.results.carrier
    raised = bench.run({}, supply=bench.tolerances.supply, coupling=bench.tolerances.coupling)
    heat = [heat_in(run, "input_clamp", bench.duty) for run in (drawn, raised)]
    current = [
        2
        * np.pi
        * run.frequency
        * bench.results.coil.secondary_capacitance
        * run.top_voltage_peak
        * bench.results.coil.base_current_ratio
        for run in (drawn, raised)
    ]
    limit = part.driver_supply + 0.5
    peaks = [float(run.peaks[Monitor.INPUT]) for run in (drawn, raised)]
    return Proposal(
        kind="base_clamps",
        title="Clamp diodes of the base current at the driver's input",
        parts=(
            Part("pulse current of each diode at least", 2.0 * max(current), "A"),
            Part("power rating of each diode at least", power_rating_for(max(heat) / 2), "W"),
        ),
        edits={},
        quantity="driver input",
        unit="V",
        peak=peaks[0],
        worst_peak=max(peaks),
        limit=limit,
        heat=heat[0],
        worst_heat=max(heat),
        holds=max(peaks) < limit,
    )


def fuse(bench: Bench) -> Proposal:
    """Fuse in the main supply: next rating that carries the RMS source current for good.

    A burst's current heats a fuse by its square: the RMS over the period counts, not the mean.
    """
    point = bench.results.operation
    mean = bench.results.load.supply_current_mean
    peak = float(point.bus.source_peak[0])
    rms = float(np.sqrt(max(float(mean) * peak, float(mean) ** 2)))
    rating = next((size for size in FUSES if rms <= FUSE_USE * size), FUSES[-1])
    supply = bench.design.supply.current_limit
    found: tuple[Finding, ...] = ()
    if rating > supply:
        found = (
            caution(
                "fuse-above-supply",
                "protection.fuse_rating",
                f"A fuse of {shown(rating, 'A')} does not blow on a supply that limits at "
                f"{shown(supply, 'A')}; the supply's limit protects instead.",
            ),
        )
    return Proposal(
        kind="fuse",
        title="Fuse in the main supply, time-lag",
        parts=(
            Part("rated current", rating, "A"),
            Part("rated voltage at least", bench.design.supply.voltage, "V"),
        ),
        edits={"protection.fuse_rating": rating},
        quantity="RMS current",
        unit="A",
        peak=rms,
        worst_peak=rms * (1.0 + bench.tolerances.supply),
        limit=FUSE_USE * rating,
        heat=0.0,
        worst_heat=0.0,
        holds=rms * (1.0 + bench.tolerances.supply) <= rating,
        findings=found,
    )
