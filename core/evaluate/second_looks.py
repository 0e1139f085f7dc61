"""The operating point looked at a second time, with something assumed otherwise.

Straight pieces of a bending capacitance twice as fine, a constant capacitance replaced by the
usual law of its class, a ratio of the coil that nobody gave: each is one more run of the engine at
the same point, made in a full evaluation only.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from burstwise.core.coil.resolve import USUAL_BASE_RATIO, ResolvedCoil
from burstwise.core.design.device import Device
from burstwise.core.design.document import Design
from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, caution, note
from burstwise.core.limits.device_classes import class_of, typical_law
from burstwise.core.stage.carrier import Carrier, carrier
from burstwise.core.stage.circuit import StageCircuit
from burstwise.core.stage.device_charges import device_charges
from burstwise.core.units import percent, shown

FINER: Final = 2
"""Times as many straight pieces in the check of their number."""
PIECES_LIMIT: Final = 0.02
"""Change of power, heat or a peak on doubling the pieces above which it is told."""


def looked_at_twice(
    design: Design, coil: ResolvedCoil, run: Carrier
) -> tuple[Carrier, tuple[Finding, ...]]:
    """Run with its error of the straight pieces, and what the second looks found.

    Parameters
    ----------
    design : Design
        The design.
    coil : ResolvedCoil
        Values of its coil.
    run : Carrier
        Engine run at the operating point.
    """
    checked = replace(run, pieces_error=pieces_error(design.device, run))
    found = [*_pieces(checked), *_constant(design.device, run), *_base_ratio(design, coil, run)]
    return checked, tuple(found)


def pieces_error(device: Device, run: Carrier) -> float:
    """Largest relative change on doubling the straight pieces of the device's charges [1].

    Of input power, of the device's heat over the input power, and of the peaks of drain voltage
    and drain current over the whole burst; infinite where only one of both oscillates, zero where
    the capacitances are constant or there is nothing to compare.
    """
    if not (run.oscillates and run.trusted) or device.capacitance_law == "constant":
        return 0.0
    finer = carrier(with_charges(run.circuit, device, finer=FINER))
    if not (finer.oscillates and finer.trusted):
        return math.inf
    pairs = (
        (finer.input_power, run.input_power),
        (finer.drain_voltage_worst, run.drain_voltage_worst),
        (finer.drain_voltage_peak, run.drain_voltage_peak),
        (finer.drain_current_worst, run.drain_current_worst),
    )
    heat = abs(finer.device_power - run.device_power) / max(abs(run.input_power), 1e-12)
    return max(heat, *(abs(a - b) / max(abs(b), 1e-12) for a, b in pairs))


def with_charges(circuit: StageCircuit, device: Device, *, finer: int = 1) -> StageCircuit:
    """Circuit with the charges of a device, all else kept.

    Raises
    ------
    InputError
        Figures that no law fits, as `device_charges`.
    """
    charges = device_charges(device, finer=finer)
    switch = replace(
        circuit.switch,
        drain_source_capacitance=charges.drain_source,
        gate_drain_capacitance=charges.gate_drain,
    )
    return replace(circuit, switch=switch)


def _pieces(run: Carrier) -> Iterator[Finding]:
    if not run.pieces_error <= PIECES_LIMIT:
        moved = (
            f"moves by {percent(run.pieces_error, decimals=1)}"
            if math.isfinite(run.pieces_error)
            else "is another altogether"
        )
        yield caution(
            "pieces-sensitive",
            "device.capacitance_law",
            f"Power, heat or a peak of the stage {moved} when the device's charges are drawn with "
            "twice as many straight pieces: the stage hangs on how the capacitances bend, read the "
            "figures with that margin.",
        )


def _constant(device: Device, run: Carrier) -> Iterator[Finding]:
    """How far a constant capacitance may understate the drain's peak."""
    if device.capacitance_law != "constant":
        return
    kind = class_of(device)
    said = (
        "The device's capacitances are taken as constant; real ones fall with the voltage, and "
        "the drain mostly peaks higher. "
    )
    try:
        bent = device.model_copy(update={"capacitance_law": typical_law(device)})
        other = carrier(with_charges(run.circuit, bent))
        said += _with_law(kind.name, run, other)
    except InputError as error:
        said += f"The usual law of its class ({kind.name}) does not fit its figures: {error}."
    yield caution(
        "constant-capacitance",
        "device.capacitance_law",
        f"{said} Switch and drive, tab Datasheet, takes the law of the class with one click; the "
        "points of your part's curve are better still.",
    )


def _with_law(name: str, run: Carrier, other: Carrier) -> str:
    if other.oscillates != run.oscillates or not other.trusted:
        does = "oscillates" if other.oscillates else "does not oscillate"
        return f"With the usual law of its class ({name}) this stage {does}."
    here, there = run.drain_voltage_worst, other.drain_voltage_worst
    return (
        f"With the usual law of its class ({name}) the peak here is {shown(there, 'V', digits=3)} "
        f"and not {shown(here, 'V', digits=3)} ({percent(there / here - 1.0, signed=True)}), the "
        f"heat in the device {shown(other.device_power, 'W', digits=3)} and not "
        f"{shown(run.device_power, 'W', digits=3)}."
    )


def _base_ratio(design: Design, coil: ResolvedCoil, run: Carrier) -> Iterator[Finding]:
    """A coil by measured values whose ratio of base current nobody gave."""
    if coil.constants is not None or design.coil.measured.base_current_ratio is not None:
        return
    if not run.oscillates:
        return
    winding = replace(run.circuit.coil, base_current_ratio=USUAL_BASE_RATIO)
    other = carrier(replace(run.circuit, coil=winding))
    moved = percent(other.input_power / run.input_power - 1.0, decimals=1, signed=True)
    yield note(
        "base-ratio-assumed",
        "coil.measured.base_current_ratio",
        "The coil is given by measured values without its ratio of base current, so that 1 is "
        f"used. The geometry of coils like the examples gives 1.03 to {USUAL_BASE_RATIO:g}; with "
        f"{USUAL_BASE_RATIO:g} the input power is {shown(other.input_power, 'W', digits=3)} and "
        f"not {shown(run.input_power, 'W', digits=3)} ({moved}).",
    )
