"""Power of a stage from a few bench readings: the simple series picture and the honest split.

The simple picture puts three resistances in series across the supply: the coil's effective
resistance (winding, radiation, discharge), the shunt and the device's on-resistance. With one
current through all of them everything follows from Ohm's law. The honest version keeps mean and
RMS current apart and adds the loss of switching, which no resistance in series can show.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from burstwise.core.errors import InputError


def shunt_current(voltage: float, resistance: float) -> float:
    """Current through a shunt [A]: I = V/R.

    Examples
    --------
    >>> shunt_current(0.5, 0.25)
    2.0
    """
    if resistance <= 0.0:
        raise InputError("shunt", resistance, "a resistance above 0 Ω")
    return voltage / resistance


def input_power(supply: float, mean_current: float) -> float:
    """Power drawn from a steady supply [W]: P = V I_mean.

    Only the mean current counts, as the mean of V i(t) is V times the mean of i(t) while V is
    steady. With the RMS current instead, the power comes out high by the `form_factor`.

    Examples
    --------
    >>> round(input_power(72.0, 3.45), 1)
    248.4
    """
    return supply * mean_current


def form_factor(rms: float, mean: float) -> float:
    """Form factor of a current [-]: RMS over mean, at least 1.

    Examples
    --------
    Half-sine pulses that fill half of the period, peak 1 A:

    >>> import math
    >>> round(form_factor(0.5, 1 / math.pi), 4)
    1.5708
    """
    if mean <= 0.0:
        raise InputError("mean current", mean, "above 0 A")
    return rms / mean


def conduction_loss(rms_current: float, resistance: float) -> float:
    """Loss in a resistance [W]: P = I_rms^2 R.

    Examples
    --------
    >>> conduction_loss(3.0, 2.0)
    18.0
    """
    return rms_current**2 * resistance


def effective_coil_resistance(
    power: float, rms_current: float, *, shunt: float, on_resistance: float
) -> float:
    """Resistance [ohm] that stands for everything the coil takes.

    R_coil = P_in / I_rms^2 - R_shunt - R_on, which is V/I - R_shunt - R_on where one steady
    current is assumed. It holds winding loss, discharge, radiation and, where switching loss is
    not taken off `power` before, that too.

    Examples
    --------
    >>> round(effective_coil_resistance(248.4, 3.45, shunt=0.1, on_resistance=1.8), 2)
    18.97
    """
    if rms_current <= 0.0:
        raise InputError("RMS current", rms_current, "above 0 A")
    return power / rms_current**2 - shunt - on_resistance


def output_capacitance_loss(capacitance: float, voltage: float, frequency: float) -> float:
    """Loss of discharging the output capacitance at each turn-on [W]: P = C V^2 f / 2.

    Parameters
    ----------
    capacitance : float
        Energy-related output capacitance at `voltage` [F]; the time-related one is higher and
        overstates the loss.
    voltage : float
        Drain voltage just before turn-on [V]; 0 for a stage that turns on at zero voltage.
    frequency : float
        Carrier frequency [Hz].

    Examples
    --------
    >>> round(output_capacitance_loss(2e-10, 100.0, 200e3), 6)
    0.2
    """
    return 0.5 * capacitance * voltage**2 * frequency


class Load(StrEnum):
    """What the device switches, which sets how voltage and current overlap."""

    RESISTIVE = "resistive"
    INDUCTIVE = "inductive"


def overlap_loss(
    voltage: float, current: float, *, transition_time: float, frequency: float, load: Load
) -> float:
    """Loss while voltage and current overlap in the device [W].

    Both ramp together for a resistive load, which gives V I t f / 6; with an inductive load the
    current holds while the voltage rises and the reverse, which gives V I t f / 2.

    Parameters
    ----------
    voltage, current : float
        Drain voltage and current switched [V], [A].
    transition_time : float
        Sum of the rise and the fall time [s].
    frequency : float
        Carrier frequency [Hz].
    load : Load
        Resistive or inductive.

    Examples
    --------
    >>> round(overlap_loss(60.0, 3.0, transition_time=1e-7, frequency=3e5, load=Load.INDUCTIVE), 3)
    2.7
    """
    return voltage * current * transition_time * frequency / (6 if load is Load.RESISTIVE else 2)


@dataclass(frozen=True, slots=True)
class Switching:
    """What the honest split needs to know of the switching edges, all in SI units.

    Parameters
    ----------
    frequency : float
        Carrier frequency [Hz].
    output_capacitance : float
        Energy-related output capacitance [F].
    turn_on_voltage : float
        Drain voltage just before turn-on [V].
    edge_voltage, edge_current : float
        Drain voltage and current during the edges [V], [A].
    edge_time : float
        Sum of the rise and the fall time [s].
    load : Load
        Resistive or inductive.
    """

    frequency: float
    output_capacitance: float = 0.0
    turn_on_voltage: float = 0.0
    edge_voltage: float = 0.0
    edge_current: float = 0.0
    edge_time: float = 0.0
    load: Load = Load.INDUCTIVE

    @property
    def loss(self) -> float:
        """Loss of the edges and of the output capacitance together [W]."""
        return output_capacitance_loss(
            self.output_capacitance, self.turn_on_voltage, self.frequency
        ) + overlap_loss(
            self.edge_voltage,
            self.edge_current,
            transition_time=self.edge_time,
            frequency=self.frequency,
            load=self.load,
        )


@dataclass(frozen=True, slots=True)
class PowerSplit:
    """Where the input power goes, all in watts, and what the coil looks like."""

    input_power: float
    shunt_loss: float
    conduction_loss: float
    switching_loss: float
    coil_power: float
    coil_resistance: float
    efficiency: float

    @property
    def device_power(self) -> float:
        """Dissipation in the device: conduction and switching [W]."""
        return self.conduction_loss + self.switching_loss


def power_split(
    supply: float,
    *,
    mean_current: float,
    rms_current: float,
    shunt: float,
    on_resistance: float,
    switching_loss: float = 0.0,
) -> PowerSplit:
    """Split of the input power into shunt, device and coil.

    Parameters
    ----------
    supply : float
        Supply voltage [V].
    mean_current, rms_current : float
        Supply current [A]; give the RMS value for both to get the simple series picture.
    shunt, on_resistance : float
        Resistances [ohm]; the on-resistance at the working junction temperature.
    switching_loss : float
        Loss that is not conduction [W].

    Examples
    --------
    >>> split = power_split(60.0, mean_current=2.0, rms_current=3.0, shunt=0.1, on_resistance=1.5)
    >>> split.input_power, split.conduction_loss, round(split.coil_power, 2)
    (120.0, 13.5, 105.6)
    """
    if supply <= 0.0:
        raise InputError("supply", supply, "above 0 V")
    drawn = input_power(supply, mean_current)
    in_shunt = conduction_loss(rms_current, shunt)
    in_channel = conduction_loss(rms_current, on_resistance)
    to_coil = drawn - in_shunt - in_channel - switching_loss
    return PowerSplit(
        input_power=drawn,
        shunt_loss=in_shunt,
        conduction_loss=in_channel,
        switching_loss=switching_loss,
        coil_power=to_coil,
        coil_resistance=effective_coil_resistance(
            drawn - switching_loss, rms_current, shunt=shunt, on_resistance=on_resistance
        ),
        efficiency=to_coil / drawn,
    )
