"""Sizes, places and tuples that the compiled parts share, and how they are compiled."""

from __future__ import annotations

from pathlib import Path
from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from burstwise.core.arrays import Array, Integers
from burstwise.core.stage.kernel.stale_code import forget_stale_code

forget_stale_code(Path(__file__).parent)

SHIFT: Final = 4
RADIX: Final = 1 << SHIFT
LEVELS: Final = 4
TICKS: Final = RADIX**LEVELS
LENGTHS: Final = LEVELS * (RADIX - 1) + 1
FULL: Final = LENGTHS - 1
INNER: Final = 8
WIDTH: Final = INNER + 1
MONITORS: Final = 8
VIEWED: Final = 2 * MONITORS
COLUMNS: Final = INNER + VIEWED
BLOCK: Final = WIDTH * INNER
VIEW: Final = WIDTH * VIEWED
SQUARE: Final = WIDTH * INNER + INNER
EVENT_SLOTS: Final = 32
HALVINGS: Final = 24
CHANNEL_SEGMENTS: Final = 4

# Columns of a point: its coordinates, the monitors, the monitors' rates per tick.
FIRST: Final = INNER
GATE: Final = FIRST
DRAIN: Final = FIRST + 1
TOP: Final = FIRST + 2
INPUT: Final = FIRST + 3
RATE: Final = MONITORS
"""How many columns behind a monitor its rate stands."""

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
LAGS: Final = 12  # and the next: last delay in ticks after the input fell, and rose
STATE_SIZE: Final = 14

FAR: Final = 2**62
"""A time in ticks that no run reaches."""

# Unsigned small numbers, and places of the rows in a block of the steps, a square of the sums and
# a view.
U: Final = tuple(np.uint64(k) for k in range(WIDTH))
LINE: Final = tuple(np.uint64(k * INNER) for k in range(WIDTH + 1))
SIGHT: Final = tuple(np.uint64(k * VIEWED) for k in range(WIDTH))

Flags = NDArray[np.bool_]

# The stepping works in arrays that it is given: without Numba's run-time for allocation no time
# goes into counting references to them.
_OPTIONS: Final = {
    "cache": True,
    "nogil": True,
    "fastmath": {"contract"},
    "error_model": "numpy",
}
allocating = njit(**_OPTIONS, no_cfunc_wrapper=True)
compiled = njit(**_OPTIONS, _nrt=False, no_cfunc_wrapper=True)
# A call that hands over arrays pushes seven words for each: the small parts must be inlined. Nobody
# else calls them; a way in for each took a quarter of the time that the whole takes to compile.
inlined = njit(
    **_OPTIONS, _nrt=False, forceinline=True, no_cpython_wrapper=True, no_cfunc_wrapper=True
)


class Law(NamedTuple):
    """Law of the non-linear elements; these are the last fields of `Tables` too.

    Every digit of a region code behind the channel's stands for a monitor and its borders: an
    element breaks twice, a capacitance at each knot of its charge.
    """

    borders: Array  # borders of all digits, one digit behind the other, rising within each
    first: Integers  # (digits + 1,) where each digit's borders begin
    column: Integers  # (digits,) column of each digit's voltage in a point
    channel: Array  # threshold, transconductance, on-conductance
    comparator: Array  # low, high, delay in ticks, inverting, gated, slews: see `cycles.lag`
    slack: Integers  # ticks that a step may end behind a crossing at most
    charged: Integers  # digit of the first capacitance
    across: Array  # (capacitances, INNER) coordinates -> voltage of each capacitance
    shifts: Array  # (combinations, capacitances, 2, INNER) see `crossings.keep_charge`


class Tables(NamedTuple):
    """Tables and books of the visited regions, and the law of the non-linear elements."""

    steps: Array  # (slots * LENGTHS * BLOCK,) coordinates -> later coordinates, flat
    views: Array  # (slots * VIEW,) coordinates -> monitors and their rates per tick, flat
    bounds: Array  # (slots * 2 * MONITORS,) lowest and highest monitors inside, flat
    slot_of: Integers  # (regions,), -1 where not built
    base_ticks: Integers  # (slots,) longest step of the region
    sums: Array  # (slots * LENGTHS * SQUARE,) booked outer products less their last column, flat
    booked: Integers  # (slots,) a bit for each length that something is booked under
    borders: Array
    first: Integers
    column: Integers
    channel: Array
    comparator: Array
    slack: Integers
    charged: Integers
    across: Array
    shifts: Array


class Machine(NamedTuple):
    """State of a run, changed in place."""

    numbers: Integers  # (STATE_SIZE,)
    point: Array  # (COLUMNS,) coordinates, monitors, rates
    end: Array  # (COLUMNS,) and the next three: room to work in
    spare: Array
    here: Array
    trial: Array
    events: Integers  # (EVENT_SLOTS, 2) time in ticks, level
    peaks: Array  # (2, MONITORS) highest and lowest since the last cycle mark
    cycles: Array  # (cycles, 1 + 2 * MONITORS) time, highest, lowest
    trace_time: Array  # (points,)
    trace_point: Array  # (points, MONITORS)
    trace_code: Integers  # (points,)
