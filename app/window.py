"""The one window: screens on the left, the standing summary on top, findings always in view."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from PySide6.QtCore import QByteArray, QEvent, QObject, QSettings, QSize, Qt
from PySide6.QtGui import QCloseEvent, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QListWidget,
    QMainWindow,
    QMenu,
    QPushButton,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.file_dialogs import last_folder, set_last_folder
from burstwise.app.files import Files
from burstwise.app.help.desk import HelpDesk
from burstwise.app.help.path_bar import PathBar
from burstwise.app.menus import add_action, edit_menu, file_menu, view_menu
from burstwise.app.places import Places, RecentFiles
from burstwise.app.recovery import Autosave
from burstwise.app.screens.registry import SCREENS, Screen
from burstwise.app.session import Evaluated, Session
from burstwise.app.stored import stored
from burstwise.app.theme import Theme, WindowStyle
from burstwise.app.widgets.findings_list import FindingsList
from burstwise.app.widgets.notice import tell
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.scrolled import scrolled
from burstwise.app.widgets.speaker import Speaker
from burstwise.app.widgets.splits import keep_splits
from burstwise.app.widgets.summary_strip import SummaryStrip
from burstwise.core.assembly.symbol_style import SymbolStyle
from burstwise.core.findings import Finding

SIDE_WIDTH: Final = 252
_CLOSE_WIDTH: Final = 204
"""Width of the list of screens in a window below `_WIDE` [px]."""
_WIDE: Final = 1200
_NARROW: Final = 800
"""Below this the list of screens and the page take turns in the window [px]."""
_LEAST: Final = QSize(640, 360)
_USUAL: Final = QSize(1366, 768)
_FRAME: Final = QSize(16, 48)
"""Room for the frame that the desktop puts round a window [px]."""
_FINDINGS_ROOM: Final = 120
DARK_KEY: Final = "look/dark"
SYMBOLS_KEY: Final = "look/symbols"
BANDS_KEY: Final = "look/bands"
_GEOMETRY_KEY: Final = "window/geometry"
_SCREEN_KEY: Final = "window/screen"
_FOLDER_KEY: Final = "files/folder"


def stored_symbols(settings: QSettings) -> SymbolStyle:
    """Standard of the symbols that was chosen last; IEC where none or an unknown one is kept."""
    kept = stored(settings, SYMBOLS_KEY, "")
    return SymbolStyle(kept) if kept in list(SymbolStyle) else SymbolStyle.IEC


class MainWindow(QMainWindow):
    """Window over one session, which it closes when it closes.

    Parameters
    ----------
    session : Session
        Document and results.
    theme : Theme
        Look.
    places : Places
        Directories for settings and recovery.
    screens : sequence of Screen
        Screens in the order of the list; each is made when it is first shown.
    """

    def __init__(
        self,
        session: Session,
        theme: Theme,
        places: Places,
        *,
        screens: Sequence[Screen] = SCREENS,
    ) -> None:
        super().__init__()
        WindowStyle(theme, self)  # before its children, which are measured as they will be shown
        self.session, self.theme, self.places = session, theme, places
        self._screens = tuple(screens)
        self._made: dict[int, QWidget] = {}
        self._settings: QSettings = places.open_settings()
        self.recent = RecentFiles(self._settings)
        self.autosave = Autosave(session.document, places.recovery, to_text=session.job.to_text)
        self.autosave.failed.connect(self._tell_unkept)
        self.files = Files(session, self.recent, self.autosave, self)
        self.strip = SummaryStrip(self)
        self.screen_list = QListWidget(self)
        self.findings = FindingsList(theme, self)
        self.speaker = Speaker(self.strip)
        self.path_bar = PathBar(self)
        self.stack = QStackedWidget(self)
        self._lay_out()
        file_menu(self, self.files, self.recent, session.job.examples())
        session.drawer.keep_in(places.drawer)
        edit_menu(self, session.document, self.show_drawer)
        view = view_menu(
            self,
            [screen.title for screen in self._screens],
            show=self.show_screen,
            move=self.move_screen,
            to_findings=self.show_findings,
            dark=theme.dark,
            set_dark=self.set_dark,
            ansi=theme.symbols is SymbolStyle.ANSI,
            set_ansi=self.set_ansi,
        )
        self._offer_comparing(view)
        self.help = HelpDesk(self)
        self._connect()
        self._restore()
        self._write_title()

    def _lay_out(self) -> None:
        for screen in self._screens:
            self.screen_list.addItem(screen.title)
        self.screen_list.setAccessibleName("Screens")
        set_style_property(self.screen_list, "role", "screens")
        self.side = QFrame(self)
        set_style_property(self.side, "role", "side")
        down = QVBoxLayout(self.side)
        down.setContentsMargins(0, 8, 0, 0)
        down.setSpacing(0)
        down.addWidget(self.screen_list)
        down.addWidget(self.findings, 1)
        self.turns = QPushButton("Screens and findin&gs", self)
        self.turns.setCheckable(True)
        self.turns.toggled.connect(self._fit_side)
        self.strip.installEventFilter(self)
        across = QHBoxLayout()
        across.setSpacing(0)
        across.addWidget(self.side)
        across.addWidget(self.stack, 1)
        centre = QWidget(self)
        layout = QVBoxLayout(centre)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.strip)
        layout.addWidget(self.path_bar)
        layout.addWidget(self.turns)
        layout.addLayout(across, 1)
        self.setCentralWidget(centre)
        self.setMinimumSize(_LEAST)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give list, findings and page their room."""
        super().resizeEvent(event)
        self._fit_side()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Give them their room again when the strip has grown with its words."""
        if event.type() == QEvent.Type.Resize:
            self._fit_side()
        return super().eventFilter(watched, event)

    def _fit_side(self, _turned: bool = False) -> None:
        """List and findings beside the page; in a narrow window one of the two is in view."""
        width = self.width()
        narrow = width < _NARROW
        self.turns.setVisible(narrow)
        self.side.setVisible(not narrow or self.turns.isChecked())
        self.stack.setVisible(not narrow or not self.turns.isChecked())
        self.side.setFixedWidth(width if narrow else _CLOSE_WIDTH if width < _WIDE else SIDE_WIDTH)
        whole = self.screen_list.sizeHintForRow(0) * len(self._screens) + 16
        over = self.menuBar().height() + self.strip.height() + self.turns.height() * narrow
        room = self.height() - over - _FINDINGS_ROOM
        self.screen_list.setFixedHeight(min(whole, max(room, whole // 4)))

    def _connect(self) -> None:
        session = self.session
        self.screen_list.currentRowChanged.connect(self.show_screen)
        self.findings.chosen.connect(self.show_field)
        self.strip.stop_asked.connect(session.worker.stop)
        session.evaluated.connect(self._show_results)
        session.glimpsed.connect(self._show_glimpse)
        session.looked_ahead.connect(self._show_ahead)
        session.failed.connect(self._show_failure)
        session.worker.busy_changed.connect(self.strip.set_busy)
        session.worker.progressed.connect(self.strip.show_progress)
        session.document.changed.connect(self._write_title)
        session.document.file_changed.connect(self._write_title)
        session.document.unsaved_changed.connect(self.setWindowModified)

    def _offer_comparing(self, view: QMenu) -> None:
        """Pin of the present design and bands of tolerance in the View menu."""
        view.addSeparator()
        self._pin_action = add_action(view, "&Pin the present design", self._pin, "Ctrl+Shift+P")
        self._pin_action.setCheckable(True)
        self._bands_action = add_action(view, "&Bands of build tolerance", self._choose_bands)
        self._bands_action.setCheckable(True)
        self._bands_action.setChecked(stored(self._settings, BANDS_KEY, True))
        self.session.want_bands(self._bands_action.isChecked())
        # No function of the window's own is tied to the session: the session would keep it, and it
        # the window, which owns the session.
        self.session.pin_changed.connect(self._show_pin)

    def _choose_bands(self) -> None:
        """Take the bands up again or do without them, and remember it."""
        wanted = self._bands_action.isChecked()
        self.session.want_bands(wanted)
        self._settings.setValue(BANDS_KEY, wanted)

    def _show_pin(self) -> None:
        self._pin_action.setChecked(self.session.pinned is not None)

    def _pin(self) -> None:
        wanted = self._pin_action.isChecked()
        self.session.pin(wanted)
        pinned = self.session.pinned
        if wanted and pinned is None:
            self.session.pin_changed.emit()  # the menu's tick goes again
            tell(self, "Nothing to pin yet: the design has no results")
        elif pinned is not None:
            tell(self, "Pinned: its curves stay dotted behind the next ones")

    @property
    def current_screen(self) -> int:
        """Index of the screen in view."""
        return self.screen_list.currentRow()

    def screen_widget(self, index: int) -> QWidget:
        """Widget of a screen, made when first asked for."""
        if index not in self._made:
            widget = self._screens[index].made(self.session, self.theme)
            self._made[index] = widget
            keep_splits(widget, self._settings)
            self.stack.addWidget(scrolled(widget))
        return self._made[index]

    def show_screen(self, index: int) -> None:
        """Bring a screen into view."""
        if not 0 <= index < len(self._screens):
            return
        self.screen_widget(index)
        self.stack.setCurrentIndex(list(self._made).index(index))
        self.turns.setChecked(False)
        if self.screen_list.currentRow() != index:
            self.screen_list.setCurrentRow(index)

    def move_screen(self, steps: int) -> None:
        """Go on or back in the list of screens, round its ends."""
        self.show_screen((self.current_screen + steps) % len(self._screens))

    def show_field(self, field: str) -> None:
        """Bring the screen into view on which a field is edited."""
        for index, screen in enumerate(self._screens):
            if screen.edits(field):
                self.show_screen(index)
                return

    def show_titled(self, title: str) -> None:
        """Bring the screen of a title into view."""
        self.show_screen([screen.title for screen in self._screens].index(title))

    def _tell_unkept(self, reason: str) -> None:
        tell(self, f"Unsaved work cannot be kept against a crash: {reason}")

    def show_drawer(self) -> None:
        """Open the list of the parts that the user has."""
        from burstwise.app.drawer_dialog import show_drawer

        show_drawer(self.session.drawer, self)

    @property
    def guide_page(self) -> str:
        """Name of the guide's page on the screen in view."""
        return self._screens[self.current_screen].guide

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """F1 that no widget answered asks for the guide."""
        if event.key() == Qt.Key.Key_F1 and not event.modifiers():
            self.help.show_this_screen()
            return
        super().keyPressEvent(event)

    def event(self, event: QEvent) -> bool:
        """Answer a widget that has no explanation with the guide."""
        if event.type() == QEvent.Type.HelpRequest:
            self.help.show_this_screen()
            return True
        return super().event(event)

    def show_findings(self) -> None:
        """Bring the findings into view and give them the keys."""
        self.turns.setChecked(True)
        self.findings.items.setFocus()

    def set_dark(self, dark: bool) -> None:
        """Change the look and remember it."""
        self.theme.set_dark(dark)
        self._settings.setValue(DARK_KEY, dark)

    def set_ansi(self, ansi: bool) -> None:
        """Change the standard of the symbols in drawings and remember it."""
        symbols = SymbolStyle.ANSI if ansi else SymbolStyle.IEC
        self.theme.set_symbols(symbols)
        self._settings.setValue(SYMBOLS_KEY, symbols.value)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about unsaved edits, then end the thread and the autosave in good order."""
        if not self.files.may_leave():
            event.ignore()
            return
        self._settings.setValue(_GEOMETRY_KEY, self.saveGeometry())
        self._settings.setValue(_SCREEN_KEY, self.current_screen)
        self._settings.setValue(_FOLDER_KEY, last_folder())
        self._settings.sync()
        self.autosave.close()
        self.session.close()
        super().closeEvent(event)

    def _restore(self) -> None:
        if not self.restoreGeometry(stored(self._settings, _GEOMETRY_KEY, QByteArray())):
            self.resize(_USUAL)
        set_last_folder(stored(self._settings, _FOLDER_KEY, ""))
        self.resize(self.size().boundedTo(self.screen().availableSize() - _FRAME))
        last = stored(self._settings, _SCREEN_KEY, 0)
        self.show_screen(last if last < len(self._screens) else 0)

    def _show_results(self, evaluated: Evaluated) -> None:
        self.strip.show_summary(evaluated.summary)
        self.findings.show_findings(evaluated.summary.findings)
        self.speaker.follow(evaluated.summary)

    def _show_glimpse(self, evaluated: Evaluated) -> None:
        """Strip of a quick picture; the findings wait for the full evaluation."""
        latest = self.session.latest
        stopped = latest is not None and latest.summary.stopped
        self.strip.show_summary(replace(evaluated.summary, stopped=stopped))

    def _show_ahead(self, evaluated: Evaluated) -> None:
        if not self.session.settling:
            self.strip.show_summary(evaluated.summary)
            self.speaker.follow(evaluated.summary)

    def _show_failure(self, failure: Finding) -> None:
        latest = self.session.latest
        self.strip.show_stale(failure.text)
        known = latest.summary.findings if latest is not None else ()
        self.findings.show_findings((failure, *known))

    def _write_title(self, _design: object = None) -> None:
        document = self.session.document
        name = document.file.name if document.file else str(document.value("name"))
        if document.guest is not None:
            name = document.guest
        self.setWindowTitle(f"{name}[*] — Burstwise")
        self.setWindowModified(document.unsaved)
