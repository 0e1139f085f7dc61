"""Netlist of an evaluated design: the stretch of time that it covers, and what its head says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.report.netlist import RING_DOWN_PERIODS, STEADY_PERIODS, stage_netlist
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
GATED = "classroom-gated-interrupted"


def _times(text: str) -> tuple[float, float]:
    """Switch-off and end of the run."""
    off = float(re.search(r"PWL\((.*)\)", text)[1].split()[4])
    return off, float(re.search(r"\.tran \S+ (\S+)", text)[1])


def test_a_short_burst_is_there_whole() -> None:
    design = load(EXAMPLES / f"{GATED}.burstwise")
    frequency = design.interrupter.frequency
    results = evaluate(with_values(design, {"interrupter.duty": 20e-6 * frequency}))
    off, end = _times(stage_netlist(results))
    assert off == pytest.approx(20e-6, rel=1e-6)
    period = 1.0 / results.carrier.circuit.coil.resonance
    assert end - off == pytest.approx(RING_DOWN_PERIODS * period, rel=1e-6)


def test_a_long_burst_is_there_up_to_its_steady_state() -> None:
    results = evaluate(load(EXAMPLES / f"{GATED}.burstwise"))
    off, _ = _times(stage_netlist(results))
    period = 1.0 / results.carrier.circuit.coil.resonance
    assert off >= results.carrier.ring_up.time[-1] + STEADY_PERIODS * period * (1 - 1e-9)
    assert off < results.operation.on_time


def test_head_names_the_design_whatever_its_name_holds() -> None:
    design = load(EXAMPLES / f"{GATED}.burstwise")
    text = stage_netlist(evaluate(with_values(design, {"name": "Spule für 5 Ω: .end"})))
    assert text.splitlines()[0].startswith("* Spule f?r 5 ohm: .end, design ")
