"""Bench: readings of an invented build, one cell mistyped, with what the chosen row says."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from burstwise.core.bench.burst_waveform import BurstTiming, Signal, burst_capture
from burstwise.core.bench.fault_stage import sound_stage
from burstwise.core.bench.readings import Reading
from burstwise.core.bench.sheet import cells_of
from burstwise.core.stage.carrier import carrier
from burstwise.core.stage.circuit import StageCircuit

SCREEN = "Bench"
OPENS = "classroom-gated-interrupted.burstwise"
Wait = Callable[[Callable[[], bool]], None]
SUPPLIES = (16.0, 20.0, 24.0, 28.0, 32.0, 36.0)
FEW = SUPPLIES[1::2]
"""Supplies enough for a fit, at half the time."""


def build_of(design: Any) -> StageCircuit:
    """Build that differs from its design: closer coupling, more loss, a sharper top."""
    circuit = sound_stage(design)
    coil = circuit.coil
    changed = replace(
        coil,
        coupling=1.1 * coil.coupling,
        secondary_resistance=1.3 * coil.secondary_resistance,
        secondary_capacitance=0.985 * coil.secondary_capacitance,
        breakout_voltage=0.93 * coil.breakout_voltage,
    )
    return replace(circuit, coil=changed)


def fill(
    window: Any,
    wait: Wait,
    *,
    made: Callable[[Any], StageCircuit] = build_of,
    supplies: tuple[float, ...] = SUPPLIES,
) -> StageCircuit:
    """Put readings of the build that `made` gives into its table."""
    build = made(window.session.document.design)
    random = np.random.default_rng(8)
    rows = []
    for supply in supplies:
        run = carrier(build.with_supply(supply))
        shunt = 0.1 * (1 + 0.004 * random.standard_normal(3))
        rows.append(
            cells_of(
                Reading(
                    supply=supply,
                    shunt_rms=round(run.supply_current_rms * shunt[0], 4),
                    shunt_mean=round(run.supply_current_mean * shunt[1], 4),
                    drain_peak=round(run.drain_voltage_peak * shunt[2] / 0.1, 1),
                )
            )
        )
    window.session.document.edit("readings.rows", tuple(rows), text="Readings")
    wait(lambda: not window.session.worker.busy)
    return build


def capture_of(build: StageCircuit, folder: Path) -> Path:
    """CSV file of one burst at 24 V, as a wire near the coil shows it."""
    circuit = build.with_supply(24.0)
    period = 1.0 / circuit.coil.resonance
    timing = BurstTiming(20 * period, 150 * period, 200 * period, period / 40)
    taken = burst_capture(circuit, Signal.TOP, timing)
    wave = 1e-4 * taken.channels[0].values
    noise = 2e-3 * np.ptp(wave) * np.random.default_rng(1).standard_normal(len(wave))
    file = folder / "burst-24V.csv"
    table = np.column_stack([taken.time, wave + noise])
    np.savetxt(file, table, fmt="%.6e", delimiter=",", header="time [s],CH1 [V]", comments="")
    return file


def load_capture(build: StageCircuit, screen: Any, wait: Wait) -> None:
    """Open the capture of a build on the capture page."""
    screen.capture.supply.set_value(24.0)
    with tempfile.TemporaryDirectory() as folder:
        screen.capture.load(capture_of(build, Path(folder)))
        wait(lambda: screen.state.shown_capture is not None)


def prepare(window: Any, screen: Any, wait: Wait) -> None:
    """Mistype one cell and choose a row."""
    fill(window, wait)
    model = screen.readings.model
    model.change({(1, 2): "0.21 A"}, text="Reading")
    screen.readings.table.setCurrentIndex(model.index(3, 0))
    wait(lambda: not window.session.worker.busy)
