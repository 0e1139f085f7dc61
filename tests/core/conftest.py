"""Reference figures, and the thermal networks that some of them are of."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from burstwise.core.burst.foster import Foster

Row = dict[str, str]
TableRows = Callable[[str], list[Row]]
_REFERENCE = Path(__file__).parents[1] / "reference"


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
