from __future__ import annotations

import numpy as np
from PySide6.QtCore import QRectF, QSizeF

from burstwise.app.plots.direct_labels import label_places

AREA = QRectF(0.0, 0.0, 300.0, 200.0)
SIZE = QSizeF(60.0, 14.0)
X = np.linspace(0.0, 300.0, 500)


def crosses(spot: QRectF, y: np.ndarray) -> bool:
    inside = (spot.left() <= X) & (spot.right() >= X)
    return bool(np.any((y[inside] >= spot.top()) & (y[inside] <= spot.bottom())))


def test_labels_lie_inside_off_every_curve_and_off_each_other() -> None:
    curves = [200 - X * 0.6, 200 - X * 0.55, np.full_like(X, 30.0)]
    places = label_places([(X, y) for y in curves], [SIZE] * 3, AREA, [])
    for number, spot in enumerate(places):
        assert spot is not None
        assert AREA.contains(spot)
        assert not any(crosses(spot, y) for y in curves)
        assert not any(spot.intersects(other) for other in places[:number] if other is not None)


def test_a_label_keeps_clear_of_what_is_taken() -> None:
    right_half = QRectF(150.0, 0.0, 150.0, 200.0)
    (spot,) = label_places([(X, np.full_like(X, 100.0))], [SIZE], AREA, [right_half])
    assert spot is not None
    assert not spot.intersects(right_half)


def test_a_curve_that_is_not_there_has_no_label() -> None:
    assert label_places([None], [SIZE], AREA, []) == [None]


def test_the_label_of_a_curve_that_ends_early_stands_at_its_end() -> None:
    x = np.linspace(0.0, 50.0, 50)
    short = (x, 150.0 - 2.0 * x)
    for taken in ([], [QRectF(50.0, 40.0, 80.0, 8.0)]):
        (spot,) = label_places([short], [SIZE], AREA, taken)
        assert spot is not None
        assert 50.0 < spot.left() < 60.0
        assert abs(spot.center().y() - 50.0) <= SIZE.height()
        assert not any(spot.intersects(other) for other in taken)


def test_of_two_close_curves_the_upper_has_its_label_above() -> None:
    upper, lower = 150.0 - 0.3 * X, 153.0 - 0.3 * X
    above, below = label_places([(X, upper), (X, lower)], [SIZE] * 2, AREA, [])
    assert above is not None
    assert below is not None
    assert above.bottom() <= np.interp(above.center().x(), X, upper)
    assert below.top() >= np.interp(below.center().x(), X, lower)
    below, above = label_places([(X, lower), (X, upper)], [SIZE] * 2, AREA, [])
    assert above.bottom() <= np.interp(above.center().x(), X, upper)
    assert below.top() >= np.interp(below.center().x(), X, lower)
