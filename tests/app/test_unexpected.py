"""An error that nobody foresaw ends a command with one line, status 70 and a page in the log."""

from __future__ import annotations

from pathlib import Path

import pytest

from burstwise.app import launch
from burstwise.app.log_file import log_file
from burstwise.app.places import user_places


def test_one_line_status_and_log(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(launch, "log_file", lambda _: tmp_path / "deep" / "burstwise.log")

    def broken(_arguments: list[str]) -> int:
        raise ZeroDivisionError("a wire\nof no thickness")

    monkeypatch.setattr("burstwise.core.command.run", broken)
    assert launch.main(["evaluate", "a.burstwise"]) == 70
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    assert "ZeroDivisionError: a wire of no thickness" in told.err
    log = (tmp_path / "deep" / "burstwise.log").read_text(encoding="utf-8")
    assert "Traceback" in log
    assert "a wire" in log


def test_a_log_that_cannot_be_written_is_said(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setattr(launch, "log_file", lambda _: tmp_path / "file" / "burstwise.log")

    def broken(_arguments: list[str]) -> int:
        raise RuntimeError("x" * 500)

    monkeypatch.setattr("burstwise.core.command.run", broken)
    assert launch.main(["evaluate", "a.burstwise"]) == 70
    told = capsys.readouterr().err
    assert "cannot be written" in told
    assert told.count("\n") == 1
    assert len(told) < 400


def test_the_window_and_the_commands_have_one_log_file(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    assert log_file({}).name == user_places().log.name
    assert log_file({}).parent.name == user_places().log.parent.name
