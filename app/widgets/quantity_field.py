"""Text field for a quantity: takes what people write, keeps the float as the truth."""

from __future__ import annotations

import math
from typing import Final

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QPainter, QPaintEvent, QWheelEvent
from PySide6.QtWidgets import QLabel, QLineEdit, QVBoxLayout, QWidget

from burstwise.app.theme import MARKS
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.app.widgets.undo_keys import UndoKeys
from burstwise.app.widgets.words import range_tip, sentence_start, unbroken
from burstwise.core.errors import InputError
from burstwise.core.findings import Severity
from burstwise.core.units import in_unit, limits_text, quantity, shown, shown_in
from burstwise.core.written import is_bare, read

_STEP_KEYS: Final = {
    Qt.Key.Key_Up: 1,
    Qt.Key.Key_Down: -1,
    Qt.Key.Key_PageUp: 10,
    Qt.Key.Key_PageDown: -10,
}
_FEWEST, _MOST = 0.1, 1e4
"""Range of the number within which a value from outside is shown in the unit that was typed."""
_STOP: Final = MARKS[Severity.STOP]


def nudge(value: float, steps: int, *, step: float | None, low: float, high: float) -> float:
    """Value moved by `steps`, clipped to the limits.

    Without a fixed `step`, a step is one unit of the second significant figure.

    Examples
    --------
    >>> nudge(4700.0, 1, step=None, low=0.0, high=1e6)
    4800.0
    >>> nudge(0.5, -10, step=0.01, low=0.02, high=0.98)
    0.4
    """
    if step is None:
        if value == 0.0:
            step = (high - low) / 100 if math.isfinite(high - low) else 1.0
        else:
            step = 10.0 ** (math.floor(math.log10(abs(value)) + 1e-9) - 1)
    moved = float(f"{value + steps * step:.12g}")
    return min(max(moved, low), high)


def resting_unit(unit: str, high: float) -> str:
    """Unit with prefix in which a field shows zero, and takes a bare number while it does.

    A length counts in millimetres; what never reaches 1 counts in the unit of its upper limit.

    Examples
    --------
    >>> resting_unit("m", 2.0), resting_unit("s", 5e-6), resting_unit("Ω", 10.0)
    ('mm', 'µs', 'Ω')
    """
    if unit == "m":
        return "mm"
    if 0.0 < high < 1.0:
        return shown(high, unit).partition(" ")[2]
    return unit


class _Entry(QLineEdit):
    """Line edit that reports step keys and shows the unit that a bare number would have."""

    stepped = Signal(int)
    step_ended = Signal()
    reverted = Signal()

    def __init__(self, unit: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.unit = unit
        self._undo_keys = UndoKeys(self)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        steps = _STEP_KEYS.get(Qt.Key(event.key()))
        if steps is not None:
            large = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier) and abs(steps) == 1
            self.stepped.emit(steps * 10 if large else steps)
        elif event.key() == Qt.Key.Key_Escape and self.isModified():
            self.reverted.emit()
        else:
            super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        if Qt.Key(event.key()) in _STEP_KEYS and not event.isAutoRepeat():
            self.step_ended.emit()
        super().keyReleaseEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        if event.reason() in (Qt.FocusReason.TabFocusReason, Qt.FocusReason.BacktabFocusReason):
            self.selectAll()

    @property
    def needs_unit(self) -> bool:
        """Whether the text names no unit, so that the field's own is painted beside it."""
        return bool(self.unit) and is_bare(self.text())

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if self.needs_unit:
            with QPainter(self) as painter:
                painter.setPen(self.palette().placeholderText().color())
                painter.drawText(
                    self.rect().adjusted(0, 0, -8, 0),
                    Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter,
                    self.unit,
                )


class QuantityField(QWidget):
    """Field for one quantity with unit, limits and step keys.

    A good entry is taken on Return or on leaving the field. A bad entry marks the field by border,
    glyph, text and accessible description, and the last good value stays in force. Escape goes
    back to it. Up and Down step, with Shift or by Page Up and Page Down ten times as far.

    A number without unit has the unit and prefix that the field shows: 75 typed over '50 mm' is
    75 mm. What the user types, with a prefix or without, keeps the field in that unit.

    Parameters
    ----------
    unit : str
        SI unit, ``""`` for a plain number, ``"%"`` for a ratio that is shown and read in percent
        (the value itself stays the ratio).
    name : str
        What the quantity is, for errors and for screen readers.
    low, high : float
        Closed limits.
    step : float, optional
        Fixed step of the keys; else one unit of the second significant figure.
    digits : int
        Significant figures shown.
    """

    value_changed = Signal(float)
    edit_finished = Signal()

    def __init__(
        self,
        unit: str,
        *,
        name: str = "value",
        value: float = 0.0,
        low: float = -math.inf,
        high: float = math.inf,
        step: float | None = None,
        digits: int = 5,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._unit, self._name = unit, name
        self._low, self._high, self._step, self._digits = low, high, step, digits
        self._value = float(value)
        self._error = ""
        self._shown_unit = unit
        self._kept_unit = ""
        self.entry = _Entry(unit, self)
        self.entry.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.entry.setAccessibleName(f"{name} in per cent" if unit == "%" else name)
        self._message = TextLabel(self, wraps=True, role="error")
        self._message.hide()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(2)
        layout.addWidget(self.entry)
        layout.addWidget(self._message)
        self.setFocusProxy(self.entry)
        self.entry.setMinimumWidth(self.entry.fontMetrics().horizontalAdvance("−00.000 mΩ m"))
        self.entry.editingFinished.connect(self._commit)
        self.entry.textEdited.connect(self._make_room_for_unit)
        self.entry.stepped.connect(self._nudge)
        self.entry.step_ended.connect(self.edit_finished)
        self.entry.reverted.connect(self._show_value)
        set_tip(self, self._own_tip())
        self._show_value()

    @property
    def value(self) -> float:
        """Last good value in SI units."""
        return self._value

    @property
    def error(self) -> str:
        """Why the present text is not taken, empty when it is."""
        return self._error

    @property
    def shown_unit(self) -> str:
        """Unit with prefix on display, in which a bare number is taken."""
        return self._shown_unit

    def give_message(self) -> QLabel:
        """The label of what is wrong, for an owner with more room for it than the field has."""
        layout = self.layout()
        assert layout is not None
        layout.removeWidget(self._message)
        return self._message

    def set_value(self, value: float) -> None:
        """Show a value from outside, without a signal; a text being typed stays untouched."""
        same = value == self._value
        if not same and self._kept_unit and self._outgrown(value, self._kept_unit):
            self._kept_unit = ""
        self._value = float(value)
        if not (same and self._error) and not (self.entry.hasFocus() and self.entry.isModified()):
            self._show_value()

    def set_limits(self, low: float, high: float) -> None:
        """Change the closed limits; the value itself is left alone."""
        own = self.toolTip() == self._own_tip()
        self._low, self._high = low, high
        if own:
            set_tip(self, self._own_tip())

    def _own_tip(self) -> str:
        """Tip of a field that no part of the design stands behind."""
        return f"{sentence_start(self._name)}\n{range_tip(self._unit, self._low, self._high)}"

    def mark_bad(self, reason: str) -> None:
        """Mark the field as not taken, with the reason in words."""
        self._error = reason
        kept = self._text()[0]
        text = f"{_STOP.glyph} {reason} (still using {kept})"
        self._message.setText(unbroken(text))
        set_style_property(self._message, "role", "error")
        self._message.show()
        set_tip(self.entry, text)
        self.entry.setAccessibleDescription(text)
        set_style_property(self.entry, "bad", "true")

    def clear_mark(self) -> None:
        """Take the mark of a bad entry away."""
        self._error = ""
        self._message.hide()
        self.entry.setToolTip("")
        self.entry.setAccessibleDescription("")
        set_style_property(self.entry, "bad", "false")

    def _commit(self) -> None:
        if not self.entry.isModified():
            return
        try:
            value = self._read(self.entry.text())
        except InputError as error:
            self.mark_bad(f"{error.field} must be {error.limit}")
            return
        text = self.entry.text()
        self._take(value)
        self.edit_finished.emit()
        self._explain_percent(text)

    def _explain_percent(self, text: str) -> None:
        """Say how a bare number below 1 was taken, which may have been meant as a ratio."""
        bare = self._unit == "%" and not text.strip().endswith("%")
        if not bare or self._error or not 0.0 < self._value < 0.01:
            return
        taken = shown(self._value, "%", digits=self._digits)
        self._message.setText(f"○ taken as {taken}; a half is 50 %")
        set_style_property(self._message, "role", "muted")
        self._message.show()

    def _read(self, text: str) -> float:
        if self._unit == "%":
            percent = text if text.strip().endswith("%") else f"{text}%"
            ratio = quantity(percent, "", field=self._name)
            if not self._low <= ratio <= self._high:
                raise InputError(self._name, text, limits_text(self._low, self._high, "%"))
            return ratio
        value = quantity(
            text,
            self._unit,
            field=self._name,
            low=self._low,
            high=self._high,
            bare=self._shown_unit,
            near=self._value,
        )
        if self._unit:
            typed = read(text, self._unit, field=self._name, bare=self._shown_unit)
            self._kept_unit = typed.unit or self._shown_unit
        return value

    def _nudge(self, steps: int) -> None:
        value = nudge(self._value, steps, step=self._step, low=self._low, high=self._high)
        if self._value != 0.0 and self._unit not in ("", "%"):
            self._kept_unit = "" if self._outgrown(value, self._shown_unit) else self._shown_unit
        self._take(value)

    def _take(self, value: float) -> None:
        changed = value != self._value
        self._value = value
        self._show_value()
        if changed:
            self.value_changed.emit(value)

    def _show_value(self) -> None:
        text, self._shown_unit = self._text()
        self.entry.unit = self._shown_unit
        with QSignalBlocker(self.entry):
            self.entry.setText(text)
        self.entry.setModified(False)
        self.clear_mark()
        self._make_room_for_unit()

    def _outgrown(self, value: float, written_unit: str) -> bool:
        """Whether a value that nobody typed would need too many figures in a unit."""
        count = abs(in_unit(value, written_unit, self._unit))
        return not (count == 0.0 or _FEWEST <= count < _MOST)

    def _text(self) -> tuple[str, str]:
        """Text of the value, and the unit with prefix in it."""
        kept = self._kept_unit
        if kept and math.isfinite(self._value):
            return shown_in(self._value, kept, self._unit, digits=self._digits), kept
        if self._value == 0.0 and self._unit not in ("", "%"):
            rest = resting_unit(self._unit, self._high)
            return f"0 {rest}", rest
        text = shown(self._value, self._unit, digits=self._digits)
        return text, text.rpartition(" ")[2] if self._unit and " " in text else self._unit

    def _make_room_for_unit(self) -> None:
        width = self.entry.fontMetrics().horizontalAdvance(self.entry.unit) + 6
        self.entry.setTextMargins(0, 0, width if self.entry.needs_unit else 0, 0)
        self.entry.update()
