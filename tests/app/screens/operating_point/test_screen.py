"""The screen over real results of one example and over what can go wrong."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QLabel

from burstwise.app.explain_panel import ExplanationDialog
from burstwise.app.screens.operating_point.figures import figure_groups, loss_shares
from burstwise.app.screens.operating_point.screen import OperatingPoint
from burstwise.app.screens.operating_point.waves import CYCLE, PERIOD, RING_UP, WARM_UP
from burstwise.app.session import Evaluated, Session
from burstwise.app.wiring import new_design, summary_of
from burstwise.core.design.document import with_value
from burstwise.core.evaluate import evaluate
from burstwise.core.explain.explain import explain
from burstwise.core.findings import Severity
from burstwise.core.interrupter.resolve import duty_reach, resolved_interrupter
from burstwise.core.units import quantity, shown


@pytest.fixture(scope="module")
def results():
    return evaluate(new_design(), verify=False)


@pytest.fixture
def session(still_session):
    return still_session


@pytest.fixture
def page(session, theme, qtbot) -> OperatingPoint:
    made = OperatingPoint(session, theme)
    qtbot.addWidget(made)
    made.resize(1114, 666)
    with qtbot.waitActive(made):
        made.show()
    return made


def told(results) -> Evaluated:
    return Evaluated(results.design, results, summary_of(results))


def test_nothing_is_claimed_before_the_first_results(page: OperatingPoint) -> None:
    assert page.figures.groups == ()
    assert page.losses.shares == ()
    assert page.waves.cycle.figure(0) in ("", "—")
    for tab in range(page.waves.tabs.count()):
        page.waves.tabs.setCurrentIndex(tab)


def test_plots_mark_the_operating_point_and_the_limits(page: OperatingPoint, results) -> None:
    page.show_full(told(results))
    assert "30 %" in page.duty_plots.power.readout
    assert f"{results.average_power:.3g} W" in page.duty_plots.power.readout
    duty, power = page.duty_plots.power.curve(0)
    at = np.interp([0.3, 0.6], duty, power)
    assert at[0] == pytest.approx(results.average_power, rel=0.02)
    assert at[1] == pytest.approx(2 * at[0], rel=0.05)
    tags = [tag.text for tag in page.duty_plots.temperature.overlay.limit_tags]
    assert any("limit 150 °C" in tag for tag in tags)
    assert "peak" in page.duty_plots.temperature.readout


def test_figures_have_units_and_losses_add_up(results) -> None:
    rows = [figure for group in figure_groups(results) for figure in group.figures]
    assert len({row.name for row in rows}) == len(rows)
    assert all(row.value[-1].isalpha() or row.value[-1] in "%Ω" for row in rows)
    shares = loss_shares(results)
    assert sum(share.part for share in shares) == pytest.approx(1.0, abs=1e-9)
    assert [share.name for share in shares if share.marked] == ["Channel"]


def test_a_runaway_and_a_broken_rating_are_said_in_words(page, results) -> None:
    hot = replace(
        results.operation,
        junction_mean=math.inf,
        junction_peak=math.inf,
        junction_valley=math.inf,
    )
    curves = replace(
        results.curves,
        junction_mean=np.where(results.curves.duty > 0.5, np.inf, 60.0),
        junction_peak=np.where(results.curves.duty > 0.5, np.inf, 70.0),
    )
    page.show_full(told(replace(results, operation=hot, curves=curves)))
    assert page.figures.value("Junction peak") == "runs away"
    rows = {row.name: row for group in page.figures.groups for row in group.figures}
    assert rows["Junction peak"].severity is Severity.STOP
    tags = [tag.text for tag in page.duty_plots.temperature.overlay.limit_tags]
    assert any("runs away from 51" in tag for tag in tags)


def test_each_view_shows_its_waveforms(page: OperatingPoint, results, qtbot) -> None:
    page.show_full(told(results))
    waves = page.waves
    waves.tabs.setFocus()
    assert waves.tabs.currentIndex() == CYCLE
    drain = waves.cycle.strips[1].curve(0)[1]
    assert drain.max() == pytest.approx(results.carrier.drain_voltage_peak, rel=0.05)
    qtbot.keyClick(waves.tabs, Qt.Key.Key_Right)
    assert waves.tabs.currentIndex() == RING_UP
    time, top = waves.ring_up.curve(0)
    assert top[-1] == pytest.approx(results.carrier.top_voltage_peak, rel=0.03)
    assert time[-1] <= results.carrier.ring_up.time[-1]
    qtbot.keyClick(waves.tabs, Qt.Key.Key_Right)
    assert waves.tabs.currentIndex() == PERIOD
    time, current = waves.period.strips[0].curve(0)
    assert time[-1] == pytest.approx(1.0 / results.frequency)
    assert current[-1] == 0.0
    qtbot.keyClick(waves.tabs, Qt.Key.Key_Right)
    assert waves.tabs.currentIndex() == WARM_UP
    minutes, sink = waves.warm_up.curve(1)
    assert minutes[0] == 0.0
    assert sink[-1] == pytest.approx(results.operation.heat_sink, abs=0.2)


def test_a_quick_picture_moves_the_plots_and_leaves_the_waveforms(page, results) -> None:
    page.show_full(told(results))
    before = page.waves.cycle.strips[1].curve(0)[1]
    low = replace(results, curves=replace(results.curves, average_power=results.curves.duty))
    low = replace(low, carrier=replace(low.carrier, trace=None))
    page.show_quick(told(low))
    assert page.duty_plots.power.curve(0)[1][-1] == 1.0
    assert page.waves.cycle.strips[1].curve(0)[1] is before


def test_without_interrupter_its_controls_rest(page: OperatingPoint, session) -> None:
    assert page.controls.duty.isEnabled()
    page.controls.fitted.click()
    assert session.document.value("interrupter.enabled") is False
    assert not page.controls.duty.isEnabled()
    assert not page.controls.frequency.isEnabled()
    assert page.controls.remark.text() == "Drive on without a pause"
    page.controls.fitted.click()
    assert page.controls.duty.isEnabled()


def test_with_timer_parts_the_duty_slider_turns_their_knob(page, session, qtbot) -> None:
    controls, document = page.controls, session.document
    document.edit("interrupter.given_by", "parts")
    timer = resolved_interrupter(document.design)
    low, high = duty_reach(document.design)
    assert controls.duty.isEnabled()
    assert not controls.frequency.isEnabled()
    assert controls.duty.range == (low, high)
    assert (controls.duty.value, controls.frequency.value) == (timer.duty, timer.frequency)
    for end in (low, high):
        assert shown(end, "%", digits=3) in controls.remark.text()
    steps, typed = document.undo_stack.count(), document.value("interrupter.duty")
    slider = controls.duty.slider
    middle, start = slider.height() // 2, slider.handle_centre()
    qtbot.mousePress(slider, Qt.MouseButton.LeftButton, pos=QPoint(start, middle))
    for at in (0.6, 0.7, 0.8, 1.2):
        qtbot.mouseMove(slider, QPoint(round(at * slider.width()), middle))
    qtbot.mouseRelease(slider, Qt.MouseButton.LeftButton, pos=QPoint(slider.width() + 9, middle))
    assert resolved_interrupter(document.design).duty == pytest.approx(high, abs=1e-6)
    assert document.value("interrupter.parts.travel") == pytest.approx(1.0, abs=1e-6)
    assert document.value("interrupter.duty") == typed
    assert document.undo_stack.count() == steps + 1
    document.undo()
    assert controls.duty.value == timer.duty


def test_a_duty_beyond_the_knob_is_refused_with_its_stops(page, session, qtbot) -> None:
    document, field = session.document, page.controls.duty.field
    document.edit("interrupter.given_by", "parts")
    before = document.design
    field.setFocus()
    field.entry.selectAll()
    qtbot.keyClicks(field.entry, "100 %")
    qtbot.keyClick(field.entry, Qt.Key.Key_Return)
    assert "as far as the timer's knob goes" in field.error
    assert document.design is before
    document.edit("interrupter.given_by", "numbers")
    assert page.controls.duty.range == (0.0, 1.0)
    assert page.controls.duty.value == document.value("interrupter.duty")


def test_parts_that_do_not_run_leave_nothing_to_turn(page, session) -> None:
    session.document.edit_many(
        {
            "interrupter.given_by": "parts",
            "interrupter.parts.circuit": "astable-steered-output",
            "interrupter.parts.timer": "bipolar",
            "interrupter.parts.supply": 5.0,
        }
    )
    assert not page.controls.duty.isEnabled()
    assert page.controls.remark.text() == "The timer parts do not run"
    session.document.undo()
    assert page.controls.duty.isEnabled()


def test_the_supply_slider_takes_another_range_when_a_value_asks_for_it(page, session) -> None:
    assert page.controls.supply.range == (1.0, 60.0)
    session.document.edit("supply.voltage", 120.0)
    assert page.controls.supply.range == (1.0, 250.0)
    assert page.controls.supply.value == 120.0
    session.document.edit("supply.voltage", 12.0)
    assert page.controls.supply.range == (1.0, 250.0)
    session.document.open(with_value(new_design(), "supply.voltage", 12.0), None)
    assert page.controls.supply.range == (1.0, 24.0)


def test_a_bare_number_in_the_duty_field_is_per_cent_and_says_so(page, session, qtbot) -> None:
    field = page.controls.duty.field
    field.setFocus()
    field.entry.selectAll()
    qtbot.keyClicks(field.entry, "45")
    assert field.entry.needs_unit
    qtbot.keyClick(field.entry, Qt.Key.Key_Return)
    assert session.document.value("interrupter.duty") == pytest.approx(0.45)
    assert field.entry.text() == "45 %"
    field.entry.selectAll()
    qtbot.keyClicks(field.entry, "0.5")
    qtbot.keyClick(field.entry, Qt.Key.Key_Return)
    assert session.document.value("interrupter.duty") == pytest.approx(0.005)
    notes = [label.text() for label in page.controls.duty.findChildren(QLabel) if label.isVisible()]
    assert "○ taken as 0.5 %; a half is 50 %" in notes


@pytest.mark.parametrize("voltage", ["abc", "36 A", "1e9", ""])
def test_nonsense_marks_the_field_and_changes_nothing(page, session, qtbot, voltage) -> None:
    field = page.controls.supply.field
    field.setFocus()
    field.entry.selectAll()
    qtbot.keyClick(field.entry, Qt.Key.Key_Delete)
    qtbot.keyClicks(field.entry, voltage)
    qtbot.keyClick(field.entry, Qt.Key.Key_Return)
    assert field.error
    assert (
        session.document.value("supply.voltage")
        == with_value(new_design(), "supply.voltage", 36.0).supply.voltage
    )


def explained(page: OperatingPoint, qtbot) -> ExplanationDialog:
    dialogs = page.window().findChildren(ExplanationDialog)
    assert dialogs
    return dialogs[-1]


def test_every_figure_has_an_explanation_whose_number_is_the_one_shown(
    page: OperatingPoint, session: Session, results, qtbot
) -> None:
    session.latest = told(results)
    page.show_full(session.latest)
    for group in page.figures.groups:
        for figure in group.figures:
            assert figure.key, figure.name
            found = explain(results, figure.key)
            assert found.result_text
            number, unit = figure.value.split(" ", 1)
            if figure.key.startswith("limits."):
                # A rating explains its margin at the worst corner; the figure is one of the terms,
                # or stands in the words that tell what the stage as designed asks.
                asked = re.findall(r"as designed asks (.+)\.$", found.words)
                known = [quantity(text, unit[-1]) for text in asked]
                known += [term.value for term in found.terms]
                assert pytest.approx(quantity(figure.value, unit[-1]), rel=6e-3) in known
                continue
            shown_number, shown_unit = found.result_text.split(" ", 1)
            assert float(number) == pytest.approx(float(shown_number), rel=6e-3), figure.name
            assert unit == shown_unit, figure.name


def test_double_click_and_f1_explain_the_chosen_figure(
    page: OperatingPoint, session: Session, results, qtbot
) -> None:
    session.latest = told(results)
    page.show_full(session.latest)
    table = page.figures
    spot = QPoint(20, table.row_top("burst.average_power_W") + 5)
    qtbot.mouseClick(table, Qt.MouseButton.LeftButton, pos=spot)
    assert table.chosen_key == "burst.average_power_W"
    qtbot.mouseDClick(table, Qt.MouseButton.LeftButton, pos=spot)
    dialog = explained(page, qtbot)
    assert "verage power" in dialog.panel.title.text()
    dialog.reject()
    dialog.deleteLater()
    table.setFocus()
    qtbot.keyClick(table, Qt.Key.Key_Down)
    assert table.chosen_key == "burst.supply_droop_V"
    qtbot.keyClick(table, Qt.Key.Key_F1)
    dialog = explained(page, qtbot)
    assert "Bus droop" in dialog.panel.title.text()
    dialog.reject()
    dialog.deleteLater()
