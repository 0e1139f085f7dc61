"""Supply and cooling by typing: good entries reach the design, bad ones say why."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from burstwise.app.screens.supply import SupplyScreen
from burstwise.app.widgets.quantity_field import QuantityField


@pytest.fixture
def session(still_session):
    return still_session


@pytest.fixture
def page(session, theme, qtbot):
    made = SupplyScreen(session, theme)
    qtbot.addWidget(made)
    made.resize(1000, 700)
    with qtbot.waitActive(made):
        made.show()
    return made


def field_named(page, words: str) -> QuantityField:
    fields = page.findChildren(QuantityField)
    return next(field for field in fields if words in field.entry.accessibleName())


def typed(qtbot, field: QuantityField, text: str) -> None:
    field.entry.setFocus()
    field.entry.selectAll()
    qtbot.keyClicks(field.entry, text)
    qtbot.keyClick(field.entry, Qt.Key.Key_Return)


def test_what_people_write_reaches_the_design(page, session, qtbot) -> None:
    typed(qtbot, field_named(page, "Bulk capacitor"), "2m2")
    typed(qtbot, field_named(page, "Heat sink to air"), "4.5 K/W")
    design = session.document.design
    assert design.supply.bulk_capacitance == pytest.approx(2.2e-3)
    assert design.cooling.sink_resistance == pytest.approx(4.5)
    session.document.undo()
    assert session.document.design.cooling.sink_resistance != pytest.approx(4.5)


@pytest.mark.parametrize("text", ["-5 V", "36 A", "a lot", "1e9", "nan"])
def test_a_bad_supply_says_why_and_changes_nothing(page, session, qtbot, text) -> None:
    before = session.document.design
    field = field_named(page, "Supply voltage")
    typed(qtbot, field, text)
    assert session.document.design == before
    assert field.error
