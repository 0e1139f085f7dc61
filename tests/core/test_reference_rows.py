"""Reference rows said to come from mpmath are what mpmath gives, by equations written anew."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

SCRIPT = Path(__file__).parents[1] / "reference" / "make_rows.py"


def _script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_rows", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


ROWS = _script()


@pytest.mark.parametrize("name", ROWS.TABLES)
def test_rows_are_made_again(name: str) -> None:
    found = list(ROWS.compared(name))
    assert len(found) >= 2
    for case, column, told, made in found:
        assert float(told) == pytest.approx(float(made), rel=1e-8), (case, column)
