"""Values that come often are shown in view alone, the latest when it comes."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from burstwise.app.widgets.in_view import ShownInView


def kept(qtbot, *, pace_ms: int = 0) -> tuple[QWidget, list[int], ShownInView[int]]:
    widget, seen = QWidget(), []
    qtbot.addWidget(widget)
    return widget, seen, ShownInView(widget, seen.append, pace_ms=pace_ms)


def test_out_of_view_the_latest_waits(qtbot) -> None:
    widget, seen, shown = kept(qtbot)
    shown.put(1)
    shown.offer(2)
    assert seen == []
    widget.show()
    assert seen == [2]
    widget.hide()
    shown.put(3)
    assert seen == [2]
    widget.show()
    assert seen == [2, 3]


def test_in_view_a_full_value_does_not_wait_and_what_waited_is_older(qtbot) -> None:
    widget, seen, shown = kept(qtbot, pace_ms=60_000)
    widget.show()
    for value in (1, 2, 3):
        shown.offer(value)
    assert seen == [1]
    shown.put(4)
    assert seen == [1, 4]


def test_the_last_of_many_is_not_lost(qtbot) -> None:
    widget, seen, shown = kept(qtbot, pace_ms=20)
    widget.show()
    for value in (1, 2, 3):
        shown.offer(value)
    qtbot.waitUntil(lambda: seen == [1, 3])
