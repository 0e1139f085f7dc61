from __future__ import annotations

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt

from burstwise.app.plots.axis import Axis
from burstwise.app.plots.strip_stack import StripStack

TIME = np.linspace(0.0, 1e-6, 201)


@pytest.fixture
def stack(theme, qtbot) -> StripStack:
    made = StripStack(
        theme,
        x=Axis("Time", "s"),
        signals=(Axis("Gate voltage", "V"), Axis("Drain voltage", "V"), Axis("Current", "A")),
    )
    qtbot.addWidget(made)
    made.resize(720, 280)
    with qtbot.waitActive(made):
        made.show()
    made.set_data(TIME, 12 * np.ones(201), 180 * np.sin(TIME * 6e6), 5e6 * TIME)
    return made


def test_strips_share_one_axis_and_stand_in_line(stack: StripStack) -> None:
    spans = {(strip.x_span.low, strip.x_span.high) for strip in stack.strips}
    assert spans == {(0.0, 1e-6)}
    frames = [strip.view.mapTo(stack, QPoint(0, 0)).x() for strip in stack.strips]
    assert len(set(frames)) == 1
    tops = [strip.geometry().top() for strip in stack.strips]
    assert tops == sorted(tops)
    heights = {round(strip.box.sceneBoundingRect().height() / 4) for strip in stack.strips}
    assert max(heights) - min(heights) <= 1


def test_the_range_stands_beside_each_strip(stack: StripStack) -> None:
    assert stack.figure(0) == "12 V to 12 V"
    assert stack.figure(2) == "0 A to 5 A"
    assert "Drain voltage −" in stack.accessibleDescription()


def test_the_mouse_in_one_strip_reads_all_of_them(stack: StripStack, qtbot) -> None:
    strip = stack.strips[0]
    view = strip.view.viewport()
    middle = strip.view.mapFromScene(strip.box.sceneBoundingRect().center())
    qtbot.mouseMove(view, middle)
    qtbot.waitUntil(lambda: " at " in stack.figure(2))
    figure, _, place = stack.figure(2).partition(" A at ")
    assert float(figure) == pytest.approx(2.5, abs=0.02)
    assert float(place.removesuffix(" ns")) == pytest.approx(500, abs=4)
    stack.strips[1].setFocus()
    qtbot.keyClick(stack.strips[1], Qt.Key.Key_Escape)
    assert stack.figure(2) == "0 A to 5 A"


def test_no_data_is_a_dash(stack: StripStack) -> None:
    stack.set_data((), (), (), ())
    assert stack.figure(1) == "—"
