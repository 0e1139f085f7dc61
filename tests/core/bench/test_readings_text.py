"""Nothing typed is lost: every filled line is a row, every unusable cell a finding."""

from pathlib import Path

import pytest

from burstwise.core.bench.readings import Reading
from burstwise.core.bench.readings_text import load_readings, parse_readings
from burstwise.core.errors import FileError

_SPREADSHEET = (
    "Supply (V)\tduty [%]\tshunt rms [mV]\tdrain spike [V]\tbreakout [cm]\theat sink [°C]\tremark\n"
    "12,5\t50\t345\t100\t2,5\t30,5\tcold\n"
    "\n"
    "24\t50\t0,5 V\t1k\t3\t-\t\n"
)


def test_cells_pasted_from_a_spreadsheet():
    first, second = parse_readings(_SPREADSHEET).rows
    assert first == Reading(
        supply=12.5,
        duty=0.5,
        shunt_rms=0.345,
        drain_peak=100.0,
        breakout_length=0.025,
        heat_sink_temperature=30.5,
        note="cold",
        line=2,
        text="12,5\t50\t345\t100\t2,5\t30,5\tcold",
    )
    assert (second.shunt_rms, second.drain_peak) == (0.5, 1000.0)
    assert second.heat_sink_temperature is None
    assert second.line == 4


@pytest.mark.parametrize(
    ("text", "supply", "shunt"),
    [
        ("supply [V],shunt rms [V]\n36,0.25\n", 36.0, 0.25),
        ("supply [V];shunt rms [V]\n36,5;0,25\n", 36.5, 0.25),
        ('supply [V],shunt rms [mV]\n"36,5","250"\n', 36.5, 0.25),
        ("supply_voltage [mV]\tSHUNT RMS [uV]\n36500\t250e3\n", 36.5, 0.25),
        ("supply,shunt\n36.5,0.25\n", 36.5, 0.25),
        ("supply [kV],shunt rms [mV]\r\n0.0365,250\r\n", 36.5, 0.25),
    ],
)
def test_separators_units_and_decimal_commas(text, supply, shunt):
    table = parse_readings(text)
    assert table.rows[0].supply == pytest.approx(supply, rel=1e-12)
    assert table.rows[0].shunt_rms == pytest.approx(shunt, rel=1e-12)
    assert table.findings == ()


@pytest.mark.parametrize(
    "cell",
    ["1e999999999", "-1e999999999", "1e99999999999999999999", "1e-999999999", "1e400", "9" * 400],
)
def test_numbers_beyond_all_measure_are_refused(cell):
    table = parse_readings(f"supply [kV];shunt rms [mV]\n{cell};{cell}\n0.012;1\n")
    assert (table.rows[0].supply, table.rows[0].shunt_rms) == (None, None)
    assert {item.field for item in table.findings} == {"line 2, supply", "line 2, shunt rms"}
    assert all("decimal mark" not in item.text for item in table.findings)
    assert table.rows[1].supply == 12.0


def test_two_decimal_marks_are_told_from_a_large_number():
    table = parse_readings("supply [V];shunt rms [mV]\n1.2.3;1\n")
    assert "at most one decimal mark" in table.findings[0].text


def test_returns_alone_end_lines_and_long_cells_are_read():
    long = "x" * 200_000
    table = parse_readings(f"supply [V];shunt rms [V];note\r12;0.1;{long}\r24;{long};\r")
    assert [row.supply for row in table.rows] == [12.0, 24.0]
    assert table.rows[0].note == long
    assert len(table.findings) == 1
    assert len(table.findings[0].text) < 300


def test_unusable_cells_name_row_and_column_and_keep_the_text():
    table = parse_readings("supply [V];shunt rms [mV];duty [%]\n24;oops;50\n;120;50\n30;-4;150\n")
    assert [row.text for row in table.rows] == ["24;oops;50", ";120;50", "30;-4;150"]
    assert {finding.field for finding in table.findings} == {
        "line 2, shunt rms",
        "line 3, supply",
        "line 4, shunt rms",
        "line 4, duty",
    }
    assert "'oops'" in table.findings[0].text
    assert table.rows[0].supply == 24.0
    assert table.rows[0].shunt_rms is None


def test_unknown_columns_and_extra_cells_are_reported():
    table = parse_readings("supply [V],colour\n12,red\n24,5,blue\n")
    assert {finding.code for finding in table.findings} == {
        "column-not-known",
        "reading-extra-cells",
    }
    assert table.rows[1].text == "24,5,blue"


def test_impossible_pairs_are_pointed_out():
    text = (
        "supply [V],shunt rms [V],shunt mean [V],shunt peak [V]\n24,0.2,0.3,0.1\n24,0.2,0.1,0.5\n"
    )
    codes = [finding.code for finding in parse_readings(text).findings]
    assert codes == ["mean-above-rms", "peak-below-rms"]


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("", 1, "empty"),
        ("\n\nshunt rms [V]\n0.1\n", 3, "supply"),
        ("supply [A]\n12\n", 1, "supply"),
        ("supply [V],supply voltage [V]\n1,2\n", 1, "once"),
        ("supply [V],duty [V]\n1,2\n", 1, "duty"),
    ],
)
def test_bad_headers_are_refused_with_the_line(text, line, said):
    with pytest.raises(FileError, match=said) as caught:
        parse_readings(text)
    assert caught.value.line == line


def test_files_that_are_missing_or_no_text(tmp_path: Path):
    with pytest.raises(FileError, match="No such file"):
        load_readings(tmp_path / "none.csv")
    binary = tmp_path / "binary.csv"
    binary.write_bytes(b"supply [V]\n12\n\xff\xfe\x00")
    with pytest.raises(FileError, match="line 3"):
        load_readings(binary)


def test_file_with_byte_order_mark(tmp_path: Path):
    path = tmp_path / "marked.csv"
    path.write_text("supply [V],shunt rms [V]\n12,0.1\n", encoding="utf-8-sig")
    assert load_readings(path).rows[0].supply == 12.0


def test_what_is_no_file_is_refused_by_kind_and_size(odd_files):
    for words, file in odd_files.items():
        with pytest.raises(FileError, match=f"instead received {words}$"):
            load_readings(file)
