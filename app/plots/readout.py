"""Text of a plot's read-out: the values of its curves at one place, as long as there is room."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np

from burstwise.app.plots.axis import Axis

_BETWEEN: Final = " · "


def difference_text(value: float, pinned: float, axis: Axis) -> str:
    """Difference from a pinned value in brackets; empty where there is none to tell.

    Examples
    --------
    >>> difference_text(5.0, 3.0, Axis("P", "W")), difference_text(5.0, 5.0, Axis("P", "W"))
    (' (+2)', ' (=)')
    """
    if not (np.isfinite(value) and np.isfinite(pinned)):
        return ""
    change = value - pinned
    if abs(change) <= 1e-3 * max(abs(value), abs(pinned)):
        return " (=)"
    number, _, unit = axis.text(abs(change)).rpartition(" ")
    same = axis.text(value).endswith(f" {unit}")
    return f" ({'+' if change > 0 else '−'}{number if same else f'{number} {unit}'})"


def range_text(value: float, low: float, high: float, *, axis: Axis) -> str:
    """Range in brackets that stands behind a value; empty where it has no ends.

    Examples
    --------
    >>> range_text(5.0, 4.0, 6.5, axis=Axis("P", "W"))
    ' [4 … 6.5]'
    """
    if not (np.isfinite(low) and np.isfinite(high)):
        return ""
    unit = axis.text(value).rpartition(" ")[2]
    ends = [axis.text(end).rpartition(" ") for end in (low, high)]
    words = [number if own == unit else f"{number} {own}" for number, _, own in ends]
    return f" [{' … '.join(words)}]"


def readout_text(
    place: str,
    names: Sequence[str],
    values: Sequence[float],
    *,
    axis: Axis,
    fits: Callable[[str], bool],
    pinned: Sequence[float] = (),
    within: Sequence[tuple[float, float]] = (),
) -> str:
    """Place and values; the place, which the plot marks anyway, gives way where it is tight.

    Parameters
    ----------
    place : str
        Words for the place, e.g. ``"now 40 %"``.
    names, values : sequences
        Of the curves; values that are not finite are left out.
    axis : Axis
        What the values are.
    fits : callable
        Whether a text has room.
    pinned : sequence
        Values of a pinned design; the difference from it stands behind each value.
    within : sequence of (float, float)
        Ends that most builds keep within; they stand behind each value.

    Examples
    --------
    >>> readout_text("at 2 s", ["in", "out"], [3.0, 1.0], axis=Axis("P", "W"), fits=lambda _: True)
    'at 2 s · in 3 W · out 1 W'
    >>> readout_text("now", [""], [3.0], axis=Axis("P", "W"), fits=len, pinned=[4.5])
    'now · 3 W (−1.5)'
    >>> readout_text("now", [""], [3.0], axis=Axis("P", "W"), fits=len, within=[(2.5, 3.75)])
    'now · 3 W [2.5 … 3.75]'
    """
    nan = float("nan")
    before = [*pinned, *[nan] * len(values)]
    ends = [*within, *[(nan, nan)] * len(values)]
    told = [
        (
            f"{name} {axis.text(value)}".strip(),
            difference_text(value, old, axis),
            range_text(value, *between, axis=axis),
        )
        for name, value, old, between in zip(names, values, before, ends, strict=False)
        if np.isfinite(value)
    ]
    if not told:
        return place
    plain = [words for words, _, _ in told]
    changed = [words + change for words, change, _ in told]
    full = [words + change + between for words, change, between in told]
    # Where it is tight the place goes first, then the ranges, then the differences.
    ways = ([place, *full], full, [place, *changed], changed, [place, *plain], plain)
    texts = [_BETWEEN.join(parts) for parts in ways]
    return next((text for text in texts if fits(text)), texts[-1])
