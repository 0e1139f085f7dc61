from __future__ import annotations

import re

import pytest
from PySide6.QtCore import QPoint, Qt, QUrl
from PySide6.QtGui import QDesktopServices, QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog, QLabel

from burstwise.app.help.about import PARTS, AboutDialog, licences
from burstwise.app.help.browser import GuideBrowser
from burstwise.app.help.first_start import FirstStart
from burstwise.app.help.keys import KeysDialog, menu_keys
from burstwise.app.help.pages import found_in, guide_pages, slug, target_of
from burstwise.app.help.path_bar import STEPS
from burstwise.app.help.report import ReportDialog
from burstwise.app.launch import _start_work
from burstwise.app.screens.registry import SCREENS
from burstwise.app.window import MainWindow
from burstwise.core.assembly.cautions import HAZARDS
from burstwise.core.version import VERSION

LINK = re.compile(r"\]\(([^)\s]+)\)")


@pytest.fixture
def guide(qtbot) -> GuideBrowser:
    made = GuideBrowser()
    qtbot.addWidget(made)
    with qtbot.waitActive(made):
        made.show()
    return made


def test_every_screen_has_its_page() -> None:
    names = {page.name for page in guide_pages()}
    assert {screen.guide for screen in SCREENS} <= names - {"index"}
    assert guide_pages()[0].name == "index"


def test_a_page_that_there_is_none_of_gives_the_first(still_window: MainWindow, qtbot) -> None:
    desk = still_window.help
    desk.show_guide("coil")
    desk.show_guide("no such page")
    assert desk.guide is not None
    assert desk.guide.page.name == "index"
    desk.guide.close()


def test_f1_opens_the_page_of_the_screen_at_the_open_tab(still_window: MainWindow, qtbot) -> None:
    window = still_window
    window.show_titled("Limits")
    window.screen_list.setFocus()
    QTest.keyClick(window.screen_list, Qt.Key.Key_F1)
    guide = window.help.guide
    assert guide is not None
    assert guide.isVisible()
    assert guide.page is not None
    assert guide.page.name == "limits"
    assert guide.text.textCursor().block().text() == "Ratings"
    window.show_titled("Coil")
    QTest.keyClick(window.screen_list, Qt.Key.Key_F1)
    assert window.help.guide is guide
    assert guide.page.name == "coil"
    guide.close()


def test_f1_on_a_figure_without_explanation_opens_the_guide(
    still_window: MainWindow, qtbot
) -> None:
    window = still_window
    window.show_titled("Operating point")
    page = window.stack.currentWidget().page
    page.figures.setFocus()
    assert page.figures.chosen_key is None
    QTest.keyClick(page.figures, Qt.Key.Key_F1)
    assert window.help.guide is not None
    assert window.help.guide.page.name == "operating_point"
    window.help.guide.close()


def test_words_typed_list_the_places_that_have_them_all(guide: GuideBrowser, qtbot) -> None:
    assert guide.list.count() == len(guide_pages())
    QTest.keyClicks(guide.search, "bulk capacitor empty")
    rows = [guide.list.item(row).text() for row in range(guide.list.count())]
    assert rows
    assert len(rows) == len(found_in(guide_pages(), "bulk capacitor empty"))
    QTest.keyClick(guide.search, Qt.Key.Key_Return)
    chosen = guide.list.currentItem().text()
    assert guide.page is not None
    assert chosen.startswith(guide.page.title)
    assert guide.text.textCursor().selectedText().casefold() == "bulk"
    guide.search.setText("qwertz")
    assert guide.list.count() == 1


def test_every_link_of_every_page_leads_somewhere() -> None:
    dead = [
        (page.name, link)
        for page in guide_pages()
        for link in LINK.findall(page.text)
        if "://" not in link and target_of(page, link) is None
    ]
    assert dead == []
    assert {page.name for page in guide_pages()} >= {"index", "../index", "../theory_coil"}
    coil = next(page for page in guide_pages() if page.name == "coil")
    for link in ("no_such_page.md", "index.md#no-such-heading", "#no-such-heading"):
        assert target_of(coil, link) is None


@pytest.mark.parametrize("page", guide_pages(), ids=lambda page: page.name)
def test_a_link_clicked_shows_what_it_names(guide: GuideBrowser, page, monkeypatch) -> None:
    opened: list[QUrl] = []
    monkeypatch.setattr(QDesktopServices, "openUrl", opened.append)
    for link in sorted(set(LINK.findall(page.text))):
        if link.endswith((".png", ".svg")):
            continue
        guide.show_page(page.name)
        guide.text.anchorClicked.emit(QUrl(link))
        path, _, anchor = link.partition("#")
        assert guide.page is not None
        if "://" in link:
            assert opened.pop().toString() == link
        elif path and not path.endswith(".md"):
            assert opened.pop().fileName() == path.rpartition("/")[2]
        elif path:
            assert guide.page.file.name == path.rpartition("/")[2]
        if anchor:
            shown = guide.text.textCursor().block().text()
            assert anchor in (shown, slug(shown))
    assert opened == []


def test_a_page_of_theory_shows_formulas_as_text(guide: GuideBrowser) -> None:
    guide.show_page("../theory_stage")
    text = guide.text.toPlainText()
    assert "k′ = k√(L1/(L1 + Lx))" in text
    for page in guide_pages():
        prose = re.sub(r"(```.*?```|`[^`\n]+`)", "", page.text, flags=re.DOTALL)
        assert not re.search(r"\$|\\[a-z]", prose), page.name


def test_pictures_fit(guide: GuideBrowser, qtbot) -> None:
    guide.text.anchorClicked.emit(QUrl("operating_point.md"))
    assert guide.page is not None
    assert guide.page.name == "operating_point"
    assert guide.text.document().idealWidth() < 700


def test_keys_of_all_menus_are_listed_once(window: MainWindow, qtbot) -> None:
    found = menu_keys(window)
    keys = [key for key, _ in found]
    assert {"Ctrl+S", "Ctrl+Z", "F6", "F1", "Shift+F1", "Ctrl+1"} <= set(keys)
    assert len(keys) == len(set(keys))
    dialog = KeysDialog(window)
    qtbot.addWidget(dialog)
    assert dialog.table.rowCount() > len(found)


def test_about_tells_version_and_the_licence_of_every_part(qtbot) -> None:
    needed = {line.partition(";")[0].rstrip("0123456789.<>=!~, ") for line in _requirements()}
    assert set(PARTS) == needed
    assert {name for name, _, _ in licences()} == set(PARTS)
    assert all(licence and "\n" not in licence for _, _, licence in licences())
    dialog = AboutDialog()
    qtbot.addWidget(dialog)
    assert "numpy" in dialog.parts.toPlainText()
    assert any(VERSION in label.text() for label in dialog.findChildren(QLabel))


def test_report_names_the_log_and_copies_it(window: MainWindow, qtbot) -> None:
    dialog = ReportDialog(window.places.log, window)
    assert str(window.places.log) in dialog.words.text()
    qtbot.mouseClick(dialog.copy, Qt.MouseButton.LeftButton)
    copied = QGuiApplication.clipboard().text()
    assert VERSION in copied
    assert str(window.places.log) in copied
    dialog.close()


def open_start(window: MainWindow) -> FirstStart | None:
    return next((found for found in window.findChildren(FirstStart) if found.isVisible()), None)


def test_cautions_come_once_and_all_of_them(window: MainWindow, qtbot) -> None:
    _start_work(window, None)
    dialog = open_start(window)
    assert dialog is not None
    words = dialog.cautions.widget().text()
    assert all(hazard.title in words and hazard.text in words for hazard in HAZARDS)
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    _start_work(window, None)
    again = open_start(window)
    assert again is not None, "left by Escape is not read"
    button = again.findChildren(type(again.play))[-1]
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    _start_work(window, None)
    assert open_start(window) is None


def test_a_file_given_brings_the_cautions_alone(window: MainWindow, qtbot, tmp_path) -> None:
    dialog = window.help.greet(busy=True)
    assert isinstance(dialog, QDialog)
    assert not dialog.own.isVisible()
    asked: list[str] = []
    dialog.example_wanted.connect(asked.append)
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    assert open_start(window) is None
    assert not asked, "a way that is not offered was taken"
    assert window.help.greet() is None


def test_an_example_to_play_with(still_window: MainWindow, qtbot) -> None:
    window = still_window
    dialog = window.help.show_start()
    dialog.example.setCurrentIndex(2)
    dialog_name = dialog.example.currentText()
    qtbot.mouseClick(dialog.play, Qt.MouseButton.LeftButton)
    assert window.session.document.design.name == dialog_name
    assert SCREENS[window.current_screen].title == "Operating point"


def test_four_steps_to_ones_own_coil(still_window: MainWindow, qtbot) -> None:
    window = still_window
    dialog = window.help.show_start()
    qtbot.mouseClick(dialog.own, Qt.MouseButton.LeftButton)
    bar, seen = window.path_bar, []
    assert bar.isVisible()
    while bar.isVisible():
        seen.append(SCREENS[window.current_screen].title)
        assert seen[-1] in bar.words.text()
        qtbot.mouseClick(bar.on, Qt.MouseButton.LeftButton)
    assert seen == [step.screen for step in STEPS]
    assert len(seen) == 4


def test_a_lesson_from_the_start_page(still_window: MainWindow, qtbot) -> None:
    window = still_window
    dialog = window.help.show_start()
    qtbot.mouseClick(dialog.lesson, Qt.MouseButton.LeftButton, pos=QPoint(5, 5))
    assert SCREENS[window.current_screen].title == "Lessons"


def _requirements() -> list[str]:
    import tomllib
    from pathlib import Path

    file = Path(__file__).parents[3] / "pyproject.toml"
    return list(tomllib.loads(file.read_text())["project"]["dependencies"])
