"""Every page of every screen at the sizes that users have: nothing is cut off or run over."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QAbstractItemModel, Qt
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QComboBox,
    QGroupBox,
    QHeaderView,
    QLabel,
    QPushButton,
    QScrollArea,
    QTabBar,
    QTableView,
    QTabWidget,
    QWidget,
)

from app.places import Places
from app.screens.registry import SCREENS
from app.session import Session
from app.theme import Theme
from app.widgets.quantity_field import QuantityField
from app.window import MainWindow
from app.wiring import design_job

LONG = 120_000
pytestmark = pytest.mark.usefixtures("engine_once")
SIZES = ((1366, 768), (1920, 1080))


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
        words = f"{name}, {book.tabText(page).replace('&', '')}"
        yield from tabs_within(root, words, qtbot, (*known, book))


def in_view(window: QWidget, kind: type) -> Iterator:
    for widget in window.findChildren(kind):
        if widget.isVisible() and not widget.visibleRegion().isEmpty():
            yield widget


def label_fault(label: QLabel) -> str:
    text = label.text().replace("&", "").strip()
    if not text or "<" in text or not label.pixmap().isNull():
        return ""
    if label.wordWrap():
        needed, room = label.heightForWidth(label.width()), label.height()
        return f"{text!r} needs {needed} px of height, has {room}" if needed > room + 1 else ""
    metrics = label.fontMetrics()
    needed = max(metrics.horizontalAdvance(line) for line in text.split("\n"))
    return f"{text!r} needs {needed} px, has {label.width()}" if needed > label.width() + 1 else ""


def bar_fault(bar: QTabBar) -> str:
    for tab in range(bar.count()):
        needed = bar.fontMetrics().horizontalAdvance(bar.tabText(tab).replace("&", ""))
        if needed > bar.tabRect(tab).width() or bar.tabRect(tab).right() > bar.width() + 1:
            return f"tab {bar.tabText(tab)!r}"
    return ""


def heading_fault(header: QHeaderView) -> str:
    model: QAbstractItemModel = header.model()
    if header.orientation() is not Qt.Orientation.Horizontal:
        return ""
    for column in range(header.count()):
        text = str(model.headerData(column, header.orientation()) or "")
        metrics = header.fontMetrics()
        needed = max(metrics.horizontalAdvance(line) for line in (text or " ").split("\n"))
        if not header.isSectionHidden(column) and needed > header.sectionSize(column):
            return f"column {text!r} needs {needed} px, has {header.sectionSize(column)}"
    return ""


def faults(window: MainWindow) -> Iterator[str]:
    """What is cut off in the page in view."""
    yield from filter(None, map(label_fault, in_view(window, QLabel)))
    for button in (*in_view(window, QPushButton), *in_view(window, QCheckBox)):
        if button.sizeHint().width() > button.width() + 1:
            yield f"button {button.text()!r}"
    for box in in_view(window, QComboBox):
        if box.fontMetrics().horizontalAdvance(box.currentText()) + 24 > box.width():
            yield f"choice {box.currentText()!r}"
    for group in in_view(window, QGroupBox):
        if group.fontMetrics().horizontalAdvance(group.title()) > group.width():
            yield f"group {group.title()!r}"
    for field in in_view(window, QuantityField):
        if field.entry.geometry().right() > field.width():
            yield f"field {field.entry.accessibleName()!r} is wider than its place"
    yield from filter(None, map(bar_fault, in_view(window, QTabBar)))
    yield from filter(None, map(heading_fault, in_view(window, QHeaderView)))
    for area in in_view(window, QScrollArea):
        bar = area.horizontalScrollBar()
        if bar.maximum() > 0:
            yield f"{type(area).__name__} is {bar.maximum()} px too narrow"


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("size", SIZES)
def test_nothing_is_cut_off_on_any_page(window, qtbot, size, dark) -> None:
    window.resize(*size)
    window.set_dark(dark)
    with qtbot.waitSignal(window.session.evaluated, timeout=LONG):
        window.session.refresh()
    found = {}
    for name in pages(window, qtbot):
        if any(faults(window)):
            qtbot.wait(200)  # words that came this moment have their layout by then
            found[name] = list(faults(window))
    assert not any(found.values()), found


def test_rows_are_as_high_as_their_words_after_the_window_grew(window, qtbot) -> None:
    window.resize(*SIZES[0])
    with qtbot.waitSignal(window.session.evaluated, timeout=LONG):
        window.session.refresh()
    titles = [screen.title for screen in SCREENS]
    for title, name in (("Compare", "Results"), ("Build", "Parts")):
        window.show_screen(titles.index(title))
        screen = window.screen_widget(titles.index(title))
        qtbot.waitUntil(lambda screen=screen: screen.ready, timeout=LONG)
        pages = {screen.tabs.tabText(n): screen.tabs.widget(n) for n in range(screen.tabs.count())}
        table: QTableView = pages[name]
        screen.tabs.setCurrentWidget(table)
        for size in SIZES:
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
