"""Places for the names of curves: beside the curve, off the other curves and labels."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QRectF, QSizeF

_SHARES: Final = np.array((0.97, 0.82, 0.66, 0.5, 0.34, 0.18))
"""Right ends of the places tried, as shares of the area's width."""
_ACROSS: Final = np.linspace(0.0, 1.0, 9)
_GAP: Final = 4.0
_CLASH: Final = 20.0
_RANK: Final = np.tile(0.1 * np.arange(_SHARES.size), 2)
"""Small cost that makes the first of equal places win."""

Line = tuple[NDArray[np.float64], NDArray[np.float64]]
"""Horizontal and vertical pixels of a curve, the horizontal ones rising."""


def label_places(
    lines: Sequence[Line | None], sizes: Sequence[QSizeF], area: QRectF, taken: Sequence[QRectF]
) -> list[QRectF | None]:
    """Rectangle for the label of each curve, None for a curve that is not there.

    Right ends are tried first, then places further left, above and below the curve; the place
    that covers least wins.

    Parameters
    ----------
    lines : sequence of (x, y) arrays or None
        Curves in pixels.
    sizes : sequence of QSizeF
        Sizes of the labels.
    area : QRectF
        Where labels may lie.
    taken : sequence of QRectF
        Rectangles to keep clear.
    """
    occupied = list(taken)
    places: list[QRectF | None] = []
    for line, size in zip(lines, sizes, strict=True):
        if line is None:
            places.append(None)
            continue
        spots, under = _candidates(line, size, area)
        cost = _RANK + _hidden(spots, under, size, lines)
        for order, spot in enumerate(spots):
            cost[order] += _CLASH * sum(spot.intersects(other) for other in occupied)
        best = spots[int(np.argmin(cost))]
        occupied.append(best)
        places.append(best)
    return places


def _candidates(line: Line, size: QSizeF, area: QRectF) -> tuple[list[QRectF], NDArray[np.float64]]:
    """Places above, then below the curve at each share, and the pixels they lie over."""
    lefts = np.maximum(area.left() + _SHARES * area.width() - size.width(), area.left())
    under = lefts[:, np.newaxis] + _ACROSS * size.width()
    heights = np.interp(under, *line)
    above = heights.min(axis=1) - size.height() - _GAP
    below = heights.max(axis=1) + _GAP
    tops = np.clip([above, below], area.top(), max(area.bottom() - size.height(), area.top()))
    spots = [
        QRectF(left, top, size.width(), size.height())
        for row in tops.tolist()
        for left, top in zip(lefts.tolist(), row, strict=True)
    ]
    return spots, np.tile(under, (2, 1))


def _hidden(
    spots: Sequence[QRectF],
    under: NDArray[np.float64],
    size: QSizeF,
    lines: Sequence[Line | None],
) -> NDArray[np.float64]:
    """How much of the curves each place covers, in samples."""
    tops = np.array([[spot.top()] for spot in spots])
    covered = np.zeros(len(spots))
    for line in lines:
        if line is not None:
            heights = np.interp(under, *line)
            covered += np.sum((heights > tops - 1) & (heights < tops + size.height() + 1), axis=1)
    return covered
