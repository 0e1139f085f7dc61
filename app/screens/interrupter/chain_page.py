"""Page with the drive chain: what is fitted, and what it has to take."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, Final

from PySide6.QtWidgets import (
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.screens.interrupter.optional_part import OptionalPart
from burstwise.app.section_form import SectionForm
from burstwise.app.session import Evaluated, Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.figure_table import Figure, FigureTable, Group
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.core.design.supply import LOW_VOLTAGE_FIELDS
from burstwise.core.evaluate.chain import chain_of
from burstwise.core.evaluate.results import Results
from burstwise.core.findings import Severity
from burstwise.core.interrupter.chain_report import ChainReport, turned
from burstwise.core.units import shown

_CHAIN: Final = "interrupter.chain"
_LEVEL: Final = f"{_CHAIN}.active_level"
_WORDS: Final = {
    f"{_CHAIN}.gating": {
        "enable": "the driver's enable",
        "supply": "the driver's supply",
    },
    _LEVEL: {"high": "high", "low": "low"},
}
_SUPPLY_WORDS: Final = {
    "supply.low_voltage.kind": {
        "regulator": "linear regulator",
        "zener": "Zener diode",
        "separate": "supply of its own",
    }
}
_NO_RESULTS: Final = "The figures appear with the first evaluation."


class ChainPage(QWidget):
    """Forms on the left, figures of the last evaluation on the right."""

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        document = session.document
        self._session = session
        self.chain = SectionForm(
            document,
            "From timer to gate",
            [
                f"{_CHAIN}.{name}"
                for name in ("gating", "active_level", "decoupling", "loop_inductance")
            ],
            words=_WORDS,
        )
        self.buffer = OptionalPart(
            document,
            "Buffer transistor",
            f"{_CHAIN}.buffer",
            ("collector_resistor", "smallest_gain", "usual_gain", "overdrive"),
        )
        self.indicator = OptionalPart(
            document, "Indicator LED", f"{_CHAIN}.indicator", ("forward_voltage", "current")
        )
        self.low_supply = OptionalPart(
            document,
            "Low-voltage supply",
            "supply.low_voltage",
            (
                "kind", "output", "dropout", "own_current", "input_limit", "tolerance",
                "least_zener_current", "thermal_resistance", "junction_limit", "current_limit",
            ),
            choices=_SUPPLY_WORDS,
            wanted=lambda part: LOW_VOLTAGE_FIELDS[part.kind],
        )  # fmt: skip
        self.figures = FigureTable(theme, self)
        self.more = FigureTable(theme, self)
        self.failures = TextLabel(self, wraps=True)
        self.status = TextLabel(_NO_RESULTS, self, wraps=True, role="muted")
        self.turn = QPushButton("&Turn it the right way round", self)
        self.turn.clicked.connect(self._turn)
        self.turn.hide()
        self._lay_out()
        document.changed.connect(self._follow)
        self._follow(document.design)
        session.evaluated.connect(self._take)
        if session.latest is not None:
            self._take(session.latest)

    def _lay_out(self) -> None:
        inner = QWidget()
        row = Reflow(spacing=16, parent=inner)
        across = QVBoxLayout(inner)
        across.setContentsMargins(0, 0, 6, 0)
        across.addWidget(row)
        columns = [QWidget(row) for _ in range(3)]
        forms, figures, more = (QVBoxLayout(column) for column in columns)
        for part in (self.chain, self.buffer, self.indicator, self.low_supply):
            forms.addWidget(part)
        figures.addWidget(self.status)
        figures.addWidget(self.turn)
        figures.addWidget(self.figures)
        more.addWidget(self.more)
        more.addWidget(self.failures)
        for column, down, share in zip(columns, (forms, figures, more), (5, 4, 4), strict=True):
            down.setContentsMargins(0, 0, 0, 0)
            down.addStretch(1)
            row.add(column, share)
        scroll = QScrollArea(self)
        scroll.setWidgetResizable(True)
        scroll.setWidget(inner)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.addWidget(scroll)

    def _follow(self, design: Any) -> None:
        """Show what has a say: a direct drive's pull-down is no input of a driver."""
        self.chain.setVisible(design.drive.kind == "gated")
        enable = design.interrupter.chain.gating == "enable"
        self.chain.show_only([path for path in self.chain.rows if enable or path != _LEVEL])

    def _turn(self) -> None:
        """Do what the finding about the polarity advises."""
        document = self._session.document
        document.edit_many(turned(document.design)[1], text="Turn the drive chain round")

    def _take(self, evaluated: Evaluated) -> None:
        if not isinstance(evaluated.results, Results):
            return
        report = chain_of(evaluated.results)
        self.status.setText(polarity_text(report))
        wrong = report.polarity is not None and not report.polarity.on_when_high
        self.turn.setVisible(wrong)
        set_tip(self.turn, turned(evaluated.results.design)[0] if wrong else "")
        groups = list(chain_groups(report))
        half = (1 + len(groups)) // 2
        self.failures.setText(failure_text(report))
        self.figures.show_groups(groups[:half])
        self.more.show_groups(groups[half:])


def polarity_text(report: ChainReport) -> str:
    """The way from the timer to the stage in words."""
    if report.polarity is None and report.links:
        return (
            "Typed numbers say nothing about the timer's output: give its parts to check the way."
        )
    if report.polarity is None:
        return "No interrupter is fitted: nothing between timer and gate to check."
    way = " → ".join(f"{link.name}{' (inverts)' if link.inverts else ''}" for link in report.links)
    meaning = (
        "on while the timer is high"
        if report.polarity.on_when_high
        else ("on while the timer is LOW")
    )
    return f"Timer → {way} → gate. The stage is {meaning}."


def failure_text(report: ChainReport) -> str:
    """What single failures of the timer do."""
    if report.safety is None:
        return ""
    lines = [
        f"· {failure.cause}: {failure.output}. {failure.consequence}"
        for failure in report.safety.failures
    ]
    return "If something fails:\n" + "\n".join(lines)


def chain_groups(report: ChainReport) -> Iterator[Group]:
    """Figures of the chain, a group for each part that is there."""
    if report.gate is not None:
        gate = report.gate
        ringing = any(finding.code == "gate-loop-rings" for finding in gate.findings)
        rings = Severity.CAUTION if ringing else None
        yield Group(
            "Gate driver",
            (
                Figure("Peak gate current", shown(gate.peak_current, "A", digits=3)),
                Figure("Gate edge, 10 to 90 %", shown(gate.rise_time, "s", digits=3)),
                Figure("Overshoot of the gate", shown(gate.overshoot, "%", digits=2), rings),
                Figure("Gate resistor that damps", shown(gate.least_resistor, "Ω", digits=2)),
                Figure("Heat in the driver", shown(gate.driver_power, "W", digits=3)),
                Figure("Driver junction", shown(report.driver_junction, "°C", digits=3)),
                Figure("Heat in the gate resistor", shown(gate.resistor_power, "W", digits=3)),
                Figure("Decoupling wanted", shown(report.decoupling_wanted, "F", digits=2)),
            ),
        )
    if report.gating is not None:
        yield Group(
            "Gating",
            (
                Figure("Delay to on", shown(report.gating.on, "s", digits=3)),
                Figure("Delay to off", shown(report.gating.off, "s", digits=3)),
                Figure("Inrush", shown(report.gating.inrush, "A", digits=3)),
            ),
        )
    if report.buffer is not None:
        yield Group(
            "Buffer transistor",
            (
                Figure("Base resistor", shown(report.buffer.base_resistor, "Ω")),
                Figure("Base current", shown(report.buffer.base_current, "A", digits=3)),
                Figure("Collector current", shown(report.buffer.collector_current, "A", digits=3)),
                Figure("Delay on, off", ", ".join(
                    shown(delay, "s", digits=2)
                    for delay in (report.buffer.delay_on, report.buffer.delay_off)
                )),
                Figure("Heat", shown(report.buffer.dissipation, "W", digits=2)),
            ),
        )  # fmt: skip
    if report.indicator is not None:
        yield Group(
            "Indicator LED",
            (
                Figure("Resistor", shown(report.indicator.resistor, "Ω")),
                Figure("Current", shown(report.indicator.current, "A", digits=3)),
            ),
        )
    yield from _supply_groups(report)
    if report.safety is not None:
        yield _safety_group(report)


def _supply_groups(report: ChainReport) -> Iterator[Group]:
    loads = (
        Figure("Load, mean", shown(report.low_load, "A", digits=3)),
        Figure("Load within a burst", shown(report.low_load_burst, "A", digits=3)),
    )
    low = report.low_supply
    if low is not None:
        hot = any(finding.code == "low-supply-heat" for finding in low.findings)
        heat = Severity.STOP if hot else None
        resistor = (
            (Figure("Series resistor", shown(low.series_resistor, "Ω")),)
            if low.series_resistor
            else ()
        )
        loads += (
            Figure(
                "Output",
                f"{shown(low.output_low, 'V', digits=3)} to "
                f"{shown(low.output_high, 'V', digits=3)}",
            ),
            *resistor,
            Figure("Heat", shown(low.dissipation, "W", digits=3), heat),
            Figure("Junction", shown(low.junction, "°C", digits=3), heat),
        )
    yield Group("Low-voltage supply", loads)
    if report.bulk is not None:
        bulk = report.bulk
        heavy = Severity.STOP if bulk.findings else None
        yield Group(
            "Bulk capacitor under the bursts",
            (
                Figure("Ripple", shown(bulk.ripple + bulk.esr_step, "V", digits=3)),
                Figure("Ripple current, RMS", shown(bulk.ripple_current, "A", digits=3), heavy),
                Figure("Heat in its ESR", shown(bulk.esr_power, "W", digits=3)),
            ),
        )


def _safety_group(report: ChainReport) -> Group:
    safety = report.safety
    assert safety is not None
    cap = "none" if math.isinf(safety.cap) else shown(safety.cap, "s", digits=3)
    short = Severity.CAUTION if safety.ring_up_ratio < 1 else None
    return Group(
        "On-times, worst case",
        (
            Figure("Shortest", shown(safety.shortest_on_time, "s", digits=3)),
            Figure(
                "Shortest over ring-up", f"{shown(safety.ring_up_ratio, '', digits=3)} times", short
            ),
            Figure("Longest", shown(safety.longest_on_time, "s", digits=3)),
            Figure("First after power-up", shown(safety.first_on_time, "s", digits=3)),
            Figure("Cap", cap),
        ),
    )
