"""Sizing of a driver's feedback: the rule of the first swing against the engine, and findings."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from burstwise.core.coil.resolve import coil_of
from burstwise.core.design.document import Design, with_values
from burstwise.core.evaluate.feedback import feedback_findings, input_share, input_swing
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import Carrier, carrier
from burstwise.core.stage.elements import Monitor

Example = Callable[[str], Design]
GATED, LARGE = "classroom-gated-interrupted", "demonstration-gated-large"


def transformer(turns: float, burden: float, inductance: float) -> dict[str, object]:
    return {
        "drive.gated.feedback": "current transformer",
        "drive.gated.input_bias": 2.4,
        "drive.gated.transformer_turns": turns,
        "drive.gated.burden": burden,
        "drive.gated.transformer_inductance": inductance,
    }


def antenna(farad: float) -> dict[str, object]:
    return {
        "drive.gated.feedback": "antenna",
        "drive.gated.input_bias": 2.4,
        "drive.feedback_sense": "reversed",
        "drive.gated.antenna_capacitance": farad,
    }


def run_of(design: Design) -> Carrier:
    return carrier(stage_circuit(design, coil_of(design)))


def codes(design: Design, run: Carrier) -> set[str]:
    return {item.code for item in feedback_findings(design, coil_of(design), run)}


STARTS = [
    (GATED, transformer(20, 2200.0, 1e-3), True),
    (GATED, transformer(20, 1000.0, 1e-3), False),
    (GATED, antenna(0.1e-12), True),
    (GATED, antenna(0.05e-12), False),
    (LARGE, transformer(20, 4700.0, 2e-3), True),
    (LARGE, transformer(20, 2200.0, 1e-3), False),
]


@pytest.mark.parametrize(("name", "changes", "starts"), STARTS)
def test_the_first_swing_tells_whether_the_engine_starts(
    example: Example, name: str, changes: dict[str, object], starts: bool
) -> None:
    # The engine knows nothing of the rule: it solves the whole circuit from rest.
    design = with_values(example(name), changes)
    run = run_of(design)
    swing = input_swing(design, coil_of(design), run)
    assert run.oscillates is starts
    assert (swing.first > swing.needed) is starts
    assert starts or "feedback-start" in codes(design, run)


def test_what_flows_into_the_input_is_what_its_clamps_carry(example: Example) -> None:
    # Each half of a sine current carries I/pi; the clamps take nearly all of it. By hand: their
    # heat over both voltages, 5.6 V and 0.6 V, and 2 ohm of slope.
    design = with_values(example(GATED), transformer(10, 4700.0, 0.5e-3))
    run = run_of(design)
    current = input_swing(design, coil_of(design), run).current
    whole = current / math.pi * (5.6 + 0.6) + 2.0 * current**2 / 2
    assert run.losses["input_clamp"] == pytest.approx(whole, rel=0.15)
    assert input_share(design, coil_of(design)) == pytest.approx(0.1)


def test_findings_of_the_input(example: Example) -> None:
    base = example(GATED)
    good = with_values(base, transformer(10, 4700.0, 0.5e-3))
    run = run_of(good)
    assert not codes(good, run)
    low = with_values(good, {"drive.gated.transformer_inductance": 1e-5})
    assert "transformer-inductance-low" in codes(low, run)
    weak = with_values(good, {"drive.gated.transformer_turns": 200.0})
    assert "feedback-start" in codes(weak, run)
    assert run.peaks[Monitor.INPUT] > 5.5
    slight = with_values(
        good, {"drive.gated.driver_supply": 5.0, "drive.gated.undervoltage_lockout": 4.0}
    )
    assert "input-above-supply" in codes(slight, run)
    plain = with_values(good, {"drive.gated.feedback": "base current"})
    assert input_swing(plain, coil_of(plain), run) is None
    assert codes(plain, run) == set()


def test_what_the_solver_has_no_room_for_is_told(example: Example) -> None:
    changes = transformer(10, 4700.0, 0.5e-3) | {
        "protection.snubber": {}, "protection.reservoir_clamp": {}, "drive.source_inductance": 1e-8,
    }  # fmt: skip
    crowded = with_values(example(GATED), changes)
    circuit = stage_circuit(crowded, coil_of(crowded))
    assert not circuit.magnetised
    assert not circuit.lifted
    one = with_values(crowded, {"protection.reservoir_clamp": None})
    assert stage_circuit(one, coil_of(one)).magnetised
    assert not stage_circuit(one, coil_of(one)).lifted
    bare = with_values(one, {"protection.snubber": None})
    assert stage_circuit(bare, coil_of(bare)).lifted


def test_an_antenna_s_part_is_that_of_the_capacitances(example: Example) -> None:
    design = with_values(example(GATED), antenna(0.2e-12))
    coil = coil_of(design)
    foot = coil.secondary_capacitance * coil.base_current_ratio
    assert input_share(design, coil) * foot == pytest.approx(0.2e-12)
