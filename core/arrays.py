"""Types of the arrays that formulas and plots take and give."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
"""Real numbers."""

Integers = NDArray[np.int64]
"""Whole numbers."""
