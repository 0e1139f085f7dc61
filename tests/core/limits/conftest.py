"""Reference figures of pulses and droop."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from core.burst.foster import Foster

REFERENCE = Path(__file__).parents[2] / "reference"
Rows = Callable[[str], list[dict[str, str]]]


def _rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


@pytest.fixture
def rows() -> Rows:
    return _rows


@pytest.fixture
def network_of() -> Callable[[dict[str, str]], Foster]:
    def made(row: dict[str, str]) -> Foster:
        return Foster(
            np.array(row["resistance_K_per_W"].split(), dtype=float),
            np.array(row["time_constant_s"].split(), dtype=float),
        )

    return made
