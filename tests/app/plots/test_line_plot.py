from __future__ import annotations

import csv
from itertools import combinations

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QImage
from PySide6.QtSvg import QSvgRenderer

from burstwise.app.plots.axis import Axis
from burstwise.app.plots.export import export
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.plots.overlay import Limit
from burstwise.app.plots.ranges import Span
from burstwise.app.theme import DARK, LIGHT
from burstwise.core.errors import FileError
from burstwise.core.findings import Severity

DUTY = np.linspace(0.0, 1.0, 500)


@pytest.fixture
def plot(theme, qtbot) -> LinePlot:
    made = LinePlot(
        theme,
        x=Axis("Duty", "%"),
        y=Axis("Average power", "W", from_zero=True),
        curves=("input", "device"),
    )
    qtbot.addWidget(made)
    made.resize(420, 320)
    with qtbot.waitActive(made):
        made.show()
    made.set_x_range(0.0, 1.0)
    made.set_data(DUTY, 70 * DUTY, 30 * DUTY)
    return made


def colours_of(plot: LinePlot) -> set[str]:
    picture = plot.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    pixels = np.frombuffer(picture.constBits(), np.uint32) & 0xFFFFFF
    return {f"#{colour:06x}" for colour in np.unique(pixels)}


def test_curves_hold_the_data_given(plot: LinePlot) -> None:
    xs, ys = plot.curve(1)
    np.testing.assert_array_equal(xs, DUTY)
    np.testing.assert_array_equal(ys, 30 * DUTY)
    plot.set_curves([(DUTY, DUTY)])
    assert plot.curve(1)[0].size == 0


def test_ranges_hold_still_and_follow_large_changes(plot: LinePlot) -> None:
    assert (plot.x_span, plot.y_span) == (Span(0.0, 1.0), Span(0.0, 80.0))
    plot.set_data(DUTY, 60 * DUTY, 30 * DUTY)
    assert plot.y_span == Span(0.0, 80.0)
    plot.set_data(DUTY, 95 * DUTY, 30 * DUTY)
    assert plot.y_span.high >= 95.0
    plot.set_data(DUTY, 5e-3 * DUTY, 1e-3 * DUTY)
    assert plot.y_span.high < 8e-3


def test_units_with_prefix_in_the_title(plot: LinePlot) -> None:
    assert plot.title == "Average power [W]"
    plot.set_data(DUTY, 5e-3 * DUTY, 1e-3 * DUTY)
    assert plot.title == "Average power [mW]"
    plot.set_data(DUTY, 5e3 * DUTY, 1e3 * DUTY)
    assert plot.title == "Average power [kW]"


def test_not_a_number_is_a_gap_not_a_crash(plot: LinePlot) -> None:
    broken = 70 * DUTY
    broken[100:200] = np.nan
    plot.set_data(DUTY, broken, np.full(500, np.nan))
    assert plot.y_span == Span(0.0, 80.0)
    assert not plot.overlay.labels[1].isVisible()
    plot.grab()


def test_a_near_limit_is_within_the_range_and_a_far_one_at_the_edge(plot: LinePlot) -> None:
    plot.set_limits(
        (
            Limit(90.0, "power rating", Severity.CAUTION),
            Limit(900.0, "far rating"),
            Limit(0.5, "on-time cap", Severity.NOTE, vertical=True),
        )
    )
    assert plot.y_span.high >= 90.0
    texts = [tag.text for tag in plot.overlay.limit_tags]
    assert texts == ["▲ power rating", "↑ ● far rating", "○ on-time cap"]
    boxes = [tag.sceneBoundingRect() for tag in plot.overlay.limit_tags]
    assert not boxes[0].intersects(boxes[1])
    assert LIGHT.caution in colours_of(plot)
    plot.set_limits(())
    assert not any(tag.isVisible() for tag in plot.overlay.limit_tags)


def test_operating_point_reads_out(plot: LinePlot) -> None:
    plot.set_point(0.4, (28.0, 12.0))
    assert plot.readout == "now 40 % · input 28 W · device 12 W"
    assert plot.accessibleDescription() == plot.readout


def test_mouse_moves_the_cursor_and_leaving_hides_it(plot: LinePlot, qtbot) -> None:
    plot.set_point(0.4, (28.0, 12.0))
    viewport = plot.view.viewport()
    rect = plot.box.sceneBoundingRect()
    at = QPoint(round(rect.left() + rect.width() * 0.75), round(rect.center().y()))
    qtbot.mouseMove(viewport, at)
    qtbot.waitUntil(lambda: plot.readout.startswith("at 7"))
    value = (at.x() - rect.left()) / rect.width()
    assert f"input {70 * value:.3g} W" in plot.readout
    qtbot.mouseMove(viewport, QPoint(2, 2))
    qtbot.waitUntil(lambda: plot.readout.startswith("now 40 %"))


def test_keys_move_the_cursor(plot: LinePlot, qtbot) -> None:
    plot.set_point(0.4, (28.0, 12.0))
    plot.setFocus()
    qtbot.keyClick(plot, Qt.Key.Key_Right)
    assert plot.readout.startswith("at 41 % · input 28.7 W")
    qtbot.keyClick(plot, Qt.Key.Key_Left)
    qtbot.keyClick(plot, Qt.Key.Key_Left)
    assert plot.readout.startswith("at 39 %")
    qtbot.keyClick(plot, Qt.Key.Key_Escape)
    assert plot.readout.startswith("now 40 %")


@pytest.fixture
def zoomable(theme, qtbot) -> LinePlot:
    plot = LinePlot(
        theme, x=Axis("Time", "s"), y=Axis("Drain", "V"), curves=("drain",), zoomable=True
    )
    qtbot.addWidget(plot)
    plot.resize(420, 320)
    with qtbot.waitActive(plot):
        plot.show()
    return plot


def test_wheel_zooms_about_the_mouse_even_before_the_new_range_is_painted(
    zoomable: LinePlot, turn_wheel
) -> None:
    zoomable.set_data(3.0 + DUTY * 1e-6, 300 * np.sin(DUTY * 20))
    before = zoomable.x_span
    turn_wheel(zoomable.view.viewport(), 3)
    after = zoomable.x_span
    assert after.width < 0.8 * before.width
    assert before.low < after.low < after.high < before.high


def test_drag_moves_the_range_until_home(zoomable: LinePlot, qtbot) -> None:
    plot = zoomable
    plot.set_data(DUTY * 1e-6, 300 * np.sin(DUTY * 20))
    before = plot.x_span
    box = plot.box
    start = box.sceneBoundingRect().center().toPoint()
    viewport = plot.view.viewport()
    qtbot.mousePress(viewport, Qt.MouseButton.LeftButton, pos=start)
    for shift in (10, 40, 80):
        qtbot.mouseMove(viewport, start + QPoint(shift, 0))
    qtbot.mouseRelease(viewport, Qt.MouseButton.LeftButton, pos=start + QPoint(80, 0))
    qtbot.waitUntil(lambda: plot.x_span != before)
    moved = plot.x_span
    plot.set_data(DUTY * 1e-6, 200 * np.sin(DUTY * 20))
    assert plot.x_span == moved
    plot.setFocus()
    qtbot.keyClick(plot, Qt.Key.Key_Home)
    assert plot.x_span == before


def test_colours_follow_the_theme(plot: LinePlot, theme) -> None:
    assert {LIGHT.panel, LIGHT.series[0]} <= colours_of(plot)
    theme.set_dark(True)
    seen = colours_of(plot)
    assert {DARK.panel, DARK.series[0]} <= seen
    assert not {LIGHT.panel, LIGHT.series[0]} & seen


def test_tick_texts_at_the_ends_are_within_the_view(plot: LinePlot) -> None:
    box = plot.box.sceneBoundingRect()
    assert box.top() >= 6
    assert plot.view.viewport().width() - box.right() >= 12


def test_batch_arranges_once(plot: LinePlot, monkeypatch) -> None:
    calls: list[int] = []
    arrange = plot.overlay.place_limits
    monkeypatch.setattr(
        plot.overlay, "place_limits", lambda frame: (calls.append(1), arrange(frame))[1]
    )
    with plot.batch():
        plot.set_data(DUTY, DUTY, DUTY)
        plot.set_point(0.5, (0.5, 0.5))
        plot.set_limits((Limit(0.7, "limit"),))
        assert calls == []
    ranges_changed = 1
    assert 1 <= len(calls) <= 1 + ranges_changed


def test_export_of_data_reads_back_exactly(plot: LinePlot, tmp_path) -> None:
    file = tmp_path / "power.csv"
    export(plot, file)
    with file.open(encoding="utf-8", newline="") as stream:
        head, *rows = csv.reader(stream)
    assert head == ["Duty [1]", "Average power, input [W]", "Average power, device [W]"]
    np.testing.assert_array_equal(
        np.array(rows, float), np.column_stack([DUTY, 70 * DUTY, 30 * DUTY])
    )


def test_export_of_pictures(plot: LinePlot, tmp_path, qtbot) -> None:
    png, svg = tmp_path / "power.png", tmp_path / "power.svg"
    export(plot, png)
    export(plot, svg)
    picture = QImage(str(png))
    assert picture.size() == plot.size() * 2
    drawing = QSvgRenderer(str(svg))
    assert drawing.isValid()
    assert drawing.viewBox().size() == plot.size()
    text = svg.read_text(encoding="utf-8")
    assert "Average power [W]" in text
    assert "<image" not in text


@pytest.mark.parametrize("name", ["power.xyz", "missing/power.csv", "missing/power.png"])
def test_export_that_cannot_be_written_names_the_file(plot: LinePlot, tmp_path, name) -> None:
    with pytest.raises(FileError, match="power"):
        export(plot, tmp_path / name)


def test_words_of_limits_beyond_both_ends_do_not_lie_over_each_other(theme, qtbot) -> None:
    """Tags of a level above the range and of a place right of it meet in the upper right corner."""
    plot = LinePlot(theme, x=Axis("Sink", "K/W"), y=Axis("Temperature", "°C"), curves=("",))
    qtbot.addWidget(plot)
    plot.resize(300, 260)
    plot.show()
    plot.set_data([0.0, 7.0], [25.0, 40.0])
    plot.set_limits(
        (
            Limit(150.0, "junction limit 150 °C"),
            Limit(85.0, "heat-sink limit 85 °C"),
            Limit(54.0, "largest allowed 54 K/W", vertical=True),
        )
    )
    spots = [tag.sceneBoundingRect() for tag in plot.overlay.limit_tags]
    assert len(spots) == 3
    for one, other in combinations(spots, 2):
        assert not one.intersects(other)
