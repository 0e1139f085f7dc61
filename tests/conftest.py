"""Settings that every test needs before Qt is imported, and the book of measured figures."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from core.design.document import Design

os.environ["QT_QPA_PLATFORM"] = "offscreen"
# The engine's matrices are far too small for more than one thread of linear algebra.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

Figure = Callable[..., None]


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--figures", default=None, help="append measured figures to this JSON-lines file"
    )


@pytest.fixture
def figure(request: pytest.FixtureRequest) -> Figure:
    """Record a measured figure for docs/validation.md: what, measured, limit, unit, source."""
    target = request.config.getoption("--figures")

    def record(what: str, measured: float, *, limit: str, unit: str = "", source: str) -> None:
        if target is None:
            return
        row = {
            "part": request.node.path.parent.name,
            "what": what,
            "measured": float(measured),
            "limit": limit,
            "unit": unit,
            "source": source,
            "test": request.node.name,
        }
        with Path(target).open("a", encoding="utf-8") as stream:
            stream.write(json.dumps(row, ensure_ascii=False) + "\n")

    return record


@pytest.fixture
def small_design() -> Design:
    """A small measured coil, all else at its defaults."""
    # Imported late: what it loads must see the settings above.
    from core.design.document import design_from

    return design_from(
        {
            "coil": {
                "measured": {
                    "primary_inductance": 2.5e-6,
                    "primary_resistance": 0.05,
                    "secondary_inductance": 12e-3,
                    "secondary_capacitance": 9e-12,
                    "quality_factor": 150.0,
                    "coupling": 0.2,
                    "breakout_voltage": 20e3,
                }
            }
        }
    )
