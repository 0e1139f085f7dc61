"""The coil as rings: section to scale, with voltage and current of the lowest mode."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from PySide6.QtCore import QRectF

from burstwise.app.drawing.scale import ToScale, fitted_scale
from burstwise.app.drawing.section import Ball, Box, CoilSection, coil_section
from burstwise.app.theme import LIGHT
from burstwise.core.coil import design_geometry as geometry
from burstwise.core.evaluate.results import Results
from diagrams.sheet import Axes, Sheet

DRAWN = 20
"""Rings drawn; the computation has more."""


def svg(results: Results) -> str:
    """Text of the diagram."""
    sheet = Sheet(900, 460)
    values = results.design.coil.geometry
    section = coil_section(
        geometry.primary_geometry(values),
        geometry.secondary_geometry(values),
        geometry.top_load(values),
        base_height=values.base_height,
        point=geometry.breakout_point(values),
    )
    area = QRectF(20, 30, 260, 360)
    to = fitted_scale(area, half_width=section.reach, low=section.earth, high=section.highest)
    _section(sheet, section, to)
    _profiles(sheet, results, section, to)
    return sheet.svg()


def _section(sheet: Sheet, section: CoilSection, to: ToScale) -> None:
    ground = to.y(section.earth)
    sheet.line([(20, ground), (280, ground)])
    for x in np.arange(24, 278, 9):
        sheet.line([(x + 7, ground + 1), (x, ground + 8)], colour=LIGHT.muted, width=1)
    axis = to.x(0.0)
    sheet.line([(axis, 24), (axis, ground)], colour=LIGHT.line, width=1, dashes=(9, 3, 2, 3))
    _rings(sheet, section, to)
    shapes: Iterable[Ball | Box] = [*(turn.shape for turn in section.turns), *section.top]
    for shape in shapes:
        if isinstance(shape, Ball):
            place = (to.x(shape.x), to.y(shape.y))
            copper = LIGHT.series[1] if shape not in section.top else LIGHT.window
            radius = max(to.per_metre * shape.radius, 2.0)
            sheet.circle(place, radius, fill=copper, stroke=LIGHT.text)
    if section.point is not None:
        rod = section.point
        ends = [(to.x(rod.x), to.y(rod.y + side * rod.height / 2)) for side in (-1, 1)]
        sheet.line(ends, width=2)
    sheet.text((axis, ground + 28), "earth plane", align="centre", colour=LIGHT.muted)


def _rings(sheet: Sheet, section: CoilSection, to: ToScale) -> None:
    """Winding cut into equal rings; the middle one with its charge and its edges' currents."""
    radius, step = section.winding[0].x, section.length / DRAWN
    for number in range(DRAWN):
        top, foot = to.y((number + 1) * step), to.y(number * step)
        for side in (-1, 1):
            x = to.x(side * abs(radius))
            sheet.box(x - 4, top + 0.5, 8, foot - top - 1, fill=LIGHT.series[0])
    middle = to.y((DRAWN // 2 + 0.5) * step)
    right = to.x(abs(radius)) + 4
    sheet.line([(right, middle), (292, middle)], colour=LIGHT.muted, width=1)
    sheet.lines_of_text(
        (296, middle - 12),
        [
            "one ring: even charge q_n,",
            "even current between its edges;",
            "each acts on each other one",
            "and on the earth's images",
        ],
    )


def _profiles(sheet: Sheet, results: Results, section: CoilSection, to: ToScale) -> None:
    constants = results.coil.constants
    assert constants is not None
    profile = constants.profile
    foot, top = to.y(0.0), to.y(section.length)
    height = 1e3 * section.length
    heights = np.concatenate([[0.0], profile.ring_heights, profile.edge_heights[-1:]])
    ticks = [(v, f"{v:g}") for v in np.arange(0, height, 50)]
    volts = Axes(sheet, (520, top, 150, foot - top), x=(0, 1), y=(0, height))
    volts.ticks([(0, "0"), (0.5, "0.5"), (1, "1")], ticks)
    volts.curve(np.concatenate([[0.0], profile.voltage, [1.0]]), 1e3 * heights, series=0)
    volts.titles("voltage over the top's", "height [mm]")
    current = profile.current / np.sqrt(
        results.coil.secondary_capacitance / results.coil.secondary_inductance
    )
    amps = Axes(sheet, (720, top, 150, foot - top), x=(0, 1.2), y=(0, height))
    amps.ticks([(0, "0"), (0.5, "0.5"), (1, "1")], [(value, "") for value, _ in ticks])
    amps.curve(current, 1e3 * profile.edge_heights, series=1)
    amps.titles("current over i_2", "")
    ratio = constants.base_current_ratio
    at = amps.at(ratio, 0)
    sheet.circle(at, 3.5, fill=LIGHT.accent)
    sheet.text((at[0], at[1] + 52), f"base: ρ = {ratio:.3f}", align="right", colour=LIGHT.accent)
    sheet.text((720, 46), f"lowest mode: {results.coil.resonance / 1e3:.1f} kHz")
    sheet.text((720, 63), f"second: {constants.second_mode / 1e3:.0f} kHz", colour=LIGHT.muted)
