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


def readout_text(
    place: str,
    names: Sequence[str],
    values: Sequence[float],
    *,
    axis: Axis,
    fits: Callable[[str], bool],
    pinned: Sequence[float] = (),
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

    Examples
    --------
    >>> readout_text("at 2 s", ["in", "out"], [3.0, 1.0], axis=Axis("P", "W"), fits=lambda _: True)
    'at 2 s · in 3 W · out 1 W'
    >>> readout_text("now", [""], [3.0], axis=Axis("P", "W"), fits=len, pinned=[4.5])
    'now · 3 W (−1.5)'
    """
    before = [*pinned, *[float("nan")] * len(values)]
    told = [
        (f"{name} {axis.text(value)}".strip(), difference_text(value, old, axis))
        for name, value, old in zip(names, values, before, strict=False)
        if np.isfinite(value)
    ]
    plain, full = [words for words, _ in told], [words + change for words, change in told]
    if not told:
        return place
    # Where it is tight the place goes first, then the differences.
    ways = ([place, *full], full, [place, *plain], plain)
    texts = [_BETWEEN.join(parts) for parts in ways]
    return next((text for text in texts if fits(text)), texts[-1])
