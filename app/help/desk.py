"""What the Help menu and F1 do in a window."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QDialog, QTabWidget, QWidget

from burstwise.app.help.about import AboutDialog
from burstwise.app.help.first_start import FirstStart, cautions_read
from burstwise.app.help.keys import show_keys
from burstwise.app.help.pages import INDEX
from burstwise.app.help.report import ReportDialog
from burstwise.app.menus import HelpActions, help_menu
from burstwise.app.widgets.splits import keep_splits

if TYPE_CHECKING:
    from burstwise.app.help.browser import GuideBrowser
    from burstwise.app.window import MainWindow

PLAY_ON = "Operating point"
"""Screen on which an example is played with."""


class HelpDesk(QObject):
    """Opens the windows of the Help menu; the guide is one and stays where it was left.

    Parameters
    ----------
    window : MainWindow
        Whose menu it is.
    """

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self._settings = window.places.open_settings()
        self.guide: GuideBrowser | None = None
        help_menu(
            window,
            HelpActions(
                guide=lambda: self.show_guide(INDEX),
                this_screen=self.show_this_screen,
                keys=lambda: show_keys(window),
                start=self.show_start,
                report=lambda: self._open(ReportDialog(window.places.log, window)),
                about=lambda: self._open(AboutDialog(window)),
            ),
        )
        window.path_bar.step_wanted.connect(window.show_titled)

    def show_guide(self, page: str, heading: str = "") -> None:
        """Bring a page of the guide to the front."""
        from burstwise.app.help.browser import GuideBrowser

        if self.guide is None:
            self.guide = GuideBrowser(self._window)
            keep_splits(self.guide, self._settings)
        self.guide.show()  # first, as a heading's place needs the width of the text
        self.guide.activateWindow()
        if not self.guide.show_page(page, heading):
            self.guide.show_page(INDEX)

    def show_this_screen(self) -> None:
        """Guide to the screen in view, at the part of the tab that the focus is in."""
        window = self._window
        self.show_guide(window.guide_page, _tab_of(window.stack.currentWidget()))

    def show_start(self) -> FirstStart:
        """Cautions and the ways to begin."""
        return self._welcome(ways=True)

    def greet(self, *, busy: bool = False) -> FirstStart | None:
        """The first start's page, once; the cautions alone where a design is in hand already."""
        return None if cautions_read(self._settings) else self._welcome(ways=not busy)

    def _welcome(self, *, ways: bool) -> FirstStart:
        window = self._window
        examples = window.session.job.examples()
        dialog = FirstStart(self._settings, examples, ways=ways, parent=window)
        dialog.example_wanted.connect(lambda name: self._play(name))
        dialog.path_wanted.connect(self._begin_path)
        dialog.lesson_wanted.connect(lambda: window.show_titled("Lessons"))
        self._open(dialog)
        return dialog

    def _play(self, name: str) -> None:
        window = self._window
        if window.files.open_example(window.session.job.examples()[name]):
            window.show_titled(PLAY_ON)

    def _begin_path(self) -> None:
        if self._window.files.may_leave():
            self._window.files.begin_new()
            self._window.path_bar.begin()

    def _open(self, dialog: QDialog) -> None:
        dialog.open()


def _tab_of(screen: QWidget | None) -> str:
    """Title of the open tab of a screen, empty without tabs."""
    tabs = None if screen is None else screen.findChild(QTabWidget)
    return tabs.tabText(tabs.currentIndex()).replace("&", "") if tabs is not None else ""
