"""The circuit on the screen: every sheet has the room that its drawing takes at any width."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor

from burstwise.app.drawing.circuit_view import CircuitView
from burstwise.core.assembly.drawn import CircuitSheet

WIDE, HIGH = 1000.0, 500.0


def sheet(width: float, height: float) -> CircuitSheet:
    """A frame along all four edges of its view box, which begins left of and above zero."""
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" height="{height}pt" width="{width}pt" '
        f'viewBox="-40 -30 {width} {height}"><rect x="-38" y="-28" width="{width - 4}" '
        f'height="{height - 4}" style="fill:none;stroke:black;stroke-width:4"/></svg>'
    )
    return CircuitSheet("frame", "Frame", svg, (), (), (), (), ())


@pytest.mark.parametrize("width", [420, 800, 1400])
def test_the_whole_drawing_is_seen_below_its_title(theme, qtbot, width: int) -> None:
    view = CircuitView(theme)
    qtbot.addWidget(view)
    view.show_sheets([sheet(WIDE, HIGH), sheet(0.5 * WIDE, 0.8 * HIGH)])
    view.resize(width, 500)
    view.show()
    qtbot.waitExposed(view)
    scale = min(view.views[0].width() / WIDE, 1.15)
    ink = QColor(theme.tokens.text).name()
    for one, (wide, high) in zip(view.views, ((WIDE, HIGH), (0.5 * WIDE, 0.8 * HIGH)), strict=True):
        assert one.height() == pytest.approx(scale * high, abs=2)
        picture = one.grab().toImage()
        column = round(0.3 * scale * wide)
        rows = [y for y in range(picture.height()) if picture.pixelColor(column, y).name() == ink]
        frame = QRectF(0, 0, scale * wide, scale * high)
        assert rows, "no line of the frame"
        assert rows[0] == pytest.approx(frame.top(), abs=5)
        assert rows[-1] == pytest.approx(frame.bottom(), abs=5)
