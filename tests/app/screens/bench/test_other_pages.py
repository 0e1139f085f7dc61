"""Capture, forecast, calibration and diagnosis with mouse and keyboard."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from burstwise.core.bench.burst_waveform import BurstTiming, Signal, burst_capture
from burstwise.core.bench.fault_stage import sound_stage
from burstwise.core.bench.faults import Fault, with_fault
from burstwise.core.bench.fit_parameters import Parameter
from burstwise.core.bench.sheet import bench_ratings
from burstwise.core.coil.resolve import coil_of
from burstwise.core.design.calibrated import calibrated
from burstwise.core.design.calibration import BAD_FIT
from burstwise.core.design.readings import ReadingCells
from burstwise.core.findings import Severity
from burstwise.core.stage.carrier import carrier


def _press(button) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def _cells(circuit, supplies: tuple[float, ...]) -> tuple[ReadingCells, ...]:
    """Readings of a circuit at a shunt of 0.1 ohm."""
    rows = []
    for supply in supplies:
        run = carrier(circuit.with_supply(supply))
        rows.append(
            ReadingCells(
                supply=f"{supply:g}",
                shunt_rms=f"{0.1 * run.supply_current_rms:.5g}",
                shunt_mean=f"{0.1 * run.supply_current_mean:.5g}",
                drain_peak=f"{run.drain_voltage_peak:.5g}",
            )
        )
    return tuple(rows)


@pytest.fixture
def capture_file(tmp_path: Path, small_design) -> Path:
    """One burst as a wire near the coil shows it."""
    circuit = sound_stage(small_design)
    period = 1.0 / circuit.coil.resonance
    timing = BurstTiming(20 * period, 120 * period, 150 * period, period / 40)
    taken = burst_capture(circuit.with_supply(24.0), Signal.TOP, timing)
    wave = 1e-4 * taken.channels[0].values
    noise = 1e-3 * np.ptp(wave) * np.random.default_rng(1).standard_normal(len(wave))
    file = tmp_path / "burst.csv"
    table = np.column_stack([taken.time, wave + noise])
    np.savetxt(file, table, fmt="%.7e", delimiter=",", header="time [s],CH1 [V]", comments="")
    return file


def test_capture_is_read_measured_and_laid_over(qtbot, screen, session, capture_file):
    page = screen.capture
    screen.tabs.setCurrentWidget(page)
    page.supply.set_value(24.0)
    page.load(capture_file)
    qtbot.waitUntil(lambda: screen.state.shown_capture is not None)
    resonance = sound_stage(session.document.design).coil.resonance
    assert screen.state.shown_capture.measures.carrier_frequency == pytest.approx(
        resonance, rel=0.05
    )
    assert "Loaded Q" in page.figures.text()
    measured = page.plot.curve(0)[1]
    assert measured.max() == pytest.approx(screen.state.shown_capture.measures.spike)
    assert len(measured) < 4 * page.plot.view.width() + 1700

    _press(page.measuring.start)
    qtbot.waitUntil(lambda: page.overlay is not None)
    assert page.overlay.shift.likeness > 0.97
    assert abs(page.overlay.time[0] + 10 / resonance) < 1.5 / resonance
    assert "Likeness" in page.measuring.message.text()
    assert len(page.plot.curve(1)[0]) > 1000


def test_zoomed_plot_shows_every_sample_and_home_shows_all(qtbot, screen, capture_file, turn_wheel):
    page = screen.capture
    screen.tabs.setCurrentWidget(page)
    page.load(capture_file)
    qtbot.waitUntil(lambda: screen.state.shown_capture is not None)
    capture = screen.state.shown_capture.capture
    whole = page.plot.x_span
    turn_wheel(page.plot.view.viewport(), 12)
    shown = page.plot.x_span
    assert shown.width < 0.2 * whole.width
    assert whole.low < shown.low < shown.high < whole.high
    qtbot.waitUntil(lambda: not page.redraws)
    at = page.plot.curve(0)[0]
    inside = at[(at > shown.low) & (at < shown.high)]
    assert len(inside) > 50
    assert np.allclose(np.diff(inside), capture.step, rtol=1e-6)
    assert at[0] == pytest.approx(capture.start, abs=50 * capture.step)
    assert at[-1] == pytest.approx(capture.start + capture.duration, abs=capture.step * 50)
    page.plot.setFocus()
    QTest.keyClick(page.plot, Qt.Key.Key_Home)
    qtbot.waitUntil(lambda: not page.redraws)
    assert page.plot.x_span == whole
    assert page.plot.curve(0)[1].max() == pytest.approx(screen.state.shown_capture.measures.spike)


def test_probe_fields_change_the_figures(qtbot, screen, session, capture_file):
    page = screen.capture
    page.load(capture_file)
    qtbot.waitUntil(lambda: screen.state.shown_capture is not None)
    before = screen.state.shown_capture.measures.spike
    session.document.edit("readings.probe.attenuation", 10.0)
    assert screen.state.shown_capture.measures.spike == pytest.approx(10 * before)
    session.document.edit("readings.probe.attenuation", 0.0)
    assert screen.state.shown_capture is None
    assert "other than 0" in page.work.message.text()


def test_broken_capture_names_its_line(qtbot, screen, tmp_path):
    file = tmp_path / "broken.csv"
    lines = ["time [s],CH1 [V]", *(f"{n}e-7,{np.sin(n / 5):.4f}" for n in range(400))]
    lines[200] = "oops,what"
    file.write_text("\n".join(lines) + "\n")
    screen.capture.load(file)
    qtbot.waitUntil(lambda: screen.capture.work.message.text() != "")
    assert "line 201" in screen.capture.work.message.text()
    assert screen.state.shown_capture is None


def test_capture_at_the_shunt_becomes_a_row(qtbot, screen, session, capture_file):
    page = screen.capture
    screen.tabs.setCurrentWidget(page)
    page.load(capture_file)
    qtbot.waitUntil(lambda: screen.state.shown_capture is not None)
    assert not page.to_table.isEnabled()
    page.signal.setCurrentIndex(list(Signal).index(Signal.SHUNT))
    _press(page.to_table)
    row = session.document.design.readings.rows[0]
    assert float(row.shunt_rms) > 0.0
    assert row.note == "burst.csv"


def test_too_few_rows_are_refused_in_words(qtbot, screen, session):
    headline = screen.forecast.headline
    qtbot.waitUntil(
        lambda: headline.text().startswith("○ No forecast")
    )  # an empty table is no stop
    session.document.edit("readings.rows", (ReadingCells(supply="12", shunt_rms="0.1"),))
    qtbot.waitUntil(lambda: headline.text().startswith("■ No forecast"))
    assert "at least 4 usable rows" in headline.text()
    assert screen.forecast.table.texts() == []


def test_forecast_ranks_ratings_and_marks_extrapolation(qtbot, screen, session):
    power = bench_ratings(session.document.design)
    limit = next(value for name, value in power.items() if name.value == "voltage")
    rows = tuple(
        ReadingCells(
            supply=f"{volt}", shunt_rms=f"{0.001 * volt}", drain_peak=f"{limit * volt / 66}"
        )
        for volt in (20, 30, 40, 50)
    )
    session.document.edit("readings.rows", rows)
    qtbot.waitUntil(lambda: screen.forecast.result is not None)
    page = screen.forecast
    first = page.table.texts()[0]
    assert first[0] == "Drain voltage"
    assert first[2] == "66 V"
    assert "Drain voltage is reached first, at 66 V" in page.headline.text()
    assert any("extrapolated" in row[6] for row in page.table.texts()[1:])
    before = first[4]
    session.document.edit("readings.side_load", 0.3)
    qtbot.waitUntil(lambda: page.table.texts()[0][4] != before)
    assert page.table.texts()[0][4] == "50.8 V"


def test_calibration_is_fitted_taken_over_switched_off_and_undone(qtbot, screen, session, boxes):
    session.document.edit("device.capacitance_law", "constant")
    design = session.document.design
    truth = sound_stage(design)
    truth = replace(truth, coil=replace(truth.coil, coupling=1.15 * truth.coil.coupling))
    session.document.edit("readings.rows", _cells(truth, (12.0, 18.0, 26.0, 34.0)))
    page = screen.calibrate
    screen.tabs.setCurrentWidget(page)
    for name, box in page.choices.items():
        if name is not Parameter.COUPLING:
            box.setFocus()
            QTest.keyClick(box, Qt.Key.Key_Space)
    assert not page.take_over.isEnabled()
    _press(page.work.start)
    qtbot.waitUntil(lambda: page.result is not None, timeout=60_000)
    fitted = page.result.parameters[0]
    # The readings were taken with another junction temperature than the fit estimates.
    assert fitted.value == pytest.approx(truth.coil.coupling, rel=0.05)
    assert page.result.misfit_after < page.result.misfit_before
    assert page.fitted.texts()[0][0] == "Coupling"
    assert len(page.compared.texts()) == 12
    assert page.correlation.texts() == [["Coupling", "+1.00"]]

    steps = session.document.undo_stack.count()
    # A cold stage against a hot one is many uncertainties off: it asks.
    boxes.answer("Yes")
    _press(page.take_over)
    assert session.document.undo_stack.count() == steps + 1
    layer = session.document.design.calibration
    assert layer.coupling == pytest.approx(fitted.value, rel=1e-4)
    assert page.active.isChecked()
    assert "4 rows" in page.layer.text()
    assert coil_of(session.document.design).coupling == layer.coupling
    assert layer.misfit == pytest.approx(page.result.misfit_after, rel=0.01)
    _press(page.active)
    off = session.document.design
    assert calibrated(off) is off
    session.document.undo()
    assert session.document.design.calibration.active
    session.document.undo()
    assert session.document.design.calibration is None
    assert not page.active.isEnabled()
    session.document.redo()
    _press(page.remove)
    assert session.document.design.calibration is None


def test_fit_without_readings_or_parameters_says_so(qtbot, screen):
    page = screen.calibrate
    screen.tabs.setCurrentWidget(page)
    _press(page.work.start)
    qtbot.waitUntil(lambda: "nothing to compare" in page.work.message.text())
    for box in page.choices.values():
        box.setChecked(False)
    _press(page.work.start)
    assert "at least one parameter" in page.work.message.text()


def test_fit_can_be_stopped(qtbot, screen, session):
    rows = _cells(sound_stage(session.document.design), (12.0, 18.0, 26.0, 34.0))
    session.document.edit("readings.rows", rows)
    page = screen.calibrate
    screen.tabs.setCurrentWidget(page)
    _press(page.work.start)
    qtbot.waitUntil(lambda: page.work.stop.isEnabled())
    _press(page.work.stop)
    qtbot.waitUntil(lambda: not page.work.worker.busy)
    assert page.result is None
    assert page.work.message.text() == "Stopped."


def test_diagnosis_names_the_cause_and_the_next_measurement(qtbot, screen, session):
    session.document.edit("device.capacitance_law", "constant")
    broken = with_fault(sound_stage(session.document.design), Fault.SLIPPED_COUPLING, 0.6)
    session.document.edit("readings.rows", _cells(broken, (18.0, 30.0)))
    page = screen.diagnosis
    screen.tabs.setCurrentWidget(page)
    _press(page.work.start)
    qtbot.waitUntil(lambda: page.result is not None, timeout=60_000)
    first = page.causes.texts()[0]
    assert first[0] == "Slipped coupling"
    assert "primary" in first[2]
    assert first[3].startswith(("Measure the ", "Repeat the "))
    assert page.headline.text().startswith("▲ Slipped coupling")
    assert len(page.deviations.texts()) == 6


def test_diagnosis_without_readings_says_what_is_missing(qtbot, screen):
    screen.tabs.setCurrentWidget(screen.diagnosis)
    _press(screen.diagnosis.work.start)
    qtbot.waitUntil(lambda: "at least one row" in screen.diagnosis.work.message.text())


def test_pages_follow_the_look_and_are_reached_by_keys(qtbot, screen, theme, session):
    session.document.edit("readings.rows", (ReadingCells(supply="24", shunt_rms="lots"),))
    theme.set_dark(True)
    index = screen.readings.model.index(0, 2)
    colour = index.data(Qt.ItemDataRole.ForegroundRole).name()
    assert colour == theme.tokens.severity(Severity.STOP)
    for key, page in (("A", screen.calibrate), ("O", screen.forecast), ("R", screen.readings)):
        QTest.keyClick(screen, key, Qt.KeyboardModifier.AltModifier)
        assert screen.tabs.currentWidget() is page


def test_a_doubtful_fit_asks_before_it_is_taken_over(qtbot, screen, session, boxes):
    """A shunt of ten times the value typed: no coupling explains the currents."""
    truth = sound_stage(session.document.design)
    session.document.edit("readings.rows", _cells(truth, (12.0, 18.0, 26.0, 34.0)))
    session.document.edit(
        "readings.shunt_resistance", 10.0 * session.document.design.readings.shunt_resistance
    )
    page = screen.calibrate
    screen.tabs.setCurrentWidget(page)
    for name, box in page.choices.items():
        box.setChecked(name is Parameter.COUPLING)
    _press(page.work.start)
    qtbot.waitUntil(lambda: page.result is not None, timeout=60_000)
    assert page.result.misfit_after > BAD_FIT
    boxes.answer(Qt.Key.Key_Return, "Yes")
    _press(page.take_over)
    assert session.document.design.calibration is None
    assert "Not taken over" in page.work.message.text()
    _press(page.take_over)
    assert session.document.design.calibration.coupling is not None
    assert "doubtful" in boxes.said[0]
    assert "standard uncertainties off" in boxes.said[0]

    # The diagnosis does not start from what the doubtful fit has taken in.
    diagnosis = screen.diagnosis
    screen.tabs.setCurrentWidget(diagnosis)
    _press(diagnosis.work.start)
    qtbot.waitUntil(lambda: diagnosis.result is not None, timeout=60_000)
    assert "Compared with the design's own values" in diagnosis.basis.text()
    assert "rows used" in diagnosis.basis.text()
    assert "No single fault explains the readings" in diagnosis.headline.text()
