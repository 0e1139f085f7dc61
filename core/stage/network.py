"""The stage as a piecewise-linear network: every region is one affine system.

Nodal analysis with inductor currents gives ``E x' = A x + b`` with E symmetric and constant within
a region. Node voltages that no capacitance fixes (a common shift of drain, gate and source above a
shunt) are algebraic and eliminated in each region. The remaining coordinates ``x = B y`` are scaled
so that the energy stored with the smallest capacitances is ``|y|^2 / 2``; with a region's own it is
``y^T G y / 2`` and a constant, G = B^T E B. Coordinates are voltages and currents, so they go on
unchanged over a border. A lossless network has a nearly skew-symmetric matrix, which keeps matrix
exponentials well conditioned although the network spans picofarads to henries.

A region is a combination of segments: four of the channel (off, ohmic, saturated, saturated in
reverse) times three of each two-terminal element (below, between, above its break voltages) times
those of each capacitance that falls with voltage times two of the drive level. See
docs/theory_stage.md.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from burstwise.core.arrays import Array
from burstwise.core.stage import kernel
from burstwise.core.stage.circuit import GatedFeed, StageCircuit
from burstwise.core.stage.elements import (
    GROUND,
    Charge,
    Monitor,
    capacitors_of,
    charges_of,
    elements_of,
)
from burstwise.core.stage.region_systems import region_systems
from burstwise.core.stage.stamps import (
    CHANNEL_SEGMENTS,
    FIRST_LOSS,
    FIRST_MONITOR,
    LEVELS,
    OFF,
    OHMIC,
    SATURATED,
    inductor_names,
    node_names,
    stamps_of,
)


@dataclass(frozen=True, slots=True)
class Region:
    """One affine system ``y' = A y + b`` with the rows that read from (y, 1).

    Attributes
    ----------
    matrix : array (n+1, n+1)
        Augmented system of (y, 1).
    rows : array (signals, n+1)
        All node voltages, then inductor currents.
    read_outs : array (read-outs, n+1)
        Read-outs in the order of `burstwise.core.stage.stamps.Stamps`.
    bounds : array (2, monitors)
        Lowest and highest value of every monitor inside.
    lossy : array (losses,)
        Which losses there are.
    """

    code: int
    matrix: Array
    rows: Array
    read_outs: Array
    bounds: Array
    lossy: NDArray[np.bool_]

    @property
    def monitors(self) -> Array:
        """Rows of all monitors, shape (len(Monitor), n+1)."""
        rows: Array = self.read_outs[FIRST_MONITOR:FIRST_LOSS]
        return rows


class Visited(NamedTuple):
    """Regions that a run has entered, with the layout of the codes that they belong to.

    A run of another network takes no hint from them, since its codes mean something else.
    """

    layout: tuple[tuple[str, int], ...] = ()
    codes: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Regions:
    """Some regions side by side: the arrays of `Region` with one more axis in front."""

    systems: Array
    signals: Array
    read_outs: Array
    bounds: Array
    lossy: NDArray[np.bool_]


class Network:
    """Piecewise-linear network of a stage circuit.

    Parameters
    ----------
    circuit : StageCircuit
        Numbers of the stage.

    Attributes
    ----------
    order : int
        Number n of coordinates.
    elements : tuple of Element
        Two-terminal elements in the order of the region code.
    charges : tuple of Charge
        Capacitances that fall with voltage, behind the elements in the region code.
    borders : tuple of tuple of float
        Voltages at which each digit of the code behind the channel's changes: those of the
        elements, then those of the charges.
    columns : tuple of Monitor
        Monitor that each of them looks at.
    flat_borders, first : array
        All borders, one digit behind the other, and where each digit's begin.
    across : array (charges, n)
        What reads the voltage of each charge from the coordinates.
    region_count : int
        Number of codes.
    """

    def __init__(self, circuit: StageCircuit) -> None:
        self.circuit = circuit
        self.nodes = node_names(circuit)
        self._signal_count = len(self.nodes) + len(inductor_names(circuit))
        self.elements = elements_of(circuit)
        self.charges = charges_of(circuit)
        self.stamps = stamps_of(circuit)
        self.borders = (
            *((element.low, element.high) for element in self.elements),
            *(charge.law.knots for charge in self.charges),
        )
        self.columns = (
            *(element.monitor for element in self.elements),
            *(charge.monitor for charge in self.charges),
        )
        self._counts = [len(borders) + 1 for borders in self.borders]
        self.flat_borders = np.array(list(itertools.chain(*self.borders)))
        self.first = np.cumsum([0, *(len(borders) for borders in self.borders)])
        self._column = np.array(self.columns, dtype=np.int64)
        self._below_charges = CHANNEL_SEGMENTS * math.prod(self._counts[: len(self.elements)])
        self.region_count = CHANNEL_SEGMENTS * math.prod(self._counts) * LEVELS
        self._basis, self._null = self._coordinates()
        self.order: int = self._basis.shape[1]
        if self.order > kernel.INNER:
            raise ValueError(f"at most {kernel.INNER} coordinates; this network has {self.order}")
        self._signals = np.zeros((len(self._basis) + 1, self.order + 1))
        self._signals[:-1, :-1] = self._basis
        self._signals[-1, -1] = 1.0
        self.across = np.array([self._voltage_row(charge) for charge in self.charges])
        # The first charge's segment counts fastest, as in the codes.
        counts = [range(len(charge.law.farads)) for charge in self.charges]
        self._combinations = [found[::-1] for found in itertools.product(*counts[::-1])]
        self._metrics = self._metrics_of_combinations()
        self._inners = np.linalg.solve(self._metrics, self._basis.T[None])
        self._surpluses = self._surpluses_of_combinations()

    # Region codes

    @property
    def layout(self) -> tuple[tuple[str, int], ...]:
        """What the digits of a code stand for: names of the parts and their segments."""
        names = [
            *(element.name for element in self.elements),
            *(f"{charge.start} {charge.end}" for charge in self.charges),
        ]
        return tuple(zip(names, self._counts, strict=True))

    def code(self, channel: int, segments: tuple[int, ...], level: int) -> int:
        """Region code of channel segment, segments of elements and charges, and drive level."""
        number, weight = channel, CHANNEL_SEGMENTS
        for segment, count in zip(segments, self._counts, strict=True):
            number += weight * segment
            weight *= count
        return number + weight * level

    def decode(self, code: int) -> tuple[int, tuple[int, ...], int]:
        """Channel segment, segments of elements and charges, and drive level of a region code."""
        rest, channel = divmod(code, CHANNEL_SEGMENTS)
        segments = []
        for count in self._counts:
            rest, segment = divmod(rest, count)
            segments.append(segment)
        return channel, tuple(segments), rest

    def segments_at(self, levels: Array) -> tuple[int, ...]:
        """Segments of elements and charges at given monitors."""
        return tuple(
            sum(bool(levels[monitor] > border) for border in borders)
            for monitor, borders in zip(self.columns, self.borders, strict=True)
        )

    def along_drain(self, code: int, levels: Array, *, rising: bool, count: int) -> list[int]:
        """Regions that the drain enters next, with the channel as it is.

        The capacitances' segments as the drain goes up, or down, while the gate stays at its
        present voltage; all else as in `code`.

        Parameters
        ----------
        code : int
            Region to begin in.
        levels : array (monitors,)
            Monitors there.
        rising : bool
            Whether the drain goes up.
        count : int
            Regions at most.
        """
        raised = {Monitor.DRAIN: 0.0, Monitor.DRAIN_GATE: float(levels[Monitor.GATE])}
        sign, weight, passed = (1 if rising else -1), self._below_charges, []
        segments = self.decode(code)[1][len(self.elements) :]
        for charge, segment in zip(self.charges, segments, strict=True):
            knots = charge.law.knots[segment:] if rising else charge.law.knots[:segment]
            passed += [(sign * (knot + raised[charge.monitor]), sign * weight) for knot in knots]
            weight *= len(charge.law.farads)
        steps = [step for _, step in sorted(passed)[:count]]
        return list(itertools.accumulate(steps, initial=code))[1:]

    # Regions

    def regions(self, codes: Sequence[int]) -> Regions:
        """Affine systems of some regions."""
        stamps, count = self.stamps, len(codes)
        places = np.empty((count, 3 + len(self.elements)), dtype=np.int64)
        combinations = np.empty(count, dtype=np.int64)
        bounds = np.empty((count, 2, kernel.MONITORS))
        kernel.decode(
            np.asarray(codes, dtype=np.int64),
            len(self.elements),
            self.flat_borders,
            self.first,
            self._column,
            stamps.lowest,
            stamps.highest,
            places,
            combinations,
            bounds,
        )
        systems, signals, rows = region_systems(
            places,
            self._inners[combinations],
            stamps.equations,
            stamps.read_outs,
            self._signals,
            self._null,
        )
        lossy = np.asarray(stamps.lossy[places].any(axis=1))
        return Regions(systems, signals[:, :-1], rows, bounds, lossy)

    def region(self, code: int) -> Region:
        """Affine system of one region."""
        one = self.regions([code])
        return Region(
            code, one.systems[0], one.signals[0], one.read_outs[0], one.bounds[0], one.lossy[0]
        )

    def stored(self, state: Array, code: int) -> float:
        """Energy stored at a state (n coordinates and a 1) in a region [J]."""
        place = code // self._below_charges % len(self._combinations)
        inner = state[:-1]
        return float(0.5 * inner @ self._metrics[place] @ inner) + self._surpluses[place]

    def rest_state(self, level: int) -> tuple[Array, int]:
        """Coordinates at rest with the drive at `level`, and the region.

        The channel is off unless the bias alone turns it on; `holds_off` tells which.

        Raises
        ------
        ArithmeticError
            The network has no rest point at all.
        """
        for channel in (OFF, OHMIC, SATURATED):
            found = self._rest_with(channel, level)
            if found is not None:
                return found
        raise ArithmeticError("no rest point with the drive held")

    def _rest_with(self, channel: int, level: int) -> tuple[Array, int] | None:
        """Rest point with the channel in one of its segments; None where it cannot stay there."""
        segments = self.segments_at(np.zeros(len(Monitor)))
        tried: set[tuple[int, ...]] = set()
        for _ in range(12):
            region = self.region(self.code(channel, segments, level))
            inner = region.matrix[:-1, :-1]
            state = np.append(np.linalg.lstsq(inner, -region.matrix[:-1, -1], rcond=None)[0], 1.0)
            levels = region.monitors @ state
            found = self.segments_at(levels)
            # At rest on a border, rounding sends it from one side to the other and back.
            if found == segments or found in tried:
                agrees = self._channel_at(levels) == channel
                return (state, region.code) if agrees else None
            tried.add(segments)
            segments = found
        return None

    def _channel_at(self, levels: Array) -> int:
        """Segment of the channel at given monitors, with the drain above the source."""
        switch = self.circuit.switch
        over = float(levels[Monitor.GATE]) - switch.threshold
        if over <= 0.0:
            return OFF
        pinched = float(levels[Monitor.DRAIN]) > switch.transconductance * over * (
            switch.on_resistance
        )
        return SATURATED if pinched else OHMIC

    def slowest(self) -> float:
        """Slowest time constant of the network with the drive released and the channel off [s].

        Modes that a voltage source alone holds, which do not decay at all, are left out. They are
        told from slow ones by the coil's own pace: the quickest mode, that of a weak bias on the
        common-source inductance, says nothing about them.
        """
        segments = self.segments_at(np.zeros(len(Monitor)))
        values = np.linalg.eigvals(self.region(self.code(OFF, segments, 1)).matrix[:-1, :-1])
        least = 1e-8 * 2 * math.pi * self.circuit.coil.resonance
        rates = -values.real[-values.real > least]
        return float(1.0 / rates.min()) if len(rates) else 0.0

    def shifts(self) -> Array:
        """How coordinates move where one capacitance gives way to its neighbour.

        Returns
        -------
        array (combinations, charges, 2, n)
            For each combination of segments and each charge, downwards and upwards: ``w`` in
            ``y - w (v - v_k)``, see `burstwise.core.stage.kernel.crossings.keep_charge`. The first
            charge's segment counts fastest.
        """
        found = np.zeros((len(self._combinations), len(self.charges), 2, self.order))
        if not self.charges:
            return found
        directions = np.linalg.solve(self._metrics, self.across.T[None])
        segments = np.array(self._combinations)
        weight = 1
        for number, charge in enumerate(self.charges):
            farads = np.array(charge.law.farads)
            for up, step in enumerate((-1, 1)):
                there = segments[:, number] + step
                places = np.flatnonzero((there >= 0) & (there < len(farads)))
                change = farads[there[places]] - farads[segments[places, number]]
                target = directions[places + step * weight, :, number]
                found[places, number, up] = change[:, None] * target
            weight *= len(farads)
        return found

    # Coordinates

    def _voltage_row(self, charge: Charge) -> Array:
        row = np.zeros(self._signal_count)
        for node, sign in ((charge.start, 1.0), (charge.end, -1.0)):
            if node != GROUND:
                row[self.nodes.index(node)] = sign
        found: Array = row @ self._basis
        return found

    def _metrics_of_combinations(self) -> Array:
        """``B^T E B`` on all combinations of the charges' segments."""
        metrics = np.tile(np.eye(self.order), (len(self._combinations), 1, 1))
        segments = np.array(self._combinations, dtype=np.int64)
        for number, (row, charge) in enumerate(zip(self.across, self.charges, strict=True)):
            farads = np.array(charge.law.farads)
            beyond = (farads - farads.min())[segments[:, number]]
            metrics += beyond[:, None, None] * np.outer(row, row)
        return metrics

    def _surpluses_of_combinations(self) -> list[float]:
        """What all charges together store beyond ``y^T G y / 2`` [J]."""
        of_charges = [
            [charge.law.surplus(segment) for segment in range(len(charge.law.farads))]
            for charge in self.charges
        ]
        return [
            sum(stored[segment] for stored, segment in zip(of_charges, segments, strict=True))
            for segments in self._combinations
        ]

    def _coordinates(self) -> tuple[Array, Array]:
        """Basis in which E is the identity, and the null space of E (algebraic directions)."""
        count = len(self.nodes)
        capacitance = np.zeros((count, count))
        parts = capacitors_of(self.circuit)
        parts += [(part.start, part.end, min(part.law.farads)) for part in self.charges]
        for start, end, value in parts:
            self._add_capacitor(capacitance, start, end, value)
        kept_c, null_c = _scaled_basis(capacitance)
        kept_l, _ = _scaled_basis(self._inductances())
        basis = np.zeros((self._signal_count, kept_c.shape[1] + len(kept_l)))
        basis[:count, : kept_c.shape[1]] = kept_c
        basis[count:, kept_c.shape[1] :] = kept_l
        null = np.zeros((self._signal_count, null_c.shape[1]))
        null[:count] = null_c
        return basis, null

    def _inductances(self) -> Array:
        """Inductance matrix of primary with its leads, secondary, and what stands alone."""
        coil = self.circuit.coil
        matrix = np.diag([coil.loop_inductance, coil.secondary_inductance])
        mutual = coil.mutual_inductance * (1.0 if self.circuit.reversed_sense else -1.0)
        matrix[0, 1] = matrix[1, 0] = mutual
        alone = [self.circuit.source_inductance] * self.circuit.lifted
        if isinstance(self.circuit.feed, GatedFeed) and self.circuit.magnetised:
            alone.append(self.circuit.feed.inductance)
        wider = np.diag([0.0, 0.0, *alone])
        wider[:2, :2] = matrix
        return wider

    def _add_capacitor(self, matrix: Array, start: str, end: str, farad: float) -> None:
        for node, other in ((start, end), (end, start)):
            if node == GROUND:
                continue
            row = self.nodes.index(node)
            matrix[row, row] += farad
            if other != GROUND:
                matrix[row, self.nodes.index(other)] -= farad


def _scaled_basis(matrix: Array) -> tuple[Array, Array]:
    """Columns B with B^T M B = 1, and the null space of M, for a symmetric M >= 0."""
    # A node without any capacitance is algebraic; its scale is only to be of the others' size.
    sizes = np.diag(matrix)
    scale = 1.0 / np.sqrt(np.where(sizes > 0.0, sizes, sizes.max()))
    values, vectors = np.linalg.eigh(matrix * np.outer(scale, scale))
    kept = values > 1e-9
    basis = scale[:, None] * vectors[:, kept] / np.sqrt(values[kept])
    null = scale[:, None] * vectors[:, ~kept]
    return basis, null
