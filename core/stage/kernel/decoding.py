"""What the codes of regions stand for."""

from __future__ import annotations

import numpy as np

from burstwise.core.arrays import Array, Integers
from burstwise.core.stage.kernel.layout import CHANNEL_SEGMENTS, compiled


@compiled
def decode(
    codes: Integers,
    charged: int,
    borders: Array,
    first: Integers,
    column: Integers,
    lowest: Array,
    highest: Array,
    places: Integers,
    combinations: Integers,
    bounds: Array,
) -> None:
    """Stamps, capacitances and bounds of some regions from their codes.

    Parameters
    ----------
    codes : array of int (regions,)
        Region codes.
    charged : int
        Digit of the first capacitance; those before are elements.
    borders, first : array
        As in `burstwise.core.stage.kernel.layout.Law`.
    column : array of int (digits,)
        Monitor that each digit looks at.
    lowest, highest : array (stamps, monitors)
        Bounds of the stamps.
    places : array of int (regions, parts)
        Set to the stamps that make each region: what is always there, channel, elements, level.
    combinations : array of int (regions,)
        Set to the place of the capacitances' segments among their combinations.
    bounds : array (regions, 2, monitors)
        Set to the lowest and highest monitors inside: the narrowest of all stamps and knots.
    """
    for region in range(codes.shape[0]):
        rest = codes[region] // CHANNEL_SEGMENTS
        place = places[region]
        place[0], place[1] = 0, 1 + codes[region] % CHANNEL_SEGMENTS
        behind, combination, weight = 1 + CHANNEL_SEGMENTS, 0, 1
        low, high = bounds[region, 0], bounds[region, 1]
        for monitor in range(low.shape[0]):
            low[monitor], high[monitor] = -np.inf, np.inf
        for digit in range(column.shape[0]):
            knots = first[digit + 1] - first[digit]
            segment = rest % (knots + 1)
            rest //= knots + 1
            if digit < charged:
                place[2 + digit] = behind + segment
                behind += knots + 1
                continue
            combination += weight * segment
            weight *= knots + 1
            monitor = column[digit]
            if segment > 0:
                low[monitor] = max(low[monitor], borders[first[digit] + segment - 1])
            if segment < knots:
                high[monitor] = min(high[monitor], borders[first[digit] + segment])
        place[2 + charged] = behind + rest
        combinations[region] = combination
        for part in range(place.shape[0]):
            stamp = place[part]
            for monitor in range(low.shape[0]):
                low[monitor] = max(low[monitor], lowest[stamp, monitor])
                high[monitor] = min(high[monitor], highest[stamp, monitor])
