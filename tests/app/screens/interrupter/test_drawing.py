"""Circuit drawings: every part of every circuit is in it with its value, and Qt can show it."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QByteArray
from PySide6.QtSvg import QSvgRenderer

from app.screens.interrupter.drawing import DESIGNATORS, Ink, circuit_svg, with_wiper
from core.design.interrupter import TimerParts
from core.interrupter.circuits import CIRCUITS
from core.interrupter.resolve import timer_set
from core.units import shown


@pytest.mark.parametrize("name", CIRCUITS)
def test_each_part_is_drawn_with_its_value(qapp, name):
    one = timer_set(TimerParts(circuit=name, frequency_potentiometer=47e3))
    svg = with_wiper(circuit_svg(one, Ink("#102030", "#405060")), 0.25)
    for part in one.parts:
        unit = "Ω" if part.unit == "ohm" else part.unit
        assert f"{DESIGNATORS[part.role]} {shown(part.value, unit)}" in svg.decode()
    assert "at 25 %" in svg.decode()
    assert QSvgRenderer(QByteArray(svg)).isValid()


def test_a_part_that_is_not_fitted_is_not_drawn(qapp):
    one = timer_set(TimerParts(circuit="astable-classic", potentiometer=0.0))
    assert "RV1" not in circuit_svg(one, Ink("#102030", "#405060"))
