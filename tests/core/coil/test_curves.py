"""Files good and bad: errors name file and line; fits recover the circuit behind the data."""

import math

import numpy as np
import pytest

from burstwise.core.coil.curves import (
    CurveKind,
    MeasuredCurve,
    load_curve,
    parse_curve_csv,
    parse_touchstone,
)
from burstwise.core.coil.resonance_fit import ResonanceKind, fitted_resonance
from burstwise.core.errors import FileError, InputError


def series_impedance(f, R=12.0, L=28e-3, C=12.6e-12):
    w = 2 * np.pi * f
    return R + 1j * w * L + 1 / (1j * w * C)


F0 = 1 / (2 * math.pi * math.sqrt(28e-3 * 12.6e-12))


def touchstone_lines(f, Z, form, parameter="S", unit="kHz", scale=1e3):
    S = (Z - 50) / (Z + 50)
    value = {"S": S, "Z": Z / 50, "Y": 50 / Z}[parameter]
    lines = ["! swept at the foot", f"# {unit} {parameter} {form} R 50"]
    for hertz, v in zip(f, value, strict=True):
        if form == "RI":
            a, b = v.real, v.imag
        else:
            size = abs(v) if form == "MA" else 20 * math.log10(abs(v))
            a, b = size, math.degrees(np.angle(v))
        lines.append(f"{hertz / scale:.12g} {a:.14g} {b:.14g} ! point")
    return lines


@pytest.mark.parametrize("form", ["RI", "MA", "DB"])
@pytest.mark.parametrize("parameter", ["S", "Z", "Y"])
@pytest.mark.parametrize(("unit", "scale"), [("Hz", 1), ("khz", 1e3), ("MHZ", 1e6), ("GHz", 1e9)])
def test_touchstone_forms_read_back_the_impedance(form, parameter, unit, scale):
    f = np.linspace(0.9 * F0, 1.1 * F0, 11)
    Z = series_impedance(f, R=200.0, L=1e-4, C=3e-9)
    curve = parse_touchstone(touchstone_lines(f, Z, form, parameter, unit, scale))
    assert curve.kind is CurveKind.IMPEDANCE
    np.testing.assert_allclose(curve.frequency, f, rtol=1e-11)
    np.testing.assert_allclose(curve.value, Z, rtol=1e-8)


def test_touchstone_defaults_are_gigahertz_s_magnitude_angle_50_ohm():
    curve = parse_touchstone(["#", "1 0.5 0"])
    assert curve.frequency.tolist() == [1e9]
    assert curve.value[0] == pytest.approx(150.0)


@pytest.mark.parametrize(
    ("lines", "line", "words"),
    [
        (["# kHz S RI R 50", "100 0.1 0.2", "101 0.1"], 3, "3 numbers"),
        (["# kHz S RI R 50", "100 0.1 0.2", "101 0.1 0.2e"], 3, "3 numbers"),
        (["# kHz S RI R 50", "100 0.1 nan"], 2, "3 numbers"),
        (["# kHz S RI R 50", "100 0 0 0 0 0 0 0 0"], 2, "3 numbers"),
        (["# kHz S RI R 50", "100 0 0", "99 0 0"], 3, "above the line before"),
        (["# kHz S RI R 50", "-1 0 0"], 2, "above 0"),
        (["100 0 0"], 1, "option line"),
        (["# kHz X RI R 50"], 1, "S, Z or Y"),
        (["# kHz S RI R"], 1, "a number"),
        (["# kHz S RI R -50"], 1, "above 0 ohm"),
        (["[Version] 2.0"], 1, "version 1"),
        (["! only", "# kHz S RI R 50"], 2, "lines of frequency"),
    ],
)
def test_bad_touchstone_names_file_and_line(lines, line, words):
    with pytest.raises(FileError, match=words) as caught:
        parse_touchstone(lines, "coil.s1p")
    assert caught.value.line == line
    assert str(caught.value).startswith(f"coil.s1p, line {line} must be")


def test_touchstone_cut_anywhere_is_read_or_refused_cleanly():
    f = np.linspace(0.9 * F0, 1.1 * F0, 6)
    text = "\n".join(touchstone_lines(f, series_impedance(f), "RI"))
    read, refused = [], []
    for end in range(0, len(text), 7):
        try:
            read.append(len(parse_touchstone(text[:end].splitlines(), "cut.s1p").frequency))
        except FileError as error:
            refused.append(str(error))
    assert read == sorted(read)
    assert len(refused) > 10
    assert all(message.startswith("cut.s1p") for message in refused)


def test_open_circuit_has_no_impedance():
    with pytest.raises(FileError, match="finite impedance"):
        parse_touchstone(["# kHz S RI R 50", "100 1 0"], "open.s1p")


def test_csv_kinds():
    ohms = parse_curve_csv(["# bench", "frequency [kHz], impedance [kohm]", "100, 2.5", "", ""])
    assert ohms.kind is CurveKind.MAGNITUDE
    assert ohms.frequency.tolist() == [100e3]
    assert ohms.value.tolist() == [2500.0]
    decibel = parse_curve_csv(["Frequency [MHz],gain [dB]", "0.1,-20", "0.2,6"])
    assert decibel.kind is CurveKind.RESPONSE
    np.testing.assert_allclose(decibel.value, [0.1, 10**0.3])


@pytest.mark.parametrize(
    ("lines", "line", "words"),
    [
        (["100,1", "101,2"], 1, "a header such as"),
        (["frequency [parsec], gain [V]"], 1, "a header such as"),
        (["frequency [Hz]"], 1, "a header such as"),
        (["frequency [Hz], impedance [V]"], 1, r"impedance in \[ohm\]"),
        (["frequency [Hz], gain [V]", "1, 2, 3"], 2, "2 numbers"),
        (["frequency [Hz], gain [V]", "1, two"], 2, "2 numbers"),
        (["frequency [Hz], gain [V]", "1, -2"], 2, "above 0"),
        (["frequency [Hz], gain [V]", "2, 2", "1, 2"], 3, "above the line before"),
        (["frequency [Hz], gain [V]"], 1, "lines of two numbers"),
    ],
)
def test_bad_csv_names_file_and_line(lines, line, words):
    with pytest.raises(FileError, match=words) as caught:
        parse_curve_csv(lines, "sweep.csv")
    assert caught.value.line == line


def test_loader_picks_the_parser_by_suffix(tmp_path):
    touchstone = tmp_path / "coil.S1P"
    touchstone.write_text("# Hz Z RI R 1\n5 3 0\n")
    assert load_curve(touchstone).kind is CurveKind.IMPEDANCE
    sweep = tmp_path / "sweep.csv"
    sweep.write_text("\ufefffrequency [Hz], response [V]\n5, 3\n", encoding="utf-8")
    assert load_curve(sweep).kind is CurveKind.RESPONSE


def test_loader_refuses_what_it_cannot_read(tmp_path):
    with pytest.raises(FileError, match=r"gone\.csv must be a file that can be read"):
        load_curve(tmp_path / "gone.csv")
    binary = tmp_path / "binary.csv"
    binary.write_bytes(b"\xff\xfe\x00\x80")
    with pytest.raises(FileError, match="text in UTF-8"):
        load_curve(binary)


def test_series_fit_recovers_the_circuit():
    f = np.linspace(0.97 * F0, 1.03 * F0, 81)
    fit = fitted_resonance(MeasuredCurve(CurveKind.IMPEDANCE, f, series_impedance(f, R=150.0)))
    assert fit.kind is ResonanceKind.SERIES
    assert fit.frequency.value == pytest.approx(F0, rel=1e-9)
    assert fit.resistance.value == pytest.approx(150.0, rel=1e-7)
    assert fit.inductance.value == pytest.approx(28e-3, rel=1e-7)
    assert fit.capacitance.value == pytest.approx(12.6e-12, rel=1e-7)
    assert fit.quality_factor.value == pytest.approx(2 * math.pi * F0 * 28e-3 / 150, rel=1e-7)
    assert fit.residual < 1e-6
    assert fit.findings == ()


def test_parallel_fit_recovers_the_circuit_from_magnitudes():
    f = np.linspace(0.9 * F0, 1.1 * F0, 61)
    w = 2 * np.pi * f
    Y = 1 / 2e6 + 1j * w * 12.6e-12 + 1 / (1j * w * 28e-3)
    fit = fitted_resonance(MeasuredCurve(CurveKind.MAGNITUDE, f, 1 / np.abs(Y)))
    assert fit.kind is ResonanceKind.PARALLEL
    assert fit.resistance.value == pytest.approx(2e6, rel=1e-6)
    assert fit.inductance.value == pytest.approx(28e-3, rel=1e-6)
    assert fit.capacitance.value == pytest.approx(12.6e-12, rel=1e-6)


def test_response_gives_frequency_and_q_only():
    f = np.linspace(0.95 * F0, 1.05 * F0, 41)
    response = 0.3 / np.abs(1 + 120j * (f / F0 - F0 / f))
    fit = fitted_resonance(MeasuredCurve(CurveKind.RESPONSE, f, response))
    assert fit.kind is ResonanceKind.RESPONSE
    assert fit.frequency.value == pytest.approx(F0, rel=1e-8)
    assert fit.quality_factor.value == pytest.approx(120.0, rel=1e-6)
    assert fit.inductance is None


def test_errors_of_the_fit_cover_the_truth_under_noise():
    rng = np.random.default_rng(7)
    f = np.linspace(0.97 * F0, 1.03 * F0, 81)
    clean = series_impedance(f, R=150.0)
    inside = 0
    for _ in range(40):
        noise = 1 + 0.02 * (rng.standard_normal(81) + 1j * rng.standard_normal(81))
        fit = fitted_resonance(MeasuredCurve(CurveKind.IMPEDANCE, f, clean * noise))
        inside += abs(fit.inductance.value - 28e-3) < 2 * fit.inductance.error
        assert 0 < fit.frequency.error < 1e-3 * F0
    # Two standard errors hold 95 of 100; 40 trials fall below 32 less than once in 10000.
    assert inside >= 32


def test_second_resonance_outside_the_window_does_not_disturb():
    f = np.linspace(0.3 * F0, 3.2 * F0, 1001)
    w = 2 * np.pi * f
    other = 1 / (1j * w * 9e-3 + 1 / (1j * w * 4e-12) + 40.0)
    Z = 1 / (1 / series_impedance(f, R=2000.0) + 0.05 * other)
    fit = fitted_resonance(MeasuredCurve(CurveKind.IMPEDANCE, f[f < 1.5 * F0], Z[f < 1.5 * F0]))
    assert fit.frequency.value == pytest.approx(F0, rel=5e-3)


def test_rough_curve_is_marked():
    rng = np.random.default_rng(3)
    f = np.linspace(0.9 * F0, 1.1 * F0, 41)
    response = 1 / np.abs(1 + 20j * (f / F0 - F0 / f)) * np.exp(0.4 * rng.standard_normal(41))
    fit = fitted_resonance(MeasuredCurve(CurveKind.RESPONSE, f, response))
    assert [finding.code for finding in fit.findings] == ["fit-poor"]


def test_curve_without_a_resonance_is_refused():
    f = np.linspace(1e5, 2e5, 20)
    with pytest.raises(InputError, match="measured through a resonance"):
        fitted_resonance(MeasuredCurve(CurveKind.RESPONSE, f, f))
    with pytest.raises(InputError, match="at least 5 near the resonance"):
        fitted_resonance(
            MeasuredCurve(CurveKind.RESPONSE, np.array([1e5, 2e5, 4e5]), np.array([1.0, 5.0, 1.0]))
        )


def test_what_is_no_file_is_refused_by_kind_and_size(odd_files):
    for words, file in odd_files.items():
        with pytest.raises(FileError, match=f"instead received {words}$"):
            load_curve(file)


def test_an_endless_cell_is_refused_with_its_line():
    with pytest.raises(FileError, match="line 2 must be 2 numbers") as caught:
        parse_curve_csv(["frequency [Hz], response [V]", "5" * 200_000 + ", 3"])
    assert len(str(caught.value)) < 200
