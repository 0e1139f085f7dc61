"""Map of two fields of the design, each point named by the rating that breaks first.

Supply, duty and interrupter frequency go through one carrier table in vectorised calls; fields of
the slow side (cooling, bulk capacitor) cost one call per line. A field that changes the stage
itself is computed at a few nodes with a table each, and margins are straight lines in between.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from burstwise.core.arrays import Array
from burstwise.core.design.document import Design, field_info, with_values
from burstwise.core.errors import InputError
from burstwise.core.evaluate.evaluation import HOTTEST, table_resistances
from burstwise.core.interrupter.resolve import value_in_use
from burstwise.core.limits.ratings import RATINGS
from burstwise.core.stopping import StoppedError
from burstwise.core.studies.field import field_of, in_rating_order
from burstwise.core.studies.stage_table import NEAR_LINES, StageTable, stage_table

Ask = Callable[[float], bool]

FAST: Final = ("supply.voltage", "interrupter.duty", "interrupter.frequency")
"""Fields that one carrier table serves in one call."""
SLOW_SIDE: Final = (
    "supply.source_resistance",
    "supply.current_limit",
    "supply.bulk_capacitance",
    "supply.bulk_esr",
    "supply.bulk_voltage_rating",
    "supply.bulk_ripple_rating",
    "cooling.interface_resistance",
    "cooling.case_heat_capacity",
    "cooling.sink_resistance",
    "cooling.sink_heat_capacity",
    "cooling.sink_limit",
)
"""Fields that the carrier does not know."""
ROUGH_LINES: Final = (0.1, 0.3, 0.5, 0.75, 1.0)
"""Supply voltages of the table for a first picture, over the upper end of the supply axis."""
NODES: Final = (3, 5, 9)
"""Values of a stage field that are computed in the passes."""
POINTS: Final = 100
STRIDES: Final = (4, 2, 1)
JUNCTION: Final = "junction_peak"
"""Rating whose margin tells the junction's temperature, over the rise given by these fields."""
SCALE_OF_JUNCTION: Final = ("cooling.ambient", "device.junction_limit", "device.kept_junction")
BLOCK: Final = 20
"""Rows between two looks at whether to stop."""


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis of a map: dotted path and rising values in the design's own unit."""

    path: str
    values: Array

    @property
    def title(self) -> str:
        """Name of the field in words."""
        return str(field_info(self.path)["title"])

    @property
    def unit(self) -> str:
        """Unit of the values, ``"%"`` for a ratio that is read in percent."""
        return str(field_info(self.path)["shown_unit"])

    def thinned(self, stride: int) -> Axis:
        """Every `stride`-th value, the last kept."""
        chosen = self.values[::stride]
        if chosen[-1] != self.values[-1]:
            chosen = np.append(chosen, self.values[-1])
        return Axis(self.path, chosen)


def axis_over(
    design: Design,
    path: str,
    *,
    low: float | None = None,
    high: float | None = None,
    points: int = POINTS,
) -> Axis:
    """Axis around a design's present value.

    From a tenth to three times the present value by default, within the field's limits; a duty from
    1 to 100 %. Logarithmic where the field's slider is.

    Raises
    ------
    InputError
        Not a quantity of the design, or of a part that is not fitted or not in use.
    """
    info = field_info(path)
    now = value_in_use(design, path)
    if "unit" not in info or now is None or _idle(design, path):
        raise InputError("map.axis", path, "a quantity of the design that is fitted")
    least, most = float(info.get("low", -np.inf)), float(info.get("high", np.inf))
    if path == "interrupter.duty":
        first, last = 0.01, 1.0
    elif now > 0:
        first, last = max(0.1 * now, least), min(3.0 * now, most)
    else:
        first, last = max(now - 50.0, least), min(now + 50.0, most)
    first = first if low is None else low
    last = last if high is None else high
    if not least <= first < last <= most:
        raise InputError("map.axis", (first, last), f"rising, between {least:g} and {most:g}")
    if info.get("log") and first > 0:
        return Axis(path, np.geomspace(first, last, points))
    return Axis(path, np.linspace(first, last, points))


def _idle(design: Design, path: str) -> bool:
    """Whether a field has no say in a design: of the other drive, the coil's geometry, the bulk."""
    other = "direct" if design.drive.kind == "gated" else "gated"
    measured, bare = design.coil.given_by == "measured", not design.supply.bulk_fitted
    return (
        path.startswith(f"drive.{other}.")
        or (measured and path.startswith("coil.geometry."))
        or (bare and path.startswith("supply.bulk_"))
    )


@dataclass(frozen=True, slots=True)
class LimitMap:
    """Margins over two fields.

    Attributes
    ----------
    x, y : Axis
        The fields.
    names : tuple of str
        Ratings in the map.
    margin : Array (ratings, y, x)
        Margins [1].
    share : float
        Part of the final resolution, 1 for the finished map.
    nodes : int
        Values of a stage field that were computed, 0 if the map has none.
    """

    x: Axis
    y: Axis
    names: tuple[str, ...]
    margin: Array
    share: float
    nodes: int = 0

    @property
    def first(self) -> NDArray[np.intp]:
        """Place in `names` of the smallest margin, (y, x)."""
        return np.asarray(np.argmin(self.margin, axis=0))

    @property
    def smallest(self) -> Array:
        """Smallest margin, (y, x) [1]; negative where a rating is exceeded."""
        return np.asarray(np.min(self.margin, axis=0))

    def at(self, x: float, y: float) -> tuple[int, int]:
        """Row and column nearest to a point."""
        return (
            int(np.argmin(np.abs(self.y.values - y))),
            int(np.argmin(np.abs(self.x.values - x))),
        )


def drawn_on_at(found: LimitMap, design: Design, row: int, column: int) -> bool:
    """Whether the junction at a point of a map is hotter than its tables' hottest line.

    Margins there go on in a straight line along the on-resistance.
    """
    if JUNCTION not in found.names:
        return False
    margin = float(found.margin[found.names.index(JUNCTION), row, column])
    along = ((found.x, found.x.values[column]), (found.y, found.y.values[row]))
    moved = {axis.path: float(value) for axis, value in along if axis.path in SCALE_OF_JUNCTION}
    design = with_values(design, moved)
    limit, ambient = design.device.highest_junction, design.cooling.ambient
    return limit - margin * (limit - ambient) > HOTTEST


def limit_maps(
    design: Design,
    x: Axis,
    y: Axis,
    *,
    ready: StageTable | None = None,
    ask: Ask | None = None,
) -> Iterator[LimitMap]:
    """Map in passes, from coarse to fine.

    Parameters
    ----------
    design : Design
        The design; an interrupter that is switched off is taken as fitted if an axis is its duty.
    x, y : Axis
        Two different fields.
    ready : StageTable, optional
        Table that serves the whole supply axis; made here if it does not.
    ask : callable
        Told the share done; answers whether to go on.

    Yields
    ------
    LimitMap

    Raises
    ------
    StoppedError
        `ask` answered no.
    """
    if x.path == y.path:
        raise InputError("map.axis", y.path, "another field than that of the other axis")
    if any(axis.path.startswith("interrupter.") for axis in (x, y)):
        design = with_values(design, {"interrupter.enabled": True})
    maker = _Maker(ask or _go_on)
    if x.path in FAST and y.path in FAST:
        yield from _fast_passes(maker, design, x, y, ready)
        return
    flipped = _cost(x) < _cost(y)
    outer, inner = (y, x) if flipped else (x, y)
    for part, nodes in _outer_passes(outer):
        along = inner.thinned(4) if part.share < 1 else inner
        lines = [
            maker.line(with_values(design, {outer.path: float(value)}), along, nodes, ready)
            for value in part.values
        ]
        grid = np.stack(lines, axis=-1)
        whole = outer.thinned(4) if part.share < 1 else outer
        grid = _between(part.values, grid, whole.values)
        if flipped:
            yield _map(along, whole, np.swapaxes(grid, 1, 2), part.share, nodes)
        else:
            yield _map(whole, along, grid, part.share, nodes)


def rough_map(design: Design, x: Axis, y: Axis, *, ask: Ask | None = None) -> LimitMap:
    """First picture of two fast fields from a table of a few lines, without a full table at hand.

    Margins may be off by some 10 %; the passes of `limit_maps` replace it.
    """
    fitted = with_values(design, {"interrupter.enabled": True})
    supply = next((axis for axis in (x, y) if axis.path == "supply.voltage"), None)
    top = fitted.supply.voltage if supply is None else float(supply.values[-1])
    ohms = table_resistances(fitted)
    few = [ohms[0], ohms[len(ohms) // 2], ohms[-1]]
    table = stage_table(fitted, top, lines=ROUGH_LINES, ohms=few, refine=0, progress=ask)
    across, up = x.thinned(STRIDES[0]), y.thinned(STRIDES[0])
    return _map(across, up, _Maker(ask or _go_on).block(fitted, table, across, up), 0.0, 0)


def _go_on(share: float) -> bool:
    del share
    return True


@dataclass(frozen=True, slots=True)
class _Part:
    values: Array
    share: float


def _outer_passes(axis: Axis) -> Iterator[tuple[_Part, int]]:
    """Values of the dearer axis in each pass, and how many nodes a stage field has."""
    if axis.path in SLOW_SIDE:
        yield _Part(axis.thinned(8).values, 0.25), 0
        yield _Part(axis.values, 1.0), 0
        return
    for count in NODES:
        place = np.unique(np.linspace(0, len(axis.values) - 1, count).round().astype(int))
        yield _Part(axis.values[place], count / NODES[-1]), count


def _cost(axis: Axis) -> int:
    return 0 if axis.path in FAST else 1 if axis.path in SLOW_SIDE else 2


class _Maker:
    """Makes lines and blocks of a map; asks in between whether to go on."""

    def __init__(self, ask: Ask) -> None:
        self._ask = ask
        self._done = 0.0

    def check(self, share: float) -> None:
        self._done = max(self._done, share)
        if not self._ask(self._done):
            raise StoppedError("the map was stopped")

    def block(self, design: Design, ready: StageTable, x: Axis, y: Axis) -> Array:
        """Margins (ratings, y, x) of two fast fields, in blocks of rows."""
        rows = []
        for start in range(0, len(y.values), BLOCK):
            self.check(self._done)
            given = {x.path: x.values[None, :], y.path: y.values[start : start + BLOCK, None]}
            found = field_of(design, ready, **_named(given))
            rows.append(in_rating_order(found.margins))
        return np.concatenate(rows, axis=1)

    def line(self, design: Design, axis: Axis, nodes: int, ready: StageTable | None) -> Array:
        """Margins (ratings, values) along one axis of a given design."""
        self.check(self._done)
        if axis.path in FAST:
            table = self.table(design, axis, ready)
            found = field_of(design, table, **_named({axis.path: axis.values}))
            return in_rating_order(found.margins)
        if axis.path in SLOW_SIDE:
            table = self.table(design, axis, ready)
            changed = (with_values(design, {axis.path: float(v)}) for v in axis.values)
            return np.concatenate([self.point(each, table) for each in changed], axis=-1)
        place = np.unique(np.linspace(0, len(axis.values) - 1, max(nodes, 3)).round().astype(int))
        chosen = axis.values[place]
        found_at = []
        for value in chosen:
            self.check(self._done)
            changed_design = with_values(design, {axis.path: float(value)})
            found_at.append(self.point(changed_design, self.table(changed_design, axis, None)))
        return _between(chosen, np.concatenate(found_at, axis=-1), axis.values)

    def point(self, design: Design, table: StageTable) -> Array:
        return in_rating_order(field_of(design, table).margins)

    def table(self, design: Design, axis: Axis, ready: StageTable | None) -> StageTable:
        """Table that serves a design along an axis."""
        top = float(axis.values[-1]) if axis.path == "supply.voltage" else design.supply.voltage
        if ready is not None and ready.serves(design, highest=top):
            return ready

        def go_on(share: float) -> bool:
            return self._ask(self._done)

        if axis.path == "supply.voltage":
            return stage_table(design, top, progress=go_on)
        return stage_table(design, top, lines=NEAR_LINES, refine=0, progress=go_on)


def _fast_passes(
    maker: _Maker, design: Design, x: Axis, y: Axis, ready: StageTable | None
) -> Iterator[LimitMap]:
    supply = x if x.path == "supply.voltage" else y
    if ready is None:
        yield rough_map(design, x, y)
    table = maker.table(design, supply, ready)
    for stride in STRIDES:
        maker.check(1.0 / stride**2)
        across, up = x.thinned(stride), y.thinned(stride)
        yield _map(across, up, maker.block(design, table, across, up), 1.0 / stride**2, 0)


def _map(x: Axis, y: Axis, margin: Array, share: float, nodes: int) -> LimitMap:
    used = np.asarray(~np.isposinf(margin).all(axis=(1, 2)))
    names = tuple(rating.name for rating, kept in zip(RATINGS, used.tolist(), strict=True) if kept)
    return LimitMap(x, y, names, margin[used], share, nodes)


def _between(at: Array, rows: Array, wanted: Array) -> Array:
    """Straight lines along the last axis, from values at `at` to values at `wanted`."""
    if len(at) == len(wanted):
        return rows
    place = np.clip(np.searchsorted(at, wanted, side="right") - 1, 0, len(at) - 2)
    share = (wanted - at[place]) / (at[place + 1] - at[place])
    low, high = rows[..., place], rows[..., place + 1]
    # A margin without bound at one end stays without bound in between.
    with np.errstate(invalid="ignore"):
        mixed = low + (high - low) * share
    return np.where(np.isfinite(low) & np.isfinite(high), mixed, np.where(share < 0.5, low, high))


def _named(given: dict[str, Array]) -> dict[str, Array]:
    words = {
        "supply.voltage": "voltage",
        "interrupter.duty": "duty",
        "interrupter.frequency": "frequency",
    }
    return {words[path]: values for path, values in given.items()}
