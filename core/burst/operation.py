"""Burst scale: from duty to average power, droop and junction temperature, all duties at once.

Three things hang together: the bus sags with the burst's current, the on-resistance follows the
junction, and the junction follows the power. The fixed point is found for all duties in one
vectorised pass; where no fixed point exists the device runs away.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from typing import Any, Generic, cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from burstwise.core.arrays import Array, OneOrMany
from burstwise.core.burst.droop import BusVoltage, bus_voltage
from burstwise.core.burst.foster import Foster, PulseRise, periodic_rise
from burstwise.core.burst.table import CarrierTable, Slice
from burstwise.core.design.device import Device
from burstwise.core.design.supply import Cooling, Supply
from burstwise.core.stage.build import on_resistance_at

ROUNDS = 8
"""Rounds of the bus voltage at most; the change in the last one is reported as `unsettled`."""
HOTTEST = 500.0
"""Junction temperature up to which a fixed point is looked for [C]; silicon is long dead."""
RUNGS = np.concatenate([[-80.0], np.linspace(-40.0, 200.0, 17), [250.0, 300.0, 400.0, HOTTEST]])
"""Junction temperatures at which the heat is taken to find the fixed point [C]."""
SETTLED = 1e-4
"""Change of the bus voltage, over the source's, at which the rounds stop."""


@dataclass(frozen=True, slots=True)
class ThermalPath(Generic[OneOrMany]):
    """From junction to air: the Foster network, what its parts belong to, and the ambient.

    Attributes
    ----------
    network : Foster
        Device elements first, then case to heat sink, then heat sink to air, on the last axis.
    ambient : float or Array
        [C].
    """

    network: Foster
    ambient: OneOrMany

    @property
    def to_case(self) -> OneOrMany:
        """Junction to case [K/W]."""
        return cast("OneOrMany", self.network.resistance[..., :-2].sum(axis=-1))

    @property
    def interface(self) -> OneOrMany:
        """Case to heat sink [K/W]."""
        return cast("OneOrMany", self.network.resistance[..., -2])

    @property
    def sink(self) -> OneOrMany:
        """Heat sink to air [K/W]."""
        return cast("OneOrMany", self.network.resistance[..., -1])


def thermal_path(device: Device, cooling: Cooling) -> ThermalPath[float]:
    """Thermal path of a design.

    The interface and the heat sink are appended to the datasheet's Foster network with the heat
    capacities of case and sink; good while they are much slower than the junction's own elements
    (common practice, no source).
    """
    inner = [(part.resistance, part.time_constant) for part in device.thermal_network]
    outer = [
        (cooling.interface_resistance, cooling.interface_resistance * cooling.case_heat_capacity),
        (cooling.sink_resistance, cooling.sink_resistance * cooling.sink_heat_capacity),
    ]
    resistance, constant = np.array(inner + outer).T
    return ThermalPath(Foster(resistance, constant), cooling.ambient)


@dataclass(frozen=True, slots=True)
class Operation(Generic[OneOrMany]):
    """Results at one duty, or over many (arrays of one shape); temperatures are inf on runaway.

    Attributes
    ----------
    duty, on_time : float or Array
        Duty cycle [1] and on-time [s] (inf when the drive is never off).
    average_power : float or Array
        Mean power from the main supply [W].
    device_power : float or Array
        Mean heat in the device [W].
    energy_per_burst : float or Array
        Energy from the main supply per burst [J]; inf when the drive is never off.
    bus : BusVoltage
        Bus voltage and source current.
    junction_mean, junction_peak, junction_valley, junction_on : float or Array
        Mean, peak, lowest and on-time mean of the junction [C].
    case, heat_sink : float or Array
        Means [C].
    on_resistance : float or Array
        On-resistance in the on-time [ohm].
    voltage : float or Array
        Bus voltage that the carrier figures belong to [V].
    warm_start : float or Array
        Part of the steady amplitude left over from the burst before [1].
    unsettled : float
        Relative change of the bus voltage in the last round.
    """

    duty: OneOrMany
    on_time: OneOrMany
    average_power: OneOrMany
    device_power: OneOrMany
    energy_per_burst: OneOrMany
    bus: BusVoltage[OneOrMany]
    junction_mean: OneOrMany
    junction_peak: OneOrMany
    junction_valley: OneOrMany
    junction_on: OneOrMany
    case: OneOrMany
    heat_sink: OneOrMany
    on_resistance: OneOrMany
    voltage: OneOrMany
    warm_start: OneOrMany
    unsettled: float

    @property
    def runaway(self) -> NDArray[np.bool_]:
        """Where there is no stable junction temperature below `HOTTEST`."""
        return np.isinf(self.junction_mean)

    def taken(self: Operation[Array], place: slice) -> Operation[Array]:
        """Some of the duties of a one-dimensional operation."""
        return cast("Operation[Array]", _picked(self, lambda values: values[place]))

    def at(self: Operation[Array], place: int) -> Operation[float]:
        """One of the duties of a one-dimensional operation."""
        return cast("Operation[float]", _picked(self, lambda values: float(values[place])))


def _picked(found: Any, pick: Callable[[Array], object]) -> object:
    def picked(value: object) -> object:
        if isinstance(value, BusVoltage):
            return _picked(value, pick)
        return pick(value) if isinstance(value, np.ndarray) else value

    return type(found)(*(picked(getattr(found, item.name)) for item in fields(found)))


@dataclass(frozen=True, slots=True)
class BurstEnergy:
    """Energies of one burst [J] and the part of the steady amplitude it starts from [1]."""

    supplied: Array
    device_heat: Array
    warm_start: Array


def burst_energy(part: Slice, on_time: Array, off_time: Array) -> BurstEnergy:
    """Energy per burst with ring-up and ring-down, starting from what the last burst left.

    A burst that starts from the amplitude part ``a`` begins that far along the ring-up; the
    ring-down's heat, and what it gives back to the supply, go with the energy stored at the end of
    the burst. Energies are net.

    Parameters
    ----------
    part : Slice
        Table at the bus voltages (...).
    on_time, off_time : array (...)
        [s].

    Returns
    -------
    BurstEnergy
        Arrays (..., resistances).
    """
    on, off = on_time[..., None], off_time[..., None]
    steady = np.maximum(part.rows("stored"), 1e-30)
    fall = np.exp(-off / np.maximum(part.rows("ring_down_time"), 1e-12))
    # An exponential approach reaches 90 % after ln(10) time constants.
    pace = part.rows("time_to_90_percent") / np.log(10.0)
    ahead = np.zeros_like(steady)
    for _ in range(2):
        end = part.energies(on + ahead)
        filled = np.clip(end[..., 2] / steady, 0.0, 1.0)
        left = np.sqrt(filled) * fall
        ahead = -np.log1p(-np.minimum(left, 0.95)) * pace
    spent = part.energies(on + ahead)[..., :2] - part.energies(ahead)[..., :2]
    rung_down = filled * (1.0 - fall**2)
    heat = spent[..., 1] + part.rows("ring_down_heat") * rung_down
    # What the ring-down gives back through the body diode is less than nothing supplied.
    supplied = spent[..., 0] + part.rows("ring_down_supplied") * rung_down
    return BurstEnergy(supplied, heat, left)


def operation(
    table: CarrierTable,
    device: Device,
    supply: Supply,
    path: ThermalPath[Any],
    *,
    duty: ArrayLike,
    frequency: ArrayLike,
    source_voltage: ArrayLike | None = None,
    sink_temperature: ArrayLike | None = None,
) -> Operation[Array]:
    """Periodic steady state at burst scale for arrays of duty, frequency and supply.

    Parameters
    ----------
    table : CarrierTable
        Carrier results.
    device, supply, path
        Device, supply section and thermal path.
    duty, frequency, source_voltage : array_like
        Broadcast together; a duty of 1 means no interruption. The supply's voltage by default.
    sink_temperature : array_like, optional
        Heat sink held at this temperature [C] instead of its own balance, for warm-up.
    """
    given = supply.voltage if source_voltage is None else source_voltage
    D, f, Vs = (
        np.array(x)
        for x in np.broadcast_arrays(
            *(np.asarray(x, dtype=np.float64) for x in (duty, frequency, given))
        )
    )
    steady = D >= 1.0
    period = 1.0 / f
    on = np.where(steady, 1.0, D * period)
    off = np.where(steady, 0.0, (1.0 - D) * period)
    network, ambient = _seen_from(path, sink_temperature)
    rise = periodic_rise(network, np.where(steady, period, on), period)
    voltage, moved = Vs.copy(), 0.0
    for _ in range(ROUNDS):
        power = _on_power(table.at(voltage), on, off, steady)
        resistance, runaway = _fixed_point(table, device, power, rise, ambient)
        drawn = table.along(power.supplied, resistance) / voltage
        bus = bus_voltage(
            Vs,
            drawn,
            on_time=on,
            off_time=off,
            source_resistance=supply.source_resistance,
            capacitance=supply.bus_capacitance,
            series_resistance=supply.bus_esr,
        )
        new = np.maximum(bus.mean, 0.05 * Vs)
        moved = float(np.max(np.abs(new - voltage) / Vs, initial=0.0))
        if moved < SETTLED:
            break
        voltage = new
    heat = table.along(power.device_heat, resistance)
    share = np.where(steady, 1.0, D)
    sink = _sink(path, heat * share, sink_temperature)
    case = sink + heat * share * path.interface

    def known(temperature: Array) -> Array:
        return np.where(runaway, np.inf, temperature)

    supplied = drawn * voltage
    return Operation(
        duty=D,
        on_time=np.where(steady, np.inf, on),
        average_power=supplied * share,
        device_power=heat * share,
        energy_per_burst=np.where(steady, np.inf, supplied * on),
        bus=bus,
        junction_mean=known(ambient + heat * rise.mean),
        junction_peak=known(ambient + heat * rise.peak),
        junction_valley=known(ambient + heat * rise.valley),
        junction_on=known(ambient + heat * rise.on_mean),
        case=known(case),
        heat_sink=known(sink),
        on_resistance=resistance,
        voltage=voltage,
        warm_start=table.along(power.warm_start, resistance),
        unsettled=moved,
    )


def on_resistances(device: Device, junction: Array) -> Array:
    """On-resistance at an array of junction temperatures [ohm]."""
    kelvin = np.asarray(junction) + 273.15
    cold = on_resistance_at(device, 25.0)
    exponent = np.log(on_resistance_at(device, 150.0) / cold) / np.log(423.15 / 298.15)
    return np.asarray(cold * (kelvin / 298.15) ** exponent)


def _seen_from(path: ThermalPath[Any], sink_temperature: ArrayLike | None) -> tuple[Foster, Array]:
    """Network and the fixed temperature behind it."""
    if sink_temperature is None:
        return path.network, np.asarray(path.ambient)
    inner = Foster(path.network.resistance[..., :-1], path.network.time_constant[..., :-1])
    return inner, np.asarray(sink_temperature, dtype=np.float64)


def _sink(path: ThermalPath[Any], mean_heat: Array, held: ArrayLike | None) -> Array:
    if held is None:
        return np.asarray(path.ambient + mean_heat * path.sink)
    return np.broadcast_to(np.asarray(held, dtype=np.float64), mean_heat.shape)


@dataclass(frozen=True, slots=True)
class OnPower:
    """Power while on [W] and warm start [1] at the table's resistances, (..., resistances)."""

    supplied: Array
    device_heat: Array
    warm_start: Array


def _on_power(part: Slice, on: Array, off: Array, steady: NDArray[np.bool_]) -> OnPower:
    energy = burst_energy(part, on, off)
    length = np.maximum(on, 1e-12)[..., None]
    endless = steady[..., None]
    return OnPower(
        np.where(endless, part.rows("input_power"), energy.supplied / length),
        np.where(endless, part.rows("device_power"), energy.device_heat / length),
        np.where(endless, 0.0, energy.warm_start),
    )


def _fixed_point(
    table: CarrierTable, device: Device, power: OnPower, rise: PulseRise, ambient: Array
) -> tuple[Array, NDArray[np.bool_]]:
    """On-resistance at the lowest junction temperature that its own power holds, and runaway.

    The first rung of a ladder of temperatures that is hotter than its own power would make it
    brackets the answer; a straight line between the two rungs gives it. The rungs' spacing is
    finer than what the straight lines between the table's resistances leave.
    """
    lead = power.device_heat.shape[:-1]
    ladder = np.broadcast_to(on_resistances(device, RUNGS), (*lead, len(RUNGS)))
    heat = table.along(power.device_heat, ladder)
    excess = np.broadcast_to(ambient, lead)[..., None] + rise.on_mean[..., None] * heat - RUNGS
    below = excess <= 0.0
    runaway = ~below.any(axis=-1)
    high = np.clip(np.argmax(below, axis=-1), 1, len(RUNGS) - 1)[..., None]
    one = np.take_along_axis(excess, high - 1, axis=-1)
    two = np.take_along_axis(excess, high, axis=-1)
    share = np.clip(one / np.where(one == two, 1.0, one - two), 0.0, 1.0)
    found = (RUNGS[high - 1] + share * (RUNGS[high] - RUNGS[high - 1]))[..., 0]
    return on_resistances(device, np.where(runaway, HOTTEST, found)), runaway
