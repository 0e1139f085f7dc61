"""Output to a console that knows few characters, is full or is gone."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from burstwise.core.console import BAD_INPUT, Parser, UsageError, guarded
from burstwise.core.errors import InputError

_FULL = Path("/dev/full")
_needs_full = pytest.mark.skipif(not _FULL.exists(), reason="no device that is always full here")
_LONG = """
import sys
from burstwise.core.console import guarded
def work():
    for line in range(5000):
        print("carrier", line, "Ω")
    return 0
sys.exit(guarded(work))
"""
_SHORT = _LONG.replace("5000", "1")
_WRONG = """
import sys
from burstwise.core.console import guarded
from burstwise.core.errors import InputError
def work():
    raise InputError("a", "b", "c")
sys.exit(guarded(work))
"""


def _run(code: str, **streams: object) -> subprocess.CompletedProcess[bytes]:
    kept = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **streams}
    environment = {k: v for k, v in os.environ.items() if not k.startswith("PYTHON")}
    environment |= {
        "PYTHONPATH": os.pathsep.join(filter(None, sys.path)),
        "PYTHONIOENCODING": "utf-8",
    }
    return subprocess.run([sys.executable, "-c", code], env=environment, check=False, **kept)


@pytest.mark.parametrize(
    ("encoding", "seen"),
    [
        ("utf-8", "µΩ 2 °C − é – 東 ∞ ²"),
        ("ascii", r"uohm 2 deg C - e - \u6771 infinity 2"),
        ("latin-1", r"µohm 2 °C - é - \u6771 infinity ²"),
        ("cp437", r"µΩ 2 °C - é - \u6771 ∞ ²"),
    ],
)
def test_what_the_console_does_not_know_is_spelled_out(encoding, seen, monkeypatch):
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding=encoding))

    def work() -> int:
        print("µΩ 2 °C − é – 東 ∞ ²", end="")
        return 7

    assert guarded(work) == 7
    assert raw.getvalue().decode(encoding) == seen


@_needs_full
@pytest.mark.parametrize("code", [_LONG, _SHORT], ids=["while printing", "at the end"])
def test_full_output_is_one_line_and_a_status(code):
    with _FULL.open("wb") as full:
        done = _run(code, stdout=full)
    assert done.returncode == BAD_INPUT
    assert done.stderr.decode().splitlines() == [
        "burstwise: standard output must be writable; instead received No space left on device"
    ]


@_needs_full
def test_errors_that_cannot_be_written_leave_the_status():
    with _FULL.open("wb") as full:
        assert _run(_WRONG, stderr=full).returncode == BAD_INPUT
        assert _run(_SHORT, stdout=full, stderr=full).returncode == BAD_INPUT


@pytest.mark.skipif(os.name != "posix", reason="a shell that closes streams")
def test_closed_streams_are_no_error():
    for code, status in ((_SHORT, 0), (_WRONG, BAD_INPUT)):
        command = ["sh", "-c", 'exec "$0" -c "$1" >&- 2>&-', sys.executable, code]
        environment = os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
        assert subprocess.run(command, env=environment, check=False).returncode == status


@pytest.mark.skipif(os.name != "posix", reason="pipes that break")
def test_a_reader_that_has_seen_enough_is_no_error():
    read, write = os.pipe()
    os.close(read)
    try:
        done = _run(_LONG, stdout=write)
    finally:
        os.close(write)
    assert (done.returncode, done.stderr) == (0, b"")


def test_bad_input_is_one_line(capsys):
    def work() -> int:
        raise InputError("field", "x\ny", "a number")

    assert guarded(work) == BAD_INPUT
    captured = capsys.readouterr()
    assert captured.err == "burstwise: field must be a number; instead received x\\ny\n"
    assert captured.out == ""


def test_arguments_that_cannot_be_used_name_all_choices():
    parser = Parser(prog="burstwise timer")
    parser.add_argument("--circuit", choices=[f"circuit-with-a-long-name-{n}" for n in range(6)])
    with pytest.raises(UsageError) as caught:
        parser.parse_args(["--circuit", "x"])
    assert str(caught.value).startswith("burstwise timer: argument --circuit: invalid choice: 'x'")
    assert "circuit-with-a-long-name-5" in str(caught.value)


def test_help_is_done(capsys):
    def work() -> int:
        Parser(prog="burstwise").parse_args(["--help"])
        return 5

    assert guarded(work) == 0
    assert capsys.readouterr().out.startswith("usage: burstwise")
