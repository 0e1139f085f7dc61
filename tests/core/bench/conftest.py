from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from burstwise.core.bench.readings import Reading, ReadingsTable


@pytest.fixture
def stage_table() -> Callable[..., ReadingsTable]:
    """Readings of an invented stage whose current and spike are functions of the supply."""

    def table(
        supplies: NDArray[np.float64],
        current: Callable[[NDArray[np.float64]], NDArray[np.float64]],
        spike: Callable[[NDArray[np.float64]], NDArray[np.float64]],
        *,
        shunt: float = 0.1,
    ) -> ReadingsTable:
        return ReadingsTable(
            tuple(
                Reading(supply=float(v), shunt_rms=float(i * shunt), drain_peak=float(d), line=n)
                for n, (v, i, d) in enumerate(
                    zip(supplies, current(supplies), spike(supplies), strict=True), start=2
                )
            )
        )

    return table
