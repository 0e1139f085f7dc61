"""Zero and extreme value of the cubic through both ends of a step."""

from __future__ import annotations

import numpy as np

from burstwise.core.stage.kernel.layout import inlined


@inlined
def cubic_root(y0: float, m0: float, y1: float, m1: float) -> float:
    """Zero in 0..1 of the cubic with values `y0`, `y1` of opposite sign and slopes `m0`, `m1`.

    Newton's rule from the straight line, or from the end where the zero is close to it; a step
    that leaves the bracket is replaced by its middle.
    """
    if y0 == y1 or (y0 > 0.0) == (y1 > 0.0):
        return 0.0
    u = y0 / (y0 - y1)
    back = y1 / m1 if m1 != 0.0 else 1.0
    if 0.0 < back < 0.1:
        u = 1.0 - back
    left, right = 0.0, 1.0
    c2 = 3.0 * (y1 - y0) - 2.0 * m0 - m1
    c3 = 2.0 * (y0 - y1) + m0 + m1
    for _ in range(12):
        value = y0 + u * (m0 + u * (c2 + u * c3))
        slope = m0 + u * (2.0 * c2 + 3.0 * u * c3)
        if (value > 0.0) == (y0 > 0.0):
            left = u
        else:
            right = u
        following = u - value / slope
        if not left <= following <= right:
            following = 0.5 * (left + right)
        moved = abs(following - u)
        u = following
        if moved < 1e-4:
            break
    return u


@inlined
def cubic_extreme(y0: float, m0: float, y1: float, m1: float) -> tuple[float, float]:
    """Place in 0..1 and value of the extreme of the cubic with slopes of opposite sign."""
    c2 = 3.0 * (y1 - y0) - 2.0 * m0 - m1
    c3 = 2.0 * (y0 - y1) + m0 + m1
    # The slope m0 + 2 c2 u + 3 c3 u^2 changes its sign just once between 0 and 1.
    root = np.sqrt(max(c2 * c2 - 3.0 * c3 * m0, 0.0))
    lower = -c2 - root if c2 > 0.0 else -c2 + root
    u = -1.0
    if lower != 0.0:
        u = m0 / lower
    if not 0.0 <= u <= 1.0 and c3 != 0.0:
        u = lower / (3.0 * c3)
    if not 0.0 <= u <= 1.0:
        u = m0 / (m0 - m1)
    return u, y0 + u * (m0 + u * (c2 + u * c3))
