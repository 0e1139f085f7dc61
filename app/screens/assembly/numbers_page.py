"""Every result and margin in a list, the one in hand explained beside it."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QSize, Qt
from PySide6.QtWidgets import (
    QHeaderView,
    QScrollArea,
    QSplitter,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTreeWidget,
    QTreeWidgetItem,
    QWidget,
)

from burstwise.app.explain_panel import ExplanationPanel, offer_explanation
from burstwise.app.session import Session
from burstwise.core.evaluate import figures_object
from burstwise.core.evaluate.result_rows import RESULT_ROWS, result_value
from burstwise.core.evaluate.results import Results
from burstwise.core.explain.explain import explain
from burstwise.core.units import shown

_Index = QModelIndex | QPersistentModelIndex


class _WrappedRows(QStyledItemDelegate):
    """Rows as high as their words need in their column; a tree's own are one line high."""

    def sizeHint(self, option: QStyleOptionViewItem, index: _Index) -> QSize:
        tree = option.widget
        if not isinstance(tree, QTreeWidget):
            return super().sizeHint(option, index)
        inner = QStyleOptionViewItem(option)
        depth = 1 if index.parent().isValid() else 0
        width = tree.columnWidth(index.column()) - depth * tree.indentation()
        inner.rect = QRect(0, 0, width, tree.height())
        return super().sizeHint(inner, index)


class NumbersPage(QSplitter):
    """List on the left, explanation on the right; the keys move through the list."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self.setObjectName("numbers")
        self._results: Results | None = None
        self._items: dict[str, QTreeWidgetItem] = {}
        self.list = QTreeWidget(self)
        self.list.setAccessibleName("Results")
        self.list.setColumnCount(2)
        self.list.setHeaderLabels(["Result", "Value"])
        self.list.headerItem().setTextAlignment(1, Qt.AlignmentFlag.AlignRight)
        self.list.setRootIsDecorated(False)
        self.list.setIndentation(12)
        self.list.setWordWrap(True)
        self.list.setItemDelegateForColumn(0, _WrappedRows(self.list))
        self.list.header().setStretchLastSection(False)
        self.list.header().setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        self.list.header().setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
        self.list.header().sectionResized.connect(lambda *_: self.list.doItemsLayout())
        self.panel = ExplanationPanel(self)
        scroll = QScrollArea(self)
        scroll.setWidgetResizable(True)
        scroll.setWidget(self.panel)
        self.addWidget(self.list)
        self.addWidget(scroll)
        self.setSizes([460, 600])
        self.list.currentItemChanged.connect(lambda *_: self._explain())
        offer_explanation(self.list, session, self.current_path)

    def current_path(self) -> str | None:
        """Key of the result in hand."""
        item = self.list.currentItem()
        path = item.data(0, Qt.ItemDataRole.UserRole) if item is not None else None
        return str(path) if path else None

    def show_results(self, results: Results) -> None:
        """Fill in the numbers; the one in hand stays in hand."""
        self._results, held = results, self.current_path()
        self.list.blockSignals(True)
        self.list.clear()
        self._items = {}
        known = figures_object(results)
        for group in dict.fromkeys(row.group for row in RESULT_ROWS):
            rows = [row for row in RESULT_ROWS if row.group == group]
            if not results.carrier.oscillates:
                rows = [row for row in rows if row.without_carrier]
            texts = [(row.title, row.text(result_value(known, row.path)), row.path) for row in rows]
            self._group(group, texts)
        self._group(
            "Margins, the first to break first",
            [
                (limit.title, shown(limit.margin, "%", digits=3), f"limits.{limit.rating}")
                for limit in results.limits
            ],
        )
        self.list.blockSignals(False)
        self.choose(held or "carrier.input_power_W")

    def choose(self, path: str) -> None:
        """Take a number in hand."""
        item = self._items.get(path)
        if item is not None:
            self.list.setCurrentItem(item)
            self._explain()

    def _group(self, title: str, rows: list[tuple[str, str, str]]) -> None:
        top = QTreeWidgetItem([title])
        top.setFlags(Qt.ItemFlag.ItemIsEnabled)
        font = top.font(0)
        font.setBold(True)
        top.setFont(0, font)
        self.list.addTopLevelItem(top)
        for name, text, path in rows:
            item = QTreeWidgetItem([name, text])
            item.setTextAlignment(1, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            item.setData(0, Qt.ItemDataRole.UserRole, path)
            top.addChild(item)
            self._items[path] = item
        top.setExpanded(True)

    def _explain(self) -> None:
        path = self.current_path()
        if path is not None and self._results is not None:
            self.panel.show_explanation(explain(self._results, path))
