"""Type of the arrays that the coil's formulas take and give."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.floating[Any]]
"""Array of real numbers, double precision throughout."""

Complexes: TypeAlias = NDArray[np.complexfloating[Any, Any]]
"""Array of complex numbers, double precision throughout."""
