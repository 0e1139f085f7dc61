"""Drags with a real mouse and real keys: round steps, one undo step each, Escape restores."""

from __future__ import annotations

import math

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from burstwise.app.binding import bind_value
from burstwise.app.plots.axis import Axis
from burstwise.app.plots.map_picture import Regions
from burstwise.app.plots.map_plot import MapPlot
from burstwise.app.screens.coil.screen import CoilScreen
from burstwise.app.screens.operating_point.screen import OperatingPoint
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.drag import edit_by_drag, round_step, snapped
from burstwise.app.widgets.slider_field import SliderField

LEFT, CONTROL = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.ControlModifier


def with_control(widget: QWidget, *keys: Qt.Key, let_go: bool = True) -> None:
    """Hold Ctrl and press keys, as a hand does: Ctrl is let go once, at the end."""
    press, release = QEvent.Type.KeyPress, QEvent.Type.KeyRelease
    QApplication.sendEvent(widget, QKeyEvent(press, Qt.Key.Key_Control, CONTROL))
    for key in keys:
        for kind in (press, release):
            QApplication.sendEvent(widget, QKeyEvent(kind, key, CONTROL))
    if let_go:
        none = Qt.KeyboardModifier.NoModifier
        QApplication.sendEvent(widget, QKeyEvent(release, Qt.Key.Key_Control, none))


def pull(widget: QWidget, start: QPointF, *ways: tuple[int, int]) -> QPoint:
    """Press, then move by each way from where the press was; the button stays down."""
    at = start.toPoint()
    QTest.mousePress(widget, LEFT, pos=at)
    for x, y in ways:
        QTest.mouseMove(widget, at + QPoint(x, y))
    return at + QPoint(*ways[-1])


@pytest.mark.parametrize("per_pixel", [1e-6, 0.0031, 0.12, 7.0])
def test_steps_are_round_and_no_less_than_three_pixels(per_pixel: float) -> None:
    step = round_step(per_pixel)
    head = step / 10.0 ** math.floor(math.log10(step) + 1e-9)
    assert min(abs(head - part) for part in (1.0, 2.0, 5.0)) < 1e-6
    assert 3.0 * per_pixel * (1 - 1e-9) <= step < 7.6 * per_pixel
    assert abs(snapped(123.456 * step, per_pixel) - 123.0 * step) < 1e-6 * step


def test_a_step_given_up_leaves_no_undo_and_the_design_as_before(still_session: Session) -> None:
    document = still_session.document
    before = document.design
    document.edit("supply.voltage", 40.0, live=True)
    document.edit("supply.voltage", 41.0, live=True)
    document.drop_step()
    assert document.design == before
    assert document.undo_stack.count() == 0, "neither undo nor redo"
    assert not document.unsaved
    document.drop_step()
    document.edit("supply.voltage", 42.0)
    document.drop_step()
    assert document.value("supply.voltage") == 42.0


def test_escape_in_a_sliders_drag_restores(still_session: Session, qtbot) -> None:
    document = still_session.document
    field = SliderField("&Supply", "V", low=1.0, high=100.0, value=36.0)
    bind_value(document, "supply.voltage", field)
    qtbot.addWidget(field)
    field.resize(400, 80)
    field.show()
    slider = field.slider
    released = []
    slider.sliderReleased.connect(lambda: released.append(True))
    at = pull(slider, QPointF(slider.handle_centre(), slider.height() / 2), (40, 0), (90, 0))
    assert document.value("supply.voltage") > 40.0
    QTest.keyClick(slider, Qt.Key.Key_Escape)
    assert document.value("supply.voltage") == 36.0
    assert released == [True]
    QTest.mouseMove(slider, at + QPoint(30, 0))
    QTest.mouseRelease(slider, LEFT, pos=at)
    assert document.value("supply.voltage") == field.value == 36.0
    assert not document.undo_stack.canUndo()
    pull(slider, QPointF(slider.handle_centre(), slider.height() / 2), (40, 0))
    QTest.mouseRelease(slider, LEFT, pos=at)
    assert document.undo_stack.count() == 1


@pytest.fixture
def page(still_session: Session, theme: Theme, qtbot) -> OperatingPoint:
    made = OperatingPoint(still_session, theme)
    qtbot.addWidget(made)
    made.resize(1100, 660)
    with qtbot.waitActive(made):
        made.show()
    duty = np.linspace(0.0, 1.0, 11)
    power = made.duty_plots.power
    power.set_data(duty, 50.0 * duty)
    power.set_point(0.3, (15.0,))
    return made


def duty_of(session: Session) -> float:
    return float(session.document.value("interrupter.duty"))


def test_the_point_of_a_duty_plot_is_dragged(page: OperatingPoint, still_session: Session) -> None:
    still_session.document.edit("interrupter.duty", 0.3)
    still_session.document.undo_stack.clear()
    plot = page.duty_plots.power
    frame, view = plot.frame, plot.view.viewport()
    start = QPointF(plot.view.mapFromScene(frame.point(0.3, 15.0)))
    wide = round(0.2 * frame.rect.width())
    end = pull(view, start, (wide // 2, 0), (wide, 3))
    assert abs(duty_of(still_session) - 0.5) < 0.02
    step = round_step(1.0 / frame.rect.width())
    assert abs(duty_of(still_session) / step - round(duty_of(still_session) / step)) < 1e-6
    QTest.mouseRelease(view, LEFT, pos=end)
    assert still_session.document.undo_stack.count() == 1
    assert still_session.document.undo_stack.undoText() == "Duty"
    plot.set_point(duty_of(still_session), (25.0,))
    start = QPointF(plot.view.mapFromScene(frame.point(duty_of(still_session), 25.0)))
    kept = duty_of(still_session)
    end = pull(view, start, (-wide, 0))
    assert duty_of(still_session) < kept
    QTest.keyClick(plot, Qt.Key.Key_Escape)
    assert duty_of(still_session) == kept
    QTest.mouseMove(view, end - QPoint(20, 0))
    QTest.mouseRelease(view, LEFT, pos=end)
    assert duty_of(still_session) == kept
    assert still_session.document.undo_stack.count() == 1


def test_arrows_move_the_point_in_one_undo_step(
    page: OperatingPoint, still_session: Session
) -> None:
    still_session.document.edit("interrupter.duty", 0.3)
    still_session.document.undo_stack.clear()
    plot = page.duty_plots.power
    plot.setFocus()
    step = round_step(1.0 / plot.frame.rect.width())
    still_session.document.changed.connect(
        lambda design: plot.set_point(design.interrupter.duty, (15.0,))
    )
    with_control(plot, *[Qt.Key.Key_Right] * 3, let_go=False)
    assert duty_of(still_session) == pytest.approx(0.3 + 3 * step)
    QTest.keyClick(plot, Qt.Key.Key_Escape)
    assert duty_of(still_session) == 0.3
    assert not still_session.document.undo_stack.canUndo()
    with_control(plot, Qt.Key.Key_Right, Qt.Key.Key_Right)
    assert still_session.document.undo_stack.count() == 1


def test_a_press_beside_the_point_takes_nothing(
    page: OperatingPoint, still_session: Session
) -> None:
    plot = page.duty_plots.power
    before = still_session.document.design
    start = QPointF(plot.view.mapFromScene(plot.frame.point(0.7, 15.0)))
    end = pull(plot.view.viewport(), start, (40, 0))
    QTest.mouseRelease(plot.view.viewport(), LEFT, pos=end)
    assert still_session.document.design == before


def test_the_point_turns_the_knob_of_timer_parts(
    page: OperatingPoint, still_session: Session
) -> None:
    from burstwise.core.interrupter.resolve import duty_reach, value_in_use

    document = still_session.document
    document.edit("interrupter.given_by", "parts")
    low, high = duty_reach(document.design)
    plot = page.duty_plots.power
    duty = float(value_in_use(document.design, "interrupter.duty"))
    plot.set_point(duty, (15.0,))
    typed = duty_of(still_session)
    view, start = plot.view.viewport(), plot.view.mapFromScene(plot.frame.point(duty, 15.0))
    aim = low if duty > 0.5 * (low + high) else high
    far = round((aim - duty) * plot.frame.rect.width())
    end = pull(view, QPointF(start), (far // 2, 0))
    QTest.mouseRelease(view, LEFT, pos=end)
    now = float(value_in_use(document.design, "interrupter.duty"))
    assert now == pytest.approx(duty + 0.5 * (aim - duty), abs=0.02)
    assert duty_of(still_session) == typed


def test_the_supply_is_dragged_on_the_drain_voltages_scale(
    page: OperatingPoint, still_session: Session
) -> None:
    document = still_session.document
    strip, grip = page.waves.cycle.strips[1], page.waves.supply
    strip.set_data(np.linspace(0, 1e-6, 50), 100.0 * np.linspace(0, 1, 50))
    document.edit("supply.voltage", 40.0)
    document.undo_stack.clear()
    assert grip.value == 40.0
    assert grip.words == "↕ supply 40 V"
    frame, view = strip.frame, strip.view.viewport()
    start = QPointF(strip.view.mapFromScene(frame.point(0.5e-6, 40.0)))
    up = round(frame.rect.height() * 20.0 / frame.y.width)
    end = pull(view, start, (0, -up // 2), (0, -up))
    volts = document.value("supply.voltage")
    assert volts == pytest.approx(60.0, abs=1.5 * round_step(frame.y.width / frame.rect.height()))
    assert grip.value == volts
    QTest.mouseRelease(view, LEFT, pos=end)
    assert document.undo_stack.count() == 1
    pull(view, QPointF(end), (0, up))
    QTest.keyClick(strip, Qt.Key.Key_Escape)
    assert document.value("supply.voltage") == volts


@pytest.fixture
def plot(theme: Theme, qtbot, still_session: Session) -> MapPlot:
    made = MapPlot(theme)
    qtbot.addWidget(made)
    made.resize(640, 400)
    with qtbot.waitActive(made):
        made.show()
    xs, ys = np.linspace(1.0, 61.0, 31), np.geomspace(10.0, 1000.0, 21)
    level = np.ones((21, 31))
    made.show_regions(
        Regions(
            x=Axis("Supply voltage", "V"),
            y=Axis("Interrupter frequency", "Hz"),
            xs=xs,
            ys=ys,
            x_log=False,
            y_log=True,
            names=("one",),
            which=np.zeros((21, 31), dtype=np.intp),
            level=level,
        )
    )
    document = still_session.document
    document.edit_many({"supply.voltage": 36.0, "interrupter.frequency": 100.0})
    made.set_point(36.0, 100.0)
    edit_by_drag(
        document,
        made.drag,
        lambda at: {"supply.voltage": at[0], "interrupter.frequency": at[1]},
        text="Drag in the map",
    )
    document.changed.connect(
        lambda design: made.set_point(design.supply.voltage, design.interrupter.frequency)
    )
    document.undo_stack.clear()
    return made


def test_the_point_of_the_map_is_dragged(plot: MapPlot, still_session: Session) -> None:
    document = still_session.document
    aim = plot.pixel(48.0, 300.0) - plot.pixel(36.0, 100.0)
    end = pull(plot, plot.pixel(36.0, 100.0), (20, -5), (round(aim.x()), round(aim.y())))
    volts, hertz = plot.point
    assert volts == document.value("supply.voltage")
    assert volts == pytest.approx(48.0, abs=0.6)
    assert hertz == pytest.approx(300.0, rel=0.05)
    assert volts == round(volts * 2) / 2
    QTest.mouseRelease(plot, LEFT, pos=end)
    assert document.undo_stack.count() == 1
    document.undo()
    assert plot.point == (36.0, 100.0)
    pull(plot, plot.pixel(36.0, 100.0), (500, -900))
    assert plot.point == (61.0, pytest.approx(1000.0))
    QTest.keyClick(plot, Qt.Key.Key_Escape)
    assert plot.point == (36.0, 100.0)
    QTest.mouseRelease(plot, LEFT, pos=end)
    assert plot.point == (36.0, 100.0)


def test_arrows_move_the_point_of_the_map(plot: MapPlot, still_session: Session) -> None:
    plot.setFocus()
    with_control(plot, Qt.Key.Key_Right, Qt.Key.Key_Right, Qt.Key.Key_Up)
    assert plot.point[0] == pytest.approx(37.0)
    assert 101.0 < plot.point[1] < 110.0
    assert still_session.document.undo_stack.count() == 1


@pytest.fixture
def coil(still_session: Session, theme: Theme, qtbot) -> CoilScreen:
    still_session.document.edit("coil.given_by", "geometry")
    made = CoilScreen(still_session, theme)
    qtbot.addWidget(made)
    made.resize(1366, 720)
    with qtbot.waitActive(made):
        made.show()
    still_session.document.undo_stack.clear()
    return made


@pytest.mark.parametrize(
    ("name", "way", "path", "sign"),
    [
        ("primary", (14, 0), "coil.geometry.primary.inner_radius", 1),
        ("primary", (2, -8), "coil.geometry.primary.start_height", 1),
        ("length", (0, -30), "coil.geometry.secondary.turns", 1),
        ("former", (-6, 0), "coil.geometry.secondary.former_diameter", -1),
        ("top", (10, 0), "coil.geometry.top_load.diameter", 1),
        ("height", (0, -12), "coil.geometry.top_load.centre_height", 1),
    ],
)
def test_edges_of_the_coil_are_dragged_with_live_figures(
    coil: CoilScreen, still_session: Session, name: str, way, path: str, sign: int
) -> None:
    document, drawing = still_session.document, coil.drawing
    before = document.value(path)
    start = drawing.place_of(name)
    figures = []
    coil.work.resolved.connect(lambda state: figures.append(state.coil.resonance))
    end = pull(drawing, start, (way[0] // 2, way[1] // 2), way)
    assert (document.value(path) - before) * sign > 0
    assert figures, "f0 follows within the drag"
    held = drawing.place_of(name)
    assert (held - QPointF(end)).manhattanLength() < 8.0, "the edge is under the hand"
    QTest.mouseRelease(drawing, LEFT, pos=end)
    assert document.undo_stack.count() == 1
    moved = document.design
    pull(drawing, drawing.place_of(name), (-way[0], -way[1]))
    QTest.keyClick(drawing, Qt.Key.Key_Escape)
    assert document.design == moved
    QTest.mouseRelease(drawing, LEFT, pos=end)
    assert document.design == moved


def test_a_primary_is_not_dragged_into_the_secondary(
    coil: CoilScreen, still_session: Session
) -> None:
    drawing = coil.drawing
    start = drawing.place_of("primary")
    axis = drawing.place_of("length").x()
    end = pull(drawing, start, (-4, 0), (round(axis - start.x()) + 3, 0))
    radius = still_session.document.value("coil.geometry.primary.inner_radius")
    former = still_session.document.value("coil.geometry.secondary.former_diameter")
    assert radius > 0.5 * former
    QTest.mouseRelease(drawing, LEFT, pos=end)


def test_space_and_arrows_move_an_edge(coil: CoilScreen, still_session: Session) -> None:
    document, drawing = still_session.document, coil.drawing
    drawing.setFocus()
    before = document.value("coil.geometry.secondary.turns")
    QTest.keyClick(drawing, Qt.Key.Key_Space)
    QTest.keyClick(drawing, Qt.Key.Key_Space)
    with_control(drawing, Qt.Key.Key_Up, Qt.Key.Key_Up)
    assert document.value("coil.geometry.secondary.turns") > before
    assert document.undo_stack.count() == 1
