"""Types of the arrays that formulas and plots take and give."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
"""Real numbers."""

OneOrMany = TypeVar("OneOrMany", bound=float | Array, covariant=True)
"""What a figure of one operating point is, and what the same of many is."""

Integers = NDArray[np.int64]
"""Whole numbers."""
