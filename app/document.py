"""The one design that the window holds: immutable value, undo, unsaved state, signals.

Widgets never change a design; they ask the document for an edit by dotted path, and everything
that shows the design follows `Document.changed`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Generic, TypeVar

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoCommand, QUndoStack

T = TypeVar("T")
WithValues = Callable[[T, Mapping[str, object]], T]
"""Makes a checked copy with fields set by dotted path, or raises `InputError`."""


class _Edit(QUndoCommand):
    """One undo step: the design before and after."""

    def __init__(
        self, text: str, paths: frozenset[str], before: object, show: Callable[[Any], None]
    ) -> None:
        super().__init__(text)
        self.paths = paths
        self.before = before
        self.after = before
        self._show = show

    def redo(self) -> None:
        self._show(self.after)

    def undo(self) -> None:
        self._show(self.before)


class Document(QObject, Generic[T]):
    """Holder of an immutable design with undo and redo.

    A drag sends many live edits of one path; they merge into one undo step until `close_step`.

    Parameters
    ----------
    design : T
        The design to start with, taken as saved.
    with_values : callable
        Makes the edited copy and checks it.
    value_at : callable
        Reads a field by dotted path.
    """

    changed = Signal(object)
    unsaved_changed = Signal(bool)
    file_changed = Signal()

    def __init__(
        self, design: T, *, with_values: WithValues[T], value_at: Callable[[T, str], Any]
    ) -> None:
        super().__init__()
        self._design = design
        self._with_values = with_values
        self._value_at = value_at
        self._open_edit: _Edit | None = None
        self.file: Path | None = None
        self.undo_stack = QUndoStack(self)
        self.undo_stack.cleanChanged.connect(self._tell_unsaved)
        self.undo_stack.indexChanged.connect(self.close_step)

    @property
    def design(self) -> T:
        """The design as it stands."""
        return self._design

    @property
    def unsaved(self) -> bool:
        """Whether there are edits that no file holds."""
        return not self.undo_stack.isClean()

    def value(self, path: str) -> Any:
        """Field of the design by dotted path."""
        return self._value_at(self._design, path)

    def edit(self, path: str, value: object, *, live: bool = False, text: str = "") -> None:
        """Set one field.

        Parameters
        ----------
        path : str
            Dotted path.
        value : object
            As the design takes it.
        live : bool
            One of a run of edits (a drag, a held key) that makes one undo step.
        text : str
            What the undo menu calls it; the path if empty.

        Raises
        ------
        InputError
            The value is refused; the design is as before.
        """
        self.edit_many({path: value}, live=live, text=text or path)

    def edit_many(
        self, values: Mapping[str, object], *, live: bool = False, text: str = ""
    ) -> None:
        """Set several fields as one undo step; see `edit`."""
        after = self._with_values(self._design, values)
        if after == self._design:
            return
        paths = frozenset(values)
        step = self._open_edit
        if live and step is not None and step.paths == paths:
            step.after = after
            self._show(after)
            return
        step = _Edit(text or ", ".join(sorted(paths)), paths, self._design, self._show)
        step.after = after
        self.undo_stack.push(step)
        self._open_edit = step if live else None

    def close_step(self, _index: int = 0) -> None:
        """End a run of live edits: the next edit begins an undo step of its own."""
        self._open_edit = None

    def undo(self) -> None:
        """Take the last step back."""
        self.undo_stack.undo()

    def redo(self) -> None:
        """Do the step again that was taken back."""
        self.undo_stack.redo()

    def open(self, design: T, file: Path | None, *, unsaved: bool = False) -> None:
        """Hold another design from here on, with a fresh undo history."""
        self.close_step()
        self.undo_stack.clear()
        self.file = file
        if unsaved:
            self.undo_stack.resetClean()
        else:
            self.undo_stack.setClean()
        self._show(design)
        self.file_changed.emit()

    def mark_saved(self, file: Path) -> None:
        """Note that `file` now holds the design."""
        self.close_step()
        self.file = file
        self.undo_stack.setClean()
        self.file_changed.emit()

    def _show(self, design: T) -> None:
        self._design = design
        self.changed.emit(design)

    def _tell_unsaved(self, clean: bool) -> None:
        self.unsaved_changed.emit(not clean)
