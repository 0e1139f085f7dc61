"""Straight pieces of the device: segments of the channel, segments of the capacitances."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from burstwise.app.theme import LIGHT
from burstwise.core.design.document import Design
from burstwise.core.stage.device_charges import device_charges
from diagrams.sheet import Axes, Sheet


def channel(design: Design) -> str:
    """Drain current over drain voltage in the four segments of the channel."""
    device = design.device
    sheet = Sheet(760, 400)
    highest = 1.1 * device.pulsed_current
    axes = Axes(sheet, (70, 40, 480, 300), x=(-4, 24), y=(-16, highest))
    axes.ticks(
        [(v, f"{v:g}") for v in (-4, 0, 4, 8, 12, 16, 20, 24)],
        [(a, f"{a:g}") for a in (-10, 0, 10, 20, 30, 40)],
    )
    axes.titles("v_{ds} [V]", "channel current [A]")
    gates = (4.5, 5.5, 6.5)
    for series, gate in enumerate(gates):
        volts = np.linspace(-4, 24, 561)
        axes.curve(volts, channel_current(design, gate, volts), series=series)
        level = device.transconductance * (gate - device.threshold_voltage)
        sheet.text(
            (558, axes.at(24, level)[1] + 4), f"v_{{gs}} = {gate:g} V", colour=LIGHT.series[series]
        )
    sheet.line([axes.at(0, -16), axes.at(0, highest)], colour=LIGHT.muted, width=1)
    sheet.text(
        axes.at(9.5, 38), "saturated: g_m (v_{gs} − V_{th})", align="centre", colour=LIGHT.muted
    )
    sheet.text((axes.at(2.6, 4)[0], axes.at(0, 4)[1]), "ohmic: v_{ds} / R_{on}", colour=LIGHT.muted)
    sheet.text(axes.at(2, -9), "below zero the drain is the source", colour=LIGHT.muted)
    sheet.text(axes.at(2, -12), "and v_{gd} counts: reverse", colour=LIGHT.muted)
    sheet.text((558, axes.at(24, 0)[1] + 4), "off: v_{gs} below V_{th}", colour=LIGHT.muted)
    return sheet.svg()


def channel_current(design: Design, gate: float, volts: np.ndarray) -> np.ndarray:
    """Current of the channel [A] at a gate voltage and drain voltages [V], as the page has it."""
    device = design.device
    slope, threshold = device.transconductance, device.threshold_voltage
    ahead = slope * max(gate - threshold, 0.0)
    behind = slope * np.maximum(gate - volts - threshold, 0.0)
    ohmic = volts / device.on_resistance
    return np.where(volts >= 0, np.minimum(ohmic, ahead), np.maximum(ohmic, -behind))


def capacitances(design: Design) -> str:
    """Law of the capacitances and the straight pieces that stand for it."""
    charges = device_charges(design.device)
    sheet = Sheet(760, 400)
    highest = 0.5 * design.device.avalanche_voltage
    axes = Axes(sheet, (70, 40, 480, 300), x=(0, highest), y=(1e-12, 1e-8), log=True)
    axes.ticks(
        [(v, f"{v:g}") for v in (0, 60, 120, 180, 240, 300, 360)],
        [(1e-12, "1 pF"), (1e-11, "10 pF"), (1e-10, "100 pF"), (1e-9, "1 nF"), (1e-8, "10 nF")],
    )
    axes.titles("voltage [V]", "capacitance")
    volts = np.concatenate([[0.0], np.geomspace(0.05, highest, 300)])
    for series, (law, pieces, name) in enumerate((
        (charges.smooth, charges.drain_source, "C_{ds} over v_{ds}"),
        (charges.reverse, charges.gate_drain, "C_{gd} over v_{dg}"),
    )):  # fmt: skip
        axes.curve(volts, np.asarray(law.capacitance(volts)), series=series)
        knots = [0.0, *(v for v in pieces.knots if 0 < v < highest), highest]
        middles = [0.5 * (a + b) for a, b in pairwise(knots)]
        farads = [pieces.farads[pieces.segment(v)] for v in middles]
        steps = [
            axes.at(v, c) for c, a, b in zip(farads, knots, knots[1:], strict=False) for v in (a, b)
        ]
        sheet.line(steps, colour=LIGHT.text, width=1)
        y = axes.at(highest, farads[-1])[1] + 4
        sheet.text((558, y), name, colour=LIGHT.series[series])
    sheet.text((558, 64), "thin: straight pieces of the")
    sheet.text((558, 81), "charge, q = C_i v + q_i")
    sheet.text((558, 98), "thick: the law of the datasheet")
    return sheet.svg()
