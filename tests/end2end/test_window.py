"""The real window on the example designs, with the real core, by mouse and keyboard."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication, QFileDialog

from burstwise.app.places import Places
from burstwise.app.screens.operating_point.screen import OperatingPoint
from burstwise.app.screens.registry import SCREENS
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.slider_field import SliderField
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job
from burstwise.core.storage import load

LONG = 120_000
pytestmark = pytest.mark.usefixtures("engine_once")
PLACE = [screen.title for screen in SCREENS].index("Operating point")


@pytest.fixture(scope="module")
def theme(qapp: QApplication) -> Theme:
    return Theme(qapp)


@pytest.fixture
def window(qtbot, theme: Theme, tmp_path: Path) -> Iterator[MainWindow]:
    made = MainWindow(Session(design_job()), theme, Places(tmp_path / "s", tmp_path / "d"))
    made.resize(1366, 768)
    qtbot.addWidget(
        made, before_close_func=lambda window: window.session.document.undo_stack.setClean()
    )
    with qtbot.waitActive(made):
        made.show()
    made.show_screen(PLACE)
    yield made
    theme.set_dark(False)


def settle(window: MainWindow, qtbot) -> None:
    """Wait until the full results of the design in hand are shown."""
    session = window.session

    def at_rest() -> bool:
        latest = session.latest
        return (
            latest is not None
            and latest.design is session.document.design
            and not session.settling
            and not session.worker.busy
            and not session.preparer.busy
        )

    qtbot.waitUntil(at_rest, timeout=LONG)


def page_of(window: MainWindow) -> OperatingPoint:
    page = window.screen_widget(PLACE)
    assert isinstance(page, OperatingPoint)
    return page


def drag(field: SliderField, to: float, qtbot, *, moves: int = 12) -> None:
    """Drag a slider's handle to a share of its length with mouse events."""
    slider = field.slider
    middle = slider.height() // 2
    start, end = slider.handle_centre(), round(to * (slider.width() - 1))
    qtbot.mousePress(slider, Qt.MouseButton.LeftButton, pos=QPoint(start, middle))
    for at in np.linspace(start, end, moves):
        qtbot.mouseMove(slider, QPoint(round(at), middle))
    qtbot.mouseRelease(slider, Qt.MouseButton.LeftButton, pos=QPoint(end, middle))


def test_each_example_opens_and_fills_the_screen(window, qtbot, example) -> None:
    assert window.files.open_example(example)
    settle(window, qtbot)
    results, page = window.session.latest.results, page_of(window)
    assert page.figures.value("Average power") != ""
    assert f"{results.average_power:.3g} W" in page.duty_plots.power.readout
    assert str(load(example).name) in window.windowTitle()
    stops = [item for item in results.findings if item.severity.value == "stop"]
    shown = window.findings.items.count()
    assert shown == len(results.findings)
    if stops:
        assert window.findings.items.item(0).text().startswith("■ stop")


def test_half_the_duty_is_half_the_power(window, qtbot) -> None:
    window.session.refresh()
    settle(window, qtbot)
    page = page_of(window)
    drag(page.controls.duty, 0.8, qtbot)
    settle(window, qtbot)
    high = window.session.latest.results
    drag(page.controls.duty, 0.4, qtbot)
    quick_duty, quick_power = page.duty_plots.power.curve(0)
    settle(window, qtbot)
    low = window.session.latest.results
    assert low.duty == pytest.approx(high.duty / 2, rel=0.05)
    assert low.average_power / high.average_power == pytest.approx(low.duty / high.duty, rel=0.08)
    duty, power = page.duty_plots.power.curve(0)
    assert np.interp(low.duty, duty, power) == pytest.approx(low.average_power, rel=0.02)
    assert np.interp(0.5, quick_duty, quick_power) == pytest.approx(
        np.interp(0.5, duty, power), rel=0.03
    )
    assert low.carrier.top_voltage_peak == pytest.approx(high.carrier.top_voltage_peak, rel=0.03)


def test_keys_on_the_duty_turn_the_timers_knob_and_typed_numbers_stay_idle(window, qtbot) -> None:
    document, controls = window.session.document, page_of(window).controls
    idle = {"interrupter.duty": 0.30, "interrupter.frequency": 150.0}
    document.edit_many({"interrupter.given_by": "parts", **idle})
    settle(window, qtbot)
    before, travel = window.session.latest.results, document.value("interrupter.parts.travel")
    controls.duty.slider.setFocus()
    for _ in range(3):
        qtbot.keyClick(controls.duty.slider, Qt.Key.Key_Left)
    settle(window, qtbot)
    now = window.session.latest.results
    assert now.duty < before.duty
    assert document.value("interrupter.parts.travel") != travel
    assert {path: document.value(path) for path in idle} == idle
    by_parts = [window.strip.margin.figure.text(), window.strip.now.figure.text()]
    assert f"{now.duty:.1%}".replace("%", " %") in page_of(window).controls.duty.field.entry.text()
    frequency = controls.frequency.value
    document.edit_many(
        {
            "interrupter.given_by": "numbers",
            "interrupter.duty": now.duty,
            "interrupter.frequency": frequency,
        }
    )
    settle(window, qtbot)
    assert window.session.latest.results.average_power == pytest.approx(now.average_power, rel=1e-6)
    assert [window.strip.margin.figure.text(), window.strip.now.figure.text()] == by_parts
    document.edit_many(idle)
    settle(window, qtbot)
    assert [window.strip.margin.figure.text(), window.strip.now.figure.text()] != by_parts


@pytest.mark.slow
def test_more_supply_brings_another_first_limit_and_a_stop(window, qtbot, example_folder) -> None:
    window.files.open_example(example_folder / "classroom-gated-spiking.burstwise")
    settle(window, qtbot)
    page = page_of(window)
    drag(page.controls.supply, 0.12, qtbot)
    settle(window, qtbot)
    low = window.strip.margin.figure.text()
    drag(page.controls.supply, 0.75, qtbot)
    during = window.strip.margin.figure.text()
    settle(window, qtbot)
    high = window.strip.margin.figure.text()
    assert high.startswith("■ stop:")
    assert low != high
    assert during.startswith("■")
    assert window.session.document.undo_stack.count() == 2


def test_fast_drags_of_all_sliders_end_in_agreement(window, qtbot) -> None:
    window.session.refresh()
    settle(window, qtbot)
    controls = page_of(window).controls
    for share in (0.9, 0.1, 0.6):
        for field in (controls.supply, controls.duty, controls.frequency):
            drag(field, share, qtbot, moves=25)
    settle(window, qtbot)
    latest = window.session.latest
    assert latest.design.supply.voltage == controls.supply.value
    assert latest.results.duty == controls.duty.value
    assert latest.results.frequency == controls.frequency.value


def test_a_bad_file_is_told_and_the_design_stays(window, qtbot, boxes, tmp_path) -> None:
    boxes.answer(*["OK"] * 6)
    before = window.session.document.design
    for name, content in {
        "text.burstwise": b"not a design",
        "empty.burstwise": b"",
        "bytes.burstwise": b"\xff\xfe\x00",
        "newer.burstwise": b'{"format": 99}',
        "list.burstwise": b"[1, 2]",
    }.items():
        (tmp_path / name).write_bytes(content)
        assert not window.files.open(tmp_path / name)
    assert not window.files.open(tmp_path / "missing.burstwise")
    assert len(boxes.said) == 6
    assert window.session.document.design is before


def test_nonsense_in_a_field_is_marked_and_the_results_stay(window, qtbot) -> None:
    window.session.refresh()
    settle(window, qtbot)
    latest = window.session.latest
    field = page_of(window).controls.supply.field
    for text in ("volts", "36 Hz", "-5", "1e99", "4k7 V V"):
        field.setFocus()
        field.entry.selectAll()
        qtbot.keyClicks(field.entry, text)
        qtbot.keyClick(field.entry, Qt.Key.Key_Return)
        assert field.error, text
    assert window.session.latest is latest
    qtbot.keyClick(field.entry, Qt.Key.Key_Escape)
    field.entry.selectAll()
    qtbot.keyClicks(field.entry, "30 V")
    qtbot.keyClick(field.entry, Qt.Key.Key_Return)
    settle(window, qtbot)
    assert window.session.latest.results.design.supply.voltage == 30.0


def test_reversed_winding_is_a_stop_that_names_the_swap(window, qtbot) -> None:
    window.session.document.edit("drive.feedback_sense", "reversed")
    settle(window, qtbot)
    texts = [window.findings.items.item(row).text() for row in range(window.findings.items.count())]
    assert any(text.startswith("■ stop") and "swap the ends" in text for text in texts)
    # All ratings hold, but a strip without a mark would pass for a sound design.
    assert not window.strip.margin.figure.text().startswith("■")
    assert window.strip.now.figure.text().startswith("■ stop, see findings")


def test_save_reopen_undo_and_recover_with_the_real_core(
    window, qtbot, monkeypatch, tmp_path, theme, boxes
) -> None:
    file = tmp_path / "mine"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *rest: (str(file), ""))
    controls = page_of(window).controls
    window.session.refresh()
    settle(window, qtbot)
    drag(controls.supply, 0.5, qtbot)
    voltage = window.session.document.value("supply.voltage")
    qtbot.keyClick(window, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    saved = tmp_path / "mine.burstwise"
    assert load(saved).supply.voltage == voltage
    assert window.recent.files == (saved.resolve(),)
    qtbot.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert window.session.document.value("supply.voltage") == 36.0
    assert window.isWindowModified()
    window.autosave.flush()
    left = next(window.places.recovery.glob("*.json"))
    crashed = Places(tmp_path / "s2", tmp_path / "d2")
    crashed.recovery.mkdir(parents=True)
    shutil.copy(left, crashed.recovery / "crashed.json")
    boxes.answer("Yes")
    again = MainWindow(Session(design_job()), theme, crashed)
    qtbot.addWidget(
        again, before_close_func=lambda window: window.session.document.undo_stack.setClean()
    )
    again.files.offer_recovery(crashed)
    assert again.session.document.design == window.session.document.design
    assert again.session.document.file == saved
    assert again.session.document.unsaved


def test_dark_and_light_keep_every_figure(window, qtbot) -> None:
    window.session.refresh()
    settle(window, qtbot)
    page = page_of(window)
    before = page.figures.describe()
    window.set_dark(True)
    assert page.figures.describe() == before
    corner = window.grab().toImage().pixelColor(2, window.height() - 2)
    assert corner.lightness() < 60
