"""Faults of a stage, each as a change of its circuit with a size."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from burstwise.core.stage.circuit import ClampValues, DirectFeed, GatedFeed, StageCircuit


class Fault(StrEnum):
    """Likely single faults of a build."""

    REVERSED_WINDING = "reversed winding"
    OPEN_FEEDBACK = "open feedback"
    WRONG_BIAS = "wrong bias"
    SLIPPED_COUPLING = "slipped coupling"
    SHORTED_TURN = "shorted turn"
    WEAK_DRIVER = "weak driver supply"
    MISSING_SNUBBER = "missing snubber"
    DEAD_CLAMP = "dead clamp"
    SIDE_LOADING = "side loading"
    NO_BREAKOUT = "no breakout"
    EARLY_BREAKOUT = "breakout too early"

    @property
    def sizes(self) -> tuple[float, ...]:
        """Sizes for which the engine is run, from slight to heavy; one for yes-or-no faults."""
        return _KINDS[self].sizes

    @property
    def none(self) -> float | None:
        """Size at which there is no fault, None for a fault that is there or not."""
        return _KINDS[self].none

    @property
    def remedy(self) -> str:
        """What to look at, in words."""
        return _KINDS[self].remedy


def with_fault(circuit: StageCircuit, fault: Fault, size: float) -> StageCircuit | None:
    """Circuit with a fault of a size, None where the stage has no such part.

    Parameters
    ----------
    circuit : StageCircuit
        Sound stage.
    fault : Fault
        Which one.
    size : float
        Its size, as in `Fault.sizes`: bias in volts off; coupling, driver supply or part of the
        inductance as a ratio; load as the part of the capacitance that is added; breakout as a
        ratio of its voltage.
    """
    return _KINDS[fault].change(circuit, size)


def _reversed(circuit: StageCircuit, size: float) -> StageCircuit:
    return replace(circuit, reversed_sense=not circuit.reversed_sense)


def _opened(circuit: StageCircuit, size: float) -> StageCircuit:
    """Base current goes past the drive, or no antenna; its input or gate stays at the bias."""
    coil, feed = replace(circuit.coil, base_current_ratio=0.0), circuit.feed
    if isinstance(feed, GatedFeed):
        feed = replace(feed, antenna=0.0)
    return replace(circuit, coil=coil, feed=feed)


def _bias(circuit: StageCircuit, size: float) -> StageCircuit:
    """Bias off by a voltage; a driver's input then rests where its output is low."""
    feed = circuit.feed
    if isinstance(feed, DirectFeed):
        return replace(circuit, feed=replace(feed, bias_voltage=max(feed.bias_voltage + size, 0.0)))
    rest = 2.0 * feed.threshold_high if feed.inverting else 0.0
    return replace(circuit, feed=replace(feed, bias_voltage=rest))


def _slipped(circuit: StageCircuit, size: float) -> StageCircuit:
    return replace(circuit, coil=replace(circuit.coil, coupling=circuit.coil.coupling * size))


def _shorted(circuit: StageCircuit, size: float) -> StageCircuit:
    """Shorted turns take a part of the inductance out and burn power in their ring.

    The loss grows with the same part: the short is a second winding with a Q of its own, so the
    secondary's 1/Q gains about (1 - size) / 8, the ring taken with a Q of 8 at the carrier
    (estimate, no source).
    """
    coil = circuit.coil
    inductance = coil.secondary_inductance * size
    quality = 1.0 / (1.0 / coil.quality_factor + (1.0 - size) / 8.0)
    reactance = math.sqrt(inductance / coil.secondary_capacitance)
    return replace(
        circuit,
        coil=replace(
            coil, secondary_inductance=inductance, secondary_resistance=reactance / quality
        ),
    )


def _weak(circuit: StageCircuit, size: float) -> StageCircuit | None:
    """Driver supply lowered towards the gate's threshold."""
    feed = circuit.feed
    if not isinstance(feed, GatedFeed):
        return None
    lowest = circuit.switch.threshold
    return replace(circuit, feed=replace(feed, supply=lowest + size * (feed.supply - lowest)))


def _unsnubbed(circuit: StageCircuit, size: float) -> StageCircuit | None:
    return circuit.with_clamps(snubber_capacitance=0.0) if circuit.snubbed else None


def _unclamped(circuit: StageCircuit, size: float) -> StageCircuit | None:
    """Drain clamp and reservoir clamp gone, the snubber still there."""
    bare = ClampValues()
    open_ended = circuit.with_clamps(
        drain_voltage=bare.drain_voltage, reservoir_capacitance=bare.reservoir_capacitance
    )
    return None if open_ended == circuit else open_ended


def _loaded(circuit: StageCircuit, size: float) -> StageCircuit:
    """Hand or damp air: capacitance added, and loss in what carries it.

    The added capacitance has a loss tangent of about one half (skin and damp surfaces, estimate,
    no source), so 1/Q gains half of the part added.
    """
    coil = circuit.coil
    capacitance = coil.secondary_capacitance * (1.0 + size)
    quality = 1.0 / (1.0 / coil.quality_factor + 0.5 * size)
    reactance = math.sqrt(coil.secondary_inductance / capacitance)
    return replace(
        circuit,
        coil=replace(
            coil, secondary_capacitance=capacitance, secondary_resistance=reactance / quality
        ),
    )


def _breaks_out_at(circuit: StageCircuit, size: float) -> StageCircuit | None:
    """Breakout at a ratio of its voltage; infinite for a top load that keeps all of it."""
    before = circuit.coil.breakout_voltage
    if math.isinf(before):
        return None
    return replace(circuit, coil=replace(circuit.coil, breakout_voltage=before * size))


@dataclass(frozen=True, slots=True)
class _Kind:
    change: Callable[[StageCircuit, float], StageCircuit | None]
    sizes: tuple[float, ...]
    none: float | None
    remedy: str


_KINDS: Final[Mapping[Fault, _Kind]] = {
    Fault.REVERSED_WINDING: _Kind(
        _reversed,
        (1.0,),
        None,
        "Switch off, discharge, swap the two primary leads, try again at the lowest supply.",
    ),
    Fault.OPEN_FEEDBACK: _Kind(
        _opened,
        (1.0,),
        None,
        "Switch off, discharge, and look for a break from the secondary's foot (or "
        "from the antenna) to the drive.",
    ),
    Fault.WRONG_BIAS: _Kind(
        _bias,
        (-2.0, -0.8),
        None,
        "Measure the gate or driver-input voltage at rest, with the main supply off.",
    ),
    Fault.SLIPPED_COUPLING: _Kind(
        _slipped,
        (0.5, 0.65, 0.8, 1.2),
        1.0,
        "Measure height and distance of the primary against the drawing and fix it.",
    ),
    Fault.SHORTED_TURN: _Kind(
        _shorted,
        (0.97, 0.92, 0.85),
        1.0,
        "Take the secondary out; compare its inductance and ring-down with the computed ones.",
    ),
    Fault.WEAK_DRIVER: _Kind(
        _weak,
        (0.6, 0.4, 0.2),
        1.0,
        "Measure the driver's supply at its pins while it runs.",
    ),
    Fault.MISSING_SNUBBER: _Kind(
        _unsnubbed,
        (1.0,),
        None,
        "Switch off, discharge, and test the snubber's resistor and capacitor and their joints.",
    ),
    Fault.DEAD_CLAMP: _Kind(
        _unclamped,
        (1.0,),
        None,
        "Switch off, discharge, and test the clamp out of circuit.",
    ),
    Fault.SIDE_LOADING: _Kind(
        _loaded,
        (0.01, 0.03, 0.08),
        0.0,
        "Clear 1 m around the coil, dry it, and repeat the reading.",
    ),
    Fault.NO_BREAKOUT: _Kind(
        _breaks_out_at,
        (math.inf,),
        None,
        "Fit the breakout point, or make its end as sharp as drawn; until then lower the supply.",
    ),
    Fault.EARLY_BREAKOUT: _Kind(
        _breaks_out_at,
        (0.7, 0.4),
        1.0,
        "Look for a burr, a loose wire end or dirt on top load and upper turns, in the dark.",
    ),
}
