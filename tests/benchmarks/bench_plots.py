"""Time of one frame of three plots with two 500-point curves each, offscreen at 1366x768.

Prints medians and 99th percentiles in milliseconds: settings of all three plots, events with
painting, and `set_data` of one plot.
"""

from __future__ import annotations

import os
import time

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from PySide6.QtWidgets import QApplication, QHBoxLayout, QWidget

from burstwise.app.plots.axis import Axis
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.plots.overlay import Limit
from burstwise.app.theme import Theme
from burstwise.core.findings import Severity

FRAMES = 300
DUTY = np.linspace(0.0, 1.0, 500)


def report(name: str, seconds: list[float]) -> None:
    median, late = np.percentile(np.array(seconds) * 1e3, [50, 99])
    print(f"{name:<28} median {median:6.2f} ms   99th percentile {late:6.2f} ms")


def main() -> None:
    application = QApplication([])
    theme = Theme(application)
    page = QWidget()
    layout = QHBoxLayout(page)
    axis = Axis("Duty", "%")
    made = time.perf_counter()
    plots = [
        LinePlot(theme, x=axis, y=Axis(name, unit, from_zero=zero), curves=("one", "other"))
        for name, unit, zero in (
            ("Average power", "W", True),
            ("Peak current", "A", True),
            ("Device temperature", "°C", False),
        )
    ]
    report("making three plots", [time.perf_counter() - made])
    for plot in plots:
        layout.addWidget(plot)
        plot.set_x_range(0.0, 1.0)
        plot.set_limits((Limit(80.0, "rating 80", Severity.CAUTION),))
    page.resize(1366 - 252, 768 - 100)
    page.show()
    application.processEvents()
    setting, painting = [], []
    for frame in range(FRAMES):
        height = 70.0 + 5.0 * np.sin(frame / 8)
        began = time.perf_counter()
        for plot in plots:
            with plot.batch():
                plot.set_data(DUTY, height * DUTY, 0.4 * height * DUTY**1.1)
                plot.set_point(0.4, (0.4 * height, 0.4 * height * 0.4**1.1))
        set_at = time.perf_counter()
        application.processEvents()
        setting.append(set_at - began)
        painting.append(time.perf_counter() - set_at)
    report("settings of three plots", setting)
    report("events and painting", painting)
    single = []
    for frame in range(FRAMES):
        began = time.perf_counter()
        plots[0].set_data(DUTY, (60.0 + frame % 7) * DUTY, 30.0 * DUTY)
        single.append(time.perf_counter() - began)
    report("set_data of one plot", single)


if __name__ == "__main__":
    main()
