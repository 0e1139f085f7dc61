"""Chance that each limit holds over random builds, and the inputs that decide it.

The carrier's response to the stage inputs comes from engine runs around the operating point
(`burstwise.core.studies.response`); droop, heat and ratings are then computed for every build in
one vectorised pass, with their full non-linearity.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.burst.foster import Foster
from burstwise.core.burst.operation import Operation, ThermalPath, operation, thermal_path
from burstwise.core.burst.table import ORDERS, CarrierTable
from burstwise.core.design.document import Design
from burstwise.core.evaluate.evaluation import effective_duty
from burstwise.core.evaluate.load import figures_between, load_from
from burstwise.core.evaluate.results import Results
from burstwise.core.interrupter.resolve import resolved_interrupter
from burstwise.core.limits.ratings import Margins, margins, title_of
from burstwise.core.stage.build import stage_circuit
from burstwise.core.studies.response import (
    CHANGES,
    BuildsTable,
    FewStartError,
    Response,
    builds_table,
    response,
)
from burstwise.core.studies.spread import SPREADS, Spread, draws, ratio
from burstwise.core.studies.stage_table import StageTable, stage_table

BUILDS: Final = 1000
LINES: Final = (0.5, 0.75, 0.9, 1.0)


@dataclass(frozen=True, slots=True)
class Holds:
    """Chance that one rating holds.

    Attributes
    ----------
    rating, title : str
        Stable name and words.
    chance : float
        Share of builds whose margin is not negative [1].
    low, middle, high : float
        5 %, 50 % and 95 % points of the margin [1].
    inputs : tuple of (str, float)
        Titles of the inputs that decide it with their shares of its scatter, largest first.
    """

    rating: str
    title: str
    chance: float
    low: float
    middle: float
    high: float
    inputs: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Chance:
    """Outcome of random builds.

    Attributes
    ----------
    builds : int
        Number of builds.
    all_hold : float
        Share in which every rating holds [1].
    standard_error : float
        Of that share, from the number of builds [1].
    ratings : tuple of Holds
        The smallest chance first.
    inputs : tuple of (str, float)
        Inputs that decide the smallest margin of all, with shares.
    response_error : float
        Departure of the response from engine runs left out of its fit, root mean square [1].
    starts : float
        Share of builds that oscillate, from the engine runs of the response; the other figures are
        for builds that do [1].
    spreads : tuple of Spread
        Scatter assumed.
    """

    builds: int
    all_hold: float
    standard_error: float
    ratings: tuple[Holds, ...]
    inputs: tuple[tuple[str, float], ...]
    response_error: float
    starts: float
    spreads: tuple[Spread, ...]


@dataclass(frozen=True, slots=True)
class Builds:
    """Random builds of a design.

    Attributes
    ----------
    numbers : mapping of str to Array (builds,)
        Standard normal numbers of the inputs.
    margins : Margins
        Of the stage as designed, for every build.
    response : Response
        Surface that the carrier's figures come from.
    """

    numbers: Mapping[str, Array]
    margins: Margins
    response: Response


def chance(
    results: Results,
    *,
    builds: int = BUILDS,
    seed: int = 1,
    spreads: tuple[Spread, ...] = SPREADS,
    ask: Callable[[float], bool] | None = None,
) -> Chance:
    """Chance that each rating holds.

    Parameters
    ----------
    results : Results
        The nominal design, evaluated.
    builds : int
        Random builds.
    seed : int
        Start of the random numbers.
    spreads : tuple of Spread
        Scatter of the inputs.
    ask : callable
        Told the share done; answers whether to go on.

    Raises
    ------
    FewStartError
        Too few builds oscillate to tell.
    StoppedError
        `ask` answered no.
    """
    made = random_builds(results, builds=builds, seed=seed, spreads=spreads, ask=ask)
    numbers, margin = made.numbers, made.margins
    by_rating = [_holds(name, margin.of(name), numbers, spreads) for name in margin.names]
    smallest = margin.smallest
    share = float(np.mean(smallest >= 0))
    return Chance(
        builds=builds,
        all_hold=share,
        standard_error=float(np.sqrt(max(share * (1 - share), 0.25 / builds) / builds)),
        ratings=tuple(sorted(by_rating, key=lambda item: (item.chance, item.low))),
        inputs=deciding(smallest, numbers, spreads),
        response_error=made.response.error,
        starts=made.response.starts,
        spreads=spreads,
    )


def random_builds(
    results: Results,
    *,
    builds: int = BUILDS,
    seed: int = 1,
    spreads: tuple[Spread, ...] = SPREADS,
    ask: Callable[[float], bool] | None = None,
) -> Builds:
    """Margins of random builds; parameters and errors as for `chance`."""
    design = results.design
    numbers = draws(builds, seed=seed, spreads=spreads)
    ready = stage_table(design, 1.1 * design.supply.voltage, lines=LINES, refine=0)
    found = stage_response(results, ready, spreads, ask)
    return Builds(numbers, build_margins(design, ready, found, numbers, spreads), found)


def stage_response(
    results: Results,
    ready: StageTable,
    spreads: tuple[Spread, ...],
    ask: Callable[[float], bool] | None = None,
) -> Response:
    """Response of the stage at the operating point of some results.

    Raises
    ------
    FewStartError
        The stage does not oscillate there, or too few builds do.
    StoppedError
        `ask` answered no.
    """
    if not results.carrier.oscillates:
        raise FewStartError("one that does not", "of a design that oscillates", 0.0)
    point = results.operation
    circuit = stage_circuit(
        results.design, ready.coil, supply_voltage=point.voltage
    ).with_on_resistance(point.on_resistance)
    inputs = tuple(item for item in spreads if item.name in CHANGES)
    return response(
        circuit,
        inputs,
        loss_names=ready.loss_names[:-1],
        hint=results.carrier.regions,
        ask=ask,
    )


def build_margins(
    design: Design,
    ready: StageTable,
    found: Response,
    numbers: Mapping[str, Array],
    spreads: tuple[Spread, ...],
) -> Margins:
    """Margins of all ratings for every build."""
    made = builds_point(design, ready.table, found, numbers, spreads, duty=effective_duty(design))
    extra = found.factors(numbers)[:, len(ORDERS) :]

    def losses(voltage: Any) -> Array:
        return np.asarray(ready.losses(voltage) * extra[:, None, :])

    many = replace(ready, table=made.table, losses=losses)
    point = made.point
    figures = figures_between(
        many, point.voltage, point.on_resistance, bursts=design.interrupter.enabled
    )
    load = load_from(design, ready.coil, figures, point, source_voltage=made.source_voltage)
    return margins(design, load)


@dataclass(frozen=True, slots=True)
class BuildsPoint:
    """One operating point of many builds.

    Attributes
    ----------
    design : Design
        As designed.
    table : BuildsTable
        Carrier figures of the builds.
    path : ThermalPath
        Junction to air.
    source_voltage : Array (builds,)
        Supply voltages [V].
    frequency : float
        Interrupter frequency [Hz].
    point : Operation
        Burst scale, an entry per build.
    """

    design: Design
    table: BuildsTable
    path: ThermalPath[Array]
    source_voltage: Array
    frequency: float
    point: Operation[Array]

    @property
    def duty(self) -> Array:
        """Duties [1]."""
        return self.point.duty


def builds_point(
    design: Design,
    table: CarrierTable,
    found: Response,
    numbers: Mapping[str, Array],
    spreads: tuple[Spread, ...],
    *,
    duty: float,
) -> BuildsPoint:
    """Operating point of every build where the interrupter is set to a duty [1]."""
    ratios = {item.name: ratio(item, numbers[item.name]) for item in spreads}
    count = len(numbers[spreads[0].name])
    ones = np.ones(count)
    many = replace(
        builds_table(table, found, numbers),
        resistance_factor=ratios.get("on_resistance", ones),
    )
    volts = design.supply.voltage * ratios.get("supply", ones)
    duties = np.full(count, duty)
    if duty < 1.0:
        duties = np.clip(duty * ratios.get("duty", ones), 0.0, 1.0)
    path = _paths(design, ratios, numbers, spreads, count)
    frequency = resolved_interrupter(design).frequency
    point = operation(
        many,
        design.device,
        design.supply,
        path,
        duty=duties,
        frequency=frequency,
        source_voltage=volts,
    )
    return BuildsPoint(design, many, path, volts, frequency, point)


def _paths(
    design: Design,
    ratios: Mapping[str, Array],
    numbers: Mapping[str, Array],
    spreads: tuple[Spread, ...],
    count: int,
) -> ThermalPath[Array]:
    path = thermal_path(design.device, design.cooling)
    ones = np.ones(count)
    scale = np.empty((count, len(path.network.resistance)))
    scale[:, :-2] = ratios.get("junction_resistance", ones)[:, None]
    scale[:, -2] = ratios.get("interface_resistance", ones)
    scale[:, -1] = ratios.get("sink_resistance", ones)
    kelvin = sum(item.deviation for item in spreads if item.name == "ambient")
    ambient = path.ambient + kelvin * numbers.get("ambient", 0.0 * ones)
    # A wider resistance at the same heat capacity is slower in proportion.
    network = Foster(path.network.resistance * scale, path.network.time_constant * scale)
    return ThermalPath(network, np.asarray(ambient))


def _holds(
    name: str, margin: Array, numbers: Mapping[str, Array], spreads: tuple[Spread, ...]
) -> Holds:
    low, middle, high = np.quantile(np.nan_to_num(margin, neginf=-1e3), (0.05, 0.5, 0.95))
    return Holds(
        name,
        title_of(name),
        float(np.mean(margin >= 0)),
        float(low),
        float(middle),
        float(high),
        deciding(margin, numbers, spreads),
    )


def deciding(
    margin: Array, numbers: Mapping[str, Array], spreads: tuple[Spread, ...]
) -> tuple[tuple[str, float], ...]:
    """Inputs by their share of the scatter: squared rank correlation, made to add up to 1."""
    ranks = np.argsort(np.argsort(margin)).astype(np.float64)
    finite = margin[np.isfinite(margin)]
    if not len(finite) or np.ptp(finite) < 1e-9:
        return ()
    shares = []
    for item in spreads:
        own = np.argsort(np.argsort(numbers[item.name])).astype(np.float64)
        shares.append((item.title, float(np.corrcoef(ranks, own)[0, 1] ** 2)))
    total = sum(share for _, share in shares) or 1.0
    ordered = sorted(((title, share / total) for title, share in shares), key=lambda s: -s[1])
    return tuple((title, share) for title, share in ordered if share >= 0.03)
