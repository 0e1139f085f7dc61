"""Light and dark look: one small set of colour tokens, and the Qt palette and style made of it.

No colour carries meaning alone: each verdict has a shape glyph and a word beside its colour, each
curve a line style beside its hue.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QFont, QPalette, QPen
from PySide6.QtWidgets import QApplication, QWidget

from burstwise.app.stylesheet import stylesheet
from burstwise.core.assembly.symbol_style import SymbolStyle
from burstwise.core.findings import Severity

POINT_SIZE: Final = 11
"""Base type size [pt]."""


@dataclass(frozen=True, slots=True)
class Mark:
    """Shape and word that go with a colour of fixed meaning."""

    glyph: str
    word: str


OK: Final = Mark("●", "ok")
MARKS: Final[Mapping[Severity, Mark]] = {
    Severity.NOTE: Mark("○", "note"),
    Severity.CAUTION: Mark("▲", "caution"),
    Severity.STOP: Mark("■", "stop"),
}
DASHES: Final[tuple[tuple[float, ...], ...]] = ((), (7, 3), (2, 3), (9, 3, 2, 3))
"""Dash patterns of the series, in line widths; the first is solid."""


def mark(severity: Severity | None) -> Mark:
    """Shape and word of a severity, those of 'ok' for none."""
    return OK if severity is None else MARKS[severity]


@dataclass(frozen=True, slots=True)
class Tokens:
    """Colours of one look, as `#rrggbb`, named by what they mean."""

    name: str
    window: str
    panel: str
    line: str
    grid: str
    text: str
    muted: str
    accent: str
    on_accent: str
    ok: str
    caution: str
    stop: str
    series: tuple[str, str, str, str]

    def severity(self, severity: Severity | None) -> str:
        """Colour of a severity, that of 'ok' for none."""
        if severity is None:
            return self.ok
        return {
            Severity.NOTE: self.muted,
            Severity.CAUTION: self.caution,
            Severity.STOP: self.stop,
        }[severity]

    def series_pen(self, index: int, *, width: float = 1.5) -> QPen:
        """Pen of a series: its hue and its dash pattern change together."""
        pen = QPen(QColor(self.series[index % len(self.series)]), width)
        pen.setCosmetic(True)
        dashes = DASHES[index % len(DASHES)]
        if dashes:
            pen.setDashPattern(dashes)
            pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        return pen

    def series_shade(self, index: int) -> QColor:
        """Ground of an area that belongs to a series: its hue, so thin that grid and curve show."""
        colour = QColor(self.series[index % len(self.series)])
        colour.setAlphaF(0.16)
        return colour

    def ghost_pen(self, index: int) -> QPen:
        """Pen of a pinned design's curve: muted, thin, dotted; later ones with longer gaps."""
        pen = QPen(QColor(self.muted), 1.3)
        pen.setCosmetic(True)
        pen.setDashPattern([1.5, 2.0 + 2.0 * index])
        return pen


LIGHT: Final = Tokens(
    name="light",
    window="#eef0ec",
    panel="#fbfcfa",
    line="#c3cac4",
    grid="#e2e6e1",
    text="#1b2421",
    muted="#56635e",
    accent="#0a6a66",
    on_accent="#ffffff",
    ok="#24703a",
    caution="#8a5700",
    stop="#b3261e",
    series=("#0a6a66", "#a85a00", "#7d3a8c", "#44576b"),
)
DARK: Final = Tokens(
    name="dark",
    window="#141918",
    panel="#1c2322",
    line="#3c4846",
    grid="#2a3331",
    text="#e4eae7",
    muted="#9daba6",
    accent="#57c2b8",
    on_accent="#0d1514",
    ok="#72c986",
    caution="#e6ad48",
    stop="#ff8377",
    series=("#57c2b8", "#e9a75a", "#cf9be0", "#a9bbcd"),
)


class Theme(QObject):
    """The look in force; tells who paints for itself (the plots) when it changes.

    Parameters
    ----------
    application : QApplication
        Receives palette and font; the style sheet is worn by whom a `WindowStyle` is put on.
    dark : bool
        Start with the dark look.
    symbols : SymbolStyle
        Standard of the symbols in drawings to start with; `symbols_changed` tells of another.
    """

    changed = Signal(object)
    symbols_changed = Signal(object)

    def __init__(
        self,
        application: QApplication,
        *,
        dark: bool = False,
        symbols: SymbolStyle = SymbolStyle.IEC,
    ) -> None:
        super().__init__()
        self._application = application
        application.setStyle("Fusion")
        application.setFont(base_font(application.font()))
        self.tokens = DARK if dark else LIGHT
        self.symbols = symbols
        self._paint()

    @property
    def dark(self) -> bool:
        """Whether the dark look is in force."""
        return self.tokens is DARK

    def set_dark(self, dark: bool) -> None:
        """Change to the dark or the light look at once."""
        if dark == self.dark:
            return
        self.tokens = DARK if dark else LIGHT
        self._paint()
        self.changed.emit(self.tokens)

    def set_symbols(self, symbols: SymbolStyle) -> None:
        """Change the standard of the symbols in drawings."""
        if symbols is not self.symbols:
            self.symbols = symbols
            self.symbols_changed.emit(symbols)

    def _paint(self) -> None:
        self._application.setPalette(palette(self.tokens))


class WindowStyle(QObject):
    """Style sheet of a window, of all within it and of its dialogs, menus and tips; its child.

    A sheet of the whole application would do the same in five times the time, as a change of it
    makes each widget ask for its style anew.

    Parameters
    ----------
    theme : Theme
        Look that is followed.
    wearer : QWidget or QApplication
        Who wears it.
    """

    def __init__(self, theme: Theme, wearer: QWidget | QApplication) -> None:
        super().__init__(wearer)
        self._window = wearer
        theme.changed.connect(self._apply)
        self._apply(theme.tokens)

    def _apply(self, tokens: Tokens) -> None:
        self._window.setStyleSheet(stylesheet(tokens))


def base_font(font: QFont) -> QFont:
    """Font at the base size with figures of equal width, so that numbers align."""
    sized = QFont(font)
    sized.setPointSize(POINT_SIZE)
    sized.setFeature(QFont.Tag("tnum"), 1)
    return sized


def palette(tokens: Tokens) -> QPalette:
    """Qt palette of a look, disabled text muted."""
    role = QPalette.ColorRole
    made = QPalette()
    for wanted, colour in {
        role.Window: tokens.window,
        role.WindowText: tokens.text,
        role.Base: tokens.panel,
        role.AlternateBase: tokens.window,
        role.Text: tokens.text,
        role.Button: tokens.panel,
        role.ButtonText: tokens.text,
        role.BrightText: tokens.stop,
        role.Highlight: tokens.accent,
        role.HighlightedText: tokens.on_accent,
        role.ToolTipBase: tokens.panel,
        role.ToolTipText: tokens.text,
        role.PlaceholderText: tokens.muted,
        role.Link: tokens.accent,
        role.Mid: tokens.line,
    }.items():
        made.setColor(wanted, QColor(colour))
    for wanted in (role.WindowText, role.Text, role.ButtonText):
        made.setColor(QPalette.ColorGroup.Disabled, wanted, QColor(tokens.muted))
    return made
