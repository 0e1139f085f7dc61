"""Stamps: what each segment of each element adds to the equations and read-outs of a region.

All that is asked of a region is a row over the network's signals: the node voltages, the inductor
currents and a constant 1. The channel's segment, each element's segment and the drive
level add to these rows independently of each other, so a region is the sum of a few stamps that
are made once for a circuit. See docs/theory_stage.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from burstwise.core.arrays import Array
from burstwise.core.stage.circuit import GatedFeed, StageCircuit
from burstwise.core.stage.elements import (
    GROUND,
    Element,
    Monitor,
    base_node,
    die_node,
    elements_of,
    gate_terminal,
    input_ends,
    resistors_of,
    source_node,
)

OFF: Final = 0
OHMIC: Final = 1
SATURATED: Final = 2
SATURATED_REVERSE: Final = 3
CHANNEL_SEGMENTS: Final = 4
ELEMENT_SEGMENTS: Final = 3
LEVELS: Final = 2

CONSTANT: Final = 0
CHARGE: Final = 1
AUXILIARY: Final = 2
FIRST_MONITOR: Final = 3
FIRST_LOSS: Final = FIRST_MONITOR + len(Monitor)

_BYPASSES: Final = ("drain_clamp", "reservoir_diode", "snubber")
"""What takes current from the drain's node beside the device."""


@dataclass(frozen=True, slots=True)
class Stamps:
    """Tables whose sums over a region's stamps make the region.

    The read-outs are, in this order: the constant 1, the main supply's current, the auxiliary
    supplies' power, the monitors, the voltage of each loss, the current of each loss.

    Attributes
    ----------
    equations : array (stamps, signals, signals + 1)
        Rows of A and b in ``E x' = A x + b``, x being the signals.
    read_outs : array (stamps, read-outs, signals + 1)
        Rows that read from (x, 1).
    lowest, highest : array (stamps, monitors)
        Bounds of the monitors; a region has the narrowest of its stamps. The channel's borders are
        not among them.
    lossy : array (stamps, losses)
        Whether a loss is there at all.
    losses : tuple of str
        Names of the losses.
    """

    equations: Array
    read_outs: Array
    lowest: Array
    highest: Array
    lossy: NDArray[np.bool_]
    losses: tuple[str, ...]


def node_names(circuit: StageCircuit) -> tuple[str, ...]:
    """Nodes of a circuit; the currents of `inductor_names` follow them as signals."""
    nodes = ["drain", "gate", "top"]
    nodes += ["source"] * circuit.shunted + ["die"] * circuit.lifted
    nodes += ["terminal"] * (gate_terminal(circuit) != "gate") + ["input"] * circuit.gated
    nodes += ["snubber"] * circuit.snubbed + ["reservoir"] * circuit.has_reservoir
    return tuple(nodes)


def inductor_names(circuit: StageCircuit) -> tuple[str, ...]:
    """Inductor currents: primary, secondary, a lifted source's, a current transformer's."""
    more = ["source_inductance"] * circuit.lifted + ["transformer"] * circuit.magnetised
    return ("primary", "secondary", *more)


def stamps_of(circuit: StageCircuit) -> Stamps:
    """Stamps of a circuit: what is always there, then channel, elements and drive level."""
    return _Maker(circuit).stamps()


class _Maker:
    """One pass over the parts of a circuit."""

    def __init__(self, circuit: StageCircuit) -> None:
        self.circuit = circuit
        self.source, self.base = die_node(circuit), base_node(circuit)
        self.elements = elements_of(circuit)
        self.nodes = node_names(circuit)
        self.signals = len(self.nodes) + len(inductor_names(circuit))
        levels = [resistors_of(circuit, level) for level in range(LEVELS)]
        names = ["primary_winding", "secondary_winding", "channel"]
        names += [name for element in self.elements for name in element.loss_names]
        names += [part.name for parts in levels for part in parts]
        self.losses = tuple(dict.fromkeys(names))
        count = 1 + CHANNEL_SEGMENTS + ELEMENT_SEGMENTS * len(self.elements) + LEVELS
        width = self.signals + 1
        self.equations = np.zeros((count, self.signals, width))
        self.read_outs = np.zeros((count, FIRST_LOSS + 2 * len(self.losses), width))
        self.lowest = np.full((count, len(Monitor)), -math.inf)
        self.highest = np.full((count, len(Monitor)), math.inf)
        self.lossy = np.zeros((count, len(self.losses)), dtype=bool)
        self._levels = levels

    def stamps(self) -> Stamps:
        self._always()
        place = 1
        for segment in range(CHANNEL_SEGMENTS):
            self._channel(place, segment)
            place += 1
        for element in self.elements:
            for segment in range(ELEMENT_SEGMENTS):
                self._element(place, element, segment)
                place += 1
        for parts in self._levels:
            for part in parts:
                volts = self._across(part.start, part.end)
                volts[-1] -= part.fixed
                self._branch(
                    place, part.name, part.start, part.end, volts, volts * part.conductance
                )
                self._fed(place, part.name, part.fixed, -volts * part.conductance)
            place += 1
        return Stamps(
            self.equations, self.read_outs, self.lowest, self.highest, self.lossy, self.losses
        )

    # Rows over the signals

    def _signal(self, name: str) -> Array:
        row = np.zeros(self.signals + 1)
        if name != GROUND:
            row[self.nodes.index(name)] = 1.0
        return row

    def _across(self, start: str, end: str) -> Array:
        return self._signal(start) - self._signal(end)

    def _current(self, winding: int) -> Array:
        row = np.zeros(self.signals + 1)
        row[len(self.nodes) + winding] = 1.0
        return row

    # What goes into a stamp

    def _branch(
        self, place: int, name: str, start: str, end: str, volts: Array, current: Array
    ) -> None:
        """A part that takes `current` from node `start` to node `end` at `volts`, all to heat."""
        for node, sign in ((start, -1.0), (end, 1.0)):
            if node != GROUND:
                self.equations[place, self.nodes.index(node)] += sign * current
        self._loss(place, name, volts, current)
        if name in _BYPASSES:
            self.read_outs[place, FIRST_MONITOR + Monitor.DRAIN_CURRENT] -= current

    def _loss(self, place: int, name: str, volts: Array, current: Array) -> None:
        loss = self.losses.index(name)
        self.read_outs[place, FIRST_LOSS + loss] = volts
        self.read_outs[place, FIRST_LOSS + len(self.losses) + loss] = current
        self.lossy[place, loss] = True

    def _fed(self, place: int, name: str, fixed: float, current: Array) -> None:
        """A fixed voltage behind a part delivers `current`."""
        if fixed == 0.0:
            return
        if name == "reservoir_bleed":
            self.read_outs[place, CHARGE] += current
        else:
            self.read_outs[place, AUXILIARY] += fixed * current

    def _always(self) -> None:
        coil, read = self.circuit.coil, self.read_outs[0]
        read[CONSTANT, -1] = 1.0
        primary, secondary = self._current(0), self._current(1)
        # Primary current flows into the drain; the secondary's from top into base, where the
        # current of a distributed winding is larger than its lumped current by a fixed ratio.
        ratio = self.circuit.base_ratio
        flows = [{"drain": 1.0}, {"top": -1.0, self.base: ratio}]
        if self.circuit.lifted:
            flows.append({"die": -1.0, source_node(self.circuit): 1.0})
        if self.circuit.magnetised:
            self._transformer(len(self.nodes) + len(flows))
            flows.append({"input": -1.0})
        for row, signs in enumerate(flows):
            winding = len(self.nodes) + row
            for name, sign in signs.items():
                if name == GROUND:
                    continue
                node = self.nodes.index(name)
                self.equations[0, node, winding] = sign
                self.equations[0, winding, node] = -sign
        for row, ohms in ((0, coil.primary_resistance), (1, coil.secondary_resistance)):
            self.equations[0, len(self.nodes) + row, len(self.nodes) + row] = -ohms
        self.equations[0, len(self.nodes), -1] = self.circuit.supply_voltage
        read[CHARGE] = primary
        self._loss(0, "primary_winding", primary * coil.primary_resistance, primary)
        self._loss(0, "secondary_winding", secondary * coil.secondary_resistance, secondary)
        monitors = read[FIRST_MONITOR:FIRST_LOSS]
        monitors[Monitor.GATE] = self._across("gate", self.source)
        monitors[Monitor.DRAIN] = self._across("drain", self.source)
        monitors[Monitor.DRAIN_GATE] = self._across("drain", "gate")
        monitors[Monitor.TOP] = self._signal("top")
        monitors[Monitor.INPUT] = self._across(*input_ends(self.circuit))
        if self.circuit.has_reservoir:
            monitors[Monitor.RESERVOIR] = self._across("drain", "reservoir")
        monitors[Monitor.PRIMARY_CURRENT] = primary
        monitors[Monitor.DRAIN_CURRENT] = primary

    def _transformer(self, winding: int) -> None:
        """Winding from the input to the bias, which is stiff."""
        feed = self.circuit.feed
        assert isinstance(feed, GatedFeed)
        self.equations[0, winding, -1] = -feed.bias_voltage
        self.read_outs[0, AUXILIARY, winding] = -feed.bias_voltage

    def _channel(self, place: int, segment: int) -> None:
        switch = self.circuit.switch
        if segment == OFF:
            return
        volts = self._across("drain", self.source)
        if segment == OHMIC:
            current = volts / switch.on_resistance
        else:
            # In reverse the drain takes the source's part: the current hangs on gate to drain.
            forward = segment == SATURATED
            current = self._across("gate", self.source if forward else "drain")
            current[-1] -= switch.threshold
            current *= switch.transconductance * (1.0 if forward else -1.0)
        self._branch(place, "channel", "drain", self.source, volts, current)

    def _element(self, place: int, element: Element, segment: int) -> None:
        if segment > 0:
            edge = element.low if segment == 1 else element.high
            self.lowest[place, element.monitor] = edge
        if segment < ELEMENT_SEGMENTS - 1:
            edge = element.high if segment == 1 else element.low
            self.highest[place, element.monitor] = edge
        if element.conductance[segment] > 0:
            volts = self._across(element.start, element.end)
            current = element.conductance[segment] * volts
            current[-1] += element.offset[segment]
            name = element.loss_names[segment]
            self._branch(place, name, element.start, element.end, volts, current)
