"""Protection on the low side of the stage: gate clamp, base clamps, fuse."""

from __future__ import annotations

from dataclasses import replace

from burstwise.core.evaluate.feedback import ABOVE_SUPPLY, foot_current, input_share
from burstwise.core.findings import Finding, caution
from burstwise.core.limits.clamp_heat import clamp_heat
from burstwise.core.limits.fuse import CARRIED, OPENS_AT, RATED_CURRENTS, fuse_for
from burstwise.core.series import value_below
from burstwise.core.stage.carrier import Carrier
from burstwise.core.stage.circuit import DirectFeed, StageCircuit
from burstwise.core.stage.elements import Monitor
from burstwise.core.studies.sizing_bench import (
    POWER_USE,
    Bench,
    Part,
    Proposal,
    heat_in,
    hot_findings,
    sold_part,
)
from burstwise.core.units import shown


def gate_clamp(bench: Bench) -> Proposal:
    """Zener diode at the gate of a direct stage, E24.

    60 % of the rating, but no more than 1.5 times and no less than once the 6 V above threshold
    that turn the device on well; common practice, no source.
    """
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

    negative = bench.design.device.negative_gate_limit

    def peak(run: Carrier) -> float:
        return float(run.peaks[Monitor.GATE])

    def holds(run: Carrier) -> bool:
        return peak(run) < limit and -float(run.valleys[Monitor.GATE]) < negative

    heat = max(heat_in(run, "gate_clamp", bench.duty) for run in corners)
    return Proposal(
        kind="gate_clamp",
        title="Zener diode from gate to source",
        parts=(
            Part("clamp", voltage, "V"),
            sold_part(
                "clamp", "Zener diode", {"power": heat / POWER_USE}, value=voltage, rating="power"
            ),
        ),
        edits=edits,
        quantity="gate voltage",
        unit="V",
        peak=peak(drawn),
        worst_peak=max(peak(run) for run in corners),
        limit=limit,
        heat=heat_in(drawn, "gate_clamp", bench.duty),
        worst_heat=heat,
        holds=all(holds(run) for run in corners),
        findings=hot_findings(heat, "drive.direct.clamp_high"),
    )


def base_clamps(bench: Bench) -> Proposal:
    """Clamp diodes at the driver's input: what they carry and where they hold the input."""
    part = bench.design.drive.gated
    drawn = bench.results.carrier
    raised = bench.run({}, supply=bench.tolerances.supply, coupling=bench.tolerances.coupling)
    heat = [heat_in(run, "input_clamp", bench.duty) for run in (drawn, raised)]
    coil = bench.results.coil
    share = input_share(bench.design, coil)
    current = [share * foot_current(coil, run) for run in (drawn, raised)]
    shares = clamp_heat(
        max(heat),
        current=max(current),
        high=part.input_clamp_high,
        low=part.input_clamp_low,
        resistance=part.input_clamp_resistance,
    )
    limit = part.driver_supply + ABOVE_SUPPLY
    peaks = [float(run.peaks[Monitor.INPUT]) for run in (drawn, raised)]
    return Proposal(
        kind="base_clamps",
        title="Clamp diodes at the driver's input",
        parts=(
            Part("pulse current of each diode at least", 2.0 * max(current), "A"),
            Part("power rating of the positive diode at least", shares.high / POWER_USE, "W"),
            Part("power rating of the negative diode at least", shares.low / POWER_USE, "W"),
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

    A burst's current heats a fuse by its square: the RMS counts, not the mean; it is that of the
    fuse's rating.
    """
    rms = float(bench.results.load.fuse_current)
    worst = rms * (1.0 + bench.tolerances.supply)
    rating = fuse_for(worst)
    parts: tuple[Part, ...] = ()
    if rating is not None:
        parts = (
            Part("rated current", rating, "A"),
            Part("rated voltage at least", bench.design.supply.voltage, "V"),
        )
    return Proposal(
        kind="fuse",
        title="Fuse in the main supply" + ("" if rating is None else ", time-lag"),
        parts=parts,
        edits={} if rating is None else {"protection.fuse_rating": rating},
        quantity="RMS current",
        unit="A",
        peak=rms,
        worst_peak=worst,
        limit=CARRIED * (rating or RATED_CURRENTS[-1]),
        heat=0.0,
        worst_heat=0.0,
        holds=rating is not None,
        findings=_fuse_findings(rms, rating, bench.design.supply.current_limit),
    )


def _fuse_findings(rms: float, rating: float | None, supply: float) -> tuple[Finding, ...]:
    """What a fuse cannot do: carry the current, or blow on a supply that limits first [A]."""
    if rating is None:
        return (
            caution(
                "no-fuse-carries",
                "protection.fuse_rating",
                f"No miniature fuse carries {shown(rms, 'A')} RMS for good: the largest of "
                f"{shown(RATED_CURRENTS[-1], 'A')} does "
                f"{shown(CARRIED * RATED_CURRENTS[-1], 'A')}. A larger kind of fuse, by its "
                "own datasheet, is needed.",
            ),
        )
    if OPENS_AT * rating <= supply:
        return ()
    return (
        caution(
            "fuse-above-supply",
            "protection.fuse_rating",
            f"A time-lag fuse of {shown(rating, 'A')} opens above about "
            f"{shown(OPENS_AT * rating, 'A')}; on a supply that limits at "
            f"{shown(supply, 'A')} it may never blow. The supply's limit protects instead, "
            "or a supply that gives more.",
        ),
    )
