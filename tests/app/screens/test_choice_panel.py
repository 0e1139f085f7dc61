"""A table of changes: the chosen one is made by key and by button, as one step, or not at all."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from PySide6.QtCore import Qt

from burstwise.app.screens.limits.choice_panel import ChoicePanel
from burstwise.app.screens.limits.tables import PlainTable

OFFERS = ({"supply.voltage": 24.0}, {}, {"supply.voltage": -1.0})


class Toy(ChoicePanel):
    """Panel of three offers: one to make, one that changes nothing, one that is refused."""

    def step_of(self, offer: Mapping[str, object]) -> tuple[Mapping[str, object], str]:
        """As it is."""
        return offer, "Try it"

    def start(self) -> None:
        """Nothing is computed."""

    def take(self, part: object) -> None:
        """Nothing comes."""

    def _write(self, _changed: object = None) -> None:
        self.table.show_rows([(f"{offer}",) for offer in self.found])
        self._choose()


@pytest.fixture
def panel(still_session, theme, qtbot) -> Toy:
    table = PlainTable(("Change",), name="Changes", wide=0)
    made = Toy(still_session, theme, name="toy", table=table, button="&Make it")
    made.layout_.addWidget(made.table)
    made.foot.insertWidget(0, made.button)
    made.finish_layout()
    qtbot.addWidget(made)
    made.found = list(OFFERS)
    made._write()
    with qtbot.waitActive(made):
        made.show()
    return made


def test_return_and_button_make_the_chosen_change_as_one_step(panel: Toy, qtbot) -> None:
    document = panel.session.document
    before = document.value("supply.voltage")
    panel.table.setCurrentCell(-1, -1)
    assert not panel.button.isEnabled()
    panel.table.setCurrentCell(0, 0)
    assert panel.button.isEnabled()
    panel.table.setFocus()
    qtbot.keyClick(panel.table, Qt.Key.Key_Return)
    assert document.value("supply.voltage") == 24.0
    assert document.undo_stack.undoText() == "Try it"
    document.undo()
    assert document.value("supply.voltage") == before
    qtbot.mouseClick(panel.button, Qt.MouseButton.LeftButton)
    assert document.value("supply.voltage") == 24.0


def test_an_offer_without_a_change_is_not_made(panel: Toy, qtbot) -> None:
    panel.table.setCurrentCell(1, 0)
    assert not panel.button.isEnabled()
    panel.apply()
    panel.table.setCurrentCell(-1, -1)
    panel.apply()
    assert panel.session.document.undo_stack.count() == 0


def test_a_refused_change_says_why_and_leaves_the_design(panel: Toy) -> None:
    before = panel.session.document.design
    panel.table.setCurrentCell(2, 0)
    panel.apply()
    assert "between 1 V and 400 V" in panel.status.text()
    assert panel.session.document.design == before


def test_the_rows_follow_the_look(panel: Toy, theme) -> None:
    panel.found = panel.found[:1]
    theme.set_dark(True)
    assert panel.table.rowCount() == 1
