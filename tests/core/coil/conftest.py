"""Reference figures and the example coil that several tests share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from burstwise.core.coil.geometry import (
    ConductorKind,
    PrimaryConductor,
    PrimaryGeometry,
    PrimaryShape,
    SecondaryGeometry,
    TopLoad,
    TopLoadKind,
)

Row = dict[str, float | str]


@dataclass(frozen=True)
class ExampleCoil:
    """The worked example of tests/reference/coil_example.csv."""

    primary: PrimaryGeometry
    secondary: SecondaryGeometry
    top_load: TopLoad
    base_height: float


@pytest.fixture(scope="session")
def reference(table_rows) -> Callable[[str], list[Row]]:
    """Rows of tests/reference/coil_<name>.csv with numbers read."""

    def read(name: str) -> list[Row]:
        rows = table_rows(f"coil_{name}.csv")
        return [{key: _number(text) for key, text in row.items()} for row in rows]

    return read


@pytest.fixture(scope="session")
def example() -> ExampleCoil:
    wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
    return ExampleCoil(
        primary=PrimaryGeometry(PrimaryShape.HELICAL, wire, 0.085, 8, 0.01),
        secondary=SecondaryGeometry(0.11 - 0.00036, 0.000315, 0.00036, 1000),
        top_load=TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=0.05),
        base_height=0.1,
    )


@pytest.fixture(scope="session")
def example_figures(reference: Callable[[str], list[Row]]) -> dict[str, float]:
    return {f"{row['id']}/{row['quantity']}": float(row["value"]) for row in reference("example")}


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text
