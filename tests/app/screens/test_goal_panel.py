"""Reach a goal: the form offers what the design has, a found design is applied, undone, kept."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt

from burstwise.app.screens.limits import goal_panel
from burstwise.app.screens.limits.goal_panel import GoalPanel
from burstwise.app.session import Session
from burstwise.app.wiring import examples_folder
from burstwise.core.drawer import Drawer, DrawerPart, parts_from
from burstwise.core.evaluate import evaluate
from burstwise.core.limits.device_classes import devices_by_name
from burstwise.core.search import search, trade_off
from burstwise.core.search.proposals import Reach
from burstwise.core.storage import load

PATIENCE = 120_000
SECONDARY = "coil.geometry.secondary"


@pytest.fixture
def panel(
    qtbot, full_session: Session, theme, monkeypatch: pytest.MonkeyPatch
) -> Iterator[GoalPanel]:
    def short(design, wish, free, *, seconds, go_on):
        return search(design, wish, free, evaluations=40, processes=0, go_on=go_on)

    monkeypatch.setattr(goal_panel, "search", functools.wraps(search)(short))
    design = load(examples_folder() / "classroom-gated-interrupted.burstwise")
    full_session.document.open(design, None)
    made = GoalPanel(full_session, theme)
    qtbot.addWidget(made)
    made.resize(1114, 560)
    with qtbot.waitActive(made):
        made.show()
    full_session.refresh()
    qtbot.waitUntil(lambda: made.results is not None, timeout=PATIENCE)
    yield made
    made.worker.close()


def choose(panel: GoalPanel, *titles: str) -> None:
    for row in panel.form.rows:
        row.box.setChecked(row.title in titles)


def test_the_form_offers_what_the_design_uses(panel: GoalPanel) -> None:
    titles = [row.title for row in panel.form.rows]
    assert "Supply voltage" in titles
    assert not any("Snubber" in title for title in titles) or (
        panel.session.document.design.protection.snubber is not None
    )
    ticked = {row.item.free.path for row in panel.form.rows if row.box.isChecked()}
    assert ticked == {
        row.item.free.path for row in panel.form.rows if row.item.within(Reach.PRIMARY)
    }
    panel.form.reach.setCurrentIndex(len(Reach) - 1)
    assert all(row.box.isChecked() for row in panel.form.rows)


def test_nothing_starts_by_itself_and_a_bad_range_is_told(panel: GoalPanel, qtbot) -> None:
    assert not panel.worker.busy
    assert panel.table.rowCount() == 0
    choose(panel)
    qtbot.mouseClick(panel.begin_button, Qt.MouseButton.LeftButton)
    assert "at least one field" in panel.status.text()
    choose(panel, "Supply voltage")
    row = next(row for row in panel.form.rows if row.title == "Supply voltage")
    assert row.high is not None
    entry = row.high.entry
    entry.selectAll()
    qtbot.keyClicks(entry, "3 V")
    qtbot.keyClick(entry, Qt.Key.Key_Return)
    qtbot.mouseClick(panel.begin_button, Qt.MouseButton.LeftButton)
    assert "Supply voltage" in panel.status.text()
    assert not panel.worker.busy


def test_search_apply_undo_and_keep(panel: GoalPanel, qtbot) -> None:
    before = panel.session.document.design
    choose(panel, "Supply voltage", "Duty")
    entry = panel.form.conditions[0][1].entry
    entry.selectAll()
    qtbot.keyClicks(entry, "10")
    qtbot.keyClick(entry, Qt.Key.Key_Return)
    qtbot.mouseClick(panel.begin_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: panel.answer is not None, timeout=PATIENCE)
    assert panel.answer is not None
    assert panel.table.rowCount() == len(panel.answer.found) >= 1
    best = panel.answer.found[0]
    assert evaluate(best.design, verify=False).first_limit.margin >= 0.1
    assert panel.reasons.text().startswith("Held back by")
    qtbot.mouseClick(panel.keep_button, Qt.MouseButton.LeftButton)
    assert "Kept as" in panel.status.text()
    assert panel.session.document.design.variants[-1].name.startswith("Found: highest top voltage")
    panel.session.document.undo()
    panel.table.setCurrentCell(0, 0)
    qtbot.mouseClick(panel.button, Qt.MouseButton.LeftButton)
    assert panel.session.document.design.supply.voltage == best.values["supply.voltage"]
    panel.session.document.undo()
    assert panel.session.document.design == before


def test_where_all_cannot_be_had_one_click_takes_what_can(panel: GoalPanel, qtbot) -> None:
    choose(panel, "Supply voltage", "Duty")
    box, field = panel.form.conditions[1]
    assert box.text() == "Top voltage at least"
    box.setChecked(True)
    field.set_value(60e3)
    assert not panel.take_button.isVisible()
    qtbot.mouseClick(panel.begin_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: panel.answer is not None, timeout=PATIENCE)
    assert panel.answer is not None
    assert not panel.answer.found
    assert not panel.button.isEnabled()
    nearest = panel.answer.nearest
    assert nearest is not None
    assert nearest.text in panel.reasons.text()
    qtbot.waitUntil(lambda: not panel.worker.busy, timeout=PATIENCE)
    qtbot.mouseClick(panel.take_button, Qt.MouseButton.LeftButton)
    assert not panel.take_button.isVisible()
    eased = {keep.name: keep.limit for keep in nearest.eased}
    assert field.value == eased["burst.top_voltage_reached_V"] < 60e3
    assert panel.form.wish() == nearest.wish
    assert panel.table.rowCount() == 1
    assert panel.table.item(0, 3).text().endswith("%"), "its builds were looked at, too"
    qtbot.mouseClick(panel.button, Qt.MouseButton.LeftButton)
    design = panel.session.document.design
    assert design.supply.voltage == nearest.found.values["supply.voltage"]
    assert evaluate(design, verify=False).first_limit.margin >= 0.0


def test_parts_come_from_the_drawer_where_it_has_some(panel: GoalPanel, qtbot) -> None:
    form, drawer = panel.form, panel.session.drawer
    form.reach.setCurrentIndex(len(Reach) - 1)
    box = form.drawer.box

    def row(path: str):
        return next(row for row in form.rows if row.item.free.path == path)

    supply = row("supply.voltage")
    supply.low.set_value(20.0)
    supply.box.setChecked(False)
    qtbot.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(8, box.height() // 2))
    assert row("supply.voltage") is supply, "an empty drawer changes nothing"
    tube, wire = f"{SECONDARY}.former_diameter", f"{SECONDARY}.wire_diameter"
    drawer.keep(Drawer(parts_from("tube", "40mm 63mm", "", "")))
    assert row(tube).listed.text() == "2 from the drawer"
    assert "sold" in row(wire).listed.text()
    drawer.keep(drawer.parts.with_parts(parts_from("wire", "0.25mm", "", "")))
    assert row(wire).listed.text() == "1 from the drawer"
    free = {one.path: one for one in form.free()}
    assert free[tube].choices == (0.04, 0.063)
    assert free[wire].choices == (0.25e-3,)
    assert "supply.voltage" not in free, "what was ticked off stays so"
    assert row("supply.voltage").low.value == 20.0, "and what was typed stays"
    bad = DrawerPart("device", math.nan, "no such class")
    drawer.keep(drawer.parts.with_parts([bad]))
    assert "no such class" in panel.status.text()
    drawer.keep(drawer.parts.without([bad]))
    assert "no such class" not in panel.status.text()
    qtbot.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(8, box.height() // 2))
    assert row(tube).low is not None


def test_a_design_of_what_lies_in_the_drawer_is_found_and_applied(panel: GoalPanel, qtbot) -> None:
    name = "650 V, 30 A superjunction, non-isolated"
    parts = [*parts_from("tube", "54mm", "", ""), *parts_from("wire", "0.25mm", "", "")]
    panel.session.drawer.keep(Drawer((*parts, *parts_from("device", "", name, ""))))
    box = panel.form.drawer.box
    qtbot.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(8, box.height() // 2))
    for row in panel.form.rows:
        row.box.setChecked(row.listed is not None and "drawer" in row.listed.text())
    panel.form.conditions[0][0].setChecked(False)
    panel.form.aim.setCurrentText("Largest smallest margin")
    qtbot.mouseClick(panel.begin_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: panel.answer is not None, timeout=PATIENCE)
    qtbot.mouseClick(panel.button, Qt.MouseButton.LeftButton)
    design = panel.session.document.design
    secondary = design.coil.geometry.secondary
    assert (secondary.former_diameter, secondary.wire_diameter) == (0.054, 0.25e-3)
    assert design.device == devices_by_name()[name]


@pytest.mark.slow
def test_a_trade_off_is_drawn_and_its_points_are_chosen(
    panel: GoalPanel, qtbot, monkeypatch
) -> None:
    def short(design, wish, free, sweep, *, seconds, go_on):
        return trade_off(design, wish, free, sweep, evaluations=100, processes=0, go_on=go_on)

    monkeypatch.setattr(goal_panel, "trade_off", short)
    before = panel.session.document.design
    assert not panel.plot.isVisible()
    choose(panel, "Supply voltage", "Duty")
    panel.curve.setCurrentText("Curve over the power")
    qtbot.mouseClick(panel.begin_button, Qt.MouseButton.LeftButton)
    assert "Curve over the power" in panel.status.text(), "the condition is not ticked"
    panel.curve.setCurrentText("Curve over the margin")
    qtbot.mouseClick(panel.begin_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: panel.trade is not None, timeout=PATIENCE)
    trade = panel.trade
    assert trade is not None
    assert panel.table.rowCount() == len(trade.points)
    assert panel.plot.isVisible()
    plot = panel.plot.plot
    assert plot is not None
    xs, _ = plot.curve(0)
    held = [point for point in trade.points if point.found is not None]
    assert xs.tolist() == [point.value for point in held]
    assert len(held) >= 2
    # A click beside the last point chooses its row.
    frame = plot.frame
    at = plot.view.mapFromScene(QPointF(frame.rect.right() - 2.0, frame.rect.center().y()))
    qtbot.mouseClick(plot.view.viewport(), Qt.MouseButton.LeftButton, pos=at)
    row = trade.points.index(held[-1])
    assert panel.table.currentRow() == row

    def the_mouse_left() -> bool:  # it may still be told to be there
        plot.set_cursor(None)
        return bool(plot.readout.startswith("now"))

    qtbot.waitUntil(the_mouse_left)
    assert held[-1].found is not None
    qtbot.mouseClick(panel.button, Qt.MouseButton.LeftButton)
    supply = panel.session.document.design.supply.voltage
    assert supply == held[-1].found.values["supply.voltage"]
    panel.session.document.undo()
    assert panel.session.document.design == before


@pytest.mark.slow
def test_a_stop_shows_what_there_is(panel: GoalPanel, qtbot, monkeypatch) -> None:
    monkeypatch.setattr(
        goal_panel,
        "search",
        lambda design, wish, free, *, seconds, go_on: search(
            design, wish, free, evaluations=4000, processes=0, go_on=go_on
        ),
    )
    choose(panel, "Supply voltage", "Duty")
    qtbot.mouseClick(panel.begin_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: panel.status.text().startswith("Best so far"), timeout=PATIENCE)
    qtbot.mouseClick(panel.stop_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: panel.answer is not None, timeout=PATIENCE)
    assert panel.answer is not None
    assert panel.answer.stopped
    assert panel.status.text().startswith("stopped")
    assert panel.table.rowCount() >= 1
