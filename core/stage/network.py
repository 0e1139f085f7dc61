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

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.stage.circuit import StageCircuit
from core.stage.elements import (
    GROUND,
    Element,
    Monitor,
    base_node,
    capacitors_of,
    elements_of,
    resistors_of,
    source_node,
)

Array = NDArray[np.float64]

OFF: Final = 0
OHMIC: Final = 1
SATURATED: Final = 2
SATURATED_REVERSE: Final = 3


@dataclass(frozen=True, slots=True)
class Region:
    """One affine system ``y' = A y + b`` with the rows that read the network's quantities.

    Attributes
    ----------
    matrix : array (n+1, n+1)
        Augmented system of (y, 1).
    rows : array (signals, n+1)
        All node voltages, then inductor currents, of (y, 1).
    """

    code: int
    matrix: Array
    rows: Array


@dataclass(frozen=True, slots=True)
class Power:
    """Dissipation in one element of one region: voltage row times current row."""

    name: str
    voltage: Array
    current: Array


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
        self._source = source_node(circuit)
        self._base = base_node(circuit)
        nodes = ["drain", "gate", "top"]
        nodes += ["source"] * circuit.shunted + ["input"] * circuit.gated
        nodes += ["snubber"] * circuit.snubbed + ["reservoir"] * circuit.has_reservoir
        self.nodes: tuple[str, ...] = tuple(nodes)
        self._index = {name: place for place, name in enumerate(nodes)}
        self.elements = elements_of(circuit)
        self.region_count = 4 * 3 ** len(self.elements) * 2
        self._basis, self._null = self._coordinates()
        self.order: int = self._basis.shape[1]

    # Region codes

    def code(self, channel: int, segments: tuple[int, ...], level: int) -> int:
        """Region code of channel segment, element segments and drive level."""
        number, weight = channel, 4
        for segment in segments:
            number += weight * segment
            weight *= 3
        return number + weight * level

    def decode(self, code: int) -> tuple[int, tuple[int, ...], int]:
        """Channel segment, element segments and drive level of a region code."""
        rest, channel = divmod(code, 4)
        segments = []
        for _ in self.elements:
            rest, segment = divmod(rest, 3)
            segments.append(segment)
        return channel, tuple(segments), rest

    # Assembly

    def region(self, code: int) -> Region:
        """Affine system of one region."""
        channel, segments, level = self.decode(code)
        system, constant = self._system(channel, segments, level)
        rows = self._rows(system, constant)
        rate = system @ rows
        rate[:, -1] += constant
        size = self.order + 1
        matrix = np.zeros((size, size))
        matrix[:-1] = self._basis.T @ rate
        return Region(code, matrix, rows)

    def signal(self, region: Region, name: str) -> Array:
        """Row of a node voltage, or zeros for ground."""
        if name == GROUND:
            return np.zeros(self.order + 1)
        row: Array = region.rows[self._index[name]]
        return row

    def between(self, region: Region, start: str, end: str) -> Array:
        """Row of the voltage from one node to another."""
        return self.signal(region, start) - self.signal(region, end)

    def primary_current(self, region: Region) -> Array:
        """Row of the primary current, from supply to drain."""
        row: Array = region.rows[len(self.nodes)]
        return row

    def secondary_current(self, region: Region) -> Array:
        """Row of the secondary's lumped current, from top to base."""
        row: Array = region.rows[len(self.nodes) + 1]
        return row

    def monitor_rows(self, region: Region) -> Array:
        """Rows of all monitors, shape (len(Monitor), n+1)."""
        rows = np.zeros((len(Monitor), self.order + 1))
        rows[Monitor.GATE] = self.between(region, "gate", self._source)
        rows[Monitor.DRAIN] = self.between(region, "drain", self._source)
        rows[Monitor.TOP] = self.signal(region, "top")
        rows[Monitor.INPUT] = self.signal(region, self._base)
        if self.circuit.has_reservoir:
            rows[Monitor.RESERVOIR] = self.between(region, "drain", "reservoir")
        rows[Monitor.PRIMARY_CURRENT] = self.primary_current(region)
        rows[Monitor.DRAIN_CURRENT] = self._drain_current(region)
        return rows

    def _drain_current(self, region: Region) -> Array:
        """Current into the drain terminal: primary current less what clamps and snubber take."""
        _, segments, _ = self.decode(region.code)
        row = self.primary_current(region).copy()
        for element, segment in zip(self.elements, segments, strict=True):
            if element.name in ("drain_clamp", "reservoir_diode"):
                row -= self._element_current(region, element, segment)
        if self.circuit.snubbed:
            volts = self.between(region, "drain", "snubber")
            row -= volts / self.circuit.clamps.snubber_resistance
        return row

    def bounds(self, code: int) -> Array:
        """Lowest and highest value of every monitor inside a region, shape (2, monitors).

        The border between ohmic and saturated is not among them.
        """
        channel, segments, _ = self.decode(code)
        low = np.full(len(Monitor), -math.inf)
        high = np.full(len(Monitor), math.inf)
        for element, segment in zip(self.elements, segments, strict=True):
            place = element.monitor
            if segment > 0:
                low[place] = max(low[place], element.low if segment == 1 else element.high)
            if segment < 2:
                high[place] = min(high[place], element.high if segment == 1 else element.low)
        threshold = self.circuit.switch.threshold
        if channel == OFF:
            high[Monitor.GATE] = min(high[Monitor.GATE], threshold)
        else:
            low[Monitor.GATE] = max(low[Monitor.GATE], threshold)
        return np.stack([low, high])

    def losses(self, region: Region) -> list[Power]:
        """Voltage and current rows of every dissipating element in this region."""
        channel, segments, level = self.decode(region.code)
        coil = self.circuit.coil
        powers = []
        drops = (
            ("primary_winding", self.primary_current(region), coil.primary_resistance),
            ("secondary_winding", self.secondary_current(region), coil.secondary_resistance),
        )
        for name, current, resistance in drops:
            powers.append(Power(name, current * resistance, current))
        drain = self.between(region, "drain", self._source)
        if channel != OFF:
            powers.append(Power("channel", drain, self._channel_current(region, channel)))
        for element, segment in zip(self.elements, segments, strict=True):
            if element.conductance[segment] > 0:
                volts = self.between(region, element.start, element.end)
                current = self._element_current(region, element, segment)
                powers.append(Power(element.loss_names[segment], volts, current))
        for part in resistors_of(self.circuit, level):
            volts = self.between(region, part.start, part.end)
            volts[-1] -= part.fixed
            powers.append(Power(part.name, volts, volts * part.conductance))
        return powers

    def supplies(self, region: Region) -> list[Power]:
        """Fixed voltages (as constant rows) and the current that each delivers."""
        _, _, level = self.decode(region.code)
        constant = np.zeros(self.order + 1)
        constant[-1] = 1.0
        volts = self.circuit.supply_voltage
        powers = [Power("main", constant * volts, self.primary_current(region))]
        for part in resistors_of(self.circuit, level):
            if part.fixed == 0.0:
                continue
            drop = self.between(region, part.start, part.end)
            drop[-1] -= part.fixed
            name = "main" if part.name == "reservoir_bleed" else "auxiliary"
            powers.append(Power(name, constant * part.fixed, -drop * part.conductance))
        return powers

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
            levels = self.monitor_rows(region) @ state
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

    # Parts

    def _coordinates(self) -> tuple[Array, Array]:
        """Basis in which E is the identity, and the null space of E (algebraic directions)."""
        count = len(self.nodes)
        capacitance = np.zeros((count, count))
        for start, end, value in capacitors_of(self.circuit):
            self._stamp(capacitance, start, end, value)
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

    def _system(self, channel: int, segments: tuple[int, ...], level: int) -> tuple[Array, Array]:
        """Matrix A and constant b of ``E x' = A x + b``."""
        count = len(self.nodes)
        conductance = np.zeros((count, count))
        injected = np.zeros(count + 2)
        for part in resistors_of(self.circuit, level):
            self._stamp(conductance, part.start, part.end, part.conductance)
            self._inject(injected, part.start, part.end, -part.conductance * part.fixed)
        for element, segment in zip(self.elements, segments, strict=True):
            self._stamp(conductance, element.start, element.end, element.conductance[segment])
            self._inject(injected, element.start, element.end, element.offset[segment])
        self._stamp_channel(conductance, injected, channel)
        system = np.zeros((count + 2, count + 2))
        system[:count, :count] = -conductance
        # Primary current flows into the drain; the secondary's from top into base, where the
        # current of a distributed winding is larger than its lumped current by a fixed ratio.
        ratio = self.circuit.coil.base_current_ratio
        for row, signs in ((0, {"drain": 1.0}), (1, {"top": -1.0, self._base: ratio})):
            for name, sign in signs.items():
                system[self._index[name], count + row] = sign
                system[count + row, self._index[name]] = -sign
        coil = self.circuit.coil
        system[count, count] = -coil.primary_resistance
        system[count + 1, count + 1] = -coil.secondary_resistance
        injected[count] = self.circuit.supply_voltage
        return system, injected

    def _stamp_channel(self, conductance: Array, injected: Array, channel: int) -> None:
        switch = self.circuit.switch
        if channel == OHMIC:
            self._stamp(conductance, "drain", self._source, 1.0 / switch.on_resistance)
        elif channel in (SATURATED, SATURATED_REVERSE):
            # In reverse the drain takes the source's part: the current hangs on gate to drain.
            forward = channel == SATURATED
            gain = switch.transconductance * (1.0 if forward else -1.0)
            below = self._source if forward else "drain"
            for node, sign in (("drain", 1.0), (self._source, -1.0)):
                if node == GROUND:
                    continue
                row = self._index[node]
                conductance[row, self._index["gate"]] += sign * gain
                if below != GROUND:
                    conductance[row, self._index[below]] -= sign * gain
            self._inject(injected, "drain", self._source, -gain * switch.threshold)

    def _channel_current(self, region: Region, channel: int) -> Array:
        switch = self.circuit.switch
        if channel == OHMIC:
            return self.between(region, "drain", self._source) / switch.on_resistance
        sign, below = (1.0, self._source) if channel == SATURATED else (-1.0, "drain")
        row = switch.transconductance * sign * self.between(region, "gate", below)
        row[-1] -= switch.transconductance * sign * switch.threshold
        return row

    def _element_current(self, region: Region, element: Element, segment: int) -> Array:
        row = element.conductance[segment] * self.between(region, element.start, element.end)
        row[-1] += element.offset[segment]
        return row

    def _rows(self, system: Array, constant: Array) -> Array:
        rows = np.zeros((system.shape[0], self.order + 1))
        rows[:, :-1] = self._basis
        if self._null.shape[1]:
            across = self._null.T @ system
            drive = across @ rows
            drive[:, -1] += self._null.T @ constant
            rows -= self._null @ np.linalg.solve(across @ self._null, drive)
        return rows

    def _stamp(self, matrix: Array, start: str, end: str, value: float) -> None:
        for node, other in ((start, end), (end, start)):
            if node == GROUND:
                continue
            row = self._index[node]
            matrix[row, row] += value
            if other != GROUND:
                matrix[row, self._index[other]] -= value

    def _inject(self, injected: Array, start: str, end: str, current: float) -> None:
        """Current `current` flows from `start` to `end` through an element."""
        if start != GROUND:
            injected[self._index[start]] -= current
        if end != GROUND:
            injected[self._index[end]] += current


def _scaled_basis(matrix: Array) -> tuple[Array, Array]:
    """Columns B with B^T M B = 1, and the null space of M, for a symmetric M >= 0."""
    scale = 1.0 / np.sqrt(np.diag(matrix))
    values, vectors = np.linalg.eigh(matrix * np.outer(scale, scale))
    kept = values > 1e-9
    basis = scale[:, None] * vectors[:, kept] / np.sqrt(values[kept])
    null = scale[:, None] * vectors[:, ~kept]
    return basis, null
