"""Bounded solve through the stage: primary turns for a wanted current."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from burstwise.core.coil.bounded_solve import nearest_solution
from burstwise.core.coil.resolve import coil_of, primary_geometry
from burstwise.core.design.document import Design, with_values
from burstwise.core.errors import InputError
from burstwise.core.evaluate.evaluation import evaluate
from burstwise.core.evaluate.results import Results
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import Carrier, carrier
from burstwise.core.studies.coil_proposals import (
    TURNS_STEP,
    Proposal,
    override_remark,
    primary_turns_edits,
)
from burstwise.core.units import shown

_MOST_TURNS: Final = 30.0
_STEPS: Final = 12
_CLOSE: Final = 0.1
"""Largest miss of a proposal, relative; beyond it the current jumps past the wanted value."""


class StageCurrent(StrEnum):
    """Current of the stage that is wanted, in the steady state while the drive is on."""

    SUPPLY_MEAN = "supply current, mean"
    DRAIN_PEAK = "drain current, peak"


@dataclass(frozen=True, slots=True)
class _Point:
    """Bus voltage and on-resistance that are held while the turns are sought."""

    voltage: float
    on_resistance: float


def primary_turns_for_current(
    design: Design,
    wanted: float,
    current: StageCurrent,
    *,
    low: float = 1.0,
    high: float | None = None,
    check: Callable[[], None] | None = None,
) -> Proposal:
    """Primary turns for a wanted current of the stage; start, pitch and conductor kept.

    Parameters
    ----------
    design : Design
        Design whose coil is given by geometry.
    wanted : float
        Wanted current [A].
    current : StageCurrent
        Which current.
    low, high : float
        Range of turns; up to three times those wound, at most 30, if not given.
    check : callable, optional
        Called before each run of the stage; may raise to stop.

    Notes
    -----
    Turns with which the stage does not oscillate, or with which the windings overlap, are left
    out. Bus voltage and on-resistance of the present operating point are held while seeking; what
    is `reached` comes from a full evaluation with the proposed turns, in steps of 0.05. The current
    can jump between modes: a proposal that misses by more than 10 % is refused. A pair of answers
    between two of the 13 turns tried is not seen.

    Raises
    ------
    InputError
        Coil not given by geometry, primary inductance overridden by a measured value, or no answer
        in the range; then the message holds the reach.
    """
    _check_design(design, wanted)
    ask = check or _never_stops
    ask()
    present = evaluate(design, verify=False)
    point = _Point(present.operation.voltage, present.operation.on_resistance)
    wound = primary_geometry(design.coil.geometry).turns
    top = min(max(3.0 * wound, low + 6.0), _MOST_TURNS) if high is None else high

    def reached(turns: float) -> float:
        ask()
        run = _run(_with_turns(design, turns), point)
        if not run.oscillates:
            raise InputError("primary turns", turns, "such that the stage oscillates")
        return _current(run, current)

    found = nearest_solution(
        reached,
        wanted,
        low=low,
        high=top,
        start=wound,
        field=f"{current}",
        unit="A",
        resolution=0.2 * TURNS_STEP,
        steps=_STEPS,
    )
    turns = round(found.value / TURNS_STEP) * TURNS_STEP
    ask()
    final = evaluate(_with_turns(design, turns), verify=False)
    got = _reading(final, current)
    if abs(got / wanted - 1.0) > _CLOSE:
        raise InputError(
            f"{current}",
            shown(wanted, "A"),
            f"a value that the stage holds; near {turns:.2f} turns it jumps to {shown(got, 'A')}",
        )
    return Proposal(
        edits=primary_turns_edits(design, float(f"{turns:.10g}")),
        quantity=current.value.capitalize(),
        unit="A",
        wanted=wanted,
        reached=got,
        now=_reading(present, current),
        remark=override_remark(design, ("primary_resistance", "coupling")),
    )


def _check_design(design: Design, wanted: float) -> None:
    coil = design.coil
    if coil.given_by != "geometry":
        raise InputError("coil.given_by", coil.given_by, "geometry, to solve for a part")
    if coil.measured.primary_inductance is not None and "primary_inductance" not in coil.not_used:
        raise InputError(
            "coil.measured.primary_inductance",
            shown(coil.measured.primary_inductance, "H"),
            "switched off while turns are sought, for it hides what they do",
        )
    if not 0.0 < wanted < 1e6:
        raise InputError("wanted current", wanted, "above 0 A")


def _never_stops() -> None:
    return None


def _with_turns(design: Design, turns: float) -> Design:
    return with_values(
        design, {edit.path: edit.value for edit in primary_turns_edits(design, turns)}
    )


def _run(design: Design, point: _Point) -> Carrier:
    coil = coil_of(design)
    circuit = stage_circuit(design, coil, supply_voltage=point.voltage)
    return carrier(circuit.with_on_resistance(point.on_resistance))


def _current(run: Carrier, current: StageCurrent) -> float:
    if current is StageCurrent.SUPPLY_MEAN:
        return run.supply_current_mean
    return run.drain_current_peak


def _reading(results: Results, current: StageCurrent) -> float:
    return _current(results.carrier, current)
