"""Text of a plot's read-out: the values of its curves at one place, as long as there is room."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np

from app.plots.axis import Axis

_BETWEEN: Final = " · "


def readout_text(
    place: str,
    names: Sequence[str],
    values: Sequence[float],
    *,
    axis: Axis,
    fits: Callable[[str], bool],
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

    Examples
    --------
    >>> readout_text("at 2 s", ["in", "out"], [3.0, 1.0], axis=Axis("P", "W"), fits=lambda _: True)
    'at 2 s · in 3 W · out 1 W'
    """
    parts = [
        f"{name} {axis.text(value)}".strip()
        for name, value in zip(names, values, strict=False)
        if np.isfinite(value)
    ]
    text = _BETWEEN.join([place, *parts])
    return _BETWEEN.join(parts) if parts and not fits(text) else text
