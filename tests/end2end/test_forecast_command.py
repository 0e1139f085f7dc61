"""`burstwise forecast` as a script meets it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from burstwise.core.command import run

_ROWS = """supply [V];shunt rms [mV];shunt mean [mV];drain peak [V];remark
20;100;70;120;cold
30;150;105;180;
40;200;140;240;
50;250;175;300;
60;300;210;360;warm
"""
_SHUNT = ["--shunt", "0R1", "--on-resistance", "2 Ω"]


@pytest.fixture
def readings(tmp_path: Path) -> Path:
    file = tmp_path / "readings.csv"
    file.write_text(_ROWS, encoding="utf-8")
    return file


def _told(capsys: pytest.CaptureFixture[str], arguments: list[str]) -> tuple[int, dict]:
    status = run(["forecast", *arguments, "--json"])
    return status, json.loads(capsys.readouterr().out)


def test_rows_and_order_of_a_stage_that_is_exactly_proportional(
    readings: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Current V/20 A and spike 6 V: 32 W in 2 ohm at 80 V, 420 V at 70 V, 4.4 A at 88 V."""
    ratings = ["--rating", "power=32W", "voltage=420 V", "current=4.4"]
    status, report = _told(capsys, [str(readings), *_SHUNT, *ratings])
    assert status == 0
    reached = report["reached"]
    assert [entry["rating"] for entry in reached] == ["voltage", "power", "current"]
    assert [entry["supply_V"] for entry in reached] == pytest.approx([70, 80, 88], rel=1e-3)
    for entry in reached:
        assert entry["low_V"] < entry["supply_V"] < entry["high_V"]
        assert entry["extrapolated"] is False
    keys = {"current_rms_A", "current_mean_A", "input_power_W", "coil_resistance_ohm"}
    assert keys | {"device_power_W"} <= set(report["rows"][0])
    row = report["rows"][1]
    assert row["current_rms_A"] == pytest.approx(1.5)
    assert row["current_mean_A"] == pytest.approx(1.05)
    assert row["input_power_W"] == pytest.approx(31.5)
    assert row["device_power_W"] == pytest.approx(4.5)
    assert row["coil_resistance_ohm"] == pytest.approx(31.5 / 2.25 - 0.1 - 2.0)
    assert {"severity", "code", "field", "text"} <= set(report["findings"][0])


def test_extrapolation_is_marked_in_json_and_in_words(
    readings: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = [str(readings), *_SHUNT, "--rating", "voltage=600V"]
    status, report = _told(capsys, arguments)
    assert status == 0
    assert report["reached"][0]["extrapolated"] is True
    assert "extrapolated" in [finding["code"] for finding in report["findings"]]
    assert run(["forecast", *arguments]) == 0
    assert "(extrapolated)" in capsys.readouterr().out


def test_row_above_a_rating_ends_with_status_1(
    readings: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, report = _told(capsys, [str(readings), *_SHUNT, "--rating", "voltage=300V"])
    assert status == 1
    assert report["findings"][0]["severity"] == "stop"


def test_mean_is_optional_and_its_absence_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "bare.csv"
    file.write_text("supply [V],shunt rms [V]\n20,.1\n30,.15\n40,.2\n50,.25\n", encoding="utf-8")
    status, report = _told(capsys, [str(file), *_SHUNT, "--rating", "power=18W"])
    assert status == 0
    assert report["rows"][0]["current_mean_A"] == report["rows"][0]["current_rms_A"]
    assert "mean-assumed" in [finding["code"] for finding in report["findings"]]


@pytest.mark.parametrize(
    ("text", "arguments", "part"),
    [
        (_ROWS.replace("\n50;250;175;300;\n60;300;210;360;warm", ""), [], "at least 4 usable rows"),
        ("12;3\n", [], "line 1"),
        ("", [], "header"),
        (_ROWS.replace("drain peak [V]", "drain peak [A]"), [], "drain peak [A]"),
        (_ROWS, ["--shunt", "0"], "shunt"),
        (_ROWS, ["--on-resistance", "two"], "--on-resistance"),
        (_ROWS, ["--rating", "colour=3"], "colour=3"),
        (_ROWS, ["--rating", "power=3 V"], "power"),
    ],
)
def test_bad_input_is_one_line_and_status_2(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    text: str,
    arguments: list[str],
    part: str,
) -> None:
    file = tmp_path / "r.csv"
    file.write_text(text, encoding="utf-8")
    given = ["forecast", str(file), *_SHUNT, "--rating", "power=30W", *arguments]
    assert run(given) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.count("\n") == 1
    assert part in captured.err
