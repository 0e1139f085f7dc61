"""The slow side: one interrupter period, and the way of the heat."""

from __future__ import annotations

import numpy as np

from burstwise.app.theme import LIGHT
from burstwise.core.evaluate.results import Results
from burstwise.core.units import shown
from diagrams.sheet import Axes, Sheet


def burst(results: Results) -> str:
    """Enable, envelope, bus voltage and junction over one interrupter period."""
    sheet = Sheet(760, 560)
    _envelope(sheet, results)
    course = results.course
    period = 1e3 * float(course.time[-1])
    time = 1e3 * course.time
    ticks = [(v, f"{v:g}") for v in np.arange(0, period + 0.01, 1.0)]
    bus = Axes(sheet, (70, 270, 480, 90), x=(0, period), y=(35.6, 36.05))
    bus.ticks(ticks, [(35.6, "35.6"), (35.8, "35.8"), (36.0, "36.0")])
    bus.curve(time, course.bus_voltage, series=1)
    bus.titles("", "bus voltage [V]: sags in the on-time, recovers in the off-time")
    hot = Axes(sheet, (70, 415, 480, 90), x=(0, period), y=(31.8, 33.4))
    hot.ticks(ticks, [(32.0, "32.0"), (32.5, "32.5"), (33.0, "33.0")])
    hot.curve(time, course.junction, series=2)
    hot.titles("time since the drive was enabled [ms]", "junction temperature [°C]")
    on = 1e3 * results.operation.on_time
    for axes in (bus, hot):
        _, top, _, height = axes.place
        x = axes.at(on, 36 if axes is bus else 33)[0]
        sheet.line([(x, top), (x, top + height)], colour=LIGHT.accent, width=1, dashes=(4, 3))
    sheet.text((558, 300), f"on-time D/f_i = {shown(on / 1e3, 's')}", colour=LIGHT.accent)
    sheet.text((558, 317), f"period 1/f_i = {shown(period / 1e3, 's')}")
    return sheet.svg()


def _envelope(sheet: Sheet, results: Results) -> None:
    """Top voltage at both ends of the burst, on a scale of carrier cycles."""
    up, down = results.carrier.ring_up, results.carrier.ring_down
    axes = Axes(sheet, (70, 60, 225, 150), x=(0, 40), y=(0, 15))
    axes.ticks(
        [(v, f"{v:g}") for v in (0, 10, 20, 30, 40)], [(0, "0"), (5, "5"), (10, "10"), (15, "15")]
    )
    early = np.linspace(0, 40, 81)
    axes.curve(early, 1e-3 * np.interp(1e-6 * early, up.time, up.top), series=0)
    axes.titles("since enabled [µs]", "peak top voltage [kV]: ring-up")
    breakout = 1e-3 * results.coil.breakout_voltage
    other = Axes(sheet, (325, 60, 225, 150), x=(0, 200), y=(0, 15))
    other.ticks(
        [(v, f"{v:g}") for v in (0, 50, 100, 150, 200)], [(0, ""), (5, ""), (10, ""), (15, "")]
    )
    late = np.linspace(1, 200, 200)
    other.curve(late, 1e-3 * np.interp(1e-6 * late, down.time, down.top), series=0)
    other.titles("since disabled [µs]", "ring-down")
    for plot in (axes, other):
        left, _, width, _ = plot.place
        y = plot.at(0, breakout)[1]
        sheet.line([(left, y), (left + width, y)], colour=LIGHT.caution, width=1, dashes=(5, 3))
    sheet.text((558, axes.at(0, breakout)[1] + 4), "breakout voltage", colour=LIGHT.caution)


def heat(results: Results) -> str:
    """Foster network from the junction to the air, with the design's values."""
    sheet = Sheet(900, 300)
    network, point = results.path.network, results.operation
    names = [*(["junction to case"] * (len(network.resistance) - 2)), "interface", "heat sink"]
    x, y = 110.0, 130.0
    sheet.circle((50, y), 22, fill=LIGHT.window, stroke=LIGHT.text)
    sheet.text((50, y + 5), "P", align="centre")
    sheet.line([(50, y + 22), (50, 230), (860, 230)])
    sheet.line([(50, y - 22), (50, 80), (x, 80)])
    elements = list(zip(network.resistance, network.time_constant, strict=True))
    temperatures = {0: ("T_j", point.junction_mean), len(names) - 2: ("T_{case}", point.case),
                    len(names) - 1: ("T_{sink}", point.heat_sink)}  # fmt: skip
    for place, (ohms, tau) in enumerate(elements):
        if place in temperatures:
            word, value = temperatures[place]
            sheet.circle((x, 80), 3.5, fill=LIGHT.text)
            sheet.text((x, 46), f"{word}", align="centre")
            sheet.text((x, 64), f"{value:.2f} °C", align="centre", colour=LIGHT.accent)
        _element(sheet, x, f"{ohms:g} K/W", shown(float(tau), "s"))
        sheet.text((x + 60, 184), names[place], align="centre", colour=LIGHT.muted, size=11)
        x += 120.0
    sheet.line([(x, 80), (860, 80), (860, 230)])
    sheet.text((852, 206), f"ambient {results.path.ambient:g} °C", align="right")
    power = shown(point.device_power, "W")
    words = f"P: heat in the device, {power} on average, in rectangular pulses of the on-time"
    sheet.text((110, 262), words)
    box = "each box: resistance and time constant of one element, R_i and τ_i = R_i C_i"
    sheet.text((110, 282), box, colour=LIGHT.muted)
    return sheet.svg()


def _element(sheet: Sheet, x: float, ohms: str, tau: str) -> None:
    """Resistance and capacitance side by side, between two points of a line."""
    sheet.line([(x, 80), (x + 20, 80)])
    sheet.line([(x + 100, 80), (x + 120, 80)])
    sheet.line([(x + 20, 80), (x + 20, 110), (x + 55, 110)])
    sheet.line([(x + 65, 110), (x + 100, 110), (x + 100, 80)])
    for side in (55, 65):
        sheet.line([(x + side, 102), (x + side, 118)])
    sheet.box(x + 35, 72, 50, 16)
    sheet.line([(x + 20, 80), (x + 35, 80)])
    sheet.line([(x + 85, 80), (x + 100, 80)])
    sheet.text((x + 60, 138), ohms, align="centre")
    sheet.text((x + 60, 156), tau, align="centre", colour=LIGHT.muted)
