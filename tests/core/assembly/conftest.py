"""Evaluated designs for the tests of what leaves the desk, each evaluated once."""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from types import ModuleType

import pytest

from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.results import Results
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
NAMES = tuple(file.stem for file in sorted(EXAMPLES.glob("*.burstwise")))
WITH_PARTS = {
    "interrupter.enabled": True,
    "interrupter.given_by": "parts",
    "interrupter.chain.buffer": {},
    "interrupter.chain.indicator": {},
    "interrupter.parts.frequency_potentiometer": 100e3,
}
VARIED: dict[str, tuple[str, dict[str, object]]] = {
    **{
        circuit: (
            "classroom-gated-interrupted",
            {**WITH_PARTS, "interrupter.parts.circuit": circuit},
        )
        for circuit in (
            "astable-classic",
            "astable-steered-discharge",
            "astable-steered-output",
            "astable-capped-discharge",
            "astable-capped-output",
            "two-timer",
        )
    },
    "protected": (
        "classroom-gated-interrupted",
        {"protection.drain_clamp": {}, "protection.reservoir_clamp": {}},
    ),
    "regulator": ("classroom-gated-interrupted", {"supply.low_voltage": {"kind": "regulator"}}),
    "zener": (
        "classroom-direct-continuous",
        {
            "interrupter.enabled": True,
            "supply.low_voltage": {"kind": "zener"},
            "drive.direct.clamp_low": 12.0,
        },
    ),
    "supply-gated": (
        "classroom-gated-interrupted",
        {**WITH_PARTS, "interrupter.chain.gating": "supply"},
    ),
    "supply-gated-plain": (
        "classroom-gated-interrupted",
        {"interrupter.chain.gating": "supply"},
    ),
    "unlit": (
        "classroom-gated-interrupted",
        {
            **WITH_PARTS,
            "interrupter.parts.timer": "bipolar",
            "interrupter.parts.supply": 5.0,
            "interrupter.chain.indicator": {"forward_voltage": 4.9},
        },
    ),
    "transformer": (
        "classroom-gated-interrupted",
        {"drive.gated.feedback": "current transformer", "drive.gated.input_bias": 2.5},
    ),
    "antenna": (
        "classroom-gated-interrupted",
        {
            "drive.gated.feedback": "antenna",
            "drive.gated.input_bias": 2.5,
            "drive.feedback_sense": "reversed",
        },
    ),
    "no-bulk": ("classroom-gated-interrupted", {"supply.bulk_fitted": False}),
    "unclamped": (
        "classroom-direct-continuous",
        {"drive.direct.clamp_fitted": False, "drive.direct.bias_voltage": 0.0},
    ),
    "unclamped-interrupted": (
        "classroom-direct-continuous",
        {**WITH_PARTS, "drive.direct.clamp_fitted": False, "supply.bulk_fitted": False},
    ),
    "bare": (
        "classroom-gated-interrupted",
        {
            "drive.shunt_resistance": 0.0,
            "drive.gated.gate_resistor": 0.0,
            "drive.gated.gate_source_resistor": None,
            "protection.fuse_rating": None,
            "protection.snubber": None,
            "drive.feedback_sense": "reversed",
        },
    ),
}


@cache
def _evaluated(name: str) -> Results:
    file, changes = VARIED.get(name, (name, {}))
    design = with_values(load(EXAMPLES / f"{file}.burstwise"), changes)
    same_stage = all(path.startswith(("interrupter", "supply")) for path in changes)
    table = _evaluated(file).table if changes and same_stage else None
    return evaluate(design, table=table, verify=False)


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    if "example" in metafunc.fixturenames:
        metafunc.parametrize("example", NAMES)
    if "variety" in metafunc.fixturenames:
        metafunc.parametrize("variety", (*NAMES, *VARIED))


@pytest.fixture
def evaluated() -> Callable[[str], Results]:
    return _evaluated


@pytest.fixture(scope="session")
def by_hand() -> ModuleType:
    """The circuit written down by hand, in `wiring.py`."""
    name = "assembly_wiring"
    spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name("wiring.py"))
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module
