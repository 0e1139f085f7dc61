"""Example designs and random valid designs for the end-to-end tests."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from burstwise.core.design.document import Design, design_from

sys.path.insert(0, str(Path(__file__).parent))  # tests are no package
EXAMPLES = Path(__file__).parents[2] / "resources" / "examples"


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    if "example" in metafunc.fixturenames:
        files = sorted(EXAMPLES.glob("*.burstwise"))
        metafunc.parametrize("example", files, ids=[file.stem for file in files])


@pytest.fixture
def example_folder() -> Path:
    return EXAMPLES


@pytest.fixture
def random_design() -> Callable[[int], Design]:
    return _random_design


def _random_design(seed: int) -> Design:
    """Valid design drawn over far more than what anybody would build."""
    draw = np.random.default_rng(seed)

    def log(low: float, high: float) -> float:
        return float(math.exp(draw.uniform(math.log(low), math.log(high))))

    resonance, inductance = log(80e3, 2e6), log(2e-3, 80e-3)
    crss = log(2e-12, 60e-12)
    rating = log(60, 1200)
    protection: dict[str, object] = {"fuse_rating": log(0.5, 20)}
    if draw.random() < 0.4:
        protection["snubber"] = {"resistance": log(3, 1e3), "capacitance": log(50e-12, 5e-9)}
    if draw.random() < 0.3:
        protection["drain_clamp"] = {"voltage": rating * draw.uniform(0.4, 0.95)}
    if draw.random() < 0.3:
        protection["reservoir_clamp"] = {
            "capacitance": log(1e-9, 1e-6),
            "resistance": log(500, 1e5),
        }
    driver = log(5, 18)
    threshold = driver * draw.uniform(0.1, 0.5)
    return design_from(
        {
            "name": f"random {seed}",
            "coil": {
                "given_by": "measured",
                "measured": {
                    "primary_inductance": log(0.5e-6, 60e-6),
                    "primary_resistance": log(5e-3, 1.0),
                    "secondary_inductance": inductance,
                    "secondary_capacitance": max(
                        1.0 / (inductance * (2 * math.pi * resonance) ** 2), 6e-13
                    ),
                    "quality_factor": log(15, 500),
                    "coupling": log(0.02, 0.6),
                    "breakout_voltage": log(2e3, 200e3),
                },
                "breakout_resistance": log(2e4, 2e6),
            },
            "device": {
                "drain_voltage_rating": rating,
                "avalanche_voltage": rating * draw.uniform(1.05, 1.3),
                "avalanche_resistance": log(0.2, 5),
                "on_resistance": log(0.01, 5),
                "threshold_voltage": draw.uniform(1.0, 4.5),
                "transconductance": log(0.5, 60),
                "reverse_capacitance": crss,
                "input_capacitance": crss * log(5, 200),
                "output_capacitance": crss * log(1.5, 20),
            },
            "drive": {
                "kind": "direct" if draw.random() < 0.5 else "gated",
                "feedback_sense": "normal" if draw.random() < 0.7 else "reversed",
                "shunt_resistance": 0.0 if draw.random() < 0.3 else log(0.01, 2),
                "direct": {
                    "bias_voltage": draw.uniform(0.0, 6.0),
                    "bias_resistance": log(200, 1e5),
                    "clamp_high": draw.uniform(4, 25),
                    "clamp_low": draw.uniform(0.4, 20),
                    "clamp_resistance": log(0.5, 50),
                },
                "gated": {
                    "driver_supply": driver,
                    "undervoltage_lockout": driver * draw.uniform(0.3, 1.1),
                    "gate_resistor": log(0.5, 100),
                    "propagation_delay": log(5e-9, 500e-9),
                    "inverting": bool(draw.random() < 0.3),
                    "input_threshold_high": threshold * 1.2,
                    "input_threshold_low": threshold * 0.8,
                    "input_capacitance": log(5e-12, 300e-12),
                    "input_clamp_high": max(threshold * draw.uniform(0.8, 4.0), 0.3),
                    "input_bias": draw.uniform(0.0, 12.0),
                    "input_bias_resistance": log(500, 1e5),
                },
            },
            "protection": protection,
            "interrupter": {
                "enabled": bool(draw.random() < 0.7),
                "frequency": log(1, 5e3),
                "duty": draw.uniform(0.0, 1.0),
            },
            "supply": {
                "voltage": log(5, 300),
                "source_resistance": 0.0 if draw.random() < 0.2 else log(0.01, 10),
                "bulk_capacitance": log(1e-6, 5e-2),
            },
            "cooling": {"sink_resistance": log(0.3, 60)},
        }
    )
