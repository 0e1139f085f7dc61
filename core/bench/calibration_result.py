"""What a calibration found: parameters, predicted against measured, correlation."""

from __future__ import annotations

from dataclasses import dataclass

from burstwise.core.arrays import Array
from burstwise.core.bench.bench_model import Observation
from burstwise.core.bench.fit_parameters import Parameter
from burstwise.core.design.calibration import Calibration
from burstwise.core.findings import Finding


@dataclass(frozen=True, slots=True)
class FittedParameter:
    """One parameter after the fit.

    Attributes
    ----------
    parameter : Parameter
        Which one.
    prior, value : float
        Before and after, in its unit.
    uncertainty : float or None
        Standard uncertainty as a part of the value [-]; None where the prior value was kept.
    reason : str
        Why the prior value was kept, empty if it was fitted.
    at_bound : bool
        Whether the fit ran to the end of its range.
    """

    parameter: Parameter
    prior: float
    value: float
    uncertainty: float | None
    reason: str = ""
    at_bound: bool = False

    @property
    def fitted(self) -> bool:
        """Whether the readings determined it."""
        return self.uncertainty is not None


@dataclass(frozen=True, slots=True)
class Comparison:
    """One measured figure beside its prediction before and after the fit."""

    observation: Observation
    before: float
    after: float

    @property
    def deviation(self) -> float:
        """Prediction after the fit over the measured value, less one [-]."""
        return self.after / self.observation.measured - 1.0

    @property
    def residual(self) -> float:
        """The same over its standard uncertainty [-]."""
        return self.deviation / self.observation.uncertainty


@dataclass(frozen=True, slots=True, eq=False)
class Calibrated:
    """Outcome of a calibration.

    Attributes
    ----------
    parameters : tuple of FittedParameter
        All that were asked for, fitted or not.
    comparisons : tuple of Comparison
        Predicted against measured.
    correlation : ndarray (fitted, fitted)
        Correlation of the fitted parameters, in their order [-].
    singular_values : ndarray
        Of the scaled Jacobian at the start, for all parameters asked for; below about 2 nothing
        is learnt.
    misfit_before, misfit_after : float
        Root mean square residual [-]; about 1 after a good fit.
    findings : tuple of Finding
        What to know about it.
    runs : int
        Engine runs used.
    """

    parameters: tuple[FittedParameter, ...]
    comparisons: tuple[Comparison, ...]
    correlation: Array
    singular_values: Array
    misfit_before: float
    misfit_after: float
    findings: tuple[Finding, ...]
    runs: int

    @property
    def fitted(self) -> tuple[FittedParameter, ...]:
        """Parameters that were fitted, in the order of `correlation`."""
        return tuple(item for item in self.parameters if item.fitted)

    def layer(self, source: str = "") -> Calibration:
        """Layer for the design, switched on; parameters that kept their prior value are None."""
        found = {item.parameter.value: float(f"{item.value:.5g}") for item in self.fitted}
        ends = tuple(item.parameter.value for item in self.fitted if item.at_bound)
        misfit = float(f"{self.misfit_after:.3g}")
        return Calibration.model_validate(
            {**found, "source": source, "misfit": misfit, "at_bound": ends}
        )
