import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from core.bench.readings import Reading, ReadingsTable

Row = dict[str, str]
Table = Callable[[str], list[Row]]
_REFERENCE = Path(__file__).parents[2] / "reference"


@pytest.fixture
def reference() -> Table:
    """Rows of a reference table by file name."""

    def rows(name: str) -> list[Row]:
        with (_REFERENCE / name).open(encoding="utf-8", newline="") as stream:
            return list(csv.DictReader(stream))

    return rows


@pytest.fixture
def stage_table() -> Callable[..., ReadingsTable]:
    """Readings of an invented stage whose current and spike are functions of the supply."""

    def table(
        supplies: NDArray[np.float64],
        current: Callable[[NDArray[np.float64]], NDArray[np.float64]],
        spike: Callable[[NDArray[np.float64]], NDArray[np.float64]],
        *,
        shunt: float = 0.1,
    ) -> ReadingsTable:
        return ReadingsTable(
            tuple(
                Reading(supply=float(v), shunt_rms=float(i * shunt), drain_peak=float(d), line=n)
                for n, (v, i, d) in enumerate(
                    zip(supplies, current(supplies), spike(supplies), strict=True), start=2
                )
            )
        )

    return table
