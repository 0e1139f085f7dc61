"""The one design that the window holds: immutable value, undo, unsaved state, signals.

Widgets never change a design; they ask the document for an edit by dotted path, and everything
that shows the design follows `Document.changed`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final, Generic, TypeVar

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoCommand, QUndoGroup, QUndoStack

MOST_STEPS: Final = 1000
"""Undo steps that are kept."""

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
        self.before: Any = before
        self.after: Any = before
        self._show = show

    def redo(self) -> None:
        self._show(self.after)

    def undo(self) -> None:
        self._show(self.before)


class Document(QObject, Generic[T]):
    """Holder of an immutable design with undo and redo.

    A drag sends many live edits of one path; they merge into one undo step until `close_step`.

    A lesson is a guest: it has a design, an undo history and no file of its own, and when it leaves
    the user's design, history, file and saved mark are as they were.

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
    guest_left = Signal()
    stepped = Signal()

    def __init__(
        self, design: T, *, with_values: WithValues[T], value_at: Callable[[T, str], Any]
    ) -> None:
        super().__init__()
        self._design = design
        self._with_values = with_values
        self._value_at = value_at
        self._open_edit: _Edit | None = None
        self._live = False
        self._file: Path | None = None
        self._stamp: str | None = None
        self._kept: T | None = None
        self._opened, self._own_opened = design, design
        self.guest: str | None = None
        self.undo_group = QUndoGroup(self)
        self._own_steps, self._guest_steps = QUndoStack(self), QUndoStack(self)
        for stack in (self._own_steps, self._guest_steps):
            stack.setUndoLimit(MOST_STEPS)
            self.undo_group.addStack(stack)
            stack.cleanChanged.connect(self._tell_unsaved)
            stack.indexChanged.connect(self.close_step)
        self.undo_group.setActiveStack(self._own_steps)

    @property
    def design(self) -> T:
        """The design as it stands."""
        return self._design

    def close(self) -> None:
        """Forget all steps, while the interpreter and Qt agree about what belongs to whom.

        Collected together with their stack, steps could be deleted before it, which then reaches
        for them: a crash.
        """
        for steps in (self._own_steps, self._guest_steps):
            steps.blockSignals(True)
            steps.clear()

    @property
    def undo_stack(self) -> QUndoStack:
        """Steps of the design in hand, the user's or a guest's."""
        return self._own_steps if self.guest is None else self._guest_steps

    @property
    def opened(self) -> T:
        """The design in hand as it was opened or last saved."""
        return self._opened

    @property
    def file(self) -> Path | None:
        """File of the design in hand; a guest has none."""
        return self._file if self.guest is None else None

    @property
    def own_design(self) -> T:
        """The user's design, also while a guest is in hand."""
        return self._design if self._kept is None else self._kept

    @property
    def own_file(self) -> Path | None:
        """File of the user's design."""
        return self._file

    @property
    def own_stamp(self) -> str | None:
        """Mark of what the user's file held when it was last read or written here, if known."""
        return self._stamp

    @property
    def live(self) -> bool:
        """While `changed` is told: whether the edit is one of a run, more of which may follow."""
        return self._live

    @property
    def unsaved(self) -> bool:
        """Whether the user's design has edits that no file holds."""
        return not self._own_steps.isClean()

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
        self._live = live
        try:
            self._enter(after, frozenset(values), text)
        finally:
            self._live = False

    def _enter(self, after: T, paths: frozenset[str], text: str) -> None:
        """Put a design in hand, as a step of its own or as part of the one that is open."""
        step, live = self._open_edit, self._live
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

    def drop_step(self) -> None:
        """Give up a run of live edits: the design is as before it, and no undo step stays."""
        step, self._open_edit = self._open_edit, None
        if step is None:
            return
        before = step.before
        step.setObsolete(True)
        self.undo_stack.undo()  # takes an obsolete step away
        self._show(before)

    def undo(self) -> None:
        """Take the last step back."""
        self.undo_stack.undo()
        self.stepped.emit()

    def redo(self) -> None:
        """Do the step again that was taken back."""
        self.undo_stack.redo()
        self.stepped.emit()

    def receive(self, guest: str, design: T) -> None:
        """Take a guest's design in hand, the user's own aside; another guest's is replaced."""
        self.close_step()
        if self._kept is None:
            self._kept, self._own_opened = self._design, self._opened
        self.guest, self._opened = guest, design
        self._guest_steps.clear()
        self.undo_group.setActiveStack(self._guest_steps)
        self._show(design)
        self.file_changed.emit()

    def send_off(self) -> None:
        """Let the guest go: the user's design is in hand again as it was."""
        if self._kept is None:
            return
        self.close_step()
        own = self._end_visit()
        self._show(own)
        self.file_changed.emit()
        self.guest_left.emit()

    def _end_visit(self) -> T:
        assert self._kept is not None
        own, self._kept, self.guest = self._kept, None, None
        self._opened = self._own_opened
        self._guest_steps.clear()
        self.undo_group.setActiveStack(self._own_steps)
        return own

    def open(
        self,
        design: T,
        file: Path | None,
        *,
        unsaved: bool = False,
        stamp: str | None = None,
    ) -> None:
        """Hold another design from here on, with a fresh undo history.

        Parameters
        ----------
        design : T
            The design.
        file : Path or None
            Its file.
        unsaved : bool
            Whether it has edits that the file does not hold.
        stamp : str, optional
            Mark of what the file held when it was read; see `burstwise.core.disk.stamp_of`.
        """
        self.close_step()
        visited = self._kept is not None
        if visited:
            self._end_visit()
        self._own_steps.clear()
        self._file, self._stamp, self._opened = file, stamp, design
        if unsaved:
            self._own_steps.resetClean()
        else:
            self._own_steps.setClean()
        self._show(design)
        self.file_changed.emit()
        if visited:
            self.guest_left.emit()

    def take_theirs(self, design: T, stamp: str) -> None:
        """Take what the file holds now as one undo step, so that undo brings the edits back."""
        self.close_step()
        step = _Edit("Take the file's design", frozenset(), self._design, self._show)
        step.after = design
        self._own_steps.push(step)
        self._own_steps.setClean()
        self._stamp, self._opened = stamp, design
        self.file_changed.emit()

    def mark_saved(self, file: Path, stamp: str | None = None) -> None:
        """Note that `file` now holds the design in hand; a guest keeps no file."""
        self.close_step()
        if self.guest is None:
            self._file, self._stamp, self._opened = file, stamp, self._design
        self.undo_stack.setClean()
        self.file_changed.emit()

    def _show(self, design: T) -> None:
        self._design = design
        self.changed.emit(design)

    def _tell_unsaved(self, _clean: bool) -> None:
        self.unsaved_changed.emit(self.unsaved)
