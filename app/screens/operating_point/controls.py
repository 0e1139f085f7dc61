"""Supply, duty and interrupter frequency, each by slider and field."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QCheckBox, QVBoxLayout, QWidget

from burstwise.app.binding import bind_check, bind_in_use
from burstwise.app.live import supply_reach
from burstwise.app.session import Session
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.slider_field import SliderField
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.design.document import field_info
from burstwise.core.interrupter.resolve import duty_reach, value_in_use
from burstwise.core.units import shown

LOWEST_SUPPLY = 1.0
_LAST_WIDTH = 180
_LIVE_MS = 4
"""Shortest time between two live values of a drag [ms]: each is drawn before the next comes."""


class Controls(QWidget):
    """The three sliders in a row.

    Parameters
    ----------
    session : Session
        Whose document they edit.
    """

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        document = session.document
        voltage = float(document.value("supply.voltage"))
        self.supply = self._slider(
            "&Supply voltage", "supply.voltage", low=LOWEST_SUPPLY, high=supply_reach(voltage)
        )
        self.duty = self._slider("&Duty", "interrupter.duty", low=0.0, high=1.0)
        self.frequency = self._slider(
            "&Interrupter frequency", "interrupter.frequency", low=1.0, high=20e3
        )
        self.fitted = QCheckBox("Interrupter fitted", self)
        self.fitted.setMinimumHeight(self.supply.field.sizeHint().height())
        bind_check(document, "interrupter.enabled", self.fitted, text="Interrupter fitted")
        self.remark = TextLabel(self, wraps=True, role="muted")
        last = QWidget(self)
        last.setMinimumWidth(_LAST_WIDTH)
        down = QVBoxLayout(last)
        down.setContentsMargins(0, 0, 0, 0)
        down.setSpacing(2)
        down.addWidget(self.fitted)
        down.addWidget(self.remark, 1)
        sliders = Reflow(spacing=28, parent=self)
        for slider in (self.supply, self.duty, self.frequency):
            sliders.add(slider)
        row = Reflow(spacing=28, parent=self)
        together = sum(slider.minimumSizeHint().width() + 28 for slider in sliders.panels)
        row.add(sliders, 9, row_width=together)
        row.add(last, 2)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(row)
        document.changed.connect(self._follow)
        document.file_changed.connect(self._fit_to_design)
        self._follow()

    def _slider(self, caption: str, path: str, *, low: float, high: float) -> SliderField:
        info = field_info(path)
        slider = SliderField(
            caption,
            info["shown_unit"],
            low=low,
            high=high,
            value=float(value_in_use(self._session.document.design, path)),
            field_low=info["low"],
            field_high=info["high"],
            log=bool(info["log"]),
            interval_ms=_LIVE_MS,
            parent=self,
        )
        bind_in_use(self._session.document, path, slider, text=str(info["title"]))
        return slider

    def _follow(self, _design: object = None) -> None:
        document = self._session.document
        fitted = bool(document.value("interrupter.enabled"))
        by_parts = fitted and document.value("interrupter.given_by") == "parts"
        self.duty.setEnabled(fitted)
        self.frequency.setEnabled(fitted and not by_parts)
        if by_parts:
            self._follow_knob()
        else:
            self.duty.set_range(0.0, 1.0)
            self.remark.setText("" if fitted else "Drive on without a pause")
        if float(document.value("supply.voltage")) > self.supply.range[1]:
            self._fit_to_design()

    def _follow_knob(self) -> None:
        """Let the duty's slider go as far as the knob of the timer parts, and say so."""
        low, high = duty_reach(self._session.document.design)
        if not low < high:
            self.duty.setEnabled(False)
            self.remark.setText("The timer parts do not run")
            return
        self.duty.set_range(low, high)
        ends = " to ".join(shown(end, "%", digits=3) for end in (low, high))
        self.remark.setText(f"Duty turns the timer's knob, {ends}; its parts give the frequency")

    def show_breaks(self, breaks: Sequence[tuple[str, float]]) -> None:
        """Mark on the supply's slider where the first ratings break [V]."""
        self.supply.set_marks([(f"{title} breaks at", volts) for title, volts in breaks])

    def _fit_to_design(self) -> None:
        """Choose the slider's range anew; not while a hand is on it, or it would run away."""
        if not self.supply.dragging:
            voltage = float(self._session.document.value("supply.voltage"))
            self.supply.set_range(LOWEST_SUPPLY, supply_reach(voltage))
