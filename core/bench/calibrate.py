"""Calibration: parameters of the stage by bounded least squares to readings and a capture."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.optimize import least_squares

from burstwise.core.arrays import Array
from burstwise.core.bench.bench_model import BenchModel
from burstwise.core.bench.calibrate_findings import breakout_findings, calibration_findings
from burstwise.core.bench.calibration_result import Calibrated, Comparison, FittedParameter
from burstwise.core.bench.capture_figures import CaptureFigures
from burstwise.core.bench.derived import BenchSetup
from burstwise.core.bench.fit_parameters import Parameter, log_bounds, prior_values
from burstwise.core.bench.identify import Identification, correlation_matrix, identified
from burstwise.core.bench.readings import Reading
from burstwise.core.coil.resolve import coil_of
from burstwise.core.design.document import Design, with_values
from burstwise.core.findings import heaviest_first
from burstwise.core.units import percent

STEP: Final = 0.02
"""Step of the finite differences in ln(value): well above the engine's own 1e-4 of settling."""
STEPS: Final = {Parameter.SECONDARY_CAPACITANCE: 0.005}
"""The same where the carrier frequency, which is known to 0.05 %, asks for a smaller one."""
_ROUNDS: Final = 10
_ATTEMPTS: Final = 3
_GOOD: Final = 2.0
"""Root mean square residual below which a fit counts as found [-]."""
_ASIDE: Final = (-0.15, 0.15)
_TRIALS: Final = {
    Parameter.BREAKOUT_VOLTAGE: (-0.5, -0.25, 0.3),
    Parameter.COUPLING: (-0.3, 0.25),
    Parameter.QUALITY_FACTOR: (-0.7,),
}
"""Other starts tried one after the other: the onset of breakout has no slope to follow."""


def calibrate(
    design: Design,
    rows: Sequence[Reading],
    setup: BenchSetup,
    *,
    capture: CaptureFigures | None = None,
    parameters: Sequence[Parameter] = tuple(Parameter),
    progress: Callable[[float], None] = lambda share: None,
) -> Calibrated:
    """Fit of stage parameters to bench readings.

    Residuals are relative and weighed by instrument and model uncertainty; parameters are fitted
    as logarithms within bounds. Those that the readings do not determine
    (`burstwise.core.bench.identify`) keep their prior value.

    Parameters
    ----------
    design : Design
        A calibration in it is left out of account: the fit starts from the design's own values.
    rows : sequence of Reading
        Readings.
    setup : BenchSetup
        Shunt and instruments.
    capture : CaptureFigures, optional
        Figures of a capture.
    parameters : sequence of Parameter
        Those to fit.
    progress : callable
        Told the share done before each engine run, roughly; may raise to stop the fit.

    Raises
    ------
    InputError
        Nothing measured that the model predicts.
    """
    bare = with_values(design, {"calibration": None})
    coil = coil_of(bare)
    fit = _Fit(bare, tuple(dict.fromkeys(parameters)), prior_values(bare, coil), progress)
    fit.model = BenchModel(bare, coil, rows, setup, capture, prior=fit.prior, check=fit.tell)
    return fit.result()


@dataclass(frozen=True, slots=True, eq=False)
class _Solution:
    """Where a fit ended: x, residuals, columns fitted, the test that chose them, Jacobian."""

    x: Array
    residuals: Array
    kept: list[int]
    test: Identification
    slopes: Array

    @property
    def cost(self) -> float:
        """Sum of the squared residuals [-]."""
        return float(self.residuals @ self.residuals)


class _Fit:
    """One calibration under way; x holds ln(value / prior) of all parameters asked for."""

    model: BenchModel

    def __init__(
        self,
        design: Design,
        wanted: tuple[Parameter, ...],
        prior: Mapping[Parameter, float],
        progress: Callable[[float], None],
    ) -> None:
        self.wanted, self.prior, self._progress = wanted, prior, progress
        self.bounds = np.array([log_bounds(name, prior[name], design) for name in wanted])
        self._asked = 0

    def tell(self) -> None:
        """Share done, on the way to a number of runs that fits usually take."""
        self._asked += 1
        self._progress(1.0 - math.exp(-self._asked / 150.0))

    def values(self, x: Array) -> dict[Parameter, float]:
        moved = dict(self.prior)
        for name, log in zip(self.wanted, x, strict=True):
            moved[name] *= math.exp(log)
        return moved

    def residuals(self, x: Array) -> Array:
        return self.residuals_of(self.model.predicted(self.values(x)))

    def residuals_of(self, predicted: Array) -> Array:
        """Predicted less measured over the standard uncertainty [-]."""
        sizes = np.array([item.uncertainty for item in self.model.observations])
        return np.asarray((predicted / self.model.measured - 1.0) / sizes, dtype=np.float64)

    def jacobian(self, x: Array, at: Array, columns: Sequence[int]) -> Array:
        """Forward differences, backwards where the bound is near; one run of all rows each."""
        slopes = np.empty((len(at), len(columns)))
        for place, column in enumerate(columns):
            size = STEPS.get(self.wanted[column], STEP)
            step = size if x[column] + size <= self.bounds[column, 1] else -size
            moved = x.copy()
            moved[column] += step
            slopes[:, place] = (self.residuals(moved) - at) / step
        return slopes

    def start(self, before: Array) -> tuple[Array, Array]:
        """Best of a few starts, and its residuals."""
        x, at = np.zeros(len(self.wanted)), self.residuals_of(before)
        x, at = self._better(x, at, self._hinted(before))
        for name, trials in _TRIALS.items():
            if name not in self.wanted or float(at @ at) < _GOOD**2 * len(at):
                continue
            column = self.wanted.index(name)
            for log in trials:
                moved = x.copy()
                moved[column] = log
                x, at = self._better(x, at, moved, by=0.7)
        return x, at

    def _hinted(self, before: Array) -> Array:
        """Start that sets frequency and ring-down of the capture right: C2 as f^-2, Q as tau."""
        x = np.zeros(len(self.wanted))
        hints = {
            "carrier frequency": (Parameter.SECONDARY_CAPACITANCE, -2.0),
            "ring-down frequency": (Parameter.SECONDARY_CAPACITANCE, -2.0),
            "ring-down time": (Parameter.QUALITY_FACTOR, 1.0),
        }
        for item, told in zip(self.model.observations, before, strict=True):
            name, power = hints.get(item.name, (None, 0.0))
            if name in self.wanted and told > 0.0:
                x[self.wanted.index(name)] = power * math.log(item.measured / told)
        return x

    def _better(self, x: Array, at: Array, other: Array, *, by: float = 1.0) -> tuple[Array, Array]:
        moved = np.clip(other, self.bounds[:, 0], self.bounds[:, 1])
        if np.array_equal(moved, x):
            return x, at
        there = self.residuals(moved)
        return (moved, there) if float(there @ there) < by * float(at @ at) else (x, at)

    def solve(self, x: Array, at: Array) -> _Solution:
        """Fit of what the readings determine, again where the fit itself changes what that is."""
        spreads = [name.spread for name in self.wanted]
        best: _Solution | None = None
        for _ in range(_ATTEMPTS):
            slopes = self.jacobian(x, at, range(len(self.wanted)))
            test = identified(slopes, spreads)
            kept = sorted(test.kept)
            if best is not None and kept == best.kept:
                break
            # What nothing tells goes back to its prior value, whatever start was best.
            x[list(test.dropped)] = 0.0
            found = self._solved(x, kept, test)
            if best is not None and found.cost > best.cost:
                break
            best, x, at = found, found.x.copy(), found.residuals
        assert best is not None
        return best

    def result(self) -> Calibrated:
        before = self.model.predicted(self.values(np.zeros(len(self.wanted))))
        solution = self.solve(*self.start(before))
        if solution.cost > _GOOD**2 * len(before) and Parameter.COUPLING in self.wanted:
            solution = self._second_chance(solution)
        x, kept, test, slopes = self._alive(solution)
        after = self.model.predicted(self.values(x))
        covariance = np.linalg.pinv(slopes.T @ slopes)
        spread = np.sqrt(np.diag(covariance))
        items = []
        for column, name in enumerate(self.wanted):
            fitted = column in kept
            items.append(
                FittedParameter(
                    parameter=name,
                    prior=self.prior[name],
                    value=self.prior[name] * math.exp(x[column]),
                    uncertainty=float(spread[kept.index(column)]) if fitted else None,
                    reason="" if fitted else _reason(float(test.left[column]), name),
                    at_bound=fitted and bool(min(abs(x[column] - self.bounds[column])) < 1e-3),
                )
            )
        pairs = zip(self.model.observations, before, after, strict=True)
        comparisons = tuple(Comparison(item, float(a), float(b)) for item, a, b in pairs)
        misfit = _rms(self.residuals_of(after))
        correlation = correlation_matrix(slopes) if kept else np.zeros((0, 0))
        return Calibrated(
            parameters=tuple(items),
            comparisons=comparisons,
            correlation=correlation,
            singular_values=test.singular_values,
            misfit_before=_rms(self.residuals_of(before)),
            misfit_after=misfit,
            findings=heaviest_first(
                [
                    *calibration_findings(items, comparisons, correlation, misfit),
                    *breakout_findings(self.model.breakouts(self.values(x))),
                ]
            ),
            runs=self.model.runs,
        )

    def _alive(self, solution: _Solution) -> tuple[Array, list[int], Identification, Array]:
        """Solution without columns that nothing depends on where the fit ended."""
        x, slopes = solution.x.copy(), solution.slopes
        alive = np.linalg.norm(slopes, axis=0) * [self.wanted[n].spread for n in solution.kept] > 1
        kept = [column for column, lives in zip(solution.kept, alive, strict=True) if lives]
        lost = [column for column in solution.kept if column not in kept]
        x[lost] = 0.0
        left = solution.test.left.copy()
        left[lost] = np.inf
        return x, kept, replace(solution.test, left=left), slopes[:, alive]

    def _second_chance(self, solution: _Solution) -> _Solution:
        """Better of the solution and those from starts with another coupling."""
        best = solution
        for aside in _ASIDE:
            x = solution.x.copy()
            x[self.wanted.index(Parameter.COUPLING)] += aside
            x = np.clip(x, self.bounds[:, 0], self.bounds[:, 1])
            other = self.solve(x, self.residuals(x))
            best = min(best, other, key=lambda item: item.cost)
            if best.cost <= _GOOD**2 * len(best.residuals):
                break
        return best

    def _solved(self, x: Array, kept: list[int], test: Identification) -> _Solution:
        """Solution over the kept columns, and the Jacobian there."""
        if not kept:
            at = self.residuals(x)
            return _Solution(x, at, kept, test, np.zeros((len(at), 0)))
        last: dict[bytes, Array] = {}

        def whole(part: Array) -> Array:
            full = x.copy()
            full[kept] = part
            return full

        def residuals(part: Array) -> Array:
            key = part.tobytes()
            if key not in last:
                last.clear()
                last[key] = self.residuals(whole(part))
            return last[key]

        def jacobian(part: Array) -> Array:
            return self.jacobian(whole(part), residuals(part), kept)

        low, high = self.bounds[kept].T
        found = least_squares(
            residuals,
            np.clip(x[kept], low + 1e-6, high - 1e-6),
            jac=jacobian,
            bounds=(low, high),
            x_scale=[self.wanted[column].spread for column in kept],
            xtol=1e-3,
            ftol=1e-3,
            max_nfev=_ROUNDS,
        )
        slopes = np.asarray(found.jac, dtype=np.float64)
        return _Solution(whole(found.x), np.asarray(found.fun), kept, test, slopes)


def _rms(residuals: Array) -> float:
    return float(np.sqrt(np.mean(residuals**2)))


def _reason(left: float, parameter: Parameter) -> str:
    if math.isinf(left) or left > 20.0:
        return "nothing measured depends on it"
    known = percent(left * parameter.spread, digits=2)
    return f"the readings tell it only to ±{known}"
