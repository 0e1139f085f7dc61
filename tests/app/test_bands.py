"""Bands of build tolerance in the window: when idle, gone on an edit, switched off by the menu."""

from __future__ import annotations

from dataclasses import replace
from threading import Event

import numpy as np
import pytest
from PySide6.QtWidgets import QApplication

from burstwise.app.places import Places
from burstwise.app.plots.axis import Axis
from burstwise.app.plots.curves import Shade
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.screens.operating_point.screen import OperatingPoint
from burstwise.app.screens.registry import SCREENS
from burstwise.app.screens.supply import SupplyScreen
from burstwise.app.session import Job, Session
from burstwise.app.theme import Theme
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job, new_design
from burstwise.app.worker import Outcome
from burstwise.core.evaluate import evaluate
from burstwise.core.stopping import check_stop
from burstwise.core.studies.bands import bands, scattered_stage


@pytest.fixture
def asked(toy_job: Job, qapp: QApplication):
    """A session whose bands are the name of the design, and the designs that they were asked of."""
    seen: list[object] = []

    def made(results, task):
        seen.append(results)
        return f"bands {len(seen)}"

    session = Session(replace(toy_job, bands=made))
    yield session, seen
    session.close()


def test_bands_come_after_the_results_and_go_with_an_edit(asked, qtbot) -> None:
    session, seen = asked
    told: list[object] = []
    session.banded.connect(told.append)
    with qtbot.waitSignal(session.banded):
        session.refresh()
    assert (session.bands, told) == ("bands 1", ["bands 1"])
    session.document.edit("supply.voltage", 20.0)
    assert session.bands is None
    assert told == ["bands 1", None]
    qtbot.waitUntil(lambda: session.bands == "bands 2")
    assert seen[1] is session.latest.results


def test_without_the_wish_no_work_is_done(asked, qtbot) -> None:
    session, _ = asked
    with qtbot.waitSignal(session.banded):
        session.refresh()
    session.want_bands(False)
    assert session.bands is None
    with qtbot.waitSignal(session.evaluated):
        session.document.edit("supply.voltage", 20.0)
    assert not session._idle.isActive()
    session.want_bands(True)
    qtbot.waitUntil(lambda: session.bands == "bands 2")


def test_an_edit_stops_the_work(toy_job: Job, qapp, qtbot) -> None:
    begun, ended = Event(), Event()

    def endless(results, task):
        begun.set()
        try:
            while True:
                check_stop()
        finally:
            ended.set()

    session = Session(replace(toy_job, bands=endless))
    session.refresh()
    qtbot.waitUntil(begun.is_set)
    session.document.edit("supply.voltage", 20.0)
    qtbot.waitUntil(ended.is_set)
    assert session.bands is None
    session.close()


def test_the_menu_switches_them_off_and_the_choice_is_kept(window: MainWindow) -> None:
    action = window._bands_action
    assert action.isChecked()
    action.trigger()
    assert not window.session._bands_wanted
    assert not window._settings.value("look/bands", True, type=bool)
    action.trigger()
    assert window.session._bands_wanted


def test_area_is_drawn_read_out_and_parted_where_it_has_no_end(theme: Theme, qtbot) -> None:
    plot = LinePlot(theme, x=Axis("Duty", "%"), y=Axis("Power", "W", from_zero=True), curves=("",))
    qtbot.addWidget(plot)
    plot.resize(500, 300)
    plot.show()
    duty = np.linspace(0.0, 1.0, 5)
    plot.set_data(duty, 80.0 * duty)
    plot.set_point(0.5, (40.0,))
    high = 90.0 * duty
    high[-1] = np.inf
    plot.set_shades([Shade(duty, 70.0 * duty, high)])
    assert plot.readout == "now 50 % · 40 W [35 … 45]"
    box = plot._bands[0].path().boundingRect()
    assert (box.left(), box.right(), box.bottom()) == (0.0, 0.75, 67.5)
    plot.set_shades([])
    assert plot.readout == "now 50 % · 40 W"
    assert plot._bands[0].path().isEmpty()


def test_the_operating_point_shades_what_the_core_found(
    still_session: Session, theme: Theme, qtbot
) -> None:
    results = evaluate(new_design(), verify=False)
    found = bands(results, scattered_stage(results))
    page = OperatingPoint(still_session, theme)
    qtbot.addWidget(page)
    page.resize(1100, 660)
    page.show()
    still_session.banded.emit(found)
    plots, waves = page.duty_plots, page.waves
    np.testing.assert_array_equal(
        plots.power.shades[0].high, found.duty_curves["average_power"].high
    )
    drain = waves.cycle.strips[1]
    assert drain.shades[0].low.min() < drain.shades[0].high.max()
    assert len(waves.ring_up.shades) == 2
    bus = waves.period.strips[1]
    np.testing.assert_array_equal(bus.shades[0].high, found.period["bus_voltage"].high)
    assert waves.warm_up.shades[1].at[-1] == pytest.approx(found.warm_up["heat_sink"].at[-1] / 60)
    assert "8 in 10 of 200 builds" in bus.toolTip()
    assert "8 in 10 of 200 builds" in plots.temperature.toolTip()
    assert "8 in 10 of 64 builds" in drain.toolTip()
    assert waves.legend.isVisible()
    still_session.banded.emit(None)
    assert not plots.power.shades
    assert not drain.shades
    assert not bus.shades
    assert not waves.warm_up.shades
    assert "builds" not in drain.toolTip() + plots.power.toolTip() + bus.toolTip()
    assert not waves.legend.isVisible()


def test_supply_and_cooling_is_shaded_as_the_menu_says(
    theme: Theme, qtbot, places: Places, monkeypatch
) -> None:
    """Shades come with the bands, go with the menu's tick, and wait while out of view."""
    results = evaluate(new_design(), verify=False)
    found = bands(results, scattered_stage(results))
    monkeypatch.setattr(Session, "_submit", lambda self: None)
    window = MainWindow(Session(design_job()), theme, places)
    qtbot.addWidget(window)
    window.resize(1366, 768)
    with qtbot.waitActive(window):
        window.show()
    window.session._take_bands(Outcome(1, found, None, 0.0))
    window.show_screen([screen.title for screen in SCREENS].index("Supply and cooling"))
    page = window.stack.currentWidget().findChild(SupplyScreen)
    page.warm_up.show_results(results)
    page.sinks.show_results(results)
    for plot, bands_of in ((page.warm_up, found.warm_up), (page.sinks, found.sinks)):
        peak, sink = plot.shades
        np.testing.assert_array_equal(peak.high, bands_of["junction_peak"].high)
        np.testing.assert_array_equal(sink.low, bands_of["heat_sink"].low)
        assert "8 in 10 of 200 builds" in plot.toolTip()
    assert page.sinks.shades[0].at[-1] == pytest.approx(3 * results.design.cooling.sink_resistance)
    window._bands_action.trigger()
    for plot in (page.warm_up, page.sinks):
        assert not plot.shades
        assert not plot.toolTip()
