"""Curve data: its ends, and its pixels within a frame."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from burstwise.app.plots.direct_labels import Line
from burstwise.app.plots.overlay import Frame
from burstwise.app.plots.ranges import Span
from burstwise.core.arrays import Array


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
