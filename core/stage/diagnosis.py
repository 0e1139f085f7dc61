"""Why a stage does not oscillate, or not as it should: run it again with one remedy each.

A remedy that makes the stage oscillate names the fault. Nothing is guessed from a table of
symptoms.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Final

from burstwise.core.findings import Finding, caution, note, stop
from burstwise.core.stage.carrier import Carrier, carrier
from burstwise.core.stage.circuit import GatedFeed, StageCircuit
from burstwise.core.units import percent, shown

OFF_RESONANCE: Final = 0.12
"""Departure from the coupled band beyond which the loop's mode is doubted."""
ABOVE_THRESHOLD: Final = 0.6
"""Bias over the threshold with which a direct stage is tried [V]."""
BETTER: Final = 1.3
"""Gain of top voltage that makes the other winding sense the right one."""
FEW_CYCLES: Final = 16
"""Cycles over which the frequency of a swing is told."""
HEATED: Final = {
    "snubber": "the snubber's resistor",
    "drain_clamp": "the drain clamp",
    "reservoir_bleed": "the reservoir's resistor",
    "pull_down": "the pull-down",
}
"""Losses outside the device that may take most of a dead stage's power."""
FIRE_POWER: Final = 10.0
"""Heat in one of them above which the risk of fire is told [W]; common practice, no source."""
WASTE: Final = 0.85
"""Part of the input power lost in the device beyond which the loop's mode is doubted."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """One change to try, and the finding if it helps."""

    change: Callable[[StageCircuit], StageCircuit | None]
    code: str
    field: str
    text: str | Callable[[StageCircuit], str]


def diagnose(result: Carrier) -> tuple[Finding, ...]:
    """Findings about the feedback loop of a run.

    Parameters
    ----------
    result : Carrier
        Run of the circuit in question.

    Returns
    -------
    tuple of Finding
        Empty when the stage oscillates near its resonance; otherwise a stop that says what the
        stage does instead, and one for the first remedy that makes it work.
    """
    circuit = result.circuit
    if isinstance(circuit.feed, GatedFeed) and circuit.feed.locked_out:
        return (
            stop(
                "driver-locked-out",
                "drive.gated.driver_supply",
                f"The driver supply of {circuit.feed.supply:g} V is below the driver's "
                "under-voltage lockout: its output stays low and nothing starts.",
            ),
        )
    if result.oscillates:
        return _poor_mode(result)
    found = [_what_it_does(result)]
    for remedy in REMEDIES:
        changed = remedy.change(circuit)
        if changed is not None and _works(carrier(changed, hint=result.regions)):
            text = remedy.text if isinstance(remedy.text, str) else remedy.text(circuit)
            found.append(stop(remedy.code, remedy.field, text))
            return tuple(found)
    found.append(
        stop(
            "no-start",
            "coil",
            "No single change tried (winding sense, feedback, coupling, bias, delay, clamps) makes "
            "it oscillate; look for a short, a wrong resonance or far too much loss.",
        )
    )
    return tuple(found)


def _works(result: Carrier) -> bool:
    low, high = _band(result.circuit)
    return result.oscillates and low <= result.frequency <= high


def _band(circuit: StageCircuit) -> tuple[float, float]:
    """Frequencies that a stage on the secondary's resonance may have."""
    coil = circuit.coil
    upper = coil.resonance / (1.0 - coil.coupling) ** 0.5
    return coil.resonance * (1.0 - OFF_RESONANCE), upper * (1.0 + OFF_RESONANCE)


def _what_it_does(result: Carrier) -> Finding:
    power, current = result.input_power, result.supply_current_mean
    swings = _swing(result)
    if swings is not None:
        does = f"it swings at {shown(swings, 'Hz', digits=3)} with no more than "
        does += f"{shown(result.top_voltage_peak, 'V', digits=2)} on top"
    elif power > 0.05:
        does = f"it sits at {shown(current, 'A', digits=3)}"
    else:
        does = "the device stays off and no current flows"
    text = f"The stage does not oscillate on its secondary: {does}."
    if power > 0.05:
        text += f" Of {shown(power, 'W', digits=3)} taken in, {where_heat_goes(result)}."
        text += " Do not power it like this."
    return stop("no-oscillation", "carrier.oscillates", text)


def _swing(result: Carrier) -> float | None:
    """Frequency at which the top swings without building up [Hz]; None where it rests."""
    times = result.envelope[-FEW_CYCLES - 1 :, 0]
    if len(times) <= FEW_CYCLES or result.top_voltage_peak < 0.02 * result.circuit.supply_voltage:
        return None
    return float(FEW_CYCLES / (times[-1] - times[0]))


def where_heat_goes(result: Carrier) -> str:
    """The largest losses of a stage that does not work, while on, in words.

    Parameters
    ----------
    result : Carrier
        Its run.
    """
    shares = {"the device": result.device_power}
    for name, place in {**HEATED, "breakout": "the discharge"}.items():
        shares[place] = result.losses.get(name, 0.0)
    parts = [
        f"{shown(watts, 'W', digits=3)} heat {place}"
        for place, watts in sorted(shares.items(), key=lambda item: -item[1])
        if watts > 0.1 * result.input_power
    ]
    told = " and ".join(parts[:2]) or "most heats the windings and leads"
    burns = max(shares[place] for place in HEATED.values()) > FIRE_POWER
    return told + ("; a part so overloaded is a risk of fire" if burns else "")


def _poor_mode(result: Carrier) -> tuple[Finding, ...]:
    low, high = _band(result.circuit)
    wasteful = result.device_power > WASTE * max(result.input_power, 1e-9)
    if low <= result.frequency <= high and not wasteful:
        return ()
    other = carrier(_swapped(result.circuit), hint=result.regions)
    if _works(other) and other.top_voltage_peak > BETTER * result.top_voltage_peak:
        return (
            stop(
                "poor-mode",
                "carrier.frequency_Hz",
                f"The loop has locked to a poor mode at {result.frequency / 1e3:.0f} kHz with "
                f"{result.top_voltage_peak / 1e3:.1f} kV on top; the right one gives "
                f"{other.top_voltage_peak / 1e3:.1f} kV at {other.frequency / 1e3:.0f} kHz. Of "
                f"{shown(result.input_power, 'W', digits=3)} taken in, {where_heat_goes(result)}.",
            ),
            _swap_finding(),
        )
    resonance = result.circuit.coil.resonance
    if low <= result.frequency <= high:
        return ()
    return (
        caution(
            "off-resonance",
            "carrier.frequency_Hz",
            f"The stage runs at {result.frequency / 1e3:.0f} kHz, "
            f"{percent(result.frequency / resonance - 1, signed=True)} from the secondary's "
            "resonance; the loop's delay or the clamps pull it away.",
        ),
    )


def _swap_finding() -> Finding:
    return stop(
        "winding-sense",
        "drive.feedback_sense",
        "The feedback has the wrong sense: swap the ends of one winding (the two primary leads "
        "are the easy ones). With an inverting driver, or an antenna, the sense is the other way "
        "round.",
    )


def _swapped(circuit: StageCircuit) -> StageCircuit:
    return replace(circuit, reversed_sense=not circuit.reversed_sense)


def _closer(circuit: StageCircuit) -> StageCircuit | None:
    coupling = min(3.0 * circuit.coil.coupling, 0.45)
    if coupling <= circuit.coil.coupling:
        return None
    return replace(circuit, coil=replace(circuit.coil, coupling=coupling))


def _biased(circuit: StageCircuit) -> StageCircuit | None:
    feed = circuit.feed
    if isinstance(feed, GatedFeed):
        rest = 0.0 if feed.inverting else 1.5 * feed.threshold_high
        return replace(circuit, feed=replace(feed, bias_voltage=rest))
    return replace(
        circuit, feed=replace(feed, bias_voltage=circuit.switch.threshold + ABOVE_THRESHOLD)
    )


def _bias_text(circuit: StageCircuit) -> str:
    feed = circuit.feed
    if isinstance(feed, GatedFeed):
        return "It starts with another bias: a driver's input must rest where its output is high."
    wanted = circuit.switch.threshold + ABOVE_THRESHOLD
    change = "more" if wanted > feed.bias_voltage else "less"
    return (
        f"It starts with {change} bias: {shown(wanted, 'V')} instead of "
        f"{shown(feed.bias_voltage, 'V')}. A direct stage wants its gate just above the threshold."
    )


def _prompt(circuit: StageCircuit) -> StageCircuit | None:
    feed = circuit.feed
    short = 0.02 / circuit.coil.resonance
    if not isinstance(feed, GatedFeed) or max(feed.delay, feed.slow_delay) < short:
        return None
    return replace(circuit, feed=replace(feed, delay=0.0, slow_delay=0.0))


def _unclamped(circuit: StageCircuit) -> StageCircuit | None:
    feed = circuit.feed
    if isinstance(feed, GatedFeed):
        if feed.clamp_high > feed.threshold_high:
            return None
        return replace(circuit, feed=replace(feed, clamp_high=1.5 * feed.threshold_high))
    if feed.clamp_high > circuit.switch.threshold + 3.0:
        return None
    return replace(circuit, feed=replace(feed, clamp_high=circuit.switch.threshold + 8.0))


def _stronger(circuit: StageCircuit) -> StageCircuit | None:
    """Three times the feedback; a base current is more than any input needs."""
    feed = circuit.feed
    if not isinstance(feed, GatedFeed) or feed.base_share == 1.0:
        return None
    if feed.antenna > 0.0:
        return replace(circuit, feed=replace(feed, antenna=3.0 * feed.antenna))
    return replace(circuit, feed=replace(feed, turns=feed.turns / 3.0))


REMEDIES: Final[tuple[Remedy, ...]] = (
    Remedy(
        _swapped,
        "winding-sense",
        "drive.feedback_sense",
        _swap_finding().text,
    ),
    Remedy(
        _biased,
        "wrong-bias",
        "drive",
        _bias_text,
    ),
    Remedy(
        _stronger,
        "feedback-too-weak",
        "drive.gated.feedback",
        "It starts with three times the feedback: take fewer turns and a larger burden, or a "
        "larger antenna, or a bias nearer to the thresholds.",
    ),
    Remedy(
        _closer,
        "coupling-too-small",
        "coil.measured.coupling",
        "It starts with three times the coupling: move the primary up or nearer, or add turns.",
    ),
    Remedy(
        _prompt,
        "driver-too-slow",
        "drive.gated.propagation_delay",
        "It starts without the driver's delay: the delay turns the phase too far at this "
        "frequency. Take a faster driver or a lower resonance.",
    ),
    Remedy(
        _unclamped,
        "clamp-too-low",
        "drive",
        "It starts with a higher clamp: the clamp holds the drive below the threshold.",
    ),
)


def slow_driver_note(result: Carrier) -> Iterable[Finding]:
    """Note when the driver's delay is a large part of the carrier period."""
    feed = result.circuit.feed
    if not isinstance(feed, GatedFeed) or not result.oscillates:
        return ()
    part = result.driver_delay * result.frequency
    if part <= 0.08:
        return ()
    return (
        note(
            "driver-delay",
            "drive.gated.propagation_delay",
            f"The driver's delay is {percent(part)} of a carrier period ({360 * part:.0f} degrees "
            "of phase); expect hotter switching.",
        ),
    )
