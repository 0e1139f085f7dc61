"""The tested versions are of everything that the project asks for, and within what it asks.

The packaging library, which pip itself reads versions with, is the judge.
"""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

_spec = importlib.util.spec_from_file_location(
    "tested_versions", Path(__file__).with_name("tested_versions.py")
)
assert _spec is not None
assert _spec.loader is not None
versions = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(versions)


@pytest.mark.parametrize("each", versions.wanted(), ids=str)
def test_what_the_project_asks_for_was_tested(each: Requirement) -> None:
    if each.marker is not None and not each.marker.evaluate():
        pytest.skip("not for this system")
    assert each.specifier.contains(versions.tested()[canonicalize_name(each.name)])


def test_what_they_need_is_there_too() -> None:
    # numba's engine, pydantic's compiled half, matplotlib by magpylib.
    assert {"llvmlite", "pydantic-core", "shiboken6", "matplotlib"} <= set(versions.tested())


def test_differences_are_told() -> None:
    there = {"a": "1", "b": "2"}
    assert versions.differences({"a": "1", "b": "2"}, there) == []
    assert versions.differences({"a": "1.1", "c": "3"}, there) == [
        "a 1.1, tested with 1", "b missing, tested with 2", "c 3, tested with none"
    ]  # fmt: skip
