from __future__ import annotations

import itertools

import pytest
from PySide6.QtCore import QPoint, Qt

from burstwise.app.widgets.scale import POSITIONS, SliderScale
from burstwise.app.widgets.slider_field import SliderField
from burstwise.core.errors import InputError


@pytest.fixture
def make_slider(qtbot, theme):
    def make(**options) -> SliderField:
        settings = {"low": 0.0, "high": 100.0, "value": 36.0, "interval_ms": 0} | options
        field = SliderField("Supply &voltage", "V", **settings)
        qtbot.addWidget(field)
        field.resize(400, 80)
        with qtbot.waitActive(field):
            field.show()
        return field

    return make


def drag(qtbot, field: SliderField, shifts: list[int]) -> None:
    """Press the handle, move it by each shift in pixels from where it was, release."""
    middle = field.slider.height() // 2
    start = QPoint(field.slider.handle_centre(), middle)
    qtbot.mousePress(field.slider, Qt.MouseButton.LeftButton, pos=start)
    for shift in shifts:
        qtbot.mouseMove(field.slider, start + QPoint(shift, 0))
    qtbot.mouseRelease(
        field.slider, Qt.MouseButton.LeftButton, pos=start + QPoint(shifts[-1] if shifts else 0, 0)
    )


def test_drag_follows_live_and_finishes_once(make_slider, qtbot) -> None:
    field = make_slider()
    values: list[float] = []
    finished: list[float] = []
    field.value_changed.connect(values.append)
    field.edit_finished.connect(lambda: finished.append(field.value))
    drag(qtbot, field, [20, 60, 120])
    assert len(values) == 3
    assert values == sorted(values)
    assert values[0] > 36.0
    assert field.value == values[-1]
    assert finished == [values[-1]]
    assert field.field.value == values[-1]


def test_press_and_release_without_a_move_keeps_the_exact_value(make_slider, qtbot) -> None:
    field = make_slider(value=36.123456)
    with qtbot.assertNotEmitted(field.value_changed):
        drag(qtbot, field, [])
    assert field.value == 36.123456


def test_press_in_the_groove_goes_there(make_slider, qtbot) -> None:
    field = make_slider(value=10.0)
    at = QPoint(field.slider.width() // 2, field.slider.height() // 2)
    qtbot.mouseClick(field.slider, Qt.MouseButton.LeftButton, pos=at)
    assert field.value == pytest.approx(50.0, abs=0.5)


def test_throttle_sends_first_at_once_and_flush_sends_last(make_slider, qtbot) -> None:
    field = make_slider(interval_ms=10_000)
    values: list[float] = []
    field.value_changed.connect(values.append)
    middle = field.slider.height() // 2
    start = QPoint(field.slider.handle_centre(), middle)
    qtbot.mousePress(field.slider, Qt.MouseButton.LeftButton, pos=start)
    for shift in (20, 40, 60):
        qtbot.mouseMove(field.slider, start + QPoint(shift, 0))
    assert len(values) == 1
    field.flush()
    assert len(values) == 2
    assert values[-1] == field.value
    qtbot.mouseMove(field.slider, start + QPoint(90, 0))
    qtbot.mouseRelease(field.slider, Qt.MouseButton.LeftButton, pos=start + QPoint(90, 0))
    assert values[-1] == field.value
    field.flush()
    assert len(values) == 3


def test_throttle_sends_the_last_value_by_itself(make_slider, qtbot) -> None:
    field = make_slider(interval_ms=20)
    values: list[float] = []
    field.value_changed.connect(values.append)
    field.slider.setFocus()
    for _ in range(3):
        qtbot.keyPress(field.slider, Qt.Key.Key_Right)
    qtbot.waitUntil(lambda: bool(values) and values[-1] == field.value)
    assert values[-1] == pytest.approx(37.5, abs=0.05)
    qtbot.waitUntil(lambda: not field._throttle._timer.isActive())


def test_typing_moves_the_slider_and_keeps_the_float(make_slider, qtbot) -> None:
    field = make_slider()
    entry = field.field.entry
    entry.selectAll()
    qtbot.keyClicks(entry, "48.123")
    with qtbot.waitSignals([field.value_changed, field.edit_finished]):
        qtbot.keyClick(entry, Qt.Key.Key_Return)
    assert field.value == 48.123
    assert field.slider.value() == round(0.48123 * POSITIONS)


def test_field_may_reach_past_the_slider(make_slider, qtbot) -> None:
    field = make_slider(field_high=200.0)
    entry = field.field.entry
    entry.selectAll()
    qtbot.keyClicks(entry, "150")
    qtbot.keyClick(entry, Qt.Key.Key_Return)
    assert field.value == 150.0
    assert field.slider.value() == POSITIONS


def test_value_from_outside_sends_nothing(make_slider, qtbot) -> None:
    field = make_slider()
    with qtbot.assertNotEmitted(field.value_changed), qtbot.assertNotEmitted(field.edit_finished):
        field.set_value(77.7)
    assert field.field.entry.text() == "77.7 V"
    assert field.slider.value() == round(0.777 * POSITIONS)


def test_wheel_over_a_slider_or_field_changes_nothing(make_slider, qtbot, turn_wheel) -> None:
    field = make_slider()
    for target in (field.slider, field.field.entry):
        target.setFocus()
        with qtbot.assertNotEmitted(field.value_changed):
            turn_wheel(target, 1)
    assert field.value == 36.0


@pytest.mark.parametrize("scale", [SliderScale(0.02, 0.98), SliderScale(1.0, 10e3, log=True)])
def test_positions_and_values_agree_at_every_position(scale: SliderScale) -> None:
    values = [scale.value(position) for position in range(POSITIONS + 1)]
    assert values[0] == scale.low
    assert values[-1] == scale.high
    assert all(one < other for one, other in itertools.pairwise(values))
    assert all(abs(scale.position(value) - position) <= 1 for position, value in enumerate(values))


@pytest.mark.parametrize(("low", "high", "log"), [(1.0, 1.0, False), (0.0, 10.0, True)])
def test_impossible_scales_are_refused(low, high, log) -> None:
    with pytest.raises(InputError):
        SliderScale(low, high, log=log)


def test_marks_stand_where_their_values_are_and_are_painted(make_slider, qtbot) -> None:
    field = make_slider(low=0.0, high=100.0, value=20.0)
    field.resize(500, 90)
    field.show()
    before = field.slider.grab().toImage()
    field.set_marks([("Drain voltage breaks at", 60.0), ("Fuse breaks at", 150.0)])
    slider = field.slider
    assert slider.marks == (1200,)
    assert slider.toolTip() == "Drain voltage breaks at: 60 V\nFuse breaks at: 150 V"
    assert slider.accessibleDescription().startswith("20 V; Drain voltage")
    after = slider.grab().toImage()
    changed = [x for x in range(after.width()) if after.pixel(x, 2) != before.pixel(x, 2)]
    assert changed
    middle = slider.mark_pixel(1200)
    assert min(changed) <= middle <= max(changed)
    assert max(changed) - min(changed) < 12
    field.set_value(60.0)
    assert abs(slider.handle_centre() - middle) <= 1
    field.set_marks([])
    field.set_value(20.0)
    assert slider.grab().toImage() == before
    assert slider.accessibleDescription() == "20 V"


def test_a_moved_slider_is_spoken_with_its_unit(make_slider, qtbot, monkeypatch) -> None:
    from burstwise.app.widgets import slider_field

    said: list[str] = []
    monkeypatch.setattr(slider_field, "announce", lambda widget, text: said.append(text))
    field = make_slider(low=0.0, high=100.0, value=20.0)
    field.show()
    for _ in range(5):
        qtbot.keyClick(field.slider, Qt.Key.Key_Right)
    assert said == ["20.5 V"]
    field._speech.flush()
    assert said == ["20.5 V", f"{field.value:g} V"]
    assert field.slider.accessibleDescription() == said[-1]
