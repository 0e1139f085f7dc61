"""The stage as a piecewise-linear network: every region is one affine system in energy coordinates.

Nodal analysis with inductor currents gives ``E x' = A x + b`` with E symmetric and constant. Node
voltages that no capacitance fixes (a common shift of drain, gate and source above a shunt) are
algebraic and eliminated in each region. The remaining coordinates y are scaled so that the stored
energy is ``|y|^2 / 2``; a lossless network then has a skew-symmetric matrix, which keeps matrix
exponentials well conditioned although the network spans picofarads to henries.

A region is a combination of segments: four of the channel (off, ohmic, saturated, saturated in
reverse) times three of each two-terminal element (below, between, above its break voltages) times
two of the drive level. See docs/theory_stage.md.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.stage import kernel
from core.stage.circuit import StageCircuit
from core.stage.elements import GROUND, Monitor, capacitors_of, elements_of
from core.stage.stamps import (
    CHANNEL_SEGMENTS,
    ELEMENT_SEGMENTS,
    FIRST_LOSS,
    FIRST_MONITOR,
    LEVELS,
    OFF,
    node_names,
    stamps_of,
)

Array = NDArray[np.float64]


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
        Read-outs in the order of `core.stage.stamps.Stamps`.
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


class Network:
    """Piecewise-linear network of a stage circuit.

    Parameters
    ----------
    circuit : StageCircuit
        Numbers of the stage.

    Attributes
    ----------
    order : int
        Number n of energy coordinates.
    elements : tuple of Element
        Two-terminal elements in the order of the region code.
    region_count : int
        4 * 3**elements * 2.
    """

    def __init__(self, circuit: StageCircuit) -> None:
        self.circuit = circuit
        self.nodes = node_names(circuit)
        self.elements = elements_of(circuit)
        self.stamps = stamps_of(circuit)
        self.region_count = CHANNEL_SEGMENTS * ELEMENT_SEGMENTS ** len(self.elements) * LEVELS
        basis, self._null = self._coordinates()
        self.order: int = basis.shape[1]
        self._signals = np.zeros((len(basis) + 1, self.order + 1))
        self._signals[:-1, :-1] = basis
        self._signals[-1, -1] = 1.0

    # Region codes

    def code(self, channel: int, segments: tuple[int, ...], level: int) -> int:
        """Region code of channel segment, element segments and drive level."""
        number, weight = channel, CHANNEL_SEGMENTS
        for segment in segments:
            number += weight * segment
            weight *= ELEMENT_SEGMENTS
        return number + weight * level

    def decode(self, code: int) -> tuple[int, tuple[int, ...], int]:
        """Channel segment, element segments and drive level of a region code."""
        rest, channel = divmod(code, CHANNEL_SEGMENTS)
        segments = []
        for _ in self.elements:
            rest, segment = divmod(rest, ELEMENT_SEGMENTS)
            segments.append(segment)
        return channel, tuple(segments), rest

    # Regions

    def region(self, code: int) -> Region:
        """Affine system of one region."""
        stamps = self.stamps
        places = stamps.places(*self.decode(code))
        matrix = np.empty((self.order + 1, self.order + 1))
        rows, read_outs = kernel.assemble(
            places, stamps.equations, stamps.read_outs, self._signals, self._null, matrix
        )
        bounds = np.stack([stamps.lowest[places].max(axis=0), stamps.highest[places].min(axis=0)])
        lossy = np.asarray(stamps.lossy[places].any(axis=0))
        return Region(code, matrix, rows[:-1], read_outs, bounds, lossy)

    def secondary_current(self, region: Region) -> Array:
        """Row of the secondary's lumped current, from top to base."""
        row: Array = region.rows[len(self.nodes) + 1]
        return row

    def rest_state(self, level: int) -> tuple[Array, int]:
        """Coordinates at rest with the drive at `level` and the channel off, and the region.

        Raises
        ------
        ArithmeticError
            The network has no rest point with the channel off (the bias itself turns it on).
        """
        segments = (1,) * len(self.elements)
        for _ in range(8):
            region = self.region(self.code(OFF, segments, level))
            inner = region.matrix[:-1, :-1]
            state = np.append(np.linalg.lstsq(inner, -region.matrix[:-1, -1], rcond=None)[0], 1.0)
            levels = region.monitors @ state
            found = tuple(
                int(levels[e.monitor] >= e.low) + int(levels[e.monitor] > e.high)
                for e in self.elements
            )
            if found == segments:
                if levels[Monitor.GATE] > self.circuit.switch.threshold:
                    break
                return state, region.code
            segments = found
        raise ArithmeticError("no rest point with the channel off")

    # Coordinates

    def _coordinates(self) -> tuple[Array, Array]:
        """Basis in which E is the identity, and the null space of E (algebraic directions)."""
        count = len(self.nodes)
        capacitance = np.zeros((count, count))
        for start, end, value in capacitors_of(self.circuit):
            self._add_capacitor(capacitance, start, end, value)
        coil = self.circuit.coil
        mutual = coil.mutual_inductance * (1.0 if self.circuit.reversed_sense else -1.0)
        inductance = np.array(
            [[coil.primary_inductance, mutual], [mutual, coil.secondary_inductance]]
        )
        kept_c, null_c = _scaled_basis(capacitance)
        kept_l, _ = _scaled_basis(inductance)
        basis = np.zeros((count + 2, kept_c.shape[1] + 2))
        basis[:count, : kept_c.shape[1]] = kept_c
        basis[count:, kept_c.shape[1] :] = kept_l
        null = np.zeros((count + 2, null_c.shape[1]))
        null[:count] = null_c
        return basis, null

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
    scale = 1.0 / np.sqrt(np.diag(matrix))
    values, vectors = np.linalg.eigh(matrix * np.outer(scale, scale))
    kept = values > 1e-9
    basis = scale[:, None] * vectors[:, kept] / np.sqrt(values[kept])
    null = scale[:, None] * vectors[:, ~kept]
    return basis, null
