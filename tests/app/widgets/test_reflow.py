"""Panels turn upright where a row has no room, and pages scroll before anything is squeezed."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from burstwise.app.widgets.page_tabs import PageTabs
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.scrolled import Scrolled

WORDS = ("&Ratings", "&Map", "&What fails first", "Continuous or &interrupted", "Reach a &goal")


def panel(width: int, height: int) -> QWidget:
    made = QWidget()
    made.setMinimumSize(width, height)
    return made


@pytest.fixture
def row(qtbot, theme):
    made = Reflow(spacing=10)
    qtbot.addWidget(made)
    panels = [panel(300, 50), panel(200, 60)]
    for one in panels:
        made.add(one)
    with qtbot.waitExposed(made):
        made.show()
    return made, panels


@pytest.mark.parametrize(("width", "upright"), [(510, False), (509, True), (320, True)])
def test_a_row_turns_where_its_panels_do_not_fit(row, qtbot, width, upright) -> None:
    made, (first, second) = row
    made.resize(width, 300)
    qtbot.wait(10)
    assert made.upright is upright
    apart = second.y() >= first.y() + first.height() if upright else second.x() > first.width()
    assert apart
    assert made.rect().contains(first.geometry().united(second.geometry()))


def test_it_needs_no_more_width_than_its_widest_panel(row, qtbot) -> None:
    made, _panels = row
    made.resize(320, 300)
    qtbot.wait(10)
    assert made.minimumSizeHint().width() == 300
    assert made.minimumSizeHint().height() == 50 + 10 + 60


def test_a_fixed_width_holds_in_the_row_only(qtbot, theme) -> None:
    made = Reflow(spacing=10)
    qtbot.addWidget(made)
    side = panel(0, 40)
    made.add(panel(300, 40))
    made.add(side, 0, width=200)
    with qtbot.waitExposed(made):
        made.show()
    for width, wanted in ((800, 200), (450, 450), (800, 200)):
        made.resize(width, 300)
        qtbot.wait(10)
        assert side.width() == wanted


def worded_page() -> tuple[QWidget, QWidget]:
    page = QWidget()
    down = QVBoxLayout(page)
    down.setContentsMargins(0, 0, 0, 0)
    label = QLabel("Words that wrap where they have to. " * 6)
    label.setWordWrap(True)
    body = panel(250, 120)
    down.addWidget(label)
    down.addWidget(body, 1)
    return page, body


def test_a_page_scrolls_before_it_is_squeezed(qtbot, theme) -> None:
    page, body = worded_page()
    area = Scrolled(page)
    qtbot.addWidget(area)
    area.resize(600, 400)
    with qtbot.waitExposed(area):
        area.show()
    assert page.size() == area.viewport().size()
    assert area.verticalScrollBar().maximum() == 0
    area.resize(200, 100)
    qtbot.wait(10)
    assert page.width() == 250
    assert body.height() >= 120
    assert area.verticalScrollBar().maximum() == page.height() - area.viewport().height() > 0
    body.setMinimumHeight(500)
    qtbot.wait(10)
    assert page.height() >= 500


@pytest.mark.parametrize("width", [900, 520, 400])
def test_tabs_keep_their_words_whole(qtbot, theme, width) -> None:
    tabs = PageTabs()
    qtbot.addWidget(tabs)
    pages = [QLabel(words) for words in WORDS]
    for page, words in zip(pages, WORDS, strict=True):
        tabs.addTab(page, words)
    tabs.resize(width, 300)
    with qtbot.waitExposed(tabs):
        tabs.show()
    bar = tabs.tabBar()
    for place in range(tabs.count()):
        box, words = bar.tabRect(place), bar.tabText(place).replace("&", "")
        need = bar.fontMetrics().size(0, words)
        assert need.width() <= box.width()
        assert need.height() <= box.height()
        assert bar.rect().contains(box)
    tabs.setCurrentWidget(pages[3])
    assert tabs.currentIndex() == 3
    assert tabs.currentWidget() is tabs.widget(3) is pages[3]
    assert tabs.indexOf(pages[3]) == 3
    assert tabs.indexOf(QLabel()) == -1
