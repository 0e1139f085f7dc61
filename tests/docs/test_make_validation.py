"""The generator of the page of figures: what was never done comes first, rows can be told apart."""

from __future__ import annotations

import importlib.util
import json
import re
import subprocess
from pathlib import Path
from types import ModuleType

import pytest

from burstwise.core.version import VERSION

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def maker() -> ModuleType:
    spec = importlib.util.spec_from_file_location("maker", ROOT / "docs" / "make_validation.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def figure(what: str, test: str, measured: float = 0.01) -> dict[str, object]:
    return {
        "part": "burst", "what": what, "measured": measured, "limit": "1 %", "unit": "",
        "source": "second method", "test": test,
    }  # fmt: skip


def names(text: str) -> list[str]:
    return re.findall(r"^\| (?!What)([^|]+) \|", text, re.MULTILINE)


def test_rows_of_one_name_are_told_apart(maker: ModuleType) -> None:
    rows = [
        figure("junction peak", "test_peak[0.1-15.0]", 0.0001),
        figure("junction peak", "test_peak[0.5-15.0]", 0.0009),
        figure("droop", "test_droop"),
        figure("loop", "test_loop"),
        figure("loop", "test_loop", 0.02),
        figure("case", "test_case[a]"),
        figure("case", "test_case[a]", 0.02),
    ]
    found = names(maker.page(rows, "version 1"))
    assert len(set(found)) == len(rows)
    assert {"junction peak (0.1-15.0)", "junction peak (0.5-15.0)", "droop"} <= set(found)
    assert {"loop, 1", "loop, 2", "case (a), 1", "case (a), 2"} <= set(found)
    text = maker.page(rows, "version 1")
    assert "| junction peak (0.5-15.0) | 0.0009 |" in text


def test_what_was_never_done_and_what_is_assumed_come_first(maker: ModuleType) -> None:
    head = maker.page([figure("a", "test_a")], "version 1").split("\n## ")[0]
    first = " ".join(head.split("\n\n")[1].split())
    assert first.startswith("No figure was ever compared with a measured coil.")
    for word in ("piecewise linear", "capacitances", "discharge", "assumed"):
        assert word in first
    readme = (ROOT / "README.md").read_text(encoding="utf-8").splitlines()
    never = next(n for n, line in enumerate(readme) if "compared with a measured coil" in line)
    assert never <= 5


def test_version_and_commit_stand_in_the_page(maker: ModuleType, tmp_path: Path) -> None:
    made = maker.made_of()
    assert made.startswith(f"version {VERSION}, commit ")
    asked = ["git", "rev-parse", "HEAD"]
    commit = subprocess.run(asked, cwd=ROOT, capture_output=True, text=True).stdout.strip()
    if commit:
        assert commit.startswith(made.split("commit ")[1].split()[0])
    figures = tmp_path / "figures.jsonl"
    figures.write_text(json.dumps(figure("a", "test_a")) + "\n", encoding="utf-8")
    assert made in maker.page(maker.read(figures), made)


def test_without_git_the_commit_is_said_to_be_unknown(
    maker: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    def missing(*_: object, **__: object) -> None:
        raise FileNotFoundError("git")

    monkeypatch.setattr(maker.subprocess, "run", missing)
    assert maker.made_of().endswith("commit not known")
