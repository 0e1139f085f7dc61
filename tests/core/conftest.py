"""Reference figures, thermal networks that some of them are of, and evaluated designs."""

from __future__ import annotations

import csv
import importlib.util
import os
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from burstwise.core.burst.foster import Foster
from burstwise.core.design.document import Design, with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.results import Results
from burstwise.core.storage import load

Row = dict[str, str]
TableRows = Callable[[str], list[Row]]
_REFERENCE = Path(__file__).parents[1] / "reference"
EXAMPLES = Path(__file__).parents[2] / "resources" / "examples"
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


@pytest.fixture(scope="session")
def table_rows() -> TableRows:
    """Rows of a file in tests/reference, at least one."""

    def read(name: str) -> list[Row]:
        with (_REFERENCE / name).open(encoding="utf-8", newline="") as stream:
            rows = list(csv.DictReader(stream))
        assert rows, f"{name} is empty"
        return rows

    return read


@pytest.fixture(scope="session")
def network_of() -> Callable[[Row], Foster]:
    """Foster network of a reference row."""

    def made(row: Row) -> Foster:
        return Foster(
            np.array(row["resistance_K_per_W"].split(), dtype=float),
            np.array(row["time_constant_s"].split(), dtype=float),
        )

    return made


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
            name, Path(__file__).parent / "evaluate" / "field_figures.py"
        )
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]
