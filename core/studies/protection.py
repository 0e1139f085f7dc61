"""Protection sized from the stage's own waveforms: the drain's clamps and snubber.

Each proposal is put into the design and run through the engine again: as drawn, and at the corners
of its parts' tolerances, the coupling's and the supply's. What is shown is what those runs gave.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from burstwise.core.evaluate.results import Results
from burstwise.core.series import nearest_value, series_values, value_above, value_below
from burstwise.core.stage.carrier import Carrier
from burstwise.core.stage.circuit import StageCircuit
from burstwise.core.studies.protection_low import base_clamps, fuse, gate_clamp
from burstwise.core.studies.sizing_bench import (
    POWER_USE,
    Bench,
    Part,
    Proposal,
    Tolerances,
    heat_in,
    hot_findings,
    resistor_part,
    sold_part,
)

__all__ = ["Part", "Proposal", "Tolerances", "proposals"]


def proposals(
    results: Results,
    *,
    ask: Callable[[float], bool] | None = None,
) -> Iterator[Proposal]:
    """Protections that suit the design, one after the other.

    Parameters
    ----------
    results : Results
        Present state.
    ask : callable
        Told the share done; answers whether to go on.

    Raises
    ------
    StoppedError
        `ask` answered no.
    """
    bench = Bench(results, Tolerances(), ask)
    makers: list[Callable[[Bench], Proposal | None]] = [zener_clamp, snubber, reservoir_clamp]
    makers.append(gate_clamp if results.design.drive.kind == "direct" else base_clamps)
    makers.append(fuse)
    for done, make in enumerate(makers):
        bench.check(done / len(makers))
        found = make(bench)
        if found is not None:
            yield found


def zener_clamp(bench: Bench) -> Proposal:
    """Avalanche-type clamp at the highest preferred voltage that holds the spike at every corner.

    A high clamp works less; it is lowered step by step in E24 until the worst corner is held.
    """
    tol, limit = bench.tolerances, bench.drain_limit
    present = bench.design.protection.drain_clamp
    slope = 4.0 if present is None else present.resistance

    def spread(circuit: StageCircuit, sign: float) -> StageCircuit:
        clamps = circuit.clamps
        return circuit.with_clamps(
            drain_voltage=clamps.drain_voltage * (1.0 + sign * tol.clamp_voltage),
            drain_resistance=clamps.drain_resistance * (1.0 + sign * tol.resistor),
        )

    floor = max(1.2 * bench.design.supply.voltage, 0.3 * limit)
    steps = series_values("E24", floor, limit / (1.0 + tol.clamp_voltage))[::-1]
    chosen: tuple[float, Carrier, list[Carrier]] | None = None
    for voltage in steps.tolist():
        edits = {"protection.drain_clamp": _clamp_part(voltage, slope, 5.0)}
        corners = bench.corners(edits, spread)
        chosen = (voltage, bench.run(edits), corners)
        if max(run.drain_voltage_peak for run in corners) < limit:
            break
    assert chosen is not None
    voltage, drawn, corners = chosen
    heat = max(heat_in(run, "drain_clamp", bench.duty) for run in corners)
    row = sold_part(
        "suppressors",
        "suppressor",
        {
            "mean power": heat / POWER_USE,
            "pulse power": max(_clamp_pulse(run, voltage, slope) for run in corners),
        },
        value=voltage,
        rating="mean power",
    )
    return Proposal(
        kind="drain_clamp",
        title="Zener or suppressor diode from drain to source",
        parts=(Part("clamp", voltage, "V"), row),
        edits={"protection.drain_clamp": _clamp_part(voltage, slope, row.value)},
        quantity="drain voltage",
        unit="V",
        peak=drawn.drain_voltage_peak,
        worst_peak=max(run.drain_voltage_peak for run in corners),
        limit=limit,
        heat=heat_in(drawn, "drain_clamp", bench.duty),
        worst_heat=heat,
        holds=max(run.drain_voltage_peak for run in corners) < limit,
        findings=hot_findings(heat, "protection.drain_clamp"),
    )


def _clamp_pulse(run: Carrier, voltage: float, slope: float) -> float:
    """Largest power in a clamp at the drain's peak [W]."""
    peak = run.drain_voltage_peak
    return max(peak - voltage, 0.0) / slope * peak


def _clamp_part(voltage: float, slope: float, rating: float) -> dict[str, float]:
    return {"voltage": voltage, "resistance": slope, "power_rating": rating}


def snubber(bench: Bench) -> Proposal:
    """Snubber: the smallest capacitor that holds the spike, the resistor to match the stray tank.

    ``R = sqrt(L_s/(Coss + Cs))``, the wave resistance of what rings at the drain; L_s is
    L1 (1 - k^2) and the leads.
    """
    tol, limit = bench.tolerances, bench.drain_limit
    device = bench.design.device
    stray = bench.results.carrier.circuit.coil.stray_inductance

    def spread(circuit: StageCircuit, sign: float) -> StageCircuit:
        clamps = circuit.clamps
        return circuit.with_clamps(
            snubber_capacitance=clamps.snubber_capacitance * (1.0 - sign * tol.capacitor),
            snubber_resistance=clamps.snubber_resistance * (1.0 + sign * tol.resistor),
        )

    chosen = None
    for factor in (0.5, 1.0, 2.0, 4.0, 8.0, 16.0):
        capacitance = nearest_value(factor * device.output_capacitance, series="E6")
        wave = (stray / (capacitance + device.output_capacitance)) ** 0.5
        resistance = nearest_value(wave, series="E24")
        edits = {"protection.snubber": {"resistance": resistance, "capacitance": capacitance}}
        corners = bench.corners(edits, spread)
        worst = max(run.drain_voltage_peak for run in corners)
        if chosen is None or worst < max(run.drain_voltage_peak for run in chosen[2]):
            chosen = (resistance, capacitance, corners, edits)
        if worst < limit:
            break
    assert chosen is not None
    resistance, capacitance, corners, edits = chosen
    drawn = bench.run(edits)
    heat = max(heat_in(run, "snubber", bench.duty) for run in corners)
    worst = max(run.drain_voltage_peak for run in corners)
    return Proposal(
        kind="snubber",
        title="Resistor and capacitor from drain to source",
        parts=(
            Part("resistor", resistance, "Ω"),
            Part("capacitor", capacitance, "F"),
            resistor_part(
                "resistor", resistance, heat, max(heat_in(run, "snubber", 1.0) for run in corners)
            ),
            Part("capacitor's voltage at least", value_above(1.5 * worst, series="E6"), "V"),
        ),
        edits=edits,
        quantity="drain voltage",
        unit="V",
        peak=drawn.drain_voltage_peak,
        worst_peak=worst,
        limit=limit,
        heat=heat_in(drawn, "snubber", bench.duty),
        worst_heat=heat,
        holds=worst < limit,
        findings=hot_findings(heat, "protection.snubber"),
    )


def reservoir_clamp(bench: Bench) -> Proposal:
    """Diode into a capacitor with a bleeder: the largest bleeder that holds the spike.

    The capacitor's time constant with the bleeder is 20 carrier periods, for a ripple of some 5 %.
    """
    tol, limit = bench.tolerances, bench.drain_limit
    run = bench.results.carrier
    frequency = max(run.frequency, 1e4)

    def part(resistance: float) -> dict[str, dict[str, float]]:
        capacitance = value_above(20.0 / (frequency * resistance), series="E6")
        return {
            "protection.reservoir_clamp": {"capacitance": capacitance, "resistance": resistance}
        }

    def spread(circuit: StageCircuit, sign: float) -> StageCircuit:
        clamps = circuit.clamps
        return circuit.with_clamps(
            reservoir_resistance=clamps.reservoir_resistance * (1.0 + sign * tol.resistor),
            reservoir_capacitance=clamps.reservoir_capacitance * (1.0 - sign * tol.capacitor),
        )

    stray = bench.results.carrier.circuit.coil.stray_inductance
    energy = 0.5 * stray * run.drain_current_peak**2
    wanted = 0.8 * limit
    start = (wanted - bench.design.supply.voltage) ** 2 / max(energy * frequency, 1e-3)
    resistance = value_below(min(max(start, 47.0), 1e6), series="E12")
    edits, corners = part(resistance), []
    for _ in range(6):
        edits = part(resistance)
        corners = bench.corners(edits, spread)
        worst = max(each.drain_voltage_peak for each in corners)
        if worst < limit:
            break
        resistance = value_below(0.5 * resistance, series="E12")
    worst = max(each.drain_voltage_peak for each in corners)
    drawn = bench.run(edits)
    heat = max(_reservoir_heat(each, bench.duty) for each in corners)
    fitted = edits["protection.reservoir_clamp"]
    return Proposal(
        kind="reservoir_clamp",
        title="Diode into a capacitor with a bleeder to the supply",
        parts=(
            Part("bleeder", fitted["resistance"], "Ω"),
            Part("capacitor", fitted["capacitance"], "F"),
            resistor_part(
                "bleeder",
                fitted["resistance"],
                heat,
                max(_reservoir_heat(run, 1.0) for run in corners),
            ),
            Part("fast diode's voltage at least", value_above(1.3 * worst, series="E6"), "V"),
        ),
        edits=dict(edits),
        quantity="drain voltage",
        unit="V",
        peak=drawn.drain_voltage_peak,
        worst_peak=worst,
        limit=limit,
        heat=_reservoir_heat(drawn, bench.duty),
        worst_heat=heat,
        holds=worst < limit,
        findings=hot_findings(heat, "protection.reservoir_clamp"),
    )


def _reservoir_heat(run: Carrier, duty: float) -> float:
    return sum(power for name, power in run.losses.items() if name.startswith("reservoir")) * duty
