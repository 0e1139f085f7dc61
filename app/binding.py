"""Binding of widgets to paths of the document, both ways, with the echo blocked."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Protocol

from PySide6.QtCore import QObject, QSignalBlocker, SignalInstance
from PySide6.QtWidgets import QCheckBox, QComboBox, QLineEdit, QWidget

from burstwise.app.document import Document
from burstwise.app.field_tips import give_tip, refusing
from burstwise.app.refusals import limit_of, title_of
from burstwise.app.widgets.undo_keys import UndoKeys
from burstwise.core.errors import InputError


class ValueWidget(Protocol):
    """What a widget for one number must have to be bound."""

    value_changed: SignalInstance
    edit_finished: SignalInstance

    def set_value(self, value: float) -> None:
        """Show a value without a signal."""

    def mark_bad(self, reason: str) -> None:
        """Mark the value as not taken."""

    def clear_mark(self) -> None:
        """Take that mark away."""


class Binding(QObject):
    """Connection of one widget with one path; dies with the widget.

    Parameters
    ----------
    document : Document
        Where the truth is.
    path : str
        Dotted path of the field.
    owner : QWidget
        The widget, which owns the binding.
    show : callable
        Shows a value in the widget; must send no edit back.
    refuse : callable
        Tells the reason for which an edit was refused.
    text : str
        What the undo menu calls an edit.
    read : callable, optional
        The value to show, where it is another than the field's own.
    edits : callable, optional
        Edits that bring the document to a value, where they are others than the field's own.
    forgets : bool
        Call `refuse` with no reason when an edit was taken.
    clear : callable, optional
        Takes the mark of a refused entry away, after undo and redo.
    """

    def __init__(
        self,
        document: Document[Any],
        path: str,
        owner: QWidget,
        *,
        show: Callable[[Any], None],
        refuse: Callable[[str], None],
        forgets: bool = False,
        text: str = "",
        read: Callable[[], Any] | None = None,
        edits: Callable[[object], Mapping[str, object]] | None = None,
        clear: Callable[[], None] | None = None,
    ) -> None:
        super().__init__(owner)
        self._document, self._path, self._text = document, path, text
        self._read = read or (lambda: document.value(path))
        self._edits = edits or (lambda value: {path: value})
        self._show, self._refuse, self._forgets = show, refuse, forgets
        self._sending = False
        self._last = self._current()
        document.changed.connect(self._follow)
        if clear is not None:
            self._clear = clear
            document.stepped.connect(self._forget_refusal)
        show(self._last)

    def send(self, value: object, *, live: bool = False) -> None:
        """Pass an edit to the document; a refused one restores the widget and tells why."""
        self._sending = True
        try:
            self._document.edit_many(self._edits(value), live=live, text=self._text)
            self._last = self._current()
            if self._forgets:
                self._refuse("")
        except InputError as error:
            self._show(self._current())
            own = error.field == self._path and self._text
            self._refuse(f"{own or title_of(error.field)} must be {limit_of(error)}")
        finally:
            self._sending = False

    def finish(self) -> None:
        """End a run of live edits."""
        self._document.close_step()

    def give_up(self) -> None:
        """Leave everything as it was before a run of live edits."""
        self._document.drop_step()
        self._show(self._current())

    def _follow(self, _design: object = None) -> None:
        if self._sending:
            return
        value = self._current()
        if value != self._last:
            self._last = value
            self._show(value)

    def _forget_refusal(self) -> None:
        """After undo or redo an entry that was refused before gives way to the value in force."""
        self._clear()
        self._show(self._current())

    def _current(self) -> Any:
        try:
            return self._read()
        except InputError:  # part of an optional section that is not fitted
            return None


def bind_value(
    document: Document[Any],
    path: str,
    widget: ValueWidget,
    *,
    text: str = "",
    read: Callable[[], Any] | None = None,
    edits: Callable[[object], Mapping[str, object]] | None = None,
) -> Binding:
    """Bind a quantity field or slider field; a drag becomes one undo step.

    A field that holds None, or whose part is not fitted, leaves the widget as it is, disabled.
    `read` and `edits` as for `Binding`.
    """
    assert isinstance(widget, QWidget)
    give_tip(widget, path)

    def show(value: float | None) -> None:
        widget.setEnabled(value is not None)
        if value is not None:
            widget.set_value(value)

    binding = Binding(
        document,
        path,
        widget,
        show=show,
        refuse=widget.mark_bad,
        text=text,
        read=read,
        edits=edits,
        clear=widget.clear_mark,
    )
    widget.value_changed.connect(lambda value: binding.send(value, live=True))
    widget.edit_finished.connect(binding.finish)
    given_up = getattr(widget, "edit_given_up", None)  # a field alone has no drag
    if given_up is not None:
        given_up.connect(binding.give_up)
    return binding


def bind_in_use(
    document: Document[Any], path: str, widget: ValueWidget, *, text: str = ""
) -> Binding:
    """Bind a field by the value that the stage runs at; a duty turns the knob of timer parts.

    See `burstwise.core.interrupter.resolve.value_in_use` and `edits_in_use`.
    """
    # Heavy, and not needed by every screen that binds something.
    from burstwise.core.interrupter.resolve import edits_in_use, value_in_use

    return bind_value(
        document,
        path,
        widget,
        text=text,
        read=lambda: value_in_use(document.design, path),
        edits=lambda value: edits_in_use(document.design, {path: value}),
    )


def bind_choice(
    document: Document[Any],
    path: str,
    box: QComboBox,
    choices: Mapping[str, str],
    *,
    text: str = "",
) -> Binding:
    """Bind a combo box to a field of named choices; `choices` maps value to words."""
    give_tip(box, path)
    with QSignalBlocker(box):
        for value, words in choices.items():
            box.addItem(words, value)

    def show(value: str) -> None:
        with QSignalBlocker(box):
            box.setCurrentIndex(box.findData(value))

    binding = Binding(document, path, box, show=show, text=text, refuse=refusing(box), forgets=True)
    box.currentIndexChanged.connect(lambda: binding.send(box.currentData()))
    return binding


def bind_check(document: Document[Any], path: str, box: QCheckBox, *, text: str = "") -> Binding:
    """Bind a check box to a true-or-false field."""
    give_tip(box, path)

    def show(value: bool) -> None:
        with QSignalBlocker(box):
            box.setChecked(value)

    binding = Binding(document, path, box, show=show, text=text, refuse=refusing(box), forgets=True)
    box.toggled.connect(binding.send)
    return binding


def bind_text(document: Document[Any], path: str, line: QLineEdit, *, text: str = "") -> Binding:
    """Bind a line of free text; it is taken on Return or on leaving the line."""
    give_tip(line, path)

    def show(value: str) -> None:
        if line.text() != value:
            line.setText(value)
            line.setCursorPosition(0)

    binding = Binding(
        document, path, line, show=show, text=text, refuse=refusing(line), forgets=True
    )

    def send() -> None:
        binding.send(line.text())
        line.setModified(False)

    line.editingFinished.connect(send)
    UndoKeys(line)
    return binding
