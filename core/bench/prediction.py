"""What instruments on the bench would show, from one engine run."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from burstwise.core.bench.readings import Reading
from burstwise.core.design.document import Design
from burstwise.core.stage.carrier import Carrier
from burstwise.core.stage.elements import Monitor


@dataclass(frozen=True, slots=True)
class PredictedReading:
    """Figures of one row of the table.

    Attributes
    ----------
    current_mean, current_rms : float
        Supply current over whole interrupter periods [A].
    current_peak : float
        Peak supply current within a carrier cycle [A].
    drain_peak : float
        Peak drain voltage [V].
    frequency : float
        Carrier frequency [Hz], 0 without oscillation.
    device_power : float
        Heat in the device, averaged over the interrupter's period [W].
    top_peak : float
        Peak top voltage [V].
    """

    current_mean: float
    current_rms: float
    current_peak: float
    drain_peak: float
    frequency: float
    device_power: float
    top_peak: float


def predicted_reading(run: Carrier, *, duty: float, frequency: float) -> PredictedReading:
    """Readings of a stage at a duty.

    The mean current of a burst is its charge, ring-up included, times the interrupter's
    frequency. The RMS current takes the same share of the steady one's square, which is exact for
    long bursts and good to some percent for short ones.

    Parameters
    ----------
    run : Carrier
        Engine run at the row's supply.
    duty : float
        Duty [-], 1 for continuous operation.
    frequency : float
        Interrupter frequency [Hz]; only used below a duty of 1.
    """
    share = 1.0
    if duty < 1.0:
        share = _burst_charge(run, duty / frequency) * frequency
        share /= max(run.supply_current_mean, 1e-12)
    return PredictedReading(
        current_mean=run.supply_current_mean * share,
        current_rms=run.supply_current_rms * float(np.sqrt(max(share, 0.0))),
        current_peak=float(run.peaks[Monitor.PRIMARY_CURRENT]),
        drain_peak=run.drain_voltage_peak,
        frequency=run.frequency if run.oscillates else 0.0,
        device_power=run.device_power * share,
        top_peak=run.top_voltage_peak,
    )


def _burst_charge(run: Carrier, on_time: float) -> float:
    """Charge drawn in one burst [C]."""
    marks = run.ring_up
    last = float(marks.time[-1])
    inside = float(np.interp(on_time, marks.time, marks.charge))
    return inside + run.supply_current_mean * max(on_time - last, 0.0)


def switching_loss(run: Carrier, *, supply: float, duty: float = 1.0) -> float | None:
    """Loss of the device beyond conduction, from an engine run [W]; None without oscillation.

    Device heat less I_rms^2 R_on, scaled with the square of the supply and with the duty: good
    while the waveforms keep their shape.

    Parameters
    ----------
    run : Carrier
        Engine run at some supply.
    supply : float
        Supply for which the loss is wanted [V].
    duty : float
        Duty [-].
    """
    if not run.oscillates:
        return None
    circuit = run.circuit
    conduction = run.drain_current_rms**2 * circuit.switch.on_resistance
    scale = duty * (supply / circuit.supply_voltage) ** 2
    return float(max(run.device_power - conduction, 0.0) * scale)


def junction_estimate(design: Design, row: Reading, device_power: float) -> float:
    """Junction temperature behind a row [°C].

    Above the heat sink's measured temperature where there is one, else above ambient, at the
    power given; at most 30 K below the device's limit above which nobody measures for long.

    Parameters
    ----------
    design : Design
        Thermal resistances.
    row : Reading
        Its heat-sink temperature, if measured.
    device_power : float
        Mean heat in the device [W].
    """
    inner = design.device.junction_to_case + design.cooling.interface_resistance
    base = row.heat_sink_temperature
    if base is None:
        base = design.cooling.ambient + design.cooling.sink_resistance * device_power
    highest = design.device.highest_junction - 30.0
    return float(min(base + inner * device_power, max(highest, base)))
