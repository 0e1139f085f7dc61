"""Which parameters the measured figures can tell apart, from the Jacobian."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.errors import InputError

KNOWN: Final = 0.35
"""A parameter counts as told by the readings when they leave less than this part of what was
not known of it before."""


@dataclass(frozen=True, slots=True, eq=False)
class Identification:
    """Outcome of the test.

    Attributes
    ----------
    kept : tuple of int
        Columns that can be fitted.
    dropped : tuple of int
        Columns that cannot, the worst first.
    left : ndarray (columns,)
        Standard deviation that the figures leave of each parameter, over the prior one, at the
        time of the decision [-].
    singular_values : ndarray
        Of the Jacobian in units of prior spread and measurement uncertainty, largest first.
    """

    kept: tuple[int, ...]
    dropped: tuple[int, ...]
    left: Array
    singular_values: Array


def identified(jacobian: Array, spreads: Sequence[float]) -> Identification:
    """Columns of a Jacobian that the data determine.

    The Jacobian is scaled by what was known before, J S. As long as the worst column's standard
    deviation, the root of the diagonal of the inverse of S J^T J S, is above `KNOWN`, that column
    is left out and keeps its prior value.

    Parameters
    ----------
    jacobian : ndarray (figures, parameters)
        Change of each figure in its standard uncertainties per unit of the parameter.
    spreads : sequence of float
        Prior standard deviation of each parameter, in the same units.

    Examples
    --------
    >>> two_alike = np.array([[10.0, 10.0], [10.0, 10.001]])
    >>> identified(two_alike, (1.0, 1.0)).kept
    (0,)
    """
    scaled = jacobian * np.asarray(spreads)
    kept = list(range(scaled.shape[1]))
    dropped: list[int] = []
    left = np.full(scaled.shape[1], np.inf)
    while kept:
        spread = _deviations(scaled[:, kept])
        left[kept] = spread
        worst = _last_largest(spread)
        if spread[worst] <= KNOWN:
            break
        dropped.append(kept.pop(worst))
    values = np.linalg.svd(scaled, compute_uv=False)
    return Identification(tuple(kept), tuple(dropped), left, values)


def _last_largest(spread: Array) -> int:
    """Last of the largest entries, so that of two that are alike the more trusted one stays."""
    largest = float(spread.max())
    if np.isinf(largest):
        return int(np.flatnonzero(np.isinf(spread))[-1])
    return int(np.flatnonzero(spread >= largest * (1.0 - 1e-3))[-1])


def _deviations(columns: Array) -> Array:
    """Standard deviations of least squares, infinite for what nothing depends on."""
    _, values, right = np.linalg.svd(columns, full_matrices=False)
    weak = values <= 1e-9 * max(float(values.max(initial=0.0)), 1e-30)
    inverse = np.where(weak, 0.0, 1.0 / np.where(weak, 1.0, values))
    spread = np.sqrt(np.sum((inverse[:, None] * right) ** 2, axis=0))
    lost = np.sum(right[weak] ** 2, axis=0) > 1e-9
    if columns.shape[0] < columns.shape[1]:
        lost |= np.sum(right**2, axis=0) < 1.0 - 1e-9
    return np.where(lost, np.inf, spread)


def correlation_matrix(jacobian: Array) -> Array:
    """Correlation of least-squares estimates (parameters, parameters) [-].

    Raises
    ------
    InputError
        A parameter on which nothing depends.

    Examples
    --------
    >>> correlation_matrix(np.array([[1.0, 0.0], [0.0, 2.0]])).tolist()
    [[1.0, 0.0], [0.0, 1.0]]
    """
    covariance = np.linalg.pinv(jacobian.T @ jacobian)
    size = np.sqrt(np.diag(covariance))
    if np.any(size == 0.0):
        raise InputError("jacobian", "a column of zeros", "one in which each parameter counts")
    return np.asarray(covariance / np.outer(size, size), dtype=np.float64)
