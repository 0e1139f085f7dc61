"""Lines of equal value over a rectangular grid with any spacing."""

from __future__ import annotations

import numpy as np
from pyqtgraph.functions import isocurve

from burstwise.core.coil.arrays import Floats


def contours(values: Floats, level: float, *, xs: Floats, ys: Floats) -> tuple[Floats, ...]:
    """Lines at which a positive quantity takes a level, each of shape (points, 2).

    Parameters
    ----------
    values : array of shape (n, m)
        Quantity above 0; between the points its logarithm is a straight line.
    level : float
        Level, above 0.
    xs, ys : array of shape (n,), (m,)
        Places of the grid's lines, ascending.

    Examples
    --------
    >>> x = np.linspace(0.0, 2.0, 21)
    >>> line, = contours(np.exp(x[:, None] + 0.0 * x[None, :]), np.e, xs=x, ys=x)
    >>> bool(np.allclose(line[:, 0], 1.0)), len(line) > 10
    (True, True)
    """
    lines = isocurve(np.log(values / level), 0.0, connected=True)
    # The function counts from the corner of a cell around each point: half a step off.
    found = []
    for line in lines:
        places = np.array(line, dtype=np.float64) - 0.5
        x = np.interp(places[:, 0], np.arange(len(xs)), xs)
        y = np.interp(places[:, 1], np.arange(len(ys)), ys)
        found.append(np.column_stack([x, y]))
    return tuple(found)
