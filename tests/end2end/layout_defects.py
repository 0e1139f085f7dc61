"""What is wrong with how a window's widgets lie: measured from the widgets themselves.

Four faults are told: a widget that reaches out of its parent, two siblings that lie over each
other, text that has less room than it needs, and a plot that is too small to read.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from PySide6.QtCore import QModelIndex, QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractScrollArea,
    QCheckBox,
    QComboBox,
    QGroupBox,
    QHeaderView,
    QLabel,
    QLineEdit,
    QMenuBar,
    QRadioButton,
    QScrollArea,
    QScrollBar,
    QSizeGrip,
    QSlider,
    QSplitterHandle,
    QStackedWidget,
    QStyleOptionViewItem,
    QTabBar,
    QTableView,
    QToolButton,
    QTreeView,
    QWidget,
)

from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.plots.map_plot import MapPlot
from burstwise.app.plots.strip_stack import StripStack
from burstwise.app.widgets.figure_table import FigureTable
from burstwise.app.widgets.quantity_field import QuantityField

PLOT_SIZE: Final = QSize(160, 110)
"""Smallest plot that can be read."""
_SLACK: Final = 1
"""Rounding between neighbours [px]."""
_PLOTS: Final = (LinePlot, MapPlot, StripStack)


@dataclass(frozen=True, slots=True)
class Defect:
    """One fault: its kind, the widget with its ancestors, and what was measured."""

    kind: str
    where: str
    told: str

    def __str__(self) -> str:
        return f"{self.kind}: {self.where}: {self.told}"


def defects(root: QWidget) -> list[Defect]:
    """All faults of the visible widgets within a widget, itself included."""
    found: list[Defect] = []
    for widget in seen_widgets(root):
        found += [*_outside(widget), *_overlaps(widget), *_cut(widget)]
        found += [*_small(widget), *_sideways(widget)]
    return found


def seen_widgets(root: QWidget) -> Iterator[QWidget]:
    """Visible widgets from the root down; what Qt's own composite widgets hold is left out."""
    yield root
    if _is_closed(root):
        return
    for child in _seen_children(root):
        yield from seen_widgets(child)


def _is_closed(widget: QWidget) -> bool:
    """Whether its children are the widget's own affair."""
    inner = (QComboBox, QTabBar, QLineEdit, QMenuBar, QSlider, QScrollBar, QSplitterHandle)
    return isinstance(widget, inner)


def _seen_children(widget: QWidget) -> list[QWidget]:
    return [
        child
        for child in widget.findChildren(QWidget, options=Qt.FindChildOption.FindDirectChildrenOnly)
        if child.isVisible() and not child.isWindow() and not isinstance(child, QSizeGrip)
    ]


def _name(widget: QWidget) -> str:
    words = widget.objectName() or widget.accessibleName() or _text(widget)
    kind = type(widget).__name__
    return f"{kind} '{words[:40]}'" if words else kind


def _text(widget: QWidget) -> str:
    if isinstance(widget, (QLabel, QAbstractButton)):
        return widget.text()
    return widget.title() if isinstance(widget, QGroupBox) else ""


def _place(widget: QWidget) -> str:
    parents = []
    at: QWidget | None = widget
    while at is not None and not at.isWindow() and len(parents) < 4:
        if not type(at).__name__.startswith(("QStackedWidget", "QWidget")) or at is widget:
            parents.append(_name(at))
        at = at.parentWidget()
    return " in ".join(parents)


def _outside(widget: QWidget) -> Iterator[Defect]:
    parent = widget.parentWidget()
    if parent is None or widget.isWindow() or isinstance(parent, QSplitterHandle):
        return
    box, room = widget.geometry(), parent.rect()
    area = parent.parentWidget()
    if isinstance(area, QAbstractScrollArea) and area.viewport() is parent:
        if isinstance(area, QAbstractItemView):
            return
        over, off = _scrolls(area)
        if not over and box.width() > room.width() + _SLACK:
            yield Defect("outside", _place(widget), f"{box.width()} px in {room.width()} across")
        if not off and box.height() > room.height() + _SLACK:
            yield Defect("outside", _place(widget), f"{box.height()} px in {room.height()} down")
        return
    if isinstance(widget, QScrollBar) or isinstance(parent, QAbstractScrollArea):
        return
    if not room.adjusted(-_SLACK, -_SLACK, _SLACK, _SLACK).contains(box):
        yield Defect("outside", _place(widget), f"{_told(box)} in {_told(room)}")


def _scrolls(area: QAbstractScrollArea) -> tuple[bool, bool]:
    never = Qt.ScrollBarPolicy.ScrollBarAlwaysOff
    return (
        area.horizontalScrollBarPolicy() is not never,
        area.verticalScrollBarPolicy() is not never,
    )


def _told(box: QRect) -> str:
    return f"{box.x()},{box.y()} {box.width()}x{box.height()}"


def _overlaps(widget: QWidget) -> Iterator[Defect]:
    if _is_closed(widget) or isinstance(widget, (QAbstractScrollArea, QStackedWidget)):
        return
    for one, other in combinations(_seen_children(widget), 2):
        shared = one.geometry().intersected(other.geometry())
        if shared.width() > _SLACK and shared.height() > _SLACK:
            yield Defect("overlap", _place(one), f"by {_told(shared)} with {_name(other)}")


def _sideways(widget: QWidget) -> Iterator[Defect]:
    """A page that has to be pushed from side to side to be read."""
    if isinstance(widget, QScrollArea) and widget.horizontalScrollBar().maximum() > 0:
        room = widget.horizontalScrollBar().maximum()
        yield Defect("sideways", _place(widget), f"{room} px too narrow")


def _small(widget: QWidget) -> Iterator[Defect]:
    inner_strip = isinstance(widget.parentWidget(), StripStack)
    if not isinstance(widget, _PLOTS) or inner_strip:
        return
    size = widget.size()
    if size.width() < PLOT_SIZE.width() or size.height() < PLOT_SIZE.height():
        yield Defect("plot", _place(widget), f"{size.width()}x{size.height()}")


def _cut(widget: QWidget) -> Iterator[Defect]:
    """Text with less room than it needs, by kind of widget."""
    told = ""
    if isinstance(widget, QLabel):
        told = _cut_label(widget)
    elif isinstance(widget, QAbstractButton) and widget.text():
        told = _cut_button(widget)
    elif isinstance(widget, QComboBox):
        told = _wider(widget, widget.currentText(), widget.width() - 24)
    elif isinstance(widget, QLineEdit) and isinstance(widget.parentWidget(), QuantityField):
        # Entries of free text scroll by themselves.
        room = widget.contentsRect().width() - 4
        told = _wider(widget, widget.displayText() or widget.placeholderText(), room)
    elif isinstance(widget, QGroupBox):
        told = _wider(widget, widget.title(), widget.width() - 12)
    elif isinstance(widget, FigureTable):
        told = _cut_figures(widget)
    if told:
        yield Defect("cut", _place(widget), told)
    if isinstance(widget, QTabBar):
        yield from _cut_tabs(widget)
    elif isinstance(widget, QHeaderView):
        yield from _cut_sections(widget)
    elif isinstance(widget, QAbstractItemView):
        yield from _cut_items(widget)


def _wider(widget: QWidget, text: str, room: int) -> str:
    need = widget.fontMetrics().horizontalAdvance(text.replace("&", ""))
    return f"'{text[:40]}' needs {need} of {room} px" if need > room + _SLACK else ""


def _cut_label(label: QLabel) -> str:
    if not label.text():
        return ""
    if label.wordWrap():
        need = label.heightForWidth(label.width())
        told = f"{need} of {label.height()} px down" if need > label.height() + _SLACK else ""
        words = max(label.text().split(), key=len, default="")
        rich = label.text().startswith("<")
        return told or ("" if rich else _wider(label, words, label.width()))
    need = label.sizeHint()
    if need.width() > label.width() + _SLACK or need.height() > label.height() + _SLACK:
        return f"{need.width()}x{need.height()} in {label.width()}x{label.height()}"
    return ""


def _cut_button(button: QAbstractButton) -> str:
    mark = 20 if isinstance(button, (QCheckBox, QRadioButton)) else 8
    if isinstance(button, QToolButton) and button.toolButtonStyle() is (
        Qt.ToolButtonStyle.ToolButtonIconOnly
    ):
        return "" if not button.icon().isNull() else _wider(button, button.text(), button.width())
    high = button.fontMetrics().height()
    if high > button.height() + _SLACK:
        return f"{high} of {button.height()} px down"
    return _wider(button, button.text(), button.width() - mark)


def _cut_figures(table: FigureTable) -> str:
    if table.height() < table.sizeHint().height() - _SLACK:
        return f"{table.sizeHint().height()} of {table.height()} px down"
    measure = table.fontMetrics().horizontalAdvance
    for group in table.groups:
        for figure in group.figures:
            need = measure(f"{figure.name}  {figure.value}")
            need += measure("● ") if figure.severity is not None else 0
            if need > table.width():
                return f"'{figure.name}' needs {need} of {table.width()} px"
    return ""


def _cut_tabs(bar: QTabBar) -> Iterator[Defect]:
    for place in range(bar.count()):
        box = bar.tabRect(place)
        if not bar.isTabVisible(place):
            continue
        text = bar.tabText(place).replace("&", "")
        need = bar.fontMetrics().size(0, text)
        cut = need.width() > box.width() or need.height() > box.height()
        cut |= box.left() < -_SLACK or box.right() > bar.width() + _SLACK
        if cut:
            yield Defect("cut", _place(bar), f"tab '{text}' at {_told(box)} of {bar.width()} px")


def _cut_sections(header: QHeaderView) -> Iterator[Defect]:
    model = header.model()
    if header.orientation() is not Qt.Orientation.Horizontal or model is None:
        return
    for place in range(header.count()):
        if header.isSectionHidden(place):
            continue
        text = str(model.headerData(place, header.orientation()) or "")
        room = header.sectionSize(place) - 8
        need = header.fontMetrics().horizontalAdvance(text)
        words = max(map(header.fontMetrics().horizontalAdvance, text.split()), default=0)
        lines = header.height() // header.fontMetrics().height()
        if need > room + _SLACK and (lines < 2 or words > room or need > lines * room):
            told = f"heading '{text}' needs {need} of {room} px"
            yield Defect("cut", _place(header), told)


def _cut_items(view: QAbstractItemView) -> Iterator[Defect]:
    model = view.model()
    if model is None:
        return
    seen = view.viewport().rect()
    for index in _seen_indexes(view):
        box = view.visualRect(index)
        if not box.intersects(seen) or not isinstance(index.data(), str):
            continue
        option = QStyleOptionViewItem()
        view.initViewItemOption(option)
        option.rect = QRect(QPoint(0, 0), box.size())
        need = view.itemDelegateForIndex(index).sizeHint(option, index)
        wrapped = view.wordWrap() if hasattr(view, "wordWrap") else False
        tall = need.height() > box.height() + 2
        wide = need.width() > box.width() + 2 and not wrapped
        if tall or wide:
            told = f"'{index.data()[:40]}' needs {need.width()}x{need.height()} in {_told(box)}"
            yield Defect("cut", _place(view), told)


def _seen_indexes(view: QAbstractItemView) -> Iterator[QModelIndex]:
    model = view.model()
    if isinstance(view, QTreeView):
        index = view.indexAt(QPoint(1, 1))
        while index.isValid():
            for column in range(model.columnCount(index.parent())):
                yield index.siblingAtColumn(column)
            index = view.indexBelow(index)
        return
    columns = model.columnCount() if isinstance(view, QTableView) else 1
    for row in range(model.rowCount()):
        for column in range(columns):
            yield model.index(row, column)
