"""Settings that every test needs before Qt is imported, and the book of measured figures."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest

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
