"""Every page of every screen at the sizes that users have: nothing is cut off or run over."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from layout_defects import defects
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QLabel,
    QPushButton,
    QTabBar,
    QTableView,
    QTabWidget,
    QWidget,
)

from burstwise.app.places import Places
from burstwise.app.screens.registry import SCREENS
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job

LONG = 600_000
pytestmark = pytest.mark.usefixtures("engine_once")
PATIENCE = 2.0
"""Longest time until a page that was resized is at rest [s]."""
SIZES = (
    (1024, 640), (1366, 768), (1920, 1080), (2560, 1440),
    (683, 427), (911, 512), (1280, 720), (1707, 960),
    (640, 360), (683, 384), (960, 540),
)  # fmt: skip
"""Whole screens; below them what the same pixels are at 150 % and at 200 %.

Half of 1024 x 640 is less than the window's least size, which stands for it.
"""


@pytest.fixture(scope="module")
def theme(qapp: QApplication) -> Theme:
    return Theme(qapp)


@pytest.fixture
def window(qtbot, theme: Theme, tmp_path: Path) -> Iterator[MainWindow]:
    made = MainWindow(Session(design_job()), theme, Places(tmp_path / "s", tmp_path / "d"))
    qtbot.addWidget(
        made, before_close_func=lambda window: window.session.document.undo_stack.setClean()
    )
    with qtbot.waitActive(made):
        made.show()
    yield made
    theme.set_dark(False)


def pages(window: MainWindow, qtbot) -> Iterator[str]:
    """Bring each page of each screen into view, with its name."""
    for index, screen in enumerate(SCREENS):
        window.show_screen(index)
        yield from tabs_within(window.screen_widget(index), screen.title, qtbot)


def tabs_within(root: QWidget, name: str, qtbot, known: tuple[QTabWidget, ...] = ()):
    qtbot.wait(20)
    books = [book for book in root.findChildren(QTabWidget) if book.isVisible()]
    book = next((book for book in books if book not in known), None)
    if book is None:
        yield name
        return
    for page in range(book.count()):
        book.setCurrentIndex(page)
        words = f"{name}, {book.tabText(page).replace('&', '')}".replace("\n", " ")
        yield from tabs_within(root, words, qtbot, (*known, book))


def in_view(window: QWidget, kind: type) -> Iterator:
    for widget in window.findChildren(kind):
        if widget.isVisible() and not widget.visibleRegion().isEmpty():
            yield widget


def faults(window: MainWindow, size: tuple[int, int], qtbot) -> list[str]:
    """Layout defects of the page in view at a size of the window."""
    window.resize(*size)
    qtbot.wait(30)
    found = defects(window)
    end = time.monotonic() + PATIENCE
    while found and time.monotonic() < end:  # panels that turned have their layout soon
        qtbot.wait(50)
        found = defects(window)
    told = [str(item) for item in found]
    if (window.width(), window.height()) != size:
        told.append(f"the window is {window.width()} x {window.height()}")
    return told


def walked(window: MainWindow, qtbot, sizes: tuple[tuple[int, int], ...]) -> dict[str, list[str]]:
    """Defects of every page at every size, by page and size."""
    with qtbot.waitSignal(window.session.evaluated, timeout=LONG):
        window.session.refresh()
    found = {}
    for name in pages(window, qtbot):
        for size in sizes:
            told = faults(window, size, qtbot)
            if told:
                found[f"{name} at {size[0]} x {size[1]}"] = told
    return found


def test_nothing_is_cut_off_on_any_page(window, qtbot) -> None:
    assert walked(window, qtbot, SIZES[:1]) == {}


@pytest.mark.slow
@pytest.mark.parametrize("given_by", ["numbers", "parts"])
@pytest.mark.parametrize("dark", [False, True])
def test_nothing_is_cut_off_at_any_size(window, qtbot, dark, given_by) -> None:
    window.set_dark(dark)
    window.session.document.edit("interrupter.given_by", given_by)
    assert walked(window, qtbot, SIZES) == {}


def test_the_window_opens_inside_its_screen(window) -> None:
    room = window.screen().availableGeometry()
    assert window.width() < room.width() < 1366
    assert window.height() < room.height()


def test_rows_are_as_high_as_their_words_after_the_window_grew(window, qtbot) -> None:
    window.resize(1366, 768)
    with qtbot.waitSignal(window.session.evaluated, timeout=LONG):
        window.session.refresh()
    titles = [screen.title for screen in SCREENS]
    for title, name in (("Compare", "Results"), ("Build", "Parts")):
        window.show_screen(titles.index(title))
        screen = window.screen_widget(titles.index(title))
        qtbot.waitUntil(lambda screen=screen: screen.ready, timeout=LONG)
        pages = {screen.tabs.tabText(n): screen.tabs.widget(n) for n in range(screen.tabs.count())}
        page = pages[name]
        table = page if isinstance(page, QTableView) else page.findChild(QTableView)
        screen.tabs.setCurrentWidget(page)
        for size in SIZES[1:3]:
            window.resize(*size)
            qtbot.wait(50)
            heights = [table.rowHeight(row) for row in range(table.model().rowCount())]
            table.resizeRowsToContents()
            fitted = [table.rowHeight(row) for row in range(table.model().rowCount())]
            assert heights == fitted


def test_no_key_of_a_page_is_one_of_the_menus(window, qtbot) -> None:
    """A letter that a menu has as well would reach neither of the two."""
    menus = {letter(action.text()) for action in window.menuBar().actions()}
    for name in pages(window, qtbot):
        words = [word.text() for kind in (QPushButton, QCheckBox, QLabel)
                 for word in in_view(window, kind)]  # fmt: skip
        words += [
            bar.tabText(tab) for bar in in_view(window, QTabBar) for tab in range(bar.count())
        ]
        assert not [word for word in words if letter(word) and letter(word) in menus], name


def letter(words: str) -> str:
    """Letter behind the ampersand, lower case."""
    return words.partition("&")[2][:1].lower()
