"""Awkward files load to the samples that went in; corrupt ones name the line."""

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from burstwise.core.bench import capture_file
from burstwise.core.bench.capture import Capture, Channel, Probe
from burstwise.core.bench.capture_dialect import sniffed_dialect
from burstwise.core.bench.capture_file import load_capture
from burstwise.core.errors import FileError, InputError
from burstwise.core.stopping import StoppedError, stoppable

_STEP = 2e-7
_COUNT = 400
_TIME = -1e-5 + _STEP * np.arange(_COUNT)
_DRAIN = np.round(30.0 + 40.0 * np.sin(2 * np.pi * 150e3 * _TIME), 3)
_SHUNT = np.round(0.1 * np.cos(2 * np.pi * 150e3 * _TIME), 5)


def _comma(value: float, form: str = ".7e") -> str:
    return f"{value:{form}}".replace(".", ",")


def _lines(row: Callable[[int], str]) -> str:
    return "\n".join(row(k) for k in range(_COUNT)) + "\n"


def _plain() -> str:
    return "Time [s],Drain [V]\n" + _lines(lambda k: f"{_TIME[k]:.9e},{_DRAIN[k]}")


def _preamble_and_unit_row() -> str:
    head = "Model,bench scope\nRecord length,400\n\nsource,CH1,CH2\nSecond,Volt,Volt\n"
    return head + _lines(lambda k: f"{_TIME[k]:+.9E},{_DRAIN[k]:+.5E},{_SHUNT[k]:+.5E}")


def _semicolon_and_decimal_comma() -> str:
    return "Zeit;Kanal A\n(ms);(mV)\n\n" + _lines(
        lambda k: f"{_comma(_TIME[k] * 1e3)};{_comma(_DRAIN[k] * 1e3)}"
    )


def _tabs_and_decimal_comma() -> str:
    return "t (us)\tdrain (V)\r\n" + _lines(
        lambda k: f"{_comma(_TIME[k] * 1e6, '.3f')}\t{_comma(_DRAIN[k])}\r"
    )


def _quoted_decimal_commas() -> str:
    return '"time","drain"\n"s","V"\n' + _lines(
        lambda k: f'"{_comma(_TIME[k], ".9e")}","{_comma(_DRAIN[k])}"'
    )


def _trailing_separators() -> str:
    return "Time (s),Drain (V),\n" + _lines(lambda k: f"{_TIME[k]:.9e},{_DRAIN[k]},")


def _numbered_samples_with_interval_in_a_column() -> str:
    head = "X,CH1,Start,Increment\nSequence,Volt,-1.0e-05,2.0e-07\n"
    return head + _lines(lambda k: f"{k},{_DRAIN[k]},")


def _values_only_with_rate() -> str:
    return "# Sampling rate: 5 MSa/s\n# Channel 1\n" + _lines(lambda k: f"{_DRAIN[k]:.3f}")


def _values_only_with_the_intervals_unit_in_a_cell_of_its_own() -> str:
    head = "Record Length,400,Points\nSample Interval,0.2,us\nDrain,Gate\n"
    return head + _lines(lambda k: f"{_DRAIN[k]:.3f},{0.1 * _DRAIN[k]:.3f}")


def _preamble_beside_the_samples() -> str:
    side = ["Record Length,400,Points", "Sample Interval,2e-07,s", "Probe,10,"]
    return _lines(lambda k: f"{side[k] if k < 3 else ',,'},{_TIME[k]:.9e},{_DRAIN[k]}")


def _aligned_blanks() -> str:
    return "time volts\n" + _lines(lambda k: f"  {_TIME[k]: .9e}    {_DRAIN[k]: .4f}  ")


def _few_digits_of_time() -> str:
    late = 1.0 + _TIME
    return "time,drain\ns,V\n" + _lines(lambda k: f"{late[k]:.6f},{_DRAIN[k]}")


def _blank_lines_and_spaces() -> str:
    return "Time [s] ; Drain [V]\n\n" + _lines(
        lambda k: (
            f" {_TIME[k]:.9e} ;  {_DRAIN[k]} \n" if k % 50 == 0 else f"{_TIME[k]:.9e};{_DRAIN[k]}"
        )
    )


_DIALECTS = {
    form.__name__.strip("_"): form
    for form in (
        _plain,
        _preamble_and_unit_row,
        _semicolon_and_decimal_comma,
        _tabs_and_decimal_comma,
        _quoted_decimal_commas,
        _trailing_separators,
        _numbered_samples_with_interval_in_a_column,
        _values_only_with_rate,
        _values_only_with_the_intervals_unit_in_a_cell_of_its_own,
        _preamble_beside_the_samples,
        _aligned_blanks,
        _few_digits_of_time,
        _blank_lines_and_spaces,
    )
}


@pytest.mark.parametrize("form", _DIALECTS.values(), ids=_DIALECTS.keys())
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_awkward_dialects(form, encoding, tmp_path: Path):
    path = tmp_path / "capture.csv"
    path.write_text(form(), encoding=encoding, newline="")
    capture = load_capture(path)
    assert capture.count == _COUNT
    assert capture.step == pytest.approx(_STEP, rel=2e-2 if form is _few_digits_of_time else 1e-6)
    np.testing.assert_allclose(capture.channels[0].values, _DRAIN, rtol=1e-6, atol=1e-4)
    assert capture.findings == ()


@pytest.mark.parametrize("form", _DIALECTS.values(), ids=_DIALECTS.keys())
def test_no_usual_form_takes_the_slow_way(form, tmp_path: Path, monkeypatch):
    """Line by line a capture takes many times as long."""
    monkeypatch.delattr(capture_file, "_line_by_line")
    path = tmp_path / "capture.csv"
    path.write_text(form())
    assert load_capture(path).count == _COUNT


def test_names_units_and_start(tmp_path: Path):
    path = tmp_path / "capture.csv"
    path.write_text(_preamble_and_unit_row())
    capture = load_capture(path)
    assert [(channel.name, channel.unit) for channel in capture.channels] == [
        ("CH1", "V"),
        ("CH2", "V"),
    ]
    assert capture.start == pytest.approx(_TIME[0])
    np.testing.assert_allclose(capture.time, _TIME, atol=1e-12)
    np.testing.assert_allclose(capture.channel("CH2").values, _SHUNT, atol=1e-7)
    with pytest.raises(InputError, match="CH1, CH2"):
        capture.channel("CH3")


def test_latin_1_micro_sign(tmp_path: Path):
    path = tmp_path / "capture.csv"
    text = "t [µs];drain [V]\n" + _lines(lambda k: f"{_TIME[k] * 1e6:.3f};{_DRAIN[k]}")
    path.write_bytes(text.encode("latin-1"))
    assert load_capture(path).step == pytest.approx(_STEP, rel=1e-6)


def _broken(text: str, line: int, by: str) -> str:
    lines = text.split("\n")
    lines[line - 1] = by
    return "\n".join(lines)


@pytest.mark.parametrize("line", [4, 77, 300])
@pytest.mark.parametrize(
    "by", ["0.001,abc", "0.001", "0.001,1,2", "0.001,nan", "0.001,9.9e37", ",1.5", "---", "1e,2"]
)
def test_corrupt_lines_are_named(line, by, tmp_path: Path):
    path = tmp_path / "corrupt.csv"
    path.write_text(_broken(_plain(), line, by))
    with pytest.raises(FileError) as caught:
        load_capture(path)
    assert caught.value.line == line
    assert f"line {line}" in str(caught.value)


def test_corrupt_line_far_into_a_long_file(tmp_path: Path, monkeypatch):
    monkeypatch.setattr(capture_file, "_BLOCK", 4096)
    path = tmp_path / "long.csv"
    rows = [f"{k}e-6,{k % 7}" for k in range(20_000)]
    rows[15_000] = "15000e-6,x"
    path.write_text("time,drain\n" + "\n".join(rows) + "\n")
    with pytest.raises(FileError) as caught:
        load_capture(path)
    assert caught.value.line == 15_002


def test_time_that_runs_back_names_the_line(tmp_path: Path):
    path = tmp_path / "back.csv"
    path.write_text(_broken(_plain(), 200, "-1.0,3.0"))
    with pytest.raises(FileError, match="line 200"):
        load_capture(path)


@pytest.mark.parametrize(
    ("content", "line"),
    [
        (b"", 1),
        (b"no numbers here\nnor here\n", 1),
        (b"\x89PNG\r\n\x00\x00\x01", 2),
        (b"CH1\n1.5\n2.5\n0.5\n", 1),
        (b"time,drain\n0.0,1.0\n", None),
    ],
)
def test_files_that_are_no_capture(content, line, tmp_path: Path):
    path = tmp_path / "none.csv"
    path.write_bytes(content)
    with pytest.raises(FileError) as caught:
        load_capture(path)
    assert caught.value.line == line


def test_missing_file(tmp_path: Path):
    with pytest.raises(FileError, match="can be read"):
        load_capture(tmp_path / "none.csv")


def test_last_line_cut_off_is_left_out_and_said(tmp_path: Path):
    path = tmp_path / "cut.csv"
    path.write_text(_plain() + "7.0e-0")
    capture = load_capture(path)
    assert capture.count == _COUNT
    assert [finding.code for finding in capture.findings] == ["capture-cut-off"]


def test_gap_is_filled_and_said(tmp_path: Path):
    path = tmp_path / "gap.csv"
    kept = [k for k in range(_COUNT) if not 100 <= k < 150]
    path.write_text("time,ramp\ns,V\n" + "".join(f"{_TIME[k]:.9e},{_TIME[k]:.9e}\n" for k in kept))
    capture = load_capture(path)
    assert [finding.code for finding in capture.findings] == ["capture-uneven"]
    np.testing.assert_allclose(capture.channels[0].values, capture.time, atol=1e-12)


def test_progress_rises_to_one_and_stop_stops(tmp_path: Path, monkeypatch):
    monkeypatch.setattr(capture_file, "_BLOCK", 2048)
    path = tmp_path / "capture.csv"
    path.write_text(_plain())
    seen: list[float] = []
    load_capture(path, progress=seen.append)
    assert len(seen) > 3
    assert seen == sorted(seen)
    assert seen[-1] == 1.0
    seen.clear()
    with stoppable(lambda: len(seen) >= 2), pytest.raises(StoppedError):
        load_capture(path, progress=seen.append)
    assert len(seen) == 2


@pytest.mark.parametrize("separator", [",", ";"])
def test_numbers_are_rounded_like_python(separator, tmp_path: Path):
    random = np.random.default_rng(3)
    values = np.concatenate(
        [random.normal(size=2000), 10.0 ** random.uniform(-8, 8, 2000), -np.arange(50.0)]
    )
    for form in (".6e", ".14e", "r", ".25e"):
        texts = [repr(float(v)) if form == "r" else f"{v:{form}}" for v in values]
        lines = "\n".join(f"{k}{separator}{text}" for k, text in enumerate(texts))
        if separator == ";":
            lines = lines.replace(".", ",")
        path = tmp_path / "capture.csv"
        path.write_text(f"time [s]{separator}drain [V]\n{lines}\n")
        exact = [float(text) for text in texts]
        np.testing.assert_array_equal(load_capture(path).channels[0].values, exact)


@pytest.mark.parametrize("line", ["1,2,3", "1", "1,", "1,1.2.3", "1,e5", "1,1e", "1,nan", "1,1_0"])
def test_lines_of_another_form_are_refused(line, tmp_path: Path):
    path = tmp_path / "capture.csv"
    rows = [f"{k},{k}.5" for k in range(80)]
    path.write_text("\n".join(["time [s],drain [V]", *rows[:40], line, *rows[40:]]) + "\n")
    with pytest.raises(FileError, match="line 42"):
        load_capture(path)


def test_probe_turns_a_shunt_voltage_into_a_current():
    shown = Channel("CH1", "V", np.array([0.012, 0.512]))
    current = shown.through(Probe(attenuation=1 / 0.1, offset=0.012), unit="A")
    np.testing.assert_allclose(current.values, [0.0, 5.0])
    assert current.unit == "A"
    with pytest.raises(InputError):
        Probe(attenuation=0.0)
    with pytest.raises(InputError):
        Probe(offset=float("nan"))
    with pytest.raises(InputError):
        Capture(0.0, 0.0, (shown,))
    with pytest.raises(InputError):
        Capture(0.0, 1.0, (shown, Channel("CH2", "V", np.zeros(3))))


def test_what_is_no_file_is_refused_by_kind_and_size(odd_files):
    for words, file in odd_files.items():
        with pytest.raises(FileError, match=f"instead received {words}$"):
            load_capture(file)


def test_returns_alone_end_lines(tmp_path: Path):
    path = tmp_path / "capture.csv"
    for encoding in ("utf-8", "utf-16"):
        path.write_text(_plain().replace("\n", "\r"), encoding=encoding, newline="")
        capture = load_capture(path)
        np.testing.assert_allclose(capture.channels[0].values, _DRAIN, atol=1e-9)
        lines = _plain().split("\n")
        lines[199] = "what,is this"
        path.write_text("\r".join(lines), encoding=encoding, newline="")
        with pytest.raises(FileError, match="line 200"):
            load_capture(path)


def test_a_header_of_more_than_32_kilobytes_is_read(tmp_path: Path):
    path = tmp_path / "capture.csv"
    lines = _plain().split("\n", 1)
    path.write_text(f"{lines[0]}{' ' * 40_000}\n{lines[1]}")
    assert load_capture(path).count == _COUNT


def test_a_line_without_end_is_called_so_and_not_an_empty_file(tmp_path: Path, monkeypatch):
    path = tmp_path / "capture.csv"
    path.write_text("x" * 1_100_000 + "\n" + _plain())
    with pytest.raises(FileError, match="line 1 must be a line of a shorter length") as caught:
        load_capture(path)
    assert "1,048,576 bytes" in str(caught.value)
    monkeypatch.setattr(capture_file, "_BLOCK", 1000)
    monkeypatch.setattr(capture_file, "_LONGEST_LINE", 1000)
    path.write_text(_plain().replace("\n", "\n" + " " * 5000, 300).rstrip())
    with pytest.raises(FileError, match="more than 1,000 bytes") as caught:
        load_capture(path)
    assert caught.value.line == 2
    path.write_bytes(b"")
    with pytest.raises(FileError, match="an empty file"):
        load_capture(path)


def test_lines_of_all_widths_behind_a_damaged_byte_are_refused_with_a_line(tmp_path: Path):
    """The commonest width of a line may be less than the columns take."""
    path = tmp_path / "capture.csv"
    path.write_text("time [s],b [V]\n1,2,x\n2,2,x,y\n3,2,x,y,z\n4,2,x,y,z,w\n5\nb\n")
    with pytest.raises(FileError, match="line 3"):
        load_capture(path)


@given(
    form=st.sampled_from(list(_DIALECTS.values())),
    damage=st.lists(st.tuples(st.integers(0, 1999), st.integers(0, 255)), min_size=1, max_size=4),
    size=st.integers(20, 2000),
)
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
def test_damaged_bytes_are_read_or_refused_with_words(form, damage, size, tmp_path: Path):
    raw = bytearray(form().encode())[:size]
    for place, byte in damage:
        raw[place % len(raw)] = byte
    path = tmp_path / "capture.csv"
    path.write_bytes(raw)
    told, count = "", 0
    try:
        count = load_capture(path).count
    except FileError as error:
        told = str(error)
    assert count >= 2 or len(told.splitlines()) == 1


@pytest.mark.parametrize(
    "text",
    ["# Sampling rate: 5 MSa/s\n1.5\n\t\n2.5\n3.5\n", "time,v\n0,1.5\n1,'2.5'\n2,3.5\n"],
)
def test_lines_that_only_the_slow_reader_takes(text, tmp_path: Path):
    """A line of nothing but a separator, and quoted numbers, end no reading."""
    path = tmp_path / "capture.csv"
    path.write_text(text)
    np.testing.assert_array_equal(load_capture(path).channels[0].values, [1.5, 2.5, 3.5])


def test_a_line_of_many_columns_takes_as_long_as_it_is() -> None:
    """Line ends lost in a transfer leave one line; looking each cell up among all took minutes."""

    def took(cells: int) -> float:
        line = ",".join(["95.1057"] * cells)
        began = time.process_time()
        assert len(sniffed_dialect([line], name="run.csv").columns) == cells
        return time.process_time() - began

    few = min(took(4000) for _ in range(3))
    assert took(32_000) < 24.0 * few
