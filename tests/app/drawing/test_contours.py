"""Contours against circles, which are known, on a grid with steps that grow."""

from __future__ import annotations

import numpy as np

from burstwise.app.drawing.contours import contours


def test_contour_of_a_field_that_falls_with_the_cube_is_a_circle() -> None:
    x = 0.3 * np.sinh(np.linspace(0.0, 2.6, 44))
    y = 0.2 * np.sinh(np.linspace(0.0, 3.0, 44))
    distance = np.hypot(x[:, None], y[None, :]) + 1e-9
    for radius in (0.2, 0.7, 1.5):
        lines = contours(distance**-3.0, radius**-3.0, xs=x, ys=y)
        assert len(lines) == 1
        found = np.hypot(*lines[0].T)
        assert np.max(np.abs(found / radius - 1.0)) < 0.01
        ends = sorted([lines[0][0].tolist(), lines[0][-1].tolist()])
        assert ends[0][0] < 0.02
        assert ends[1][1] < 0.02


def test_level_that_is_not_reached_has_no_line() -> None:
    x = np.linspace(0.0, 1.0, 8)
    assert contours(np.full((8, 8), 2.0), 3.0, xs=x, ys=x) == ()
