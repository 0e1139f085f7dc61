"""On-resistances of a carrier table: its lines must rise, whatever the device does hot."""

from __future__ import annotations

import numpy as np
import pytest

from burstwise.core.design.document import Design, with_values
from burstwise.core.evaluate.evaluation import hot_resistances, table_resistances


@pytest.mark.parametrize("kind", ["gated", "direct"])
@pytest.mark.parametrize("ratio", [1.0, 1.05, 2.3])
def test_lines_rise_and_a_hotter_device_adds_some(
    small_design: Design, kind: str, ratio: float
) -> None:
    design = with_values(small_design, {"drive.kind": kind, "device.hot_resistance_ratio": ratio})
    usual, hot = table_resistances(design), hot_resistances(design)
    assert np.all(np.diff(hot) > 0)
    assert hot[: len(usual)] == usual
    assert usual[0] < design.device.on_resistance < usual[-1]
    # What does not rise with temperature has no hotter lines; else they go on from the last.
    assert len(hot) - len(usual) == (0 if ratio == 1.0 else 3)
