from __future__ import annotations

import itertools

import pytest
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QApplication, QLabel

from app.theme import DARK, LIGHT, MARKS, OK, Theme, Tokens, mark
from app.widgets.restyle import set_style_property
from core.findings import Severity


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2 definition."""

    def linear(channel: float) -> float:
        return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4

    made = QColor(colour)
    red, green, blue = (linear(c) for c in (made.redF(), made.greenF(), made.blueF()))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=lambda tokens: tokens.name)
@pytest.mark.parametrize("ink", ["text", "muted", "accent", "ok", "caution", "stop"])
@pytest.mark.parametrize("ground", ["window", "panel"])
def test_every_ink_is_readable_on_every_ground(tokens: Tokens, ink: str, ground: str) -> None:
    assert contrast(getattr(tokens, ink), getattr(tokens, ground)) >= 4.5


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=lambda tokens: tokens.name)
def test_series_differ_without_colour_and_are_readable(tokens: Tokens) -> None:
    patterns = [tuple(tokens.series_pen(index).dashPattern()) for index in range(4)]
    for one, other in itertools.combinations(patterns, 2):
        assert one != other
    assert all(contrast(colour, tokens.panel) >= 4.5 for colour in tokens.series)


def test_each_verdict_has_its_own_shape_and_word() -> None:
    marks = [OK, *MARKS.values()]
    assert len({m.glyph for m in marks}) == len({m.word for m in marks}) == 4
    assert mark(None) is OK
    assert mark(Severity.STOP).word == "stop"


def test_switching_recolours_live_widgets(qapp: QApplication, qtbot, theme: Theme) -> None:
    label = QLabel("■ stop")
    qtbot.addWidget(label)
    set_style_property(label, "severity", "stop")
    label.show()
    seen: list[Tokens] = []
    theme.changed.connect(seen.append)
    theme.set_dark(True)
    theme.changed.disconnect(seen.append)
    assert seen == [DARK]
    assert qapp.palette().color(QPalette.ColorRole.Window) == QColor(DARK.window)
    picture = label.grab().toImage()
    colours = {
        picture.pixelColor(x, y).name()
        for x in range(picture.width())
        for y in range(picture.height())
    }
    assert DARK.stop in colours
    assert LIGHT.stop not in colours
