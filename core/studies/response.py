"""Response of the carrier figures to small changes of the stage, from engine runs around it.

Each figure's logarithm is a second-order surface over the inputs, fitted to engine runs of evenly
scattered builds. The error reported is that of runs left out of the fit.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.special import ndtri

from burstwise.core.arrays import Array
from burstwise.core.burst.table import CURVES, ORDERS, CarrierTable, Slice, table_of
from burstwise.core.errors import InputError
from burstwise.core.evaluate.load import SLOPE, diode_slope
from burstwise.core.stage.carrier import Carrier, carrier
from burstwise.core.stage.circuit import DirectFeed, StageCircuit
from burstwise.core.stage.engine import NOTHING_VISITED
from burstwise.core.stage.network import Visited
from burstwise.core.stopping import StoppedError, carried
from burstwise.core.studies.spread import FURTHEST, Spread, ratio

Change = Callable[[StageCircuit, float], StageCircuit]

RUNS: Final = 64
"""Engine runs that the surface is fitted to; a power of two keeps them evenly scattered."""
_MIDDLE_WEIGHT: Final = 4.0
CHECKED: Final = ("drain_voltage_peak", "drain_current_peak", "device_power", "input_power")
"""Figures whose departure is reported as the response's error."""
_TINY: Final = 1e-12


def _coil(circuit: StageCircuit, **values: float) -> StageCircuit:
    return replace(circuit, coil=replace(circuit.coil, **values))


def _threshold(circuit: StageCircuit, ratio: float) -> StageCircuit:
    """Other threshold; the bias of a direct stage is set for the part at hand."""
    threshold = circuit.switch.threshold * ratio
    moved = replace(circuit, switch=replace(circuit.switch, threshold=threshold))
    if not isinstance(circuit.feed, DirectFeed):
        return moved
    bias = circuit.feed.bias_voltage + threshold - circuit.switch.threshold
    return replace(moved, feed=replace(circuit.feed, bias_voltage=bias))


CHANGES: Final[Mapping[str, Change]] = {
    "coupling": lambda c, r: _coil(c, coupling=min(c.coil.coupling * r, 0.95)),
    "quality": lambda c, r: _coil(c, secondary_resistance=c.coil.secondary_resistance / r),
    "breakout": lambda c, r: _coil(c, breakout_voltage=c.coil.breakout_voltage * r),
    "capacitance": lambda c, r: _coil(c, secondary_capacitance=c.coil.secondary_capacitance * r),
    "output_capacitance": lambda c, r: c.with_drain_source(
        c.switch.drain_source_capacitance.scaled(r)
    ),
    "threshold": _threshold,
}
"""How each stage input changes the circuit, by a ratio to its nominal value."""


class FewStartError(InputError):
    """Too few scattered builds oscillate for a surface through them.

    Parameters
    ----------
    found : object
        What there is.
    limit : str
        What it takes.
    starts : float
        Share that oscillates [1].
    """

    def __init__(self, found: object, limit: str, starts: float) -> None:
        super().__init__("random builds", found, limit)
        self.starts = starts


@dataclass(frozen=True, slots=True)
class Response:
    """Second-order surface of the logarithm of each figure, and how good it is.

    Attributes
    ----------
    names : tuple of str
        Figures: those of the carrier table, then losses, then the diode slope.
    coefficients : Array (terms, figures)
        Of the terms of `_terms`.
    low, high : Array (figures,)
        Range of the logarithms over the runs; the surface is not followed beyond it.
    inputs : tuple of Spread
        Stage inputs in order.
    error : float
        Departure from an engine run that was left out of the fit, root mean square of the worst of
        the `CHECKED` figures [1].
    starts : float
        Share of the runs that oscillate; the surface is that of those alone [1].
    runs : tuple of Carrier
        The runs of scattered builds that oscillate.
    """

    names: tuple[str, ...]
    coefficients: Array
    low: Array
    high: Array
    inputs: tuple[Spread, ...]
    error: float
    starts: float
    runs: tuple[Carrier, ...]

    def factors(self, numbers: Mapping[str, Array]) -> Array:
        """Figures over their nominal values, (builds, figures)."""
        x = np.stack([numbers[item.name] for item in self.inputs], axis=-1)
        return np.asarray(np.exp(np.clip(_terms(x) @ self.coefficients, self.low, self.high)))


def response(
    circuit: StageCircuit,
    inputs: Sequence[Spread],
    *,
    loss_names: Sequence[str],
    runs: int = RUNS,
    hint: Visited = NOTHING_VISITED,
    ask: Callable[[float], bool] | None = None,
) -> Response:
    """Response of a stage to its inputs, fitted to engine runs of evenly scattered builds.

    Parameters
    ----------
    circuit : StageCircuit
        Stage at its operating point.
    inputs : sequence of Spread
        Stage inputs.
    loss_names : sequence of str
        Losses of interest.
    runs : int
        Engine runs, more than the parabola has coefficients.
    hint : Visited
        Regions of a neighbouring run.
    ask : callable
        Told the share done; answers whether to go on.

    Raises
    ------
    FewStartError
        Of the runs too few oscillate for a surface through them.
    StoppedError
        `ask` answered no.
    """
    names = (*ORDERS, *loss_names, SLOPE)
    x = _scattered(runs, len(inputs))
    jobs = [circuit, *(_built(circuit, inputs, row) for row in x)]
    rows: list[Array] = []
    kept: list[Carrier] = []
    with ThreadPoolExecutor(max_workers=2) as pool:
        found = pool.map(carried(lambda job: carrier(job, hint=hint, trace=True)), jobs)
        for done, run in enumerate(found, start=1):
            rows.append(_figures(run, loss_names))
            kept.append(run)
            if ask is not None and not ask(done / len(jobs)):
                pool.shutdown(cancel_futures=True)
                raise StoppedError("the response was stopped")
    alive = np.array([run.oscillates for run in kept])
    count = int(alive[1:].sum())
    terms = _terms(np.vstack([np.zeros(len(inputs)), x]))
    if count <= terms.shape[1]:
        least = f"at least {terms.shape[1] + 1} of {runs} that start"
        raise FewStartError(count, least, count / runs)
    alive[0] = True
    logs = np.log(np.maximum(np.array(rows), _TINY))[alive]
    terms = terms[alive]
    # The middle weighs heavily: factors are over its figures.
    weight = np.ones(len(terms))
    weight[0] = _MIDDLE_WEIGHT
    weighted = terms * weight[:, None]
    fitted, *_ = np.linalg.lstsq(weighted, logs * weight[:, None])
    hat = np.einsum("ij,ji->i", weighted, np.linalg.pinv(weighted))
    left = (logs - terms @ fitted) / np.maximum(1.0 - hat, 0.05)[:, None]
    fitted[0] = 0.0
    # What is zero in the middle (a clamp that is not reached) has no ratio to it.
    fitted[:, logs[0] <= np.log(10 * _TINY)] = 0.0
    over_middle = logs - logs[0]
    places = [names.index(name) for name in CHECKED]
    error = np.sqrt(np.mean(left[1:][:, places] ** 2, axis=0)).max()
    return Response(
        names,
        fitted,
        over_middle.min(axis=0),
        over_middle.max(axis=0),
        tuple(inputs),
        float(error),
        count / runs,
        tuple(run for run in kept[1:] if run.oscillates),
    )


def _scattered(count: int, inputs: int) -> Array:
    """Evenly scattered standard normal numbers, (count, inputs)."""
    from scipy.stats import qmc  # half a second to load, which the processes of a search save

    uniform = qmc.Sobol(inputs, seed=7).random(count)
    numbers = np.asarray(ndtri(0.01 + 0.98 * uniform), dtype=np.float64)
    return np.clip(numbers, -FURTHEST, FURTHEST)


def _built(circuit: StageCircuit, inputs: Sequence[Spread], numbers: Array) -> StageCircuit:
    for item, number in zip(inputs, numbers, strict=True):
        circuit = CHANGES[item.name](circuit, float(ratio(item, np.asarray(number))))
    return circuit


def _terms(x: Array) -> Array:
    """Constant, linear, square and product terms, (builds, terms)."""
    first, second = np.triu_indices(x.shape[1])
    return np.hstack([np.ones((len(x), 1)), x, x[:, first] * x[:, second]])


def _figures(run: Carrier, loss_names: Sequence[str]) -> Array:
    """Figures of a run as a table of one point holds them; a voltage below zero loses its sign."""
    table = table_of(
        np.array([0.9, 1.0]) * run.circuit.supply_voltage,
        np.array([0.9, 1.0]) * run.circuit.switch.on_resistance,
        ((run, run), (run, run)),
    )
    volts = np.array([run.circuit.supply_voltage])
    scalars = table.at(volts).scalars[0, -1]
    slope = diode_slope(
        run.trace, frequency=run.frequency, diode_voltage=run.circuit.switch.diode_voltage
    )
    figures = np.concatenate([scalars, [run.losses.get(n, 0.0) for n in loss_names], [slope]])
    return np.asarray(np.abs(figures), dtype=np.float64)


@dataclass(frozen=True)
class BuildsTable(CarrierTable):
    """Carrier table that answers for many builds at once, one per entry of the voltage.

    Attributes
    ----------
    factors : Array (builds, quantities)
        Figures of each build over the nominal ones.
    curve_factors : Array (builds, curves)
        The same for the energies along the ring-up.
    resistance_factor : Array (builds,)
        On-resistance of each build over the nominal one.
    """

    factors: Array
    curve_factors: Array
    resistance_factor: Array

    def at(self, voltage: object) -> Slice:
        """Table at one supply voltage per build, the last axis."""
        base = CarrierTable.at(self, np.asarray(voltage, dtype=np.float64))
        return Slice(
            self,
            base.voltage,
            base.scalars * self.factors[:, None, :],
            base.curve_gain * self.curve_factors,
        )

    def value(self, name: str, voltage: object, resistance: object) -> Array:
        """Quantity `name`, each build at its own supply voltage and on-resistance."""
        return self.along(self.at(voltage).rows(name), resistance)

    def along(self, rows: Array, resistance: object) -> Array:
        """Straight lines between the resistances, each build at its own on-resistance."""
        R = np.asarray(resistance, dtype=np.float64)
        own = self.resistance_factor.reshape(-1, *(1,) * (R.ndim - rows.ndim + 1))
        return CarrierTable.along(self, rows, R * own)


def builds_table(table: CarrierTable, found: Response, numbers: Mapping[str, Array]) -> BuildsTable:
    """Table of random builds from a nominal one and the response of its stage."""
    factors = found.factors(numbers)
    place = {name: column for column, name in enumerate(found.names)}
    of_curve = {"supplied": "input_power", "device_heat": "device_power", "stored": "stored"}
    curves = np.stack([factors[:, place[of_curve[name]]] for name in CURVES], axis=-1)
    on_resistance = np.ones(len(factors))
    return BuildsTable(
        table.voltages,
        table.resistances,
        table.scalars,
        table.curves,
        table.results,
        factors[:, : len(ORDERS)],
        curves,
        on_resistance,
    )
