"""Compare screen: variants kept in the file, designs side by side, curves overlaid."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QFileDialog

from burstwise.app.screens.compare.screen import CompareScreen
from burstwise.app.screens.device.screen import DeviceScreen
from burstwise.app.session import Session
from burstwise.app.widgets.words import plain
from burstwise.app.wiring import examples_folder
from burstwise.core.design.document import with_values
from burstwise.core.design.variants import variant_design
from burstwise.core.evaluate import evaluate
from burstwise.core.storage import load, save, text_of
from burstwise.core.units import shown

PATIENCE = 60_000


@pytest.fixture
def session(full_session: Session) -> Session:
    full_session.refresh()
    return full_session


@pytest.fixture
def screen(show_when_ready, session: Session, theme) -> Iterator[CompareScreen]:
    made = CompareScreen(session, theme)
    show_when_ready(made)
    yield made
    made.worker.close()
    made.curves.worker.close()


def keep(qtbot, screen: CompareScreen, session: Session, name: str, **changes: float) -> None:
    for path, value in changes.items():
        session.document.edit(path.replace("__", "."), value)
    qtbot.mouseClick(screen.name, Qt.MouseButton.LeftButton)
    qtbot.keyClicks(screen.name, name)
    qtbot.mouseClick(screen.keep, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: screen.ready, timeout=PATIENCE)


def cells(screen: CompareScreen, tab: str) -> dict[str, tuple[str, ...]]:
    table = screen.tables[tab]
    return {
        table.item(row, 0).text(): tuple(
            plain(table.item(row, column).text()) for column in range(1, table.columnCount())
        )
        for row in range(table.rowCount())
    }


def test_changes_are_kept_as_a_variant_and_the_design_comes_back(
    qtbot, screen: CompareScreen, session: Session, tmp_path: Path
) -> None:
    keep(qtbot, screen, session, "half", interrupter__duty=0.15)
    design = session.document.design
    assert design.interrupter.duty == 0.3
    assert [variant.name for variant in design.variants] == ["half"]
    assert design.variants[0].changes == {"interrupter.duty": 0.15}
    assert "again without its change" in screen.status.text()
    assert "Undo" in screen.status.text()
    save(design, tmp_path / "a.burstwise")
    assert load(tmp_path / "a.burstwise").variants == design.variants
    session.document.undo()
    assert session.document.design.variants == ()
    assert session.document.design.interrupter.duty == 0.15


def test_changes_made_before_the_screen_was_first_seen_count(
    qtbot, session: Session, theme, tmp_path: Path
) -> None:
    session.document.edit("interrupter.duty", 0.15)
    session.document.edit("supply.voltage", 30.0)
    screen = CompareScreen(session, theme)
    qtbot.addWidget(screen)
    assert screen.changes.text().startswith("2 fields changed")
    assert screen.keep.isEnabled()
    session.document.mark_saved(tmp_path / "a.burstwise")
    assert screen.changes.text().startswith("0 fields changed")
    session.document.undo()
    assert screen.changes.text().startswith("1 field changed")
    guest = session.document.design
    session.document.receive("a lesson", guest)
    assert screen.changes.text().startswith("0 fields changed")
    session.document.send_off()
    assert screen.changes.text().startswith("1 field changed")


def test_columns_hold_each_designs_own_evaluation(
    qtbot, screen: CompareScreen, session: Session
) -> None:
    keep(qtbot, screen, session, "half", interrupter__duty=0.15)
    design = session.document.design
    alone = evaluate(variant_design(design, design.variants[0]), verify=False)
    results = cells(screen, "Results")
    assert results["Average power"][1] == shown(alone.average_power, "W")
    assert results["Duty"] == ("30 %", "15 %")
    assert cells(screen, "What differs")["Duty"] == ("30 %", "15 %")
    assert len(cells(screen, "Margins")) >= 10


def test_curves_of_all_chosen_designs_are_overlaid(
    qtbot, screen: CompareScreen, session: Session
) -> None:
    keep(qtbot, screen, session, "more", supply__voltage=48.0)
    screen.tabs.setCurrentIndex(3)
    assert screen.curves.plot is not None
    assert len(screen.curves.plot.names) == 2
    for number, results in enumerate(screen.shown):
        xs, ys = screen.curves.plot.curve(number)
        assert np.array_equal(xs, results.curves.duty)
        assert np.array_equal(ys, results.curves.average_power)
    qtbot.keyClick(screen.curves.box, Qt.Key.Key_Down)
    assert screen.curves.plot.title.startswith("Junction peak")


def test_a_variant_is_taken_in_hand_and_removed(
    qtbot, screen: CompareScreen, session: Session
) -> None:
    keep(qtbot, screen, session, "half", interrupter__duty=0.15)
    screen.list.setCurrentRow(1)
    qtbot.mouseClick(screen.take, Qt.MouseButton.LeftButton)
    assert session.document.design.interrupter.duty == 0.15
    screen.list.setCurrentRow(1)
    qtbot.mouseClick(screen.remove, Qt.MouseButton.LeftButton)
    assert session.document.design.variants == ()


def test_another_file_stands_beside_and_five_are_too_many(
    qtbot, screen: CompareScreen, session: Session
) -> None:
    for name in ("classroom-direct-continuous", "demonstration-gated-large"):
        screen.add_file(examples_folder() / f"{name}.burstwise")
    qtbot.waitUntil(lambda: screen.ready, timeout=PATIENCE)
    assert screen.comparison is not None
    assert len(screen.comparison.names) == 3
    for number in range(2):
        keep(qtbot, screen, session, f"v{number}", interrupter__duty=0.1 + 0.05 * number)
    checked = [
        row
        for row in range(screen.list.count())
        if screen.list.item(row).checkState() is Qt.CheckState.Checked
    ]
    assert len(checked) == 4
    spare = next(row for row in range(screen.list.count()) if row not in checked)
    screen.list.setCurrentRow(spare)
    screen.list.setFocus()
    qtbot.keyClick(screen.list, Qt.Key.Key_Space)
    assert "At most 4" in screen.status.text()
    assert screen.list.item(spare).checkState() is Qt.CheckState.Unchecked


def test_a_name_is_asked_for(qtbot, screen: CompareScreen, session: Session) -> None:
    session.document.edit("interrupter.duty", 0.2)
    qtbot.mouseClick(screen.keep, Qt.MouseButton.LeftButton)
    assert "name" in screen.status.text()
    assert session.document.design.variants == ()


def test_a_part_removed_on_its_own_screen_becomes_a_variant_by_keyboard(
    qtbot, screen: CompareScreen, session: Session, theme, tmp_path: Path
) -> None:
    device = DeviceScreen(session, theme)
    qtbot.addWidget(device)
    device.resize(1114, 666)
    device.tabs.setCurrentIndex(device.tabs.count() - 1)
    with qtbot.waitExposed(device):
        device.show()
    box = device.protection.checks["snubber"]
    qtbot.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(8, box.height() // 2))
    assert session.document.value("protection.snubber") is None
    screen.activateWindow()
    screen.name.setFocus()
    qtbot.keyClicks(screen.name, "bare")
    qtbot.keyClick(screen.name, Qt.Key.Key_Tab)
    qtbot.keyClick(screen.keep, Qt.Key.Key_Space)
    design = session.document.design
    assert design.protection.snubber is not None
    assert design.variants[0].changes == {"protection.snubber": None}
    qtbot.waitUntil(lambda: screen.ready and len(screen.shown) == 2, timeout=PATIENCE)
    assert cells(screen, "What differs")["Drain snubber"] == ("fitted", "none")
    alone = evaluate(variant_design(design, design.variants[0]), verify=False)
    assert screen.shown[1].carrier.drain_voltage_peak == alone.carrier.drain_voltage_peak
    save(design, tmp_path / "a.burstwise")
    assert load(tmp_path / "a.burstwise") == design


def choose(qtbot, screen: CompareScreen, words: str) -> None:
    """Choose a part by the keys of the box, as a list that is typed into."""
    box = screen.parts.box
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_Home)
    while box.currentText() != words:
        row = box.currentIndex()
        qtbot.keyClick(box, Qt.Key.Key_Down)
        assert box.currentIndex() == row + 1, words


def test_a_part_is_fitted_or_left_out_in_a_variant_by_mouse(
    qtbot, screen: CompareScreen, session: Session
) -> None:
    before = session.document.design
    for words in ("Without drain snubber", "With reservoir clamp", "With direct drive"):
        choose(qtbot, screen, words)
        qtbot.mouseClick(screen.parts.button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: screen.ready and len(screen.shown) == 4, timeout=PATIENCE)
    design = session.document.design
    assert with_values(design, {"variants": ()}) == before
    found = cells(screen, "What differs")
    assert found["Drain snubber"] == ("fitted", "none", "fitted", "fitted")
    assert found["Reservoir clamp"] == ("none", "none", "fitted", "none")
    assert found["Clamp capacitor"] == ("–", "–", "22 nF", "–")
    assert found["Kind of drive"] == ("gated", "gated", "gated", "direct")
    assert design.variants[1].changes["protection.reservoir_clamp"]["capacitance"] == 22e-9
    for count in (2, 1, 0):
        session.document.undo()
        assert len(session.document.design.variants) == count
    assert session.document.design == before


def test_gate_clamp_and_bulk_capacitor_are_told_in_one_line_each(
    qtbot, screen: CompareScreen, session: Session
) -> None:
    session.document.edit("drive.kind", "direct")
    for words in ("Without gate clamp", "Without bulk capacitor"):
        choose(qtbot, screen, words)
        qtbot.mouseClick(screen.parts.button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: screen.ready and len(screen.shown) == 3, timeout=PATIENCE)
    found = cells(screen, "What differs")
    assert found["Gate clamp"] == ("fitted", "none", "fitted")
    assert found["Bulk capacitor"] == ("fitted", "fitted", "none")
    margins = cells(screen, "Margins")
    assert margins["Bulk capacitor voltage"][2] == "–"
    assert "exceeded" in margins["Gate voltage"][1]


def test_the_part_button_works_by_keyboard_and_names_stay_apart(
    qtbot, screen: CompareScreen, session: Session
) -> None:
    for _ in range(2):
        choose(qtbot, screen, "Without fuse")
        qtbot.keyClick(screen.parts.box, Qt.Key.Key_Tab)
        assert screen.parts.button.hasFocus()
        qtbot.keyClick(screen.parts.button, Qt.Key.Key_Space)
    names = [variant.name for variant in session.document.design.variants]
    assert names == ["without fuse", "without fuse 2"]


def test_a_variant_with_a_part_is_taken_in_hand_and_back(
    qtbot, screen: CompareScreen, session: Session
) -> None:
    choose(qtbot, screen, "With drain clamp")
    qtbot.mouseClick(screen.parts.button, Qt.MouseButton.LeftButton)
    screen.list.setCurrentRow(1)
    qtbot.mouseClick(screen.take, Qt.MouseButton.LeftButton)
    assert session.document.value("protection.drain_clamp.voltage") == 480.0
    assert "Without drain clamp" in [screen.parts.box.itemText(n) for n in range(4)]
    session.document.undo()
    assert session.document.value("protection.drain_clamp") is None


def test_a_variant_that_no_longer_fits_says_why_and_can_be_removed(
    qtbot, screen: CompareScreen, session: Session
) -> None:
    keep(qtbot, screen, session, "soft", protection__snubber__resistance=220.0)
    session.document.edit("protection.snubber", None)
    item = screen.list.item(1)
    assert item.text() == "■ Variant: soft"
    assert "Does not fit: Snubber resistor must be a fitted part" in item.toolTip()
    screen.list.setCurrentRow(1)
    assert "Does not fit" in screen.status.text()
    qtbot.mouseClick(screen.take, Qt.MouseButton.LeftButton)
    assert "a fitted part" in screen.status.text()
    qtbot.mouseClick(screen.remove, Qt.MouseButton.LeftButton)
    assert session.document.design.variants == ()


def test_comparison_is_saved_as_a_table(
    qtbot, screen: CompareScreen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "comparison.csv"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_, **__: (str(target), "x (*.csv)"))
    qtbot.mouseClick(screen.save, Qt.MouseButton.LeftButton)
    assert target.read_text(encoding="utf-8").startswith("part,key,title,")


def test_edges_of_the_limit_maps_lie_over_each_other(
    qtbot, screen: CompareScreen, session: Session
) -> None:
    keep(qtbot, screen, session, "low rating", device__drain_voltage_rating=120.0)
    qtbot.waitUntil(lambda: len(screen.shown) == 2, timeout=PATIENCE)
    screen.tabs.setCurrentIndex(screen.tabs.count() - 1)
    screen.curves.box.setFocus()
    qtbot.keyClick(screen.curves.box, Qt.Key.Key_End)
    qtbot.waitUntil(lambda: len(screen.curves.frontiers) == 2, timeout=PATIENCE)
    qtbot.waitUntil(lambda: screen.status.text() == "", timeout=PATIENCE)
    whole, low = (screen.curves.frontiers[text_of(item.design)] for item in screen.shown)
    assert screen.curves.plot is not None
    assert screen.curves.plot.y_axis.name.startswith("Highest supply")
    assert (low.supply <= whole.supply + 1e-9).all()
    assert low.supply.min() < 0.9 * whole.supply.min()
