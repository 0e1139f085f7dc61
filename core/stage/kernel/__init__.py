"""Compiled stepping of the piecewise-linear stage (Numba).

Time is counted in whole ticks of ``h / 65536``. Each region has exact propagators for h and for
1..15 parts of h/16, h/256, h/4096 and h/65536, so any number of ticks is at most four matrix-vector
products. A step that ends in another region is shortened on whole ticks until it lands just behind
the crossing: the quantity that crosses and its exact rate are known at both ends of the step, so
the root of the cubic through them is nearly always good to a tick at the first try.

The books are exact, not sampled: a step of fixed length from state x changes the integral of
``x x^T`` by a linear function of ``x x^T`` itself, so the kernel only adds up the outer products
per region and step length, and `integrals` turns the sums into ``integral of x x^T dt`` afterwards.
Every mean, RMS value and dissipated energy is a linear read-out of that matrix.

All states have `INNER` coordinates, unused ones zero, and an implied constant 1 behind them: with
sizes known at compile time a product takes a third of the time. Behind the coordinates a point has
the monitors and their rates.
"""

from burstwise.core.stage.kernel.cycles import schedule
from burstwise.core.stage.kernel.decoding import decode
from burstwise.core.stage.kernel.filling import fill_regions
from burstwise.core.stage.kernel.layout import (
    AT_SECTION,
    BLOCK,
    CHATTER,
    CODE,
    COLUMNS,
    COMPARATOR,
    CYCLES,
    CYCLES_FULL,
    DIVERGED,
    ENABLED,
    EVENT_SLOTS,
    FULL,
    HALVINGS,
    INNER,
    LAGS,
    LENGTHS,
    LEVEL,
    LEVELS,
    MONITORS,
    NEEDS_REGION,
    NOW,
    PRODUCTS,
    QUEUE_FULL,
    RADIX,
    REACHED,
    SHIFT,
    SQUARE,
    STATE_SIZE,
    STEPS,
    SWITCHES,
    TICKS,
    TOGGLES,
    TRACE_FULL,
    TRACED,
    VIEWED,
    WIDTH,
    Law,
    Machine,
    Tables,
)
from burstwise.core.stage.kernel.moments import integrals, turnover
from burstwise.core.stage.kernel.products import apply_step
from burstwise.core.stage.kernel.stepping import advance

__all__ = [
    "AT_SECTION",
    "BLOCK",
    "CHATTER",
    "CODE",
    "COLUMNS",
    "COMPARATOR",
    "CYCLES",
    "CYCLES_FULL",
    "DIVERGED",
    "ENABLED",
    "EVENT_SLOTS",
    "FULL",
    "HALVINGS",
    "INNER",
    "LAGS",
    "LENGTHS",
    "LEVEL",
    "LEVELS",
    "MONITORS",
    "NEEDS_REGION",
    "NOW",
    "PRODUCTS",
    "QUEUE_FULL",
    "RADIX",
    "REACHED",
    "SHIFT",
    "SQUARE",
    "STATE_SIZE",
    "STEPS",
    "SWITCHES",
    "TICKS",
    "TOGGLES",
    "TRACED",
    "TRACE_FULL",
    "VIEWED",
    "WIDTH",
    "Law",
    "Machine",
    "Tables",
    "advance",
    "apply_step",
    "decode",
    "fill_regions",
    "integrals",
    "schedule",
    "turnover",
]
