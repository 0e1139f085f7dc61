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
_WRONG_SIDE: Final = 0.35
"""Cost of each curve that lies between a label and its own."""
_RANK: Final = np.concatenate([np.tile(0.1 * np.arange(_SHARES.size), 2), (-0.03, -0.02, -0.01)])
"""Small cost that makes the first of equal places win; the last are beside a curve's end."""

Line = tuple[NDArray[np.float64], NDArray[np.float64]]
"""Horizontal and vertical pixels of a curve, the horizontal ones rising."""


def label_places(
    lines: Sequence[Line | None], sizes: Sequence[QSizeF], area: QRectF, taken: Sequence[QRectF]
) -> list[QRectF | None]:
    """Rectangle for the label of each curve, None for a curve that is not there.

    Right ends are tried first, then places further left, above and below the curve, and beside
    the end of a curve that ends within the area; the place that covers least wins.

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
        cost = _RANK[: len(spots)] + _hidden(spots, under, size, lines)
        cost += _WRONG_SIDE * _between(line, under, lines)
        for order, spot in enumerate(spots):
            cost[order] += _CLASH * sum(spot.intersects(other) for other in occupied)
        best = spots[int(np.argmin(cost))]
        occupied.append(best)
        places.append(best)
    return places


def _candidates(line: Line, size: QSizeF, area: QRectF) -> tuple[list[QRectF], NDArray[np.float64]]:
    """Places above, then below the curve at each share, and the pixels they lie over."""
    end = min(float(line[0][-1]), area.right())
    reach = max(end - area.left(), min(size.width() / _SHARES[0], area.width()))
    lefts = np.maximum(area.left() + _SHARES * reach - size.width(), area.left())
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
    under = np.tile(under, (2, 1))
    if end + _GAP + size.width() > area.right():
        return spots, under
    left, last, height = end + _GAP, float(line[1][-1]), size.height()
    beside = np.clip([last - height / 2, last, last - height], area.top(), area.bottom() - height)
    spots += [QRectF(left, top, size.width(), height) for top in beside.tolist()]
    right = np.tile(left + _ACROSS * size.width(), (beside.size, 1))
    return spots, np.vstack([under, right])


def _between(
    own: Line, under: NDArray[np.float64], lines: Sequence[Line | None]
) -> NDArray[np.float64]:
    """Number of other curves above the own one for places above, below it for places below."""
    middle = under.mean(axis=1)
    level = np.interp(middle, *own)
    count = np.zeros(len(under))
    sides = len(_SHARES)
    for line in lines:
        if line is None or line is own:
            continue
        other = np.interp(middle, *line, left=np.nan, right=np.nan)
        count[:sides] += other[:sides] < level[:sides]
        count[sides : 2 * sides] += other[sides : 2 * sides] > level[sides : 2 * sides]
    return count


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
            heights = np.interp(under, *line, left=np.nan, right=np.nan)
            covered += np.sum((heights > tops - 1) & (heights < tops + size.height() + 1), axis=1)
    return covered
