"""Curve data: its ends, and its pixels within a frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainterPath, QPolygonF

from burstwise.app.plots.direct_labels import Line
from burstwise.app.plots.overlay import Frame
from burstwise.app.plots.ranges import Span
from burstwise.core.arrays import Array


@dataclass(frozen=True, slots=True)
class Shade:
    """Area between two curves over one axis, e.g. what most builds keep within."""

    at: Array
    low: Array
    high: Array

    @property
    def path(self) -> QPainterPath:
        """Outline in data units, parted where an end is not finite."""
        path = QPainterPath()
        known = np.isfinite(self.low) & np.isfinite(self.high)
        ends = np.flatnonzero(np.diff(np.concatenate([[False], known, [False]]).astype(int)))
        for first, behind in zip(ends[::2].tolist(), ends[1::2].tolist(), strict=True):
            part = slice(first, behind)
            there = zip(self.at[part].tolist(), self.high[part].tolist(), strict=True)
            back = zip(self.at[part][::-1].tolist(), self.low[part][::-1].tolist(), strict=True)
            path.addPolygon(QPolygonF([QPointF(x, y) for x, y in (*there, *back)]))
            path.closeSubpath()
        return path

    def ends_at(self, x: float) -> tuple[float, float]:
        """Lower and upper end at a place, nan beyond the area."""
        low, high = (
            float(np.interp(x, self.at, side, left=np.nan, right=np.nan))
            for side in (self.low, self.high)
        )
        return low, high


def data_ends(arrays: Sequence[Array]) -> Span | None:
    """Least and greatest finite value, None without any."""
    finite = [part for array in arrays if (part := array[np.isfinite(array)]).size]
    if not finite:
        return None
    return Span(
        float(min(part.min() for part in finite)), float(max(part.max() for part in finite))
    )


def curve_pixels(frame: Frame, xs: Array, ys: Array) -> Line | None:
    """Scene pixels of the part of a curve within the frame, None for fewer than two points."""
    shown = np.isfinite(ys) & (xs >= frame.x.low) & (xs <= frame.x.high)
    if np.count_nonzero(shown) < 2:
        return None
    left = frame.rect.left() + (xs[shown] - frame.x.low) / frame.x.width * frame.rect.width()
    top = frame.rect.bottom() - (ys[shown] - frame.y.low) / frame.y.width * frame.rect.height()
    return left, top
