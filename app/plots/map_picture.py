"""Picture of a map: ground, hatching and frontier by pixel, drawn with numpy."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QColor, QImage, QPixmap

from burstwise.app.plots.axis import Axis
from burstwise.app.theme import Tokens
from burstwise.core.arrays import Array

Pixels = NDArray[np.int64]

_TICKS: Final = 7
PATTERNS: Final[tuple[Callable[[Pixels, Pixels], NDArray[np.bool_]], ...]] = (
    lambda x, y: (x + y) % 9 < 2,
    lambda x, y: (x - y) % 9 < 2,
    lambda x, y: y % 7 < 1,
    lambda x, y: x % 7 < 1,
    lambda x, y: (x % 8 < 2) & (y % 8 < 2),
    lambda x, y: ((x + y) % 12 < 1) | ((x - y) % 12 < 1),
    lambda x, y: (x % 10 < 1) | (y % 10 < 1),
    lambda x, y: (x + 2 * y) % 14 < 2,
    lambda x, y: (y % 6 < 1) & ((x + 5 * (y // 6)) % 10 < 5),
    lambda x, y: ((x + 4 * (y // 8 % 2)) % 8 < 3) & (y % 8 < 1),
)
"""Hatchings by pixel; a region keeps its own as long as the same ratings are in the map."""


@dataclass(frozen=True, slots=True)
class Regions:
    """What the map shows.

    Parameters
    ----------
    x, y : Axis
        Names and units of the axes.
    xs, ys : array
        Rising values; evenly spaced in their logarithm where the flag says so.
    x_log, y_log : bool
        Whether an axis is logarithmic.
    names : tuple of str
        Words of the regions.
    which : array (ys, xs)
        Region of each point.
    level : array (ys, xs)
        Below zero beyond the frontier.
    """

    x: Axis
    y: Axis
    xs: Array
    ys: Array
    x_log: bool
    y_log: bool
    names: tuple[str, ...]
    which: NDArray[np.intp]
    level: Array


def ticks(low: float, high: float, *, log: bool) -> list[float]:
    """Round values between two ends, some seven of them.

    Examples
    --------
    >>> ticks(0.0, 60.0, log=False)
    [0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0]
    >>> ticks(15.0, 450.0, log=True)
    [20.0, 50.0, 100.0, 200.0]
    """
    if log:
        decades = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
        marks = [float(f"{part}e{decade}") for decade in decades for part in (1, 2, 5)]
        return [mark for mark in marks if low <= mark <= high * (1 + 1e-9)]
    rough = (high - low) / _TICKS
    power = 10.0 ** np.floor(np.log10(rough))
    step = next(float(part * power) for part in (1, 2, 5, 10) if part * power >= rough * 0.999)
    first = np.ceil(low / step - 1e-9)
    count = int(np.floor(high / step + 1e-9) - first) + 1
    return [float(f"{(first + i) * step:.10g}") for i in range(count)]


def pattern_swatch(place: int, tokens: Tokens, *, size: int = 22) -> QPixmap:
    """Piece of a region's pattern for a key."""
    rows, columns = np.mgrid[0:size, 0:size]
    mask = PATTERNS[place % len(PATTERNS)](columns, rows)
    ground, line = _rgb(tokens.panel), _rgb(tokens.text)
    return _pixmap(np.where(mask[..., None], 0.55 * line + 0.45 * ground, ground))


def map_picture(
    found: Regions, width: int, height: int, tokens: Tokens
) -> tuple[QPixmap, NDArray[np.intp]]:
    """Picture of the regions, and the region of each pixel."""
    across = np.linspace(0, len(found.xs) - 1, width)
    up = np.linspace(len(found.ys) - 1, 0, height)
    near = np.ix_(np.rint(up).astype(int), np.rint(across).astype(int))
    which = found.which[near]
    level = _smooth(np.clip(found.level, -1.0, 1.0), up, across)
    rows, columns = np.mgrid[0:height, 0:width]
    hatched = np.zeros((height, width), dtype=bool)
    for region in np.unique(which).tolist():
        pattern = PATTERNS[region % len(PATTERNS)](columns, rows)
        hatched |= pattern & (which == region)
    beyond = level < 0
    ground, ink, danger = _rgb(tokens.panel), _rgb(tokens.text), _rgb(tokens.stop)
    base = np.where(beyond[..., None], 0.66 * ground + 0.22 * danger + 0.12 * ink, ground)
    strength = np.where(hatched, np.where(beyond, 0.45, 0.20), 0.0)[..., None]
    picture = base * (1 - strength) + ink * strength
    picture[_edges(which)] = 0.5 * ink + 0.5 * ground
    picture[_thick(_edges(beyond.astype(int)))] = _rgb(tokens.stop)
    return _pixmap(picture), which


def _smooth(level: Array, up: Array, across: Array) -> Array:
    """Straight lines between the points, so that the frontier is no staircase."""
    row = np.clip(np.floor(up).astype(int), 0, max(level.shape[0] - 2, 0))
    column = np.clip(np.floor(across).astype(int), 0, max(level.shape[1] - 2, 0))
    v, u = (up - row)[:, None], (across - column)[None, :]
    low = level[np.ix_(row, column)] * (1 - u) + level[np.ix_(row, column + 1)] * u
    high = level[np.ix_(row + 1, column)] * (1 - u) + level[np.ix_(row + 1, column + 1)] * u
    return np.asarray(low * (1 - v) + high * v)


def _edges(which: NDArray[np.intp] | NDArray[np.int64]) -> NDArray[np.bool_]:
    edge = np.zeros(which.shape, dtype=bool)
    edge[:, 1:] |= which[:, 1:] != which[:, :-1]
    edge[1:, :] |= which[1:, :] != which[:-1, :]
    return edge


def _thick(edge: NDArray[np.bool_]) -> NDArray[np.bool_]:
    grown = edge.copy()
    grown[:-1] |= edge[1:]
    grown[:, :-1] |= edge[:, 1:]
    return grown


def _rgb(colour: str) -> Array:
    made = QColor(colour)
    return np.array([made.red(), made.green(), made.blue()], dtype=np.float64)


def _pixmap(picture: Array) -> QPixmap:
    height, width, _ = picture.shape
    rgb = np.ascontiguousarray(np.clip(picture, 0, 255).astype(np.uint8))
    image = QImage(rgb.data, width, height, 3 * width, QImage.Format.Format_RGB888)
    return QPixmap.fromImage(image.copy())
