from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Callable

import pytest
from PySide6.QtCore import QRect, QSettings
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import (
    QApplication,
    QComboBox,
    QLabel,
    QLineEdit,
    QListWidget,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from burstwise.app.theme import DARK, LIGHT, MARKS, OK, Theme, Tokens, mark
from burstwise.app.widgets.findings_list import FindingsList
from burstwise.app.widgets.page_tabs import PageTabs
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.window import SYMBOLS_KEY, stored_symbols
from burstwise.core.assembly.symbol_style import SymbolStyle
from burstwise.core.findings import Finding, Severity


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


WORDS = "Words to be read"
Painted = tuple[QWidget, QWidget, Callable[[], QRect]]
"""A window, the widget of it that paints, and the part to look at once it is shown."""


def rendered_contrast(widget: QWidget, part: QRect) -> float:
    """Highest contrast of a colour in a part of a widget, as painted, to the commonest one."""
    picture = widget.grab(part).toImage()
    counted = Counter(
        picture.pixelColor(x, y).name()
        for x in range(picture.width())
        for y in range(picture.height())
    )
    ((ground, _),) = counted.most_common(1)
    return max(contrast(ink, ground) for ink, count in counted.items() if count >= 3)


def chosen_finding(theme: Theme) -> Painted:
    whole = FindingsList(theme)
    whole.resize(400, 200)
    whole.show_findings([Finding(severity, "code", WORDS, "supply") for severity in Severity])
    whole.items.setCurrentRow(1)
    return whole, whole.items.viewport(), lambda: whole.items.visualItemRect(whole.items.item(1))


def chosen_screen(theme: Theme) -> Painted:
    whole = QListWidget()
    set_style_property(whole, "role", "screens")
    whole.addItems([WORDS, WORDS])
    whole.setCurrentRow(0)
    return whole, whole.viewport(), lambda: whole.visualItemRect(whole.item(0))


def chosen_cell(theme: Theme) -> Painted:
    whole = QTableWidget(2, 1)
    whole.setItem(0, 0, QTableWidgetItem(WORDS))
    whole.setCurrentCell(0, 0)
    return whole, whole.viewport(), lambda: whole.visualItemRect(whole.item(0, 0))


def whole_of(widget: QWidget) -> Painted:
    widget.resize(widget.sizeHint())
    return widget, widget, lambda: widget.rect().adjusted(3, 3, -3, -3)


def pressed_button(theme: Theme) -> Painted:
    button = QPushButton(WORDS)
    button.setDown(True)
    return whole_of(button)


def marked_words(theme: Theme) -> Painted:
    field = QLineEdit(WORDS)
    field.selectAll()
    return whole_of(field)


def choice(theme: Theme) -> Painted:
    box = QComboBox()
    box.addItem(WORDS)
    return whole_of(box)


STATES: list[Callable[[Theme], Painted]] = [
    chosen_finding,
    chosen_screen,
    chosen_cell,
    pressed_button,
    marked_words,
    choice,
]


@pytest.mark.parametrize("focused", [False, True], ids=["", "focused"])
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("state", STATES, ids=lambda state: state.__name__)
def test_every_state_is_readable_as_painted(
    qtbot, theme: Theme, state: Callable[..., Painted], dark: bool, focused
) -> None:
    """4.5 to 1 for text: WCAG 2.2, success criterion 1.4.3."""
    theme.set_dark(dark)
    whole, painted, part = state(theme)
    qtbot.addWidget(whole)
    with qtbot.waitExposed(whole):
        whole.show()
    (painted.parentWidget() or painted).setFocus() if focused else whole.clearFocus()
    assert rendered_contrast(painted, part()) >= 4.5


def test_symbols_are_kept_and_told(qtbot, theme, tmp_path) -> None:
    settings = QSettings(str(tmp_path / "a.ini"), QSettings.Format.IniFormat)
    assert stored_symbols(settings) is SymbolStyle.IEC
    settings.setValue(SYMBOLS_KEY, "ansi")
    assert stored_symbols(settings) is SymbolStyle.ANSI
    settings.setValue(SYMBOLS_KEY, "neither")
    assert stored_symbols(settings) is SymbolStyle.IEC
    with qtbot.waitSignal(theme.symbols_changed) as told:
        theme.set_symbols(SymbolStyle.ANSI)
    assert told.args == [SymbolStyle.ANSI]
    theme.set_symbols(SymbolStyle.IEC)


@pytest.mark.parametrize("dark", [False, True])
def test_no_line_stands_above_the_tabs(qtbot, theme: Theme, dark: bool) -> None:
    theme.set_dark(dark)
    tabs = PageTabs()
    qtbot.addWidget(tabs)
    for words in ("One", "Two", "Three"):
        tabs.addTab(QWidget(), words)
    tabs.resize(400, 200)
    with qtbot.waitExposed(tabs):
        tabs.show()
    bar = tabs.tabBar()
    picture = tabs.grab().toImage()
    others = range(bar.tabRect(1).left() + 1, bar.tabRect(2).right())
    above = {picture.pixel(x, y) for x in others for y in range(5)}
    assert above == {QColor(theme.tokens.window).rgb()}
