"""A drag by hand in a picture: one undo step from press to release, Escape brings back."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Final

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from burstwise.app.refusals import refusal
from burstwise.core.errors import InputError

if TYPE_CHECKING:
    from burstwise.app.document import Document

PIXELS_A_STEP: Final = 3.0
"""A drag snaps to the round steps that are at least this far apart [px]."""
ARROWS: Final[Mapping[Qt.Key, tuple[int, int]]] = {
    Qt.Key.Key_Left: (-1, 0),
    Qt.Key.Key_Right: (1, 0),
    Qt.Key.Key_Up: (0, 1),
    Qt.Key.Key_Down: (0, -1),
}


def round_step(per_pixel: float) -> float:
    """Step of 1, 2 or 5 times a power of ten that is no less than a few pixels.

    Examples
    --------
    >>> round_step(0.12), round_step(0.002)
    (0.5, 0.01)
    """
    least = per_pixel * PIXELS_A_STEP
    decade = 10.0 ** math.floor(math.log10(least))
    part = next(part for part in (1.0, 2.0, 5.0, 10.0) if part * decade >= least * (1 - 1e-9))
    return float(f"{part * decade:.6g}")


def snapped(value: float, per_pixel: float, *, fine: bool = False) -> float:
    """Value at the nearest round step; ten times finer with `fine`.

    Examples
    --------
    >>> snapped(36.38, 0.12), snapped(36.38, 0.12, fine=True)
    (36.5, 36.4)
    """
    step = round_step(per_pixel / 10 if fine else per_pixel)
    return float(f"{round(value / step) * step:.12g}")


class Drag(QObject):
    """One drag, by mouse or by keys, from its beginning to its end.

    The picture tells `begin`, `move` and `end`; the drag watches the picture's own keys while it
    lasts: Escape gives it up, and a run of keys ends when Ctrl is let go.

    Parameters
    ----------
    picture : QWidget
        What is dragged in; it gets the focus when a drag begins.
    """

    began = Signal()
    moved = Signal(object)
    ended = Signal()
    given_up = Signal()

    def __init__(self, picture: QWidget) -> None:
        super().__init__(picture)
        self._picture = picture
        self.grip: object | None = None
        self._by_keys = False
        picture.installEventFilter(self)

    @property
    def active(self) -> bool:
        """Whether something is held."""
        return self.grip is not None

    def begin(self, grip: object = True, *, by_keys: bool = False) -> None:
        """Take hold of a part of the picture."""
        if self.grip is None:
            self.grip, self._by_keys = grip, by_keys
            self._picture.setFocus(Qt.FocusReason.MouseFocusReason)
            self.began.emit()

    def move(self, values: object) -> None:
        """Bring what is held to a place, in the picture's own terms."""
        if self.grip is not None:
            self.moved.emit(values)

    def end(self) -> None:
        """Let go."""
        if self.grip is not None:
            self.grip = None
            self.ended.emit()

    def give_up(self) -> None:
        """Let go and leave everything as before."""
        if self.grip is not None:
            self.grip = None
            self.given_up.emit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keys that end a drag, and a focus that goes elsewhere."""
        if self.grip is None:
            return False
        if isinstance(event, QKeyEvent):
            return self._take_key(event)
        if event.type() in (QEvent.Type.FocusOut, QEvent.Type.Hide):
            self.end()
        return False

    def _take_key(self, event: QKeyEvent) -> bool:
        escape = event.key() == Qt.Key.Key_Escape
        if escape and event.type() == QEvent.Type.ShortcutOverride:
            event.accept()  # a dialog or menu must not take it
            return True
        if escape and event.type() == QEvent.Type.KeyPress:
            self.give_up()
            return True
        let_go = event.type() == QEvent.Type.KeyRelease and event.key() == Qt.Key.Key_Control
        if let_go and self._by_keys:
            self.end()
        return False


def edit_by_drag(
    document: Document[Any],
    drag: Drag,
    edits: Callable[[Any], Mapping[str, object]],
    *,
    text: str,
    refuse: Callable[[str], None] = lambda reason: None,
) -> None:
    """Let a drag edit the document: one undo step each, none where it is given up.

    Parameters
    ----------
    document : Document
        Holder of the design.
    drag : Drag
        What is moved.
    edits : callable
        Edits of a place that the drag tells; may raise `InputError`.
    text : str
        What the undo menu calls it.
    refuse : callable
        Takes the reason of a refused place, empty where one was taken.
    """

    def move(values: object) -> None:
        try:
            document.edit_many(edits(values), live=True, text=text)
            refuse("")
        except InputError as error:
            refuse(refusal(error))

    drag.began.connect(document.close_step)
    drag.moved.connect(move)
    drag.ended.connect(document.close_step)
    drag.given_up.connect(document.drop_step)
