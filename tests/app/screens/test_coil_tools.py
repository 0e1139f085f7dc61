"""Sweep, solve and curve panels of the coil screen."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog

from burstwise.app.screens.coil import solve as solve_module
from burstwise.app.screens.coil.screen import CoilScreen
from burstwise.app.session import Session
from burstwise.core.design.document import design_from

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def screen(qtbot, theme, toy_job) -> Iterator[CoilScreen]:
    design = design_from({"coil": {"given_by": "geometry"}})
    session = Session(replace(toy_job, new=lambda: design))
    made = CoilScreen(session, theme)
    qtbot.addWidget(made)
    made.resize(1100, 680)
    with qtbot.waitActive(made):
        made.show()
    qtbot.waitUntil(lambda: made.work.latest is not None, timeout=10_000)
    yield made
    session.close()


def show_tab(screen: CoilScreen, qtbot, index: int) -> None:
    bar = screen.tabs.tabBar()
    qtbot.mouseClick(bar, LEFT, pos=bar.tabRect(index).center())


def enter(field, qtbot, text: str) -> None:
    field.entry.setFocus()
    field.entry.selectAll()
    qtbot.keyClicks(field.entry, text)
    qtbot.keyClick(field.entry, Qt.Key.Key_Return)


def test_a_sweep_draws_four_curves_and_marks_the_present_coil(screen, qtbot) -> None:
    show_tab(screen, qtbot, 2)
    view = screen.sweep
    view.field.setCurrentIndex(view.field.findText("Primary start height"))
    enter(view.low, qtbot, "-200 mm")
    enter(view.high, qtbot, "40 mm")
    qtbot.mouseClick(view.work.start, LEFT)
    qtbot.waitUntil(lambda: view.sweep is not None, timeout=10_000)
    xs, ys = view.plots["coupling"].curve(0)
    assert 10 < len(xs) < 31
    assert np.all(np.isfinite(ys))
    assert "cannot be built" in view.work.message.text()
    assert "now 2 mm" in view.plots["coupling"].readout


def test_the_mark_lies_on_the_swept_curves_or_goes(screen, qtbot, small_design) -> None:
    show_tab(screen, qtbot, 2)
    view, document = screen.sweep, screen._session.document
    view.field.setCurrentIndex(view.field.findText("Secondary turns"))
    qtbot.mouseClick(view.work.start, LEFT)
    qtbot.waitUntil(lambda: view.sweep is not None, timeout=10_000)

    def edited(path: str, value: object) -> None:
        document.edit(path, value)
        qtbot.waitUntil(lambda: screen.work.latest.design == document.design, timeout=10_000)

    turns = "coil.geometry.secondary.turns"
    for count in (document.value(turns), 0.8 * document.value(turns)):
        edited(turns, count)
        for plot in view.plots.values():
            xs, ys = plot.curve(0)
            at, (dot,) = plot._point
            assert at == count
            assert dot == pytest.approx(np.interp(at, xs, ys), rel=5e-3)
    # Another former: the curves are of a coil that is no more, and nothing is marked on them.
    before = document.value("coil.geometry.secondary.former_diameter")
    edited("coil.geometry.secondary.former_diameter", 1.3 * before)
    assert {plot.point_x for plot in view.plots.values()} == {None}
    assert "another one by now" in view.work.message.text()
    edited("coil.geometry.secondary.former_diameter", before)
    assert {plot.point_x for plot in view.plots.values()} == {count}
    assert "another one" not in view.work.message.text()
    edited("coil", small_design.coil.model_dump())
    assert {plot.point_x for plot in view.plots.values()} == {None}


def test_a_sweep_with_a_bad_range_keeps_the_last_one(screen, qtbot) -> None:
    show_tab(screen, qtbot, 2)
    view = screen.sweep
    qtbot.mouseClick(view.work.start, LEFT)
    qtbot.waitUntil(lambda: view.sweep is not None, timeout=10_000)
    kept = view.sweep
    enter(view.low, qtbot, "900")
    enter(view.high, qtbot, "100")
    qtbot.mouseClick(view.work.start, LEFT)
    qtbot.waitUntil(lambda: "above the low end" in view.work.message.text(), timeout=10_000)
    assert view.work.message.text().startswith("■")
    assert view.sweep is kept


def test_a_sweep_can_be_stopped(screen, qtbot, monkeypatch) -> None:
    from burstwise.app.screens.coil import sweep as module

    began = threading.Event()

    def endless(design, path, low, high, *, progress):
        while True:
            began.set()
            progress(0.4)

    monkeypatch.setattr(module, "geometry_sweep", endless)
    show_tab(screen, qtbot, 2)
    qtbot.mouseClick(screen.sweep.work.start, LEFT)
    qtbot.waitUntil(began.is_set, timeout=5_000)
    qtbot.waitUntil(lambda: screen.sweep.work.bar.value() == 400, timeout=5_000)
    assert screen.sweep.work.stop.isVisible()
    qtbot.mouseClick(screen.sweep.work.stop, LEFT)
    qtbot.waitUntil(lambda: not screen.sweep.work.worker.busy, timeout=5_000)
    assert "Stopped" in screen.sweep.work.message.text()
    assert screen.sweep.sweep is None


def test_a_solve_is_shown_and_applied_as_one_undo_step(screen, qtbot) -> None:
    show_tab(screen, qtbot, 3)
    panel, document = screen.solve, screen._session.document
    panel.wish.setCurrentIndex(5)
    assert panel.wanted.value > 10e3
    enter(panel.wanted, qtbot, "60 kV")
    before = document.design
    qtbot.mouseClick(panel.work.start, LEFT)
    qtbot.waitUntil(lambda: panel.found is not None, timeout=10_000)
    assert "Outer diameter: 40 mm →" in panel.work.message.text()
    assert document.design is before
    qtbot.mouseClick(panel.apply, LEFT)
    assert document.value("coil.geometry.top_load.diameter") < 0.04
    assert document.undo_stack.count() == 1
    assert document.undo_stack.undoText() == "Top load for a breakout voltage"
    document.undo()
    assert document.design == before
    assert not panel.apply.isEnabled()


def test_an_impossible_wish_says_the_reach(screen, qtbot) -> None:
    show_tab(screen, qtbot, 3)
    panel = screen.solve
    enter(panel.wanted, qtbot, "15 MHz")
    qtbot.mouseClick(panel.work.start, LEFT)
    qtbot.waitUntil(lambda: "No answer" in panel.work.message.text(), timeout=20_000)
    assert "can reach" in panel.work.message.text()
    assert not panel.apply.isEnabled()


def test_an_edit_takes_an_old_proposal_away(screen, qtbot) -> None:
    show_tab(screen, qtbot, 3)
    panel = screen.solve
    panel.wish.setCurrentIndex(2)
    enter(panel.wanted, qtbot, "0.25")
    qtbot.mouseClick(panel.work.start, LEFT)
    qtbot.waitUntil(lambda: panel.found is not None, timeout=10_000)
    screen._session.document.edit("supply.voltage", 20.0)
    assert panel.found is None
    assert not panel.apply.isEnabled()
    assert "solve again" in panel.remark.text()


def test_a_wish_through_the_stage_tells_progress_and_stops(screen, qtbot, monkeypatch) -> None:
    from burstwise.core.studies import solve_stage

    began = threading.Event()

    def endless(design, wanted, current, *, check):
        assert current is solve_stage.StageCurrent.DRAIN_PEAK
        while True:
            began.set()
            check()

    monkeypatch.setattr(solve_stage, "primary_turns_for_current", endless)
    show_tab(screen, qtbot, 3)
    panel = screen.solve
    panel.wish.setCurrentIndex(4)
    assert solve_module.WISHES[4].unit == "A"
    qtbot.mouseClick(panel.work.start, LEFT)
    qtbot.waitUntil(began.is_set, timeout=20_000)
    qtbot.waitUntil(lambda: panel.work.bar.value() > 0, timeout=5_000)
    qtbot.mouseClick(panel.work.stop, LEFT)
    qtbot.waitUntil(lambda: not panel.work.worker.busy, timeout=5_000)
    assert panel.work.message.text() == "Stopped."


def touchstone(f0: float = 907e3, quality: float = 190.0, scale: float = 90.0) -> str:
    f = np.linspace(0.97 * f0, 1.03 * f0, 81)
    z = scale * (1 + 1j * quality * (f / f0 - f0 / f))
    s = (z - 50) / (z + 50)
    rows = [f"{a:.10g} {b.real:.12g} {b.imag:.12g}" for a, b in zip(f, s, strict=True)]
    return "\n".join(["# Hz S RI R 50", *rows, ""])


def test_a_measured_curve_is_fitted_and_taken_over(screen, qtbot, monkeypatch, tmp_path) -> None:
    file = tmp_path / "foot.s1p"
    file.write_text(touchstone())
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *rest: (str(file), ""))
    show_tab(screen, qtbot, 4)
    panel, document = screen.curve, screen._session.document
    qtbot.mouseClick(panel.open, LEFT)
    qtbot.waitUntil(panel.use.isEnabled, timeout=10_000)
    assert "f0 907 kHz" in panel.words.text()
    assert panel.plot.curve(0)[0].size == 81
    ratio = screen.work.latest.coil.base_current_ratio
    qtbot.mouseClick(panel.use, LEFT)
    inductance = 90.0 * 190.0 / (2 * np.pi * 907e3)
    assert document.value("coil.measured.secondary_inductance") == pytest.approx(
        inductance * ratio**2, rel=1e-4
    )
    assert document.value("coil.measured.quality_factor") == pytest.approx(190.0, rel=1e-4)
    assert document.undo_stack.count() == 1
    assert screen.measured.switches["quality_factor"].isChecked()


@pytest.mark.parametrize("part", [0.5, 0.62, 0.31])
def test_a_curve_cut_in_the_middle_is_refused_and_the_last_good_one_stays(
    screen, qtbot, tmp_path, part
) -> None:
    whole = touchstone()
    good, cut = tmp_path / "good.s1p", tmp_path / "cut.s1p"
    good.write_text(whole)
    end = whole.rindex(" ", 0, round(part * len(whole)))
    cut.write_text(whole[:end])
    show_tab(screen, qtbot, 4)
    panel = screen.curve
    panel.load(good)
    qtbot.waitUntil(panel.use.isEnabled, timeout=10_000)
    words = panel.words.text()
    panel.load(cut)
    qtbot.waitUntil(lambda: panel.message.text().startswith("■"), timeout=10_000)
    assert "cut.s1p, line" in panel.message.text()
    assert "last good curve stays" in panel.message.text()
    assert panel.words.text() == words
    assert panel.plot.curve(0)[0].size == 81


def test_a_csv_response_gives_resonance_and_q(screen, qtbot, tmp_path) -> None:
    f = np.linspace(880e3, 940e3, 61)
    level = 1 / np.abs(1 + 120j * (f / 907e3 - 907e3 / f))
    rows = [f"{a / 1e3:.6f}, {b:.8f}" for a, b in zip(f, level, strict=True)]
    file = tmp_path / "probe.csv"
    file.write_text("\n".join(["frequency [kHz], response [V]", *rows]))
    show_tab(screen, qtbot, 4)
    screen.curve.load(file)
    qtbot.waitUntil(screen.curve.use.isEnabled, timeout=10_000)
    assert "resonance 907 kHz" in screen.curve.words.text()
    screen.measured.switches["secondary_capacitance"].click()
    screen.curve.use.click()
    assert screen._session.document.value("coil.not_used") == ("secondary_capacitance",)
    taken = pytest.approx(907e3, rel=1e-4)
    qtbot.waitUntil(lambda: screen.work.latest.coil.resonance == taken, timeout=10_000)
    screen.curve.winding.setCurrentIndex(1)
    assert not screen.curve.use.isEnabled()
    assert "Nothing to take" in screen.curve.words.text()
