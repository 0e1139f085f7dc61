"""Remedies are looked for among the drawer's parts where that is ticked."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt

from burstwise.app.screens.limits import remedies_panel
from burstwise.app.screens.limits.remedies_panel import RemediesPanel
from burstwise.app.session import Session
from burstwise.app.wiring import examples_folder
from burstwise.core.drawer import Drawer, parts_from
from burstwise.core.storage import load

PATIENCE = 120_000


def test_the_box_asks_anew_with_the_parts_of_the_list(
    qtbot, full_session: Session, theme, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[Drawer | None] = []

    def remembered(results, *, classes, drawer, ask):
        asked.append(drawer)
        return iter(())

    monkeypatch.setattr(remedies_panel, "remedies", remembered)
    design = load(examples_folder() / "classroom-gated-interrupted.burstwise")
    full_session.document.open(design, None)
    panel = RemediesPanel(full_session, theme)
    qtbot.addWidget(panel)
    panel.resize(1114, 560)
    with qtbot.waitActive(panel):
        panel.show()
    full_session.refresh()
    qtbot.waitUntil(lambda: len(asked) > 0, timeout=PATIENCE)
    assert set(asked) == {None}
    full_session.drawer.keep(Drawer(parts_from("resistor", "10", "", "")))
    box = panel.drawer.box
    qtbot.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(8, box.height() // 2))
    qtbot.waitUntil(lambda: asked[-1] == full_session.drawer.parts, timeout=PATIENCE)
    more = full_session.drawer.parts.with_parts(parts_from("resistor", "22", "", ""))
    full_session.drawer.keep(more)
    qtbot.waitUntil(lambda: asked[-1] == more, timeout=PATIENCE)
    qtbot.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(8, box.height() // 2))
    qtbot.waitUntil(lambda: asked[-1] is None, timeout=PATIENCE)
    panel.worker.close()
