"""The drive in a netlist: enable, driver's input, its delay, and the level that they make."""

from __future__ import annotations

import math
from typing import Final

from burstwise.core.stage.circuit import GatedFeed, StageCircuit
from burstwise.core.stage.elements import GROUND
from burstwise.core.stage.netlist_text import OPEN, line, number

_LINE: Final = 50.0
"""Impedance of the line that delays the driver [ohm]."""
_HELD: Final = 1e-14
"""Capacitance that a share of the delay stands on [F]: its charge is below the tolerance of the
saved file, or the simulators' error control would stop at every edge of it."""
_FOLLOW: Final = 3e3
"""Resistance through which it follows while it is not held [ohm]; 30 ps."""
_KEPT: Final = 1e12
"""Resistance of the open switch that holds it [ohm]; 10 ms."""
_FIRST: Final = 1e-4
"""Ramp at which an edge without any addition is through [V]."""
FOOT_METER: Final = "Vfoot"
"""Source of zero volts whose current is the secondary's lumped one,"""
AERIAL_METER: Final = "Vaerial"
"""and one whose current is that of an antenna."""


def drive_lines(circuit: StageCircuit, step: float, on_time: float) -> list[str]:
    """Node ``level`` (above ``half`` while the drive is on) from enable and feedback."""
    feed = circuit.feed
    on = 0.0 if isinstance(feed, GatedFeed) and feed.locked_out else 1.0
    edge = step / 100
    end = "" if math.isinf(on_time) else f" {number(on_time)} {on:g} {number(on_time + edge)} 0"
    enable = f"PWL(0 0 {number(edge)} {on:g}{end})"
    lines = [line("Vhalf", "half", GROUND, 0.5)]
    if not isinstance(feed, GatedFeed):
        return [*lines, line("Venable", "level", GROUND, enable)]
    middle = 0.5 * (feed.threshold_high + feed.threshold_low)
    half_width = 0.5 * (feed.threshold_high - feed.threshold_low)
    rest = "ON" if _rest_input(feed) > middle else "OFF"
    edges = _slow_edges(circuit, feed) if feed.slew_counts else []
    heard = "v(late)" if feed.slew_counts else "v(compared)"
    wanted = f"1-{heard}" if feed.inverting else heard
    lines += [
        line("Venable", "enable", GROUND, enable),
        line("Vlogic", "logic", GROUND, 1.0),
        f"Scompare logic compared input 0 compare {rest}",
        f".model compare SW(vt={number(middle)} vh={number(half_width)} ron=1 roff={OPEN:g})",
        line("Rcompare", "compared", GROUND, 1e4),
        *edges,
        line("Bwanted", "wanted", GROUND, f"V=2*v(enable)*({wanted})"),
    ]
    if feed.delay == 0.0:
        return [*lines, "Elevel level 0 wanted 0 0.5"]
    return [
        *lines,
        line("Rsend", "wanted", "sent", _LINE),
        f"Tdelay sent 0 level 0 Z0={_LINE:g} TD={number(feed.delay)}",
        line("Rheard", "level", GROUND, _LINE),
    ]


def _slow_edges(circuit: StageCircuit, feed: GatedFeed) -> list[str]:
    """Node ``late``: the compared input, each edge later by what its slew adds to the delay.

    Slew is what flows into the input's capacitance: base current (a transformer's less what its
    winding takes, or an antenna's) and bias, since the clamp is at rest where the input crosses.
    What it adds is followed until then and held, and a ramp that starts there is compared with it:
    one volt stands for the whole that the slow slew adds.
    """
    slow, volt = feed.slow_slew / feed.fast_slew, 1.0 / (feed.input_capacitance * feed.fast_slew)
    bias = f"({number(feed.bias_voltage)}-v(input))*{number(volt / feed.bias_resistance)}"
    share = f"(max(1/max(abs(v(pace)),{number(slow)}),1)-1)/({number(1.0 / slow - 1.0)})"
    longest = feed.slow_delay - feed.delay
    fed = [f"Fpace 0 pace {FOOT_METER} {number(circuit.base_ratio * volt)}"]
    if feed.antenna > 0.0:
        fed = [f"Fpace 0 pace {AERIAL_METER} {number(volt)}"]
    if circuit.magnetised:
        fed.append(f"Fcold 0 pace Vcold {number(-volt)}")
    return [
        *fed,
        line("Bpace", GROUND, "pace", f"I={bias}"),
        line("Rpace", "pace", GROUND, 1.0),
        line("Bshare", "share", GROUND, f"V={share}"),
        f".model edge SW(vt=0 vh=0 ron={_FOLLOW:g} roff={_KEPT:g})",
        f".model ramp SW(vt={_FIRST:g} vh=0 ron=1 roff={OPEN:g})",
        *_edge("rise", "half compared", longest),
        *_edge("fall", "compared half", longest),
        line("Blate", "late", GROUND, "V=v(compared)*v(on_rise)+(1-v(compared))*(1-v(on_fall))"),
    ]


def _edge(name: str, before: str, longest: float) -> list[str]:
    """Node ``on_NAME``, high as soon as the ramp since this edge passes the share held for it."""
    begun = "v(compared)" if name == "rise" else "(1-v(compared))"
    slope = f"{number(_HELD / longest)}*{begun}*min(1,max(0,2-v(ramp_{name})))"
    return [
        f"Strack_{name} share held_{name} {before} edge OFF",
        line(f"Cheld_{name}", f"held_{name}", GROUND, _HELD),
        line(f"Bramp_{name}", GROUND, f"ramp_{name}", f"I={slope}"),
        line(f"Cramp_{name}", f"ramp_{name}", GROUND, _HELD),
        f"Sreset_{name} ramp_{name} 0 {before} edge OFF",
        f"Son_{name} logic on_{name} ramp_{name} held_{name} ramp OFF",
        line(f"Ron_{name}", f"on_{name}", GROUND, 1e4),
    ]


def _rest_input(feed: GatedFeed) -> float:
    """Voltage of the driver's input at rest: its bias, held by its clamp."""
    if feed.bias_voltage <= feed.clamp_high:
        return feed.bias_voltage
    share = feed.clamp_resistance / (feed.clamp_resistance + feed.bias_resistance)
    return feed.clamp_high + share * (feed.bias_voltage - feed.clamp_high)
