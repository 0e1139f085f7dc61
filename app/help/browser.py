"""Window with the guide: list of pages, search, text."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QDesktopServices, QKeySequence, QShortcut, QTextBlock, QTextCursor
from PySide6.QtWidgets import (
    QDialog,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QSplitter,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.help.pages import (
    INDEX,
    GuidePage,
    Hit,
    found_in,
    guide_pages,
    slug,
    target_of,
)

NO_GUIDE: Final = "The guide was not installed with this copy of the program."
_PICTURE_WIDTH: Final = 580
"""Width of a page's pictures [px]."""


class GuideBrowser(QDialog):
    """Pages at the left, text at the right; words in the search line list the places with them."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Guide")
        self._pages = guide_pages()
        self.page: GuidePage | None = None
        self.search = QLineEdit(self)
        self.search.setPlaceholderText("Search the guide")
        self.search.setAccessibleName("Search the guide")
        self.search.setClearButtonEnabled(True)
        self.list = QListWidget(self)
        self.list.setAccessibleName("Pages and places found")
        self.list.setWordWrap(True)
        self.text = QTextBrowser(self)
        self.text.setAccessibleName("Text of the guide")
        self.text.setOpenLinks(False)
        left = QWidget(self)
        down = QVBoxLayout(left)
        down.setContentsMargins(0, 0, 0, 0)
        down.addWidget(self.search)
        down.addWidget(self.list, 1)
        both = QSplitter(self)
        both.setObjectName("guide")
        both.addWidget(left)
        both.addWidget(self.text)
        both.setStretchFactor(1, 1)
        both.setSizes([260, 640])
        layout = QVBoxLayout(self)
        layout.addWidget(both)
        self.resize(940, 600)
        self.search.textChanged.connect(lambda _text: self._list())
        self.search.returnPressed.connect(self._go_to_first)
        self.list.currentItemChanged.connect(self._chosen)
        self.text.anchorClicked.connect(self._follow_link)
        find = QShortcut(QKeySequence(QKeySequence.StandardKey.Find), self)
        find.activated.connect(self.search.setFocus)
        self._list()
        self.show_page(INDEX)

    def show_page(self, name: str, heading: str = "") -> bool:
        """Show a page, from a heading on; tells whether there is such a page."""
        page = next((each for each in self._pages if each.name == name), None)
        if page is None:
            if self.page is None:
                self.text.setPlainText(NO_GUIDE)
            return False
        if page is not self.page:
            self.page = page
            self.text.setSearchPaths([str(page.folder)])
            self.text.setMarkdown(page.text)
            self._fit_pictures()
        self._scroll_to(heading or page.title)
        return True

    def _fit_pictures(self) -> None:
        """Pictures of whole windows are shown at the width of the text."""
        block = self.text.document().begin()
        while block.isValid():
            pieces = block.begin()
            while not pieces.atEnd():
                piece = pieces.fragment()
                if piece.charFormat().isImageFormat():
                    image = piece.charFormat().toImageFormat()
                    image.setWidth(_PICTURE_WIDTH)
                    cursor = QTextCursor(block)
                    cursor.setPosition(piece.position())
                    cursor.setPosition(
                        piece.position() + piece.length(), QTextCursor.MoveMode.KeepAnchor
                    )
                    cursor.setCharFormat(image)
                    break
                pieces += 1
            block = block.next()

    def _scroll_to(self, heading: str) -> None:
        self._scroll_where(lambda block: _is_heading(block) and block.text().strip() == heading)

    def _scroll_to_anchor(self, anchor: str) -> None:
        """Bring a heading, or what a mark of the page names, to the top."""
        if not self._scroll_where(
            lambda block: _is_heading(block) and slug(block.text()) == anchor
        ):
            self._scroll_where(lambda block: block.text() == anchor)

    def _scroll_where(self, wanted: Callable[[QTextBlock], bool]) -> bool:
        """Bring the first such block to the top; tells whether there is one."""
        block = self.text.document().begin()
        while block.isValid():
            if wanted(block):
                self.text.setTextCursor(QTextCursor(block))
                place = self.text.document().documentLayout().blockBoundingRect(block)
                self.text.verticalScrollBar().setValue(round(place.top()))
                return True
            block = block.next()
        return False

    def _list(self) -> None:
        words = self.search.text()
        self.list.blockSignals(True)
        self.list.clear()
        if not words.split():
            for page in self._pages:
                self._add(page.title, Hit(page.name, page.title, page.title, ""))
        else:
            hits = found_in(self._pages, words)
            for hit in hits:
                self._add(f"{hit.title}, {hit.heading}\n{_cut(hit.line)}", hit)
            if not hits:
                self.list.addItem("No page has all these words.")
        self.list.blockSignals(False)

    def _add(self, words: str, hit: Hit) -> None:
        item = QListWidgetItem(words)
        item.setData(Qt.ItemDataRole.UserRole, hit)
        self.list.addItem(item)

    def _go_to_first(self) -> None:
        self.list.setCurrentRow(0)
        self.list.setFocus()

    def _chosen(self, item: QListWidgetItem | None) -> None:
        hit = None if item is None else item.data(Qt.ItemDataRole.UserRole)
        if isinstance(hit, Hit) and self.show_page(hit.page, hit.heading):
            words = self.search.text().split()
            if words and hit.line:
                self.text.find(words[0])

    def _follow_link(self, link: QUrl) -> None:
        if link.scheme() in ("http", "https"):
            QDesktopServices.openUrl(link)
            return
        target = None if self.page is None else target_of(self.page, link.toString())
        if target is None:
            return
        if target.page is None:
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(target.file)))
            return
        self.show_page(target.page.name)
        if target.anchor:
            self._scroll_to_anchor(target.anchor)


def _is_heading(block: QTextBlock) -> bool:
    return block.blockFormat().headingLevel() > 0


def _cut(line: str) -> str:
    return line if len(line) <= 90 else f"{line[:90].rsplit(' ', 1)[0]} …"
