"""Edge of the limit map against evaluations on both sides of it."""

from __future__ import annotations

import numpy as np
import pytest

from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.studies.frontier import edge, frontier


def test_edge_by_hand() -> None:
    values = np.array([1.0, 2.0, 3.0])
    margins = np.array([[0.2, -0.2, 0.5], [-0.1, 0.1, 0.1], [0.1, 0.1, 0.0]])
    assert edge(values, margins) == pytest.approx([1.5, 1.0, 3.0])


def test_what_lies_below_holds_and_what_lies_above_does_not(spiking) -> None:
    # A snubber tames the spike of each start, which bends too sharply over the lowest supplies.
    calm = with_values(spiking.design, {"protection.snubber": {}})
    found = frontier(calm)
    place = len(found.duty) // 2
    duty, supply = float(found.duty[place]), float(found.supply[place])
    for part, holds in ((0.85, True), (1.15, False)):
        design = with_values(
            calm,
            {
                "supply.voltage": part * supply,
                "interrupter.duty": duty,
                "interrupter.enabled": True,
            },
        )
        assert (evaluate(design, verify=False).limits_as_designed[0].margin >= -0.005) is holds
