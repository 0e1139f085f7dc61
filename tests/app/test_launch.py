from __future__ import annotations

import subprocess
import sys
import types
from pathlib import Path

import pytest

from burstwise.app import launch


@pytest.mark.parametrize(
    ("arguments", "headless"),
    [
        ([], False),
        (["coil.json"], False),
        (["evaluate", "coil.json"], True),
        (["timer", "--frequency", "15Hz"], True),
        (["forecast"], True),
        (["sheet"], True),
        (["--help"], True),
        (["one.json", "two.json"], True),
    ],
)
def test_what_is_headless(arguments: list[str], headless: bool) -> None:
    assert launch.is_headless(arguments) is headless


@pytest.mark.parametrize(("given", "file"), [([], None), ([""], None), (["a.x"], Path("a.x"))])
def test_the_window_opens_the_file_that_is_named(
    monkeypatch, given: list[str], file: Path | None
) -> None:
    """A variable that was never set is no file: a path would make the present folder of it."""
    opened: list[Path | None] = []
    monkeypatch.setattr(launch, "no_window_reason", lambda environment: None)
    monkeypatch.setattr(launch, "open_window", opened.append)
    launch.main(given)
    assert opened == [file]


def test_commands_go_to_the_core_with_their_arguments(monkeypatch) -> None:
    seen: list[list[str]] = []

    def run(argv: list[str]) -> int:
        seen.append(argv)
        return 1

    command = types.ModuleType("burstwise.core.command")
    command.run = run
    monkeypatch.setitem(sys.modules, "burstwise.core.command", command)
    assert launch.main(["evaluate", "x.json", "--json"]) == 1
    assert seen == [["evaluate", "x.json", "--json"]]


HEADLESS = """
import sys, types
command = types.ModuleType("burstwise.core.command")
command.run = lambda argv: 0
sys.modules["burstwise.core.command"] = command
from burstwise.app.launch import main
assert main(["timer", "--json"]) == 0
print(sorted(name for name in sys.modules if name.startswith(("PySide6", "pyqtgraph"))))
"""


def test_commands_import_no_qt() -> None:
    ended = subprocess.run(
        [sys.executable, "-c", HEADLESS], capture_output=True, text=True, check=True
    )
    assert ended.stdout.strip() == "[]"
