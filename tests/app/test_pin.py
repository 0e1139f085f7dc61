"""A pinned design: ghosts behind the live curves and differences as numbers."""

from __future__ import annotations

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from burstwise.app.plots.axis import Axis
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.screens.operating_point.screen import OperatingPoint
from burstwise.app.screens.operating_point.waves import PERIOD, RING_UP
from burstwise.app.session import Evaluated, Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.notice import Notice
from burstwise.app.widgets.words import plain
from burstwise.app.window import MainWindow
from burstwise.app.wiring import new_design, summary_of
from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate


def evaluated_at(volts: float) -> Evaluated:
    results = evaluate(with_values(new_design(), {"supply.voltage": volts}))
    return Evaluated(results.design, results, summary_of(results))


@pytest.fixture(scope="module")
def two() -> tuple[Evaluated, Evaluated]:
    return evaluated_at(24.0), evaluated_at(36.0)


def test_ghosts_stay_while_the_live_curve_moves(theme: Theme, qtbot) -> None:
    plot = LinePlot(theme, x=Axis("Duty", "%"), y=Axis("Power", "W", from_zero=True), curves=("",))
    qtbot.addWidget(plot)
    plot.resize(500, 300)
    plot.show()
    duty = np.linspace(0, 1, 5)
    with plot.as_pinned():
        plot.set_data(duty, 80.0 * duty)
        plot.set_point(0.5, (40.0,))
    with plot.batch():
        plot.set_data(duty, 20.0 * duty)
        plot.set_point(0.5, (10.0,))
    assert plot.curve(0)[1].max() == 20.0
    assert plot.pinned[0][1].max() == 80.0
    assert plot.y_span.high >= 80.0, "the ghost is within the range"
    assert plot.readout == "now 50 % · 10 W (−30)"
    plot.set_cursor(1.0)
    assert plot.readout == "at 100 % · 20 W (−60)"
    plot.set_cursor(None)
    plot.clear_pinned()
    plot.show_all()
    assert plot.readout == "now 50 % · 10 W"
    assert plot.y_span.high < 40.0


def test_pinned_results_stay_behind_every_view_of_the_operating_point(
    still_session: Session, theme: Theme, qtbot, two
) -> None:
    low, high = two
    still_session.latest = low
    page = OperatingPoint(still_session, theme)
    qtbot.addWidget(page)
    page.resize(1100, 660)
    page.show()
    still_session.pin()
    still_session.latest = high
    page.show_full(high)
    plots = page.duty_plots
    for plot, name in ((plots.power, "average_power"), (plots.current, "peak_current")):
        np.testing.assert_array_equal(plot.pinned[0][1], getattr(low.results.curves, name))
        np.testing.assert_array_equal(plot.curve(0)[1], getattr(high.results.curves, name))
        assert " (+" in plot.readout
    change = high.results.average_power - low.results.average_power
    number = plots.power.y_axis.text(change).partition(" ")[0]
    assert f"(+{number})" in plots.power.readout
    drain = page.waves.cycle.strips[1]
    assert drain.pinned[0][1].max() < drain.curve(0)[1].max()
    assert "(+" in plain(page.waves.cycle.figure(1))
    page.waves.tabs.setCurrentIndex(RING_UP)
    assert page.waves.ring_up.pinned[0][1].max() < page.waves.ring_up.curve(0)[1].max()
    page.waves.tabs.setCurrentIndex(PERIOD)
    assert page.waves.period.strips[2].pinned
    still_session.pin(False)
    assert not plots.power.pinned
    assert not drain.pinned
    assert "(+" not in plots.power.readout


def test_the_pin_is_set_and_taken_by_its_key(window: MainWindow, qtbot, two) -> None:
    keys = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    QTest.keyClick(window, Qt.Key.Key_P, keys)
    assert window.session.pinned is None
    assert "Nothing to pin" in window.findChild(Notice).text_in_full
    window.session.latest = two[0]
    QTest.keyClick(window, Qt.Key.Key_P, keys)
    assert window.session.pinned is window.session.latest
    QTest.keyClick(window, Qt.Key.Key_P, keys)
    assert window.session.pinned is None
