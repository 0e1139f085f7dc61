"""Limits screen on the real core: panels, a click in the map, a remedy applied and undone."""

from __future__ import annotations

from collections.abc import Iterator
from types import SimpleNamespace

import pytest
from PySide6.QtCore import QPoint, Qt
from scipy.interpolate import RegularGridInterpolator

from burstwise.app.screens.limits import chance_panel
from burstwise.app.screens.limits.screen import LimitsScreen
from burstwise.app.session import Session
from burstwise.app.wiring import examples_folder
from burstwise.core.interrupter.resolve import duty_reach, resolved_interrupter
from burstwise.core.storage import load
from burstwise.core.studies.chance import Chance
from burstwise.core.studies.remedy_kinds import KINDS
from burstwise.core.studies.response import FewStartError

PATIENCE = 60_000


@pytest.fixture
def session(full_session: Session) -> Session:
    spiking = load(examples_folder() / "classroom-gated-spiking.burstwise")
    full_session.document.open(spiking, None)
    return full_session


@pytest.fixture
def screen(qtbot, session: Session, theme) -> Iterator[LimitsScreen]:
    made = LimitsScreen(session, theme)
    qtbot.addWidget(made)
    made.resize(1114, 666)
    with qtbot.waitActive(made):
        made.show()
    yield made
    for panel in (made.map, made.order, made.remedies, made.protection, made.modes, made.chance):
        panel.worker.close()


@pytest.fixture
def ready(qtbot, session: Session, screen: LimitsScreen) -> LimitsScreen:
    session.refresh()
    qtbot.waitUntil(lambda: session.latest is not None, timeout=PATIENCE)
    return screen


def view(qtbot, screen: LimitsScreen, panel) -> None:
    bar = screen.tabs.tabBar()
    place = screen.tabs.indexOf(panel)
    qtbot.mouseClick(bar, Qt.MouseButton.LeftButton, pos=bar.tabRect(place).center())
    assert screen.tabs.currentWidget() is panel
    settle(qtbot, panel)


def settle(qtbot, panel) -> None:
    qtbot.waitUntil(lambda: not panel.worker.busy, timeout=PATIENCE)
    qtbot.wait(20)


def assert_margin_of_the_results(panel, session) -> None:
    """The margin drawn at the present point is that of the results there."""
    found, results = panel.map, session.latest.results
    at = panel.plot.point
    assert at == (results.design.supply.voltage, results.duty)
    drawn = RegularGridInterpolator((found.y.values, found.x.values), found.smallest)
    smallest = min(limit.margin for limit in results.limits)
    assert float(drawn(at[::-1])) == pytest.approx(smallest, abs=0.02)


def test_before_the_first_evaluation(screen, qtbot):
    assert screen.ratings.table.rowCount() == 0
    view(qtbot, screen, screen.order)
    assert "Waiting" in screen.order.status.text()


def test_ratings_first_to_break_on_top(ready, session):
    rows = ready.ratings.table.texts()
    assert rows[0][0] == "Peak drain voltage"
    assert "−14 %" in rows[0][2]
    assert {row[6] for row in rows} >= {"as designed", "no discharge", "lost loop"}
    assert ready.ratings.sentence.text().startswith(session.latest.results.first_limit.text)


def test_map_click_goes_there_and_undo_comes_back(qtbot, ready, session):
    view(qtbot, ready, ready.map)
    panel = ready.map
    assert panel.map is not None
    assert panel.map.share == 1.0
    assert "Peak drain voltage" in panel.plot.labels
    assert "Peak drain voltage breaks first" in panel.readout.text()
    assert_margin_of_the_results(panel, session)
    goal = panel.plot.pixel(30.0, 0.2).toPoint()
    qtbot.mouseMove(panel.plot, goal)
    assert panel.readout.text().startswith("At supply voltage")
    qtbot.mouseClick(panel.plot, Qt.MouseButton.LeftButton, pos=goal)
    assert session.document.design.supply.voltage == pytest.approx(30.0, rel=0.02)
    assert session.document.design.interrupter.duty == pytest.approx(0.2, abs=0.01)
    session.document.undo()
    assert session.document.design.supply.voltage == 56.0
    settle(qtbot, panel)


def test_a_dragged_point_leaves_its_map_as_it_is(qtbot, ready, session, theme):
    view(qtbot, ready, ready.map)
    panel, before, found = ready.map, session.latest, ready.map.map
    start = panel.plot.pixel(*panel.plot.point).toPoint()
    qtbot.mousePress(panel.plot, Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(panel.plot, start + QPoint(-40, -20))
    assert panel.plot.point[0] == session.document.value("supply.voltage")
    assert panel.plot.point[1] == session.document.value("interrupter.duty")
    qtbot.mouseRelease(panel.plot, Qt.MouseButton.LeftButton, pos=start + QPoint(-40, -20))
    qtbot.waitUntil(lambda: session.latest is not before, timeout=PATIENCE)
    assert not panel.worker.busy
    assert panel.map is found
    assert panel.results is session.latest.results
    assert_margin_of_the_results(panel, session)
    session.document.edit("cooling.sink_resistance", 9.0)
    # Of another sink it is made anew. (Its runs are kept, so that may be done within one look.)
    qtbot.waitUntil(lambda: panel.map is not found, timeout=PATIENCE)
    settle(qtbot, panel)
    again = LimitsScreen(session, theme)  # made with results at hand
    qtbot.addWidget(again)
    assert again.map.results is session.latest.results


def test_a_map_click_turns_the_knob_of_timer_parts_or_says_why_not(ready, session):
    panel, document = ready.map, session.document
    document.edit("interrupter.given_by", "parts")
    design = document.design
    low, high = duty_reach(design)
    panel.map = SimpleNamespace(
        x=SimpleNamespace(path="supply.voltage"), y=SimpleNamespace(path="interrupter.duty")
    )
    panel._go(30.0, 0.5 * (low + high))
    assert resolved_interrupter(document.design).duty == pytest.approx(0.5 * (low + high), rel=5e-3)
    assert document.value("interrupter.duty") == design.interrupter.duty
    assert document.value("supply.voltage") == 30.0
    document.undo()
    panel._go(30.0, min(high + 0.05, 1.0))
    assert document.design == design
    assert "as far as the timer's knob goes" in panel.status.text()


@pytest.mark.slow
def test_other_fields_on_the_map(qtbot, ready):
    view(qtbot, ready, ready.map)
    panel = ready.map
    panel.y_box.setCurrentIndex(panel.y_box.findData("cooling.sink_resistance"))
    settle(qtbot, panel)
    assert panel.map.y.path == "cooling.sink_resistance"
    assert panel.map.share == 1.0
    panel.x_box.setCurrentIndex(panel.x_box.findData("cooling.sink_resistance"))
    settle(qtbot, panel)
    assert panel.map.x.path != panel.map.y.path


@pytest.mark.slow
def test_axes_are_of_the_design_that_the_results_belong_to(qtbot, ready, session):
    """A part was fitted a moment ago; what is on the screen knows nothing of it yet."""
    view(qtbot, ready, ready.map)
    panel, latest = ready.map, session.latest
    fitted = "protection.snubber.capacitance"
    session.document.edit("protection.snubber", {"resistance": 100.0, "capacitance": 1e-9})
    panel.y_box.setCurrentIndex(panel.y_box.findData("cooling.sink_resistance"))
    assert session.latest is latest
    assert panel.x_box.findData(fitted) == -1
    panel.x_box.setCurrentIndex(panel.x_box.findData("interrupter.duty"))
    qtbot.waitUntil(lambda: session.latest is not latest, timeout=PATIENCE)
    assert panel.x_box.findData(fitted) >= 0
    latest = session.latest
    session.document.undo()
    panel.x_box.setCurrentIndex(panel.x_box.findData(fitted))
    assert session.latest is latest
    qtbot.waitUntil(lambda: session.latest is not latest, timeout=PATIENCE)
    assert panel.x_box.findData(fitted) == -1
    settle(qtbot, panel)
    assert panel.map.x.path == panel.x_box.currentData() != fitted


@pytest.mark.slow
def test_a_pass_that_comes_late_is_shown_with_the_design_it_was_begun_for(qtbot, ready, session):
    session.document.edit("protection.snubber", {"resistance": 100.0, "capacitance": 1e-9})
    view(qtbot, ready, ready.map)
    panel, latest = ready.map, session.latest
    qtbot.waitUntil(lambda: panel.x_box.findData("protection.snubber.capacitance") >= 0,
                    timeout=PATIENCE)  # fmt: skip
    panel.x_box.setCurrentIndex(panel.x_box.findData("protection.snubber.capacitance"))
    settle(qtbot, panel)
    late, latest = panel.map, session.latest
    ready.tabs.setCurrentIndex(0)
    session.document.undo()
    qtbot.waitUntil(lambda: session.latest is not latest, timeout=PATIENCE)
    assert panel.results.design.protection.snubber is None
    panel.take(late)
    assert panel.plot.point[0] == 1e-9


@pytest.mark.slow
def test_what_fails_first_with_side_loading(qtbot, ready):
    view(qtbot, ready, ready.order)
    panel = ready.order
    assert panel.summary.text().startswith("Peak drain voltage comes first, at 8")
    before = panel.order.highest_supply_loaded
    line = panel.capacitance.entry
    line.setFocus()
    line.selectAll()
    qtbot.keyClicks(line, "20 %")
    qtbot.keyClick(line, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: panel.order.side.capacitance == 0.2, timeout=PATIENCE)
    assert panel.order.highest_supply_loaded != before


def test_a_remedy_is_applied_by_key_and_undone(qtbot, ready, session, monkeypatch):
    few = tuple(kind for kind in KINDS if kind.name in ("supply", "snubber"))
    monkeypatch.setattr("burstwise.core.studies.remedies.KINDS", few)
    monkeypatch.setattr("burstwise.app.screens.limits.remedies_panel.devices_by_name", dict)
    view(qtbot, ready, ready.remedies)
    panel = ready.remedies
    assert len(panel.found) == 2
    row = next(i for i, item in enumerate(panel.found) if item.kind == "snubber")
    panel.table.setCurrentCell(row, 0)
    promised = panel.found[row].margin
    latest = session.latest
    qtbot.mouseClick(panel.button, Qt.MouseButton.LeftButton)
    assert session.document.design.protection.snubber is not None
    qtbot.waitUntil(lambda: session.latest is not latest, timeout=PATIENCE)
    after = {item.rating: item.margin for item in session.latest.results.limits}
    assert after["drain_voltage"] == pytest.approx(promised, abs=0.02)
    session.document.undo()
    assert session.document.design.protection.snubber is None
    settle(qtbot, panel)


def test_protection_is_fitted(qtbot, ready, session):
    view(qtbot, ready, ready.protection)
    panel = ready.protection
    assert [item.kind for item in panel.found][:3] == ["drain_clamp", "snubber", "reservoir_clamp"]
    panel.table.setCurrentCell(0, 0)
    assert "stays below 500 V" in panel.sentence.text()
    panel.table.setFocus()
    qtbot.keyClick(panel.table, Qt.Key.Key_Return)
    assert session.document.design.protection.drain_clamp.voltage < 500.0
    settle(qtbot, panel)


@pytest.mark.slow
def test_modes_and_chance(qtbot, ready):
    view(qtbot, ready, ready.modes)
    rows = {row[0]: row[1:] for row in ready.modes.table.texts()}
    assert rows["Duty"] == ["100 %", "30 %"]
    view(qtbot, ready, ready.chance)
    assert "All limits hold in" in ready.chance.summary.text()
    assert ready.chance.table.texts()[0][0] == "Peak drain voltage"


def test_what_stands_is_marked_where_nothing_new_can_be_told(qtbot, ready, monkeypatch):
    told = Chance(1000, 0.9, 0.01, (), (), 0.1, 1.0, ())
    monkeypatch.setattr(chance_panel, "chance", lambda _results, ask: told)
    view(qtbot, ready, ready.chance)
    assert "90 % of builds" in ready.chance.summary.text()

    def few(_results, ask):
        raise FewStartError(12, "at least 29 of 64 that start", 12 / 64)

    monkeypatch.setattr(chance_panel, "chance", few)
    ready.chance.start()
    settle(qtbot, ready.chance)
    assert ready.chance.status.text() == (
        "random builds must be at least 29 of 64 that start; instead received 12. "
        "What is shown belongs to an earlier design."
    )


def test_leaving_a_panel_stops_its_work(qtbot, ready):
    bar = ready.tabs.tabBar()
    place = ready.tabs.indexOf(ready.remedies)
    qtbot.mouseClick(bar, Qt.MouseButton.LeftButton, pos=bar.tabRect(place).center())
    qtbot.mouseClick(bar, Qt.MouseButton.LeftButton, pos=bar.tabRect(0).center())
    qtbot.waitUntil(lambda: not ready.remedies.worker.busy, timeout=PATIENCE)
    assert len(ready.remedies.found) < 5
