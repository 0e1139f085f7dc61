"""What stands in the build sheet of a design."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

from burstwise.core.assembly.cautions import ESTIMATE, HAZARDS
from burstwise.core.assembly.circuit import circuit
from burstwise.core.assembly.cost import cost_of_parts
from burstwise.core.assembly.fast_loop import fast_loop
from burstwise.core.assembly.heat_sink import heat_sink_need
from burstwise.core.assembly.layout_notes import layout_notes
from burstwise.core.assembly.parts import PartsList, parts_list
from burstwise.core.assembly.powerup import PowerupPlan
from burstwise.core.assembly.powerup_stages import powerup_plan
from burstwise.core.assembly.symbol_style import SymbolStyle
from burstwise.core.assembly.winding import WindingRow, winding_plan
from burstwise.core.drawer import Drawer
from burstwise.core.evaluate import figures_object
from burstwise.core.evaluate.result_rows import RESULT_ROWS, ResultRow, result_value
from burstwise.core.evaluate.results import Results
from burstwise.core.explain.explain import sources_of
from burstwise.core.report.assumptions import assumptions
from burstwise.core.report.field_section import field_section
from burstwise.core.report.powerup_section import power_up_section
from burstwise.core.report.risk_form import risk_form
from burstwise.core.report.sheet import (
    Figure,
    Paragraph,
    Picture,
    Section,
    Sheet,
    Table,
    page_mark,
)
from burstwise.core.report.templates import templates
from burstwise.core.report.waveforms import waveforms
from burstwise.core.units import shown

_CIRCUIT_SCALE: Final = 0.72


def build_sheet(
    results: Results,
    plan: PowerupPlan | None = None,
    *,
    with_templates: bool = False,
    style: SymbolStyle = SymbolStyle.IEC,
    drawer: Drawer | None = None,
) -> Sheet:
    """Build sheet of an evaluated design, cautions first.

    Parameters
    ----------
    results : Results
        Evaluated design.
    plan : PowerupPlan, optional
        Its first power-up; made here if not given.
    with_templates : bool
        Whether templates at 1:1 are added, on pages of their own.
    style : SymbolStyle
        Standard of the symbols in its drawings.
    drawer : Drawer, optional
        Parts at hand; what it knows of prices stands above the list of parts.
    """
    parts = parts_list(results)
    plan = plan or powerup_plan(results, parts)
    loop = fast_loop(results, parts, style=style)
    stop = "This design carries a stop finding: do not build it as it stands."
    summary: list[Paragraph | Table] = [Paragraph(stop, "caution")] if results.stopped else []
    if results.design.notes:
        summary.append(Paragraph(results.design.notes))
    return Sheet(
        title=results.design.name,
        subtitle="Build sheet",
        mark=page_mark(results),
        sections=(
            Section("Cautions", tuple(_cautions())),
            Section("Operating point", (*summary, *_figures(results))),
            Section("Distance to keep", field_section(results)),
            Section(
                "Circuit",
                (
                    *(
                        Picture(sheet.svg, sheet.title, _CIRCUIT_SCALE)
                        for sheet in circuit(results, parts, style=style)
                    ),
                    Paragraph("Nets of the same name are joined from drawing to drawing."),
                ),
            ),
            Section("Parts list", tuple(_bill(parts, drawer or Drawer()))),
            Section("Winding plan", tuple(_winding(results))),
            Section(
                "Wiring and layout",
                (
                    *(Paragraph(note, "item") for note in layout_notes(results, parts)),
                    Picture(loop.svg, loop.title, _CIRCUIT_SCALE),
                ),
            ),
            Section("Heat sink", tuple(_heat_sink(results))),
            Section("First power-up", power_up_section(plan)),
            Section("Waveforms to expect", tuple(_waveforms(results))),
            Section("Findings", tuple(_findings(results))),
            Section("Assumptions", tuple(Paragraph(text, "item") for text in assumptions(results))),
            Section("Sources of these figures", _sources(results)),
            *(
                (Section("Templates at 1:1", templates(results), new_page=True),)
                if with_templates
                else ()
            ),
            Section("Risk assessment for a class", risk_form(results), new_page=True),
        ),
    )


def _sources(results: Results) -> tuple[Paragraph, ...]:
    """What the equations behind this design's figures come from, and how that is known."""
    return tuple(Paragraph(source.text, "item") for source in sources_of(results))


def _cautions() -> list[Paragraph]:
    said = [Paragraph(f"{hazard.title}. {hazard.text}", "caution") for hazard in HAZARDS]
    return [*said, Paragraph(ESTIMATE)]


def figure(results: Results, row: ResultRow, known: dict[str, Any]) -> Figure:
    """Figure of one result row."""
    value = result_value(known, row.path)
    return Figure(row.path, value, row.unit, row.text(value))


def _unused(results: Results) -> frozenset[str]:
    """Results that mean nothing for a stage without bursts, or without a driver."""
    design, left_out = results.design, set[str]()
    if not design.interrupter.enabled:
        left_out |= {"burst.frequency_Hz", "burst.on_time_s", "burst.energy_per_burst_J"}
    if design.drive.kind == "direct":
        left_out |= {"carrier.gate_time_constant_s", "carrier.driver_delay_s"}
    return frozenset(left_out)


def _figures(results: Results) -> list[Table]:
    known, unused = figures_object(results), _unused(results)
    tables = []
    for title in dict.fromkeys(row.group for row in RESULT_ROWS):
        rows = [row for row in RESULT_ROWS if row.group == title and row.path not in unused]
        if title != "Coil" and not results.carrier.oscillates:
            rows = [row for row in rows if row.without_carrier]
        figures = tuple(figure(results, row, known) for row in rows)
        if figures:
            tables.append(
                Table(
                    (title, ""),
                    tuple((row.title, f.text) for row, f in zip(rows, figures, strict=True)),
                    (3, 2),
                    figures,
                )
            )
    return [*tables, _limits(results, known)]


def _limits(results: Results, known: dict[str, Any]) -> Table:
    rows, figures = [], []
    for number, limit in enumerate(results.limits):
        value = shown(limit.value, limit.unit)
        allowed = shown(limit.limit, limit.unit)
        margin = shown(limit.margin, "%", digits=3) if math.isfinite(limit.margin) else "none"
        rows.append((limit.title, value, allowed, margin, limit.verdict.value, limit.corner))
        for key, text in (("value", value), ("limit", allowed)):
            path = f"limits.{number}.{key}"
            figures.append(Figure(path, result_value(known, path), limit.unit, text))
    return Table(
        ("Rating, the first to break first", "asked", "allowed", "margin", "verdict", "in state"),
        tuple(rows),
        (8, 3, 3, 3, 3, 4),
        tuple(figures),
    )


def _bill(parts: PartsList, drawer: Drawer) -> list[Paragraph | Table]:
    table = Table(
        ("Ref.", "Part", "Value", "What to buy", "Must have", "Why"),
        tuple(
            (
                part.reference,
                part.title,
                " ".join(filter(None, (part.value_text, part.tolerance_text))) or "–",
                part.to_buy,
                "; ".join(need.text for need in part.requirements) or "–",
                part.why,
            )
            for part in parts.parts
        ),
        (4, 13, 10, 16, 28, 34),
    )
    words = Paragraph(
        "Kinds are what is usually sold, with ratings from memory of datasheets: hold the ratings "
        "of the part you buy against the column 'Must have'. Where several pieces make one part, "
        "the drawing shows one symbol with the value of the whole."
    )
    above = [words]
    missing = ", ".join(part.reference for part in parts.not_sold)
    if missing:
        text = f"No kind that is sold has the ratings of {missing}: change the design first."
        above.append(Paragraph(text, "caution"))
    cost = cost_of_parts(parts.parts, drawer)
    if cost.text:
        above.append(Paragraph(cost.text))
    return [*above, table]


def _winding(results: Results) -> list[Paragraph | Table]:
    plan = winding_plan(results)

    def table(title: str, rows: Sequence[WindingRow]) -> Table:
        return Table((title, ""), tuple((row.name, row.text) for row in rows), (2, 3))

    return [
        table("Secondary", plan.secondary),
        table("Primary", plan.primary),
        table("Top load", plan.top_load),
        table("RF ground", plan.ground),
        *(Paragraph(note, "item") for note in plan.notes),
    ]


def _heat_sink(results: Results) -> list[Paragraph | Table]:
    need = heat_sink_need(results)
    cooling = results.design.cooling

    def resistance(value: float) -> str:
        return shown(value, "K/W", digits=3) if math.isfinite(value) else "any"

    words = (
        f"Fit a heat sink of at most {resistance(need.largest)} to air"
        if need.largest > 0
        else "No heat sink is enough at this operating point"
    )
    return [
        Paragraph(
            f"{words}; the design has {resistance(need.designed)}, with an interface of "
            f"{shown(cooling.interface_resistance, 'K/W')} from case to sink."
        ),
        Table(
            ("Heat sink to air", ""),
            (
                ("Mean heat of the device", shown(need.heat, "W")),
                (f"For a sink at {shown(cooling.sink_limit, '°C')}", resistance(need.for_sink)),
                (
                    f"For a junction peak at {shown(results.design.device.highest_junction, '°C')}",
                    resistance(need.for_junction),
                ),
            ),
            (3, 2),
        ),
        Paragraph(
            "The tab of a transistor that is not a full-pack carries the drain's voltage: use an "
            "insulating washer, and keep hands off the heat sink while it is powered."
        ),
    ]


def _waveforms(results: Results) -> list[Paragraph | Picture]:
    found = waveforms(results)
    if not found:
        return [Paragraph("The stage does not oscillate; there is no waveform to expect.")]
    return [Picture(item.svg, item.words, half=True) for item in found]


def _findings(results: Results) -> list[Paragraph | Table]:
    if not results.findings:
        return [Paragraph("None.")]
    return [
        Table(
            ("Weight", "Finding"),
            tuple((item.severity.value, item.text) for item in results.findings),
            (1, 7),
        )
    ]
