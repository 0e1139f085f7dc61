"""Line pictures as SVG text: a few curves over one axis, for paper."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final
from xml.sax.saxutils import escape

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.units import shown

WIDTH: Final = 480.0
HEIGHT: Final = 170.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 62.0, 12.0, 22.0, 36.0
_STROKES: Final = (("#0a6a66", ""), ("#a85a00", "6 3"), ("#7d3a8c", "2 2"), ("#44576b", "8 3 2 3"))
_TICKS: Final = 5
_MOST_POINTS: Final = 600


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """One curve with its name in the legend."""

    name: str
    x: Array
    y: Array


@dataclass(frozen=True, slots=True)
class Scale:
    """Axis: caption and SI unit."""

    name: str
    unit: str


def ticks(low: float, high: float, count: int = _TICKS) -> list[float]:
    """Round values from low to high, about `count` of them.

    Examples
    --------
    >>> ticks(0.0, 9.3)
    [0.0, 2.0, 4.0, 6.0, 8.0]
    """
    raw = (high - low) / count
    size = 10.0 ** math.floor(math.log10(raw))
    step = next(size * part for part in (1, 2, 5, 10) if size * part >= raw * 0.999)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [0.0 if n == 0 else round(n * step, 12) for n in range(first, last + 1)]


def line_picture(
    title: str, x: Scale, y: Scale, curves: Sequence[Curve], *, limit: float | None = None
) -> str:
    """SVG text of curves with axes, grid and legend.

    Parameters
    ----------
    title : str
        Words above.
    x, y : Scale
        Axes.
    curves : sequence of Curve
        Data in SI units; values that are not finite leave a gap.
    limit : float, optional
        Value of y to draw as a line.
    """
    xs = np.concatenate([curve.x[np.isfinite(curve.y)] for curve in curves])
    ys = np.concatenate([curve.y[np.isfinite(curve.y)] for curve in curves])
    if limit is not None:
        ys = np.append(ys, limit)
    frame = _Frame(_span(xs), _padded(_span(ys)))
    pieces = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH:g}pt" height="{HEIGHT:g}pt" '
        f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}" font-family="sans-serif" font-size="9">',
        f'<text x="{_LEFT}" y="13" font-size="10" font-weight="bold">{escape(title)}</text>',
        *_grid(frame, x, y),
    ]
    if limit is not None:
        at = frame.top(limit)
        pieces.append(
            f'<line x1="{_LEFT}" y1="{at:.1f}" x2="{WIDTH - _RIGHT}" y2="{at:.1f}" '
            'stroke="#b3261e" stroke-width="1.2"/>'
            f'<text x="{WIDTH - _RIGHT - 3}" y="{at - 3:.1f}" fill="#b3261e" text-anchor="end">'
            f"limit {escape(shown(limit, y.unit, digits=3))}</text>"
        )
    for number, curve in enumerate(curves):
        colour, dash = _STROKES[number % len(_STROKES)]
        for points in _stretches(frame, curve):
            pieces.append(
                f'<polyline fill="none" stroke="{colour}" stroke-width="1.4" '
                f'stroke-dasharray="{dash or "none"}" points="{points}"/>'
            )
    pieces += _legend(curves)
    return "".join(pieces) + "</svg>"


@dataclass(frozen=True, slots=True)
class _Frame:
    x: tuple[float, float]
    y: tuple[float, float]

    def left(self, value: float) -> float:
        share = (value - self.x[0]) / (self.x[1] - self.x[0])
        return _LEFT + share * (WIDTH - _LEFT - _RIGHT)

    def top(self, value: float) -> float:
        share = (value - self.y[0]) / (self.y[1] - self.y[0])
        return HEIGHT - _BOTTOM - share * (HEIGHT - _TOP - _BOTTOM)


def _span(values: Array) -> tuple[float, float]:
    if not len(values):
        return 0.0, 1.0
    low, high = float(values.min()), float(values.max())
    return (low, high) if high > low else (low - 0.5, high + 0.5)


def _padded(span: tuple[float, float]) -> tuple[float, float]:
    room = 0.06 * (span[1] - span[0])
    low = 0.0 if 0.0 <= span[0] <= 0.3 * span[1] else span[0] - room
    return low, span[1] + room


def _prefix(span: tuple[float, float], unit: str) -> tuple[float, str]:
    """Factor to tick numbers and the unit with its prefix."""
    if unit in ("", "°C", "K"):
        return 1.0, unit
    if unit == "%":
        return 100.0, "%"
    largest = max(abs(span[0]), abs(span[1])) or 1.0
    power = min(max(math.floor(math.log10(largest) / 3 + 1e-9), -4), 3)
    return 10.0 ** (-3 * power), {
        -4: "p",
        -3: "n",
        -2: "µ",
        -1: "m",
        0: "",
        1: "k",
        2: "M",
        3: "G",
    }[power] + unit


def _grid(frame: _Frame, x: Scale, y: Scale) -> list[str]:
    pieces = []
    bottom, right = HEIGHT - _BOTTOM, WIDTH - _RIGHT
    x_factor, x_unit = _prefix(frame.x, x.unit)
    y_factor, y_unit = _prefix(frame.y, y.unit)
    for value in ticks(frame.y[0], frame.y[1], 4):
        at = frame.top(value)
        pieces.append(
            f'<line x1="{_LEFT}" y1="{at:.1f}" x2="{right}" y2="{at:.1f}" stroke="#d5dad5" '
            f'stroke-width="0.6"/><text x="{_LEFT - 4}" y="{at + 3:.1f}" text-anchor="end">'
            f"{value * y_factor:.4g}</text>"
        )
    for value in ticks(frame.x[0], frame.x[1], 7):
        at = frame.left(value)
        pieces.append(
            f'<line x1="{at:.1f}" y1="{_TOP}" x2="{at:.1f}" y2="{bottom}" stroke="#d5dad5" '
            f'stroke-width="0.6"/><text x="{at:.1f}" y="{bottom + 11}" text-anchor="middle">'
            f"{value * x_factor:.4g}</text>"
        )
    middle = (_TOP + bottom) / 2
    pieces.append(
        f'<rect x="{_LEFT}" y="{_TOP}" width="{right - _LEFT}" height="{bottom - _TOP}" '
        'fill="none" stroke="#56635e" stroke-width="0.8"/>'
        f'<text x="{(_LEFT + right) / 2}" y="{HEIGHT - 8}" text-anchor="middle">'
        f"{escape(_caption(x.name, x_unit))}</text>"
        f'<text x="13" y="{middle}" text-anchor="middle" transform="rotate(-90 13 {middle})">'
        f"{escape(_caption(y.name, y_unit))}</text>"
    )
    return pieces


def _caption(name: str, unit: str) -> str:
    return f"{name} [{unit}]" if unit else name


def _stretches(frame: _Frame, curve: Curve) -> list[str]:
    """Points of each stretch without a gap, thinned to what paper can show."""
    known = np.isfinite(curve.y)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], known.astype(np.int8), [0]])))
    found = []
    for start, stop in edges.reshape(-1, 2):
        every = max(1, (stop - start) // _MOST_POINTS)
        picked = np.arange(start, stop, every)
        found.append(
            " ".join(
                f"{frame.left(float(a)):.1f},{frame.top(float(b)):.1f}"
                for a, b in zip(curve.x[picked], curve.y[picked], strict=True)
            )
        )
    return found


def _legend(curves: Sequence[Curve]) -> list[str]:
    if len(curves) == 1:
        return []
    pieces, right = [], WIDTH - _RIGHT
    for number, curve in reversed(list(enumerate(curves))):
        colour, dash = _STROKES[number % len(_STROKES)]
        wide = 5.2 * len(curve.name)
        pieces.append(
            f'<text x="{right:.1f}" y="13" text-anchor="end">{escape(curve.name)}</text>'
            f'<line x1="{right - wide - 22:.1f}" y1="10" x2="{right - wide - 4:.1f}" y2="10" '
            f'stroke="{colour}" stroke-width="1.6" stroke-dasharray="{dash or "none"}"/>'
        )
        right -= wide + 34
    return pieces
