"""Designs, evaluated once for all tests of what follows from them."""

from __future__ import annotations

import importlib.util
import os
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest

from burstwise.core.design.document import Design, with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.results import Results
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parent))  # designs that tests and benchmarks share


@pytest.fixture(scope="session")
def example() -> Callable[[str], Design]:
    return lambda name: load(EXAMPLES / f"{name}.burstwise")


@pytest.fixture(scope="session")
def spiking(example) -> Results:
    """Gated stage whose drain is driven into avalanche."""
    return evaluate(example("classroom-gated-spiking"), verify=False)


@pytest.fixture(scope="session")
def interrupted(example) -> Results:
    """Gated stage that is well."""
    return evaluate(example("classroom-gated-interrupted"), verify=False)


@pytest.fixture(scope="session")
def hot_direct(example) -> Design:
    """Direct stage on a small heat sink, as a builder's continuous stage."""
    return with_values(
        example("classroom-direct-continuous"),
        {"cooling.sink_resistance": 3.5, "supply.voltage": 24.0},
    )


@pytest.fixture(scope="session")
def fields() -> ModuleType:
    """Designs in which every field has a say, and the tool's figures by name."""
    name = "evaluate_field_figures"
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(
            name, Path(__file__).with_name("field_figures.py")
        )
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]
