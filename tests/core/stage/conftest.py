"""Circuits that the stage tests share, the second model, and reference figures."""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from numpy.typing import NDArray

from burstwise.core.stage.charge import ChargeSegments
from burstwise.core.stage.circuit import (
    ClampValues,
    CoilValues,
    DirectFeed,
    GatedFeed,
    StageCircuit,
    SwitchValues,
)
from burstwise.core.stage.engine import Engine

constant = ChargeSegments.constant

Array = NDArray[np.float64]

_HERE = Path(__file__).parent


@dataclass(frozen=True)
class Circuits:
    """A small stage with either drive, and one with everything fitted."""

    gated: StageCircuit
    direct: StageCircuit
    clamps: ClampValues

    @property
    def both(self) -> tuple[StageCircuit, StageCircuit]:
        return self.gated, self.direct


@pytest.fixture(scope="session")
def circuits() -> Circuits:
    coil = CoilValues(8e-6, 12e-3, 0.2, 0.05, 200.0, 14e-12, 25e3)
    switch = SwitchValues(
        1.8,
        3.5,
        2.5,
        632e-12,
        constant(8e-12),
        constant(72e-12),
        avalanche_voltage=690,
    )
    gate = GatedFeed(12, 8, 8, 40e-9, False, 2.1, 1.2, 30e-12, 5.6, 0.6, 2, 5, 10e3)
    gated = StageCircuit(36, coil, switch, gate, shunt_resistance=0.1)
    direct = replace(gated, feed=DirectFeed(3.9, 4700, 12, 0.7, 3, 5))
    clamps = ClampValues(480.0, 4.0, 100.0, 220e-12, 22e-9, 22e3)
    return Circuits(gated, direct, clamps)


def _module(file: str) -> ModuleType:
    """Module beside the tests, loaded once."""
    name = f"stage_{file}"
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, _HERE / f"{file}.py")
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]


@pytest.fixture(scope="session")
def nodal() -> ModuleType:
    """Second model of the stage, written by hand and solved by general-purpose solvers."""
    return _module("nodal_model")


@pytest.fixture(scope="session")
def bending_laws() -> ModuleType:
    """Smooth capacitances that fall with voltage."""
    return _module("bending_laws")


@pytest.fixture(scope="session")
def spice_runner() -> ModuleType:
    """Simulators from outside the project."""
    return _module("spice_runner")


@pytest.fixture(scope="session")
def spice_figures() -> ModuleType:
    """Figures of a burst from the engine and from a simulator's signals."""
    return _module("spice_figures")


@pytest.fixture(scope="session")
def reference(table_rows) -> Callable[[str], list[dict[str, str]]]:
    """Rows of tests/reference/stage_<name>.csv."""
    return lambda name: table_rows(f"stage_{name}.csv")


def _short_base(coil: CoilValues, **changes: object) -> StageCircuit:
    """Stage whose base is held at earth by a huge capacitance and whose gate answers at once."""
    gate = GatedFeed(12, 1e-3, 1e-3, 0.0, False, 2.1, 1.2, 1.0, 5.6, 0.6, 2.0, 0.0, 1e9)
    switch = SwitchValues(1.0, 3.5, 50.0, 1e-12, constant(0.0), constant(1e-12))
    return replace(StageCircuit(36.0, coil, switch, gate), **changes)


def _state(engine: Engine, code: int, **physical: float) -> Array:
    """Coordinates for given node voltages and currents, the others at rest."""
    network = engine.network
    region = network.region(code)
    names = (*network.nodes, "primary", "base")
    wanted = region.rows @ np.append(engine.state[:-1], 1.0)
    for name, value in physical.items():
        wanted[names.index(name)] = value
    inner = np.linalg.lstsq(region.rows[:, :-1], wanted - region.rows[:, -1], rcond=None)[0]
    return np.append(inner, 1.0)


@pytest.fixture(scope="session")
def short_base() -> Callable[..., StageCircuit]:
    return _short_base


@pytest.fixture(scope="session")
def state_of() -> Callable[..., Array]:
    return _state
