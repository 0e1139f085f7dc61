"""Sizes, places and tuples that the compiled parts share, and how they are compiled."""

from __future__ import annotations

from pathlib import Path
from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from core.stage.kernel.stale_code import forget_stale_code

forget_stale_code(Path(__file__).parent)

SHIFT: Final = 4
RADIX: Final = 1 << SHIFT
LEVELS: Final = 3
TICKS: Final = RADIX**LEVELS
LENGTHS: Final = LEVELS * (RADIX - 1) + 2
FULL: Final = LENGTHS - 2
STILL: Final = LENGTHS - 1
WIDTH: Final = 9
MONITORS: Final = 7
COLUMNS: Final = WIDTH + MONITORS
BLOCK: Final = WIDTH * COLUMNS
INNER: Final = WIDTH - 1
SQUARE: Final = WIDTH * INNER + INNER
EVENT_SLOTS: Final = 32
HALVINGS: Final = 24

# Columns of the monitors that the stepping itself looks at.
GATE: Final = WIDTH
DRAIN: Final = WIDTH + 1
TOP: Final = WIDTH + 2
INPUT: Final = WIDTH + 3

# Why `advance` came back.
REACHED: Final = 0
NEEDS_REGION: Final = 1
AT_SECTION: Final = 2
CHATTER: Final = 3
QUEUE_FULL: Final = 4
CYCLES_FULL: Final = 5
TRACE_FULL: Final = 6
DIVERGED: Final = 7

# Places in the integer state of a run.
NOW: Final = 0
CODE: Final = 1
LEVEL: Final = 2
COMPARATOR: Final = 3
QUEUED: Final = 4
CYCLES: Final = 5
TRACED: Final = 6
SWITCHES: Final = 7
STEPS: Final = 8
PRODUCTS: Final = 9
ENABLED: Final = 10
TOGGLES: Final = 11
STATE_SIZE: Final = 12

FAR: Final = 2**62
"""A time in ticks that no run reaches."""

# Unsigned small numbers, and places of the rows in a block of the steps and a square of the sums.
U: Final = tuple(np.uint64(k) for k in range(WIDTH))
ROW: Final = tuple(np.uint64(k * COLUMNS) for k in range(WIDTH))
LINE: Final = tuple(np.uint64(k * INNER) for k in range(WIDTH + 1))

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# The stepping works in arrays that it is given: without Numba's run-time for allocation no time
# goes into counting references to them.
_OPTIONS: Final = {
    "cache": True,
    "nogil": True,
    "fastmath": {"contract"},
    "error_model": "numpy",
}
allocating = njit(**_OPTIONS)
compiled = njit(**_OPTIONS, _nrt=False)
# A call that hands over arrays pushes seven words for each: the small parts must be inlined.
inlined = njit(**_OPTIONS, _nrt=False, forceinline=True)


class Law(NamedTuple):
    """Law of the non-linear elements; these are the last fields of `Tables` too."""

    low: Floats
    high: Floats
    column: Integers
    channel: Floats
    comparator: Floats


class Tables(NamedTuple):
    """Tables and books of the visited regions, and the law of the non-linear elements."""

    steps: Floats  # (slots * LENGTHS * BLOCK,) state -> later state and its monitors, flat
    rates: Floats  # (slots * MONITORS * WIDTH,) state -> monitors' rates per tick, flat
    bounds: Floats  # (slots * 2 * INNER,) lowest and highest constant and monitors inside, flat
    slot_of: Integers  # (regions,), -1 where not built
    base_ticks: Integers  # (slots,) longest step of the region
    sums: Floats  # (slots * LENGTHS * SQUARE,) booked outer products less their last column, flat
    low: Floats  # (elements,)
    high: Floats
    column: Integers  # (elements,) column of each element's voltage
    channel: Floats  # threshold, transconductance, on-conductance
    comparator: Floats  # low, high, delay in ticks, inverting, gated, slack in ticks


class Machine(NamedTuple):
    """State of a run, changed in place."""

    numbers: Integers  # (STATE_SIZE,)
    point: Floats  # (COLUMNS,) state and monitors
    end: Floats  # (COLUMNS,) and the next three: room to work in
    spare: Floats
    here: Floats
    trial: Floats
    events: Integers  # (EVENT_SLOTS, 2) time in ticks, level
    peaks: Floats  # (2, 1 + MONITORS) highest and lowest since the last cycle mark
    history: Floats  # (2, 3) last two points: drain, top, time
    cycles: Floats  # (cycles, 2 + 2 * MONITORS) time, stored energy, highest, lowest
    trace_time: Floats  # (points,)
    trace_point: Floats  # (points, COLUMNS)
    trace_code: Integers  # (points,)
