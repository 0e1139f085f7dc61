"""Cells as typed: kept, read, pasted, saved; nothing is lost."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burstwise.core import storage
from burstwise.core.bench.cells import cell_value
from burstwise.core.bench.pasted import NAMES, cells_block, cells_csv, pasted_cells, rows_from_text
from burstwise.core.bench.readings import Column
from burstwise.core.bench.readings_text import parse_readings
from burstwise.core.bench.sheet import bench_setup, cells_of, sheet_of
from burstwise.core.design.document import Design, design_from, with_values
from burstwise.core.design.readings import ReadingCells, Readings
from burstwise.core.errors import FileError, InputError
from burstwise.core.stage.build import on_resistance_at

_COIL = {
    "primary_inductance": 3e-6,
    "primary_resistance": 0.1,
    "secondary_inductance": 0.01,
    "secondary_capacitance": 8e-12,
    "quality_factor": 150,
    "coupling": 0.2,
    "breakout_voltage": 2e4,
}


@pytest.fixture
def design() -> Design:
    return design_from({"coil": {"measured": _COIL}})


@pytest.mark.parametrize(
    ("text", "column", "value"),
    [
        ("12", Column.SUPPLY, 12.0),
        ("12,5", Column.SUPPLY, 12.5),
        ("12.5 V", Column.SUPPLY, 12.5),
        ("345 mV", Column.SHUNT_RMS, 0.345),
        ("50 %", Column.DUTY, 0.5),
        ("0.5", Column.DUTY, 0.5),
        ("2,5 cm", Column.BREAKOUT_LENGTH, 0.025),
        ("−5", Column.HEAT_SINK_TEMPERATURE, -5.0),
        ("-", Column.DRAIN_PEAK, None),
        ("", Column.DRAIN_PEAK, None),
    ],
)
def test_cells_as_people_write_them(text: str, column: Column, value: float | None) -> None:
    assert cell_value(text, column) == value


@pytest.mark.parametrize(
    ("text", "column"),
    [
        ("12 A", Column.SUPPLY),
        ("-3", Column.SUPPLY),
        ("150 %", Column.DUTY),
        ("1e9999999", Column.SUPPLY),
        ("1" * 400, Column.SUPPLY),
        ("1.2.3", Column.DUTY),
    ],
)
def test_cells_that_make_no_sense(text: str, column: Column) -> None:
    with pytest.raises(InputError, match=column.label):
        cell_value(text, column)


def test_bad_cells_stay_and_are_named() -> None:
    rows = (
        ReadingCells(supply="24 V", shunt_rms="lots", drain_peak="150"),
        ReadingCells(),
        ReadingCells(shunt_rms="0.2"),
        ReadingCells(supply="30", shunt_rms="0.2", shunt_mean="0.3"),
    )
    sheet = sheet_of(Readings(rows=rows))
    assert [(item.row, item.column) for item in sheet.problems] == [
        (0, Column.SHUNT_RMS),
        (2, Column.SUPPLY),
    ]
    assert "lots" in sheet.problems[0].reason
    assert sheet.readings[0].drain_peak == 150.0
    assert len(sheet.readings) == 4
    assert [row.line for row in sheet.table.rows] == [1, 4]
    assert [finding.code for finding in sheet.findings] == ["mean-above-rms"]


def test_row_with_an_unclear_duty_is_in_no_trend() -> None:
    rows = (ReadingCells(supply="24", duty="half"), ReadingCells(supply="30", duty="50 %"))
    assert [row.line for row in sheet_of(Readings(rows=rows)).table.rows] == [2]


def test_table_survives_file_and_undo(design: Design, tmp_path) -> None:
    rows = (ReadingCells(supply="24 V", shunt_rms="lots", note="first; light, long"),)
    changed = with_values(design, {"readings.rows": rows})
    assert changed.readings.rows == rows
    file = tmp_path / "d.burstwise"
    storage.save(changed, file)
    assert storage.load(file) == changed


def test_old_file_has_an_empty_table(design: Design) -> None:
    data = design.model_dump(mode="json")
    del data["readings"], data["calibration"]
    assert design_from(data) == design


def test_grid_is_laid_over_the_current_cell_and_grows() -> None:
    rows = (ReadingCells(supply="12", note="kept"), ReadingCells(supply="24"))
    text = "0.1\t0.05\n0.2\t0.1\n0.3\t0.15"
    changed = pasted_cells(rows, text, row=1, column=NAMES.index("shunt_rms"))
    assert changed[0] == rows[0]
    assert (changed[1].supply, changed[1].shunt_rms, changed[1].shunt_mean) == ("24", "0.1", "0.05")
    assert (changed[3].supply, changed[3].shunt_rms) == ("", "0.3")


def test_cells_beyond_the_last_column_go_to_the_note() -> None:
    changed = pasted_cells([], "3 cm\twindy\tmeter B", row=0, column=len(NAMES) - 2)
    assert changed[0].breakout_length == "3 cm"
    assert changed[0].note == "windy meter B"


def test_headed_text_is_added_with_its_units() -> None:
    text = "supply [V]\tshunt rms [mV]\tduty [%]\tremark\tday\n12,5\t345\t30\tok\tMonday\n"
    before = [ReadingCells(supply="9"), ReadingCells()]
    rows = pasted_cells(before, text, row=0, column=0, given={"day": "note"})
    assert [row.supply for row in rows] == ["9", "12,5"]
    assert sheet_of(Readings(rows=rows)).readings[1].shunt_rms == pytest.approx(0.345)
    assert sheet_of(Readings(rows=rows)).readings[1].duty == pytest.approx(0.3)
    assert rows[1].note == "ok; day: Monday"
    assert pasted_cells(before, text, row=0, column=0)[1].note == "ok"


def test_file_without_header_is_refused_with_its_line() -> None:
    with pytest.raises(FileError, match="line 1"):
        rows_from_text("12;0.3\n", name="r.csv")


_CELL = st.text(
    st.characters(codec="utf-8", exclude_characters="\r\n\0", exclude_categories=("C", "Z")),
    max_size=12,
)


@given(st.lists(st.tuples(*[_CELL] * len(NAMES)), max_size=5))
def test_saved_table_reads_back_to_the_same_cells(cells: list[tuple[str, ...]]) -> None:
    rows = [ReadingCells(**dict(zip(NAMES, row, strict=True))) for row in cells]
    filled = tuple(row for row in rows if row != ReadingCells())
    again = rows_from_text(cells_csv(rows))
    assert again == filled
    assert pasted_cells([], cells_csv(rows), row=0, column=0) == filled


def test_saved_table_is_what_the_forecast_command_reads() -> None:
    rows = [ReadingCells(supply="24 V", shunt_rms="345 mV"), ReadingCells(supply="30,5")]
    table = parse_readings(cells_csv(rows))
    assert [row.supply for row in table.rows] == [24.0, 30.5]
    assert table.rows[0].shunt_rms == pytest.approx(0.345)


def test_block_for_the_clipboard() -> None:
    rows = [ReadingCells(supply="1", duty="2"), ReadingCells(supply="3", duty="4")]
    assert cells_block(rows, 0, 1, 0, 1) == "1\t2\n3\t4"


def test_setup_takes_the_hot_device_unless_told(design: Design) -> None:
    assert bench_setup(design).on_resistance == on_resistance_at(design.device, 100.0)
    told = with_values(design, {"readings.on_resistance": "2R2", "readings.accuracy.supply": "2%"})
    setup = bench_setup(told)
    assert setup.on_resistance == 2.2
    assert setup.instruments.supply.relative == 0.02
    layered = with_values(design, {"calibration": {"on_resistance": 3.0}})
    assert bench_setup(layered).on_resistance > bench_setup(design).on_resistance


def test_row_of_numbers_becomes_cells() -> None:
    row = sheet_of(Readings(rows=({"supply": "24", "duty": "30 %", "note": "a"},))).readings[0]
    assert cells_of(row) == ReadingCells(supply="24", duty="30 %", note="a")
