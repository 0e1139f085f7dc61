"""The whole chain of a design, from the timer's output to the gate, and its low-voltage supply."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, TypeVar

from burstwise.core.design.document import Design
from burstwise.core.design.drive import GatedDrive
from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, caution, heaviest_first, stop
from burstwise.core.interrupter.buffer import (
    Buffer,
    BufferResult,
    EnableGating,
    Gating,
    GatingDelays,
    SupplyGating,
    sized_buffer,
)
from burstwise.core.interrupter.bulk import PulseTrain
from burstwise.core.interrupter.chain import Indicator, Link, Polarity, indicator_led, polarity
from burstwise.core.interrupter.driver import Driver, DriverResult, driven_gate
from burstwise.core.interrupter.feed import (
    StageFigures,
    bulk_train,
    decoupling_wanted,
    lockout_findings,
    low_voltage_supply,
)
from burstwise.core.interrupter.resolve import ResolvedInterrupter, resolved_interrupter, timer_set
from burstwise.core.interrupter.safety import ChainLimits, ChainSafety, chain_safety
from burstwise.core.interrupter.supply import (
    LowSupplyResult,
)
from burstwise.core.interrupter.timer import TIMERS
from burstwise.core.units import shown

T = TypeVar("T")
SWITCH_RESISTANCE: Final = 10.0
"""Switch in the driver's supply with what is in series [ohm]; common practice, no source."""

_HIGH_PART: Final = 0.5
"""Part of a burst in which the gate is high: half of every carrier cycle."""


@dataclass(frozen=True, slots=True)
class ChainReport:
    """Chain of one design; parts that are not fitted or cannot be computed are None.

    Attributes
    ----------
    timer : ResolvedInterrupter
        Frequency and duty in use.
    links : tuple of Link
        From the timer's output to the enable.
    polarity : Polarity or None
        What a high timer output means at the stage.
    buffer, indicator, gating, gate, low_supply, safety
        Parts of the chain as sized.
    driver_junction : float
        [C]; ambient without gate driver.
    decoupling_wanted : float
        Decoupling that holds the driver's supply within 2 % per gate charge [F]; 0 without.
    low_load, low_load_burst : float
        Current of timer, chain and driver, mean and within a burst [A].
    bulk : PulseTrain or None
        Main bulk capacitor under the bursts; None without one or when the drive is never off.
    findings : tuple of Finding
        Heaviest first.
    """

    timer: ResolvedInterrupter
    links: tuple[Link, ...]
    polarity: Polarity | None
    buffer: BufferResult | None
    indicator: Indicator | None
    gating: GatingDelays | None
    gate: DriverResult | None
    driver_junction: float
    decoupling_wanted: float
    low_load: float
    low_load_burst: float
    low_supply: LowSupplyResult | None
    bulk: PulseTrain | None
    safety: ChainSafety | None
    findings: tuple[Finding, ...]


def chain_report(design: Design, stage: StageFigures) -> ChainReport:
    """Sizes, loads, polarity, safety and findings of a design's drive chain.

    Parameters
    ----------
    design : Design
        The design.
    stage : StageFigures
        Figures of its stage.
    """
    timer = resolved_interrupter(design)
    findings: list[Finding] = [*timer.findings]
    fitted = design.interrupter.enabled
    sizes = chain_sizes(design) if fitted else ChainSizes(None, None, ())
    buffer, indicator = sizes.buffer, sizes.indicator
    findings += sizes.findings
    links = _links(design) if fitted else ()
    judged = _polarity(design, links) if fitted else None
    findings += [] if judged is None else judged.findings
    findings += _winding_sense(design)
    findings += _output_current(design, buffer, indicator)
    gate = _gate(design, timer.duty, stage)
    findings += () if gate is None else gate.findings
    load, burst = _loads(design, timer.duty, buffer, indicator, gate)
    gating = _gating(design, burst) if fitted else None
    findings += _slow_gating(gating, timer)
    junction = design.cooling.ambient
    if gate is not None:
        junction += gate.driver_power * design.drive.gated.thermal_resistance
    low_supply = low_voltage_supply(design, stage, load, burst, findings)
    findings += lockout_findings(design, low_supply)
    wanted = decoupling_wanted(design, gate, findings)
    on_when_high = judged is None or judged.on_when_high
    safety = _safety(design, timer, stage, on_when_high=on_when_high)
    findings += () if safety is None else safety.findings
    return ChainReport(
        timer, links, judged, buffer, indicator, gating, gate, junction, wanted, load, burst,
        low_supply, bulk_train(design, timer, stage), safety, heaviest_first(findings),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class ChainSizes:
    """Parts between timer and drive as sized; None where not fitted or where none would work.

    Attributes
    ----------
    buffer : BufferResult or None
        Buffer transistor with its base resistor.
    indicator : Indicator or None
        Resistor of the indicator LED.
    findings : tuple of Finding
        A stop for each part that is fitted but cannot work.
    """

    buffer: BufferResult | None
    indicator: Indicator | None
    findings: tuple[Finding, ...]


def chain_sizes(design: Design) -> ChainSizes:
    """Sizes of buffer and indicator from the design alone.

    Parameters
    ----------
    design : Design
        The design; whether its interrupter is fitted plays no part.
    """
    findings: list[Finding] = []
    buffer = _kept(_buffer, design, findings)
    indicator = _kept(_indicator, design, findings)
    return ChainSizes(buffer, indicator, tuple(findings))


def _kept(make: Callable[[Design], T | None], design: Design, findings: list[Finding]) -> T | None:
    """Part of the chain; one that cannot work becomes a finding."""
    try:
        return make(design)
    except InputError as error:
        findings.append(stop("chain-part", f"interrupter.chain.{error.field}", f"{error}."))
        return None


def _output_levels(design: Design) -> tuple[float, float]:
    parts = design.interrupter.parts
    timer = TIMERS[parts.timer]
    return parts.supply - timer.output_high_drop, timer.output_low


def _buffer(design: Design) -> BufferResult | None:
    stage, parts = design.interrupter.chain.buffer, design.interrupter.parts
    if stage is None:
        return None
    high, low = _output_levels(design)
    gated = design.drive.kind == "gated"
    return sized_buffer(
        Buffer(
            collector_resistor=stage.collector_resistor,
            gain_min=stage.smallest_gain,
            gain_typical=stage.usual_gain,
            overdrive=stage.overdrive,
        ),
        output_high=high,
        output_low=low,
        supply=design.drive.gated.driver_supply if gated else parts.supply,
        output_limit=TIMERS[parts.timer].output_limit,
    )


def _indicator(design: Design) -> Indicator | None:
    lamp = design.interrupter.chain.indicator
    if lamp is None:
        return None
    duty = resolved_interrupter(design).duty
    high, _ = _output_levels(design)
    return indicator_led(high, forward=lamp.forward_voltage, current=lamp.current, duty=duty)


def _links(design: Design) -> tuple[Link, ...]:
    """Links from the timer's output to what lets the stage run."""
    chain = design.interrupter.chain
    links = [] if chain.buffer is None else [Link("buffer transistor", True)]
    if design.drive.kind == "direct":
        links.append(Link("pull-down of the gate", True))
    elif chain.gating == "supply":
        links.append(Link("switch in the driver's supply", False))
    else:
        links.append(Link(f"enable, active {chain.active_level}", chain.active_level == "low"))
    return tuple(links)


def _polarity(design: Design, links: tuple[Link, ...]) -> Polarity | None:
    """Polarity; a direct drive with typed numbers says nothing about its timer's output."""
    direct = design.drive.kind == "direct"
    if direct and design.interrupter.given_by == "numbers":
        return None
    return polarity(links, _carrier_links(design), advice=turned(design)[0])


def _carrier_links(design: Design) -> tuple[Link, ...]:
    """Links from the feedback to the gate; an antenna's current is opposite to the base's."""
    part = design.drive.gated
    if design.drive.kind == "direct":
        return ()
    antenna = (Link("antenna", True),) if part.feedback == "antenna" else ()
    return (*antenna, Link("driver", part.inverting))


def turned(design: Design) -> tuple[str, dict[str, object]]:
    """What to change so that the stage runs in the timer's on-time, and the edit that does it.

    A driver's enable is taken the other way; where there is none to choose, a buffer transistor,
    which inverts, is put in or left out.
    """
    chain = design.interrupter.chain
    if design.drive.kind == "gated" and chain.gating == "enable":
        other = "low" if chain.active_level == "high" else "high"
        return (
            f"Take a driver, or an enable input, that is active {other}.",
            {"interrupter.chain.active_level": other},
        )
    if chain.buffer is None:
        text = "Put a buffer transistor in between; it inverts once more."
        return text, {"interrupter.chain.buffer": {}}
    text = "Leave the buffer transistor out, or put a second one in."
    return text, {"interrupter.chain.buffer": None}


def _winding_sense(design: Design) -> list[Finding]:
    given, links = design.drive.feedback_sense, _carrier_links(design)
    wanted = polarity((), links).feedback_sense
    if given == wanted:
        return []
    turning = [
        {"driver": "an inverting driver", "antenna": "an antenna"}[link.name]
        for link in links
        if link.inverts
    ]
    what = " and ".join(turning) or "a chain that does not invert"
    return [
        caution(
            "winding-sense",
            "drive.feedback_sense",
            f"With {what} between feedback and gate the winding sense that regenerates is "
            f"'{wanted}'; the design says '{given}': swap the ends of one winding.",
        )
    ]


def _output_current(
    design: Design, buffer: BufferResult | None, indicator: Indicator | None
) -> list[Finding]:
    timer = TIMERS[design.interrupter.parts.timer]
    base = 0.0 if buffer is None else buffer.base_current
    lamp = 0.0 if indicator is None else indicator.current
    findings = [] if buffer is None else list(buffer.findings)
    if base <= timer.output_limit < base + lamp:
        findings.append(
            caution(
                "timer-output-load",
                "interrupter.chain.indicator.current",
                f"Base and LED take {shown(base + lamp, 'A')} of the timer's output, which is "
                f"good for {shown(timer.output_limit, 'A')}: its high level sags. Take less LED "
                "current, or feed the LED from the buffer's collector.",
            )
        )
    return findings


def _gate(design: Design, duty: float, stage: StageFigures) -> DriverResult | None:
    part = design.drive.gated
    if design.drive.kind != "gated" or stage.carrier <= 0:
        return None
    driver = Driver(
        supply=part.driver_supply,
        resistance=(part.pull_up_resistance + part.pull_down_resistance) / 2,
        peak_current=part.peak_current_rating,
        quiescent=part.quiescent_current,
        lockout=part.undervoltage_lockout,
        inverts=part.inverting,
    )
    return driven_gate(
        driver,
        gate_charge=design.device.gate_charge,
        carrier=stage.carrier,
        duty=duty,
        loop_inductance=design.interrupter.chain.loop_inductance,
        gate_internal=design.device.internal_gate_resistance,
        gate_resistor=part.gate_resistor,
    )


def _loads(
    design: Design,
    duty: float,
    buffer: BufferResult | None,
    indicator: Indicator | None,
    gate: DriverResult | None,
) -> tuple[float, float]:
    """Current from the low-voltage supply, mean and within a burst [A]."""
    steady, on = 0.0, 0.0
    if design.interrupter.enabled:
        one = timer_set(design.interrupter.parts)
        steady += one.timer.supply_current * (2 if "pulse_capacitor" in one.build() else 1)
        on += 0.0 if indicator is None else indicator.current
        on += 0.0 if buffer is None else buffer.base_current + buffer.collector_current
    if design.drive.kind == "gated":
        steady += design.drive.gated.quiescent_current
        on += _HIGH_PART * _held_current(design.drive.gated)
    moved = gate.mean_current if gate is not None else 0.0
    burst = moved / duty if duty > 0 else 0.0
    return steady + on * duty + moved, steady + on + burst


def _held_current(part: GatedDrive) -> float:
    """Current of a high output into the resistor from gate to source [A]."""
    held = part.gate_source_resistor
    return 0.0 if held is None else part.driver_supply / held


def _gating(design: Design, load: float) -> GatingDelays | None:
    part, chain = design.drive.gated, design.interrupter.chain
    if design.drive.kind != "gated" or part.driver_supply <= part.undervoltage_lockout:
        return None
    way: Gating = EnableGating(part.propagation_delay)
    if chain.gating == "supply":
        way = SupplyGating(SWITCH_RESISTANCE, chain.decoupling)
    return way.delays(supply=part.driver_supply, lockout=part.undervoltage_lockout, load=load)


def _slow_gating(gating: GatingDelays | None, timer: ResolvedInterrupter) -> list[Finding]:
    if gating is None or not 0 < timer.duty < 1:
        return []
    on = timer.duty / timer.frequency
    if gating.off <= 0.1 * on:
        return []
    return [
        caution(
            "gating-slow",
            "interrupter.chain.decoupling",
            f"The driver works on for {shown(gating.off, 's', digits=3)} after the timer's edge, "
            f"until its decoupling is empty; the on-time is {shown(on, 's', digits=3)}. Gate the "
            "enable input, or take less decoupling behind the switch.",
        )
    ]


def _safety(
    design: Design, timer: ResolvedInterrupter, stage: StageFigures, *, on_when_high: bool
) -> ChainSafety | None:
    chosen = timer.chosen
    if chosen is None or chosen.frequency.low <= 0 or not math.isfinite(stage.ring_up):
        return None
    gated, device = design.drive.kind == "gated", design.device
    full_on = device.threshold_voltage + stage.drain_current_peak / device.transconductance
    limits = ChainLimits(
        ring_up=stage.ring_up,
        longest_on_time=stage.longest_on_time,
        driver_lockout=design.drive.gated.undervoltage_lockout if gated else math.inf,
        gate_full_on=full_on,
    )
    return chain_safety(chosen, limits, on_when_high=on_when_high)
