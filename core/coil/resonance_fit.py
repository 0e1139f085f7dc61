"""Resonance fitted to a measured curve: f0, Q and effective R, L and C with their errors."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.optimize import least_squares

from burstwise.core.coil.arrays import Complexes, Floats
from burstwise.core.coil.curves import CurveKind, MeasuredCurve
from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, caution
from burstwise.core.units import percent

_FEWEST_POINTS = 5
_WINDOW = 1.3
_POOR_RESIDUAL = 0.1


class ResonanceKind(StrEnum):
    """Series (least impedance), parallel (most impedance) or a response's peak."""

    SERIES = "series"
    PARALLEL = "parallel"
    RESPONSE = "response"


@dataclass(frozen=True, slots=True)
class FittedValue:
    """Value with its standard error, both in the same unit."""

    value: float
    error: float


@dataclass(frozen=True, slots=True)
class ResonanceFit:
    """Resonance of a measured curve.

    Parameters
    ----------
    kind : ResonanceKind
        Which form was found.
    frequency : FittedValue
        [Hz]
    quality_factor : FittedValue
        Q.
    resistance, inductance, capacitance : FittedValue or None
        Effective values [ohm], [H], [F]; a response has none.
    scale : float
        Impedance [ohm], admittance [S] or reciprocal response at the resonance.
    residual : float
        Root mean square of the relative misfit.
    findings : tuple of Finding
        A poor fit is said here.
    """

    kind: ResonanceKind
    frequency: FittedValue
    quality_factor: FittedValue
    resistance: FittedValue | None
    inductance: FittedValue | None
    capacitance: FittedValue | None
    scale: float
    residual: float
    findings: tuple[Finding, ...]


def fitted_resonance(curve: MeasuredCurve) -> ResonanceFit:
    """Single resonance fitted to the points within a factor 1.3 of the curve's extreme.

    ``w = s [1 + j Q (f/f0 - f0/f)]`` with w the impedance (series), the admittance (parallel) or
    the reciprocal of the response.

    Parameters
    ----------
    curve : MeasuredCurve
        Impedance, its magnitude or a response.

    Notes
    -----
    Least squares on relative misfit; errors from the covariance, so they hold noise but no
    calibration error. Series: ``L = s Q/(2 pi f0)``; parallel: ``C = s Q/(2 pi f0)``.
    Source: definition of Q of a simple resonance.

    Raises
    ------
    InputError
        No minimum or maximum inside the range, or fewer than five points near it.

    Examples
    --------
    >>> f = np.linspace(190e3, 210e3, 41)
    >>> Z = 10.0 * (1 + 150j * (f / 200e3 - 200e3 / f))
    >>> fit = fitted_resonance(MeasuredCurve(CurveKind.IMPEDANCE, f, Z))
    >>> f"{fit.kind}: {fit.frequency.value:.0f} Hz, Q = {fit.quality_factor.value:.1f}"
    'series: 200000 Hz, Q = 150.0'
    """
    kind, centre = _extreme(curve)
    value = np.asarray(curve.value)
    wanted = value if kind is ResonanceKind.SERIES else 1.0 / value
    start = float(curve.frequency[centre])
    near = (curve.frequency > start / _WINDOW) & (curve.frequency < start * _WINDOW)
    frequency, wanted = curve.frequency[near], wanted[near]
    if len(frequency) < _FEWEST_POINTS:
        raise InputError(
            "curve", f"{len(frequency)} points", f"at least {_FEWEST_POINTS} near the resonance"
        )
    scale = float(np.min(np.abs(wanted)))
    guess = np.log([scale, start, _first_quality(frequency, np.abs(wanted), start)])
    with_phase = curve.kind is CurveKind.IMPEDANCE

    def misfit(logs: Floats) -> Floats:
        model = _model(frequency, logs)
        if not with_phase:
            return np.asarray(np.log(np.abs(model) / np.abs(wanted)))
        error = (model - wanted) / np.abs(wanted)
        return np.concatenate([error.real, error.imag])

    found = least_squares(misfit, guess, x_scale=(1.0, 1e-3, 1.0), xtol=1e-14, ftol=1e-14)
    freedom = max(len(found.fun) - 3, 1)
    variance = 2.0 * found.cost / freedom
    jacobian = np.asarray(found.jac)
    covariance = np.linalg.inv(jacobian.T @ jacobian) * variance
    residual = math.sqrt(2.0 * found.cost / len(frequency))
    return _as_fit(kind, np.asarray(found.x), covariance, residual)


def _as_fit(kind: ResonanceKind, logs: Floats, covariance: Floats, residual: float) -> ResonanceFit:
    def fitted(powers: tuple[float, float, float], factor: float = 1.0) -> FittedValue:
        weights = np.array(powers)
        value = factor * math.exp(float(weights @ logs))
        return FittedValue(value, value * math.sqrt(float(weights @ covariance @ weights)))

    per_circle = 1.0 / (2.0 * math.pi)
    direct, inverse = fitted((1, -1, 1), per_circle), fitted((-1, -1, -1), per_circle)
    resistance, inductance, capacitance = None, None, None
    if kind is ResonanceKind.SERIES:
        resistance, inductance, capacitance = fitted((1, 0, 0)), direct, inverse
    elif kind is ResonanceKind.PARALLEL:
        resistance, inductance, capacitance = fitted((-1, 0, 0)), inverse, direct
    findings: tuple[Finding, ...] = ()
    if residual > _POOR_RESIDUAL:
        off = percent(residual)
        text = f"The curve departs by {off} from a single resonance; the fit is rough."
        findings = (caution("fit-poor", "curve", text),)
    return ResonanceFit(
        kind=kind,
        frequency=fitted((0, 1, 0)),
        quality_factor=fitted((0, 0, 1)),
        resistance=resistance,
        inductance=inductance,
        capacitance=capacitance,
        scale=math.exp(float(logs[0])),
        residual=residual,
        findings=findings,
    )


def fitted_magnitude(fit: ResonanceFit, frequency: Floats) -> Floats:
    """Magnitude of the fitted curve, in the unit of the curve that was fitted.

    Parameters
    ----------
    fit : ResonanceFit
        The fit.
    frequency : array
        Where to evaluate it [Hz].

    Examples
    --------
    >>> f = np.linspace(190e3, 210e3, 41)
    >>> Z = 10.0 * (1 + 150j * (f / 200e3 - 200e3 / f))
    >>> fit = fitted_resonance(MeasuredCurve(CurveKind.IMPEDANCE, f, Z))
    >>> bool(np.allclose(fitted_magnitude(fit, f), np.abs(Z)))
    True
    """
    logs = np.log([fit.scale, fit.frequency.value, fit.quality_factor.value])
    size = np.abs(_model(np.asarray(frequency, dtype=np.float64), logs))
    return np.asarray(size if fit.kind is ResonanceKind.SERIES else 1.0 / size)


def _model(frequency: Floats, logs: Floats) -> Complexes:
    scale, centre, quality = np.exp(logs)
    return np.asarray(scale * (1.0 + 1j * quality * (frequency / centre - centre / frequency)))


def _extreme(curve: MeasuredCurve) -> tuple[ResonanceKind, int]:
    """The sharper of the curve's least and largest magnitude that does not lie at its ends."""
    size = np.log(np.abs(curve.value))
    ends = 0.5 * (size[0] + size[-1])
    inside = range(1, len(size) - 1)
    lowest, highest = int(np.argmin(size)), int(np.argmax(size))
    dip = ends - size[lowest] if lowest in inside else 0.0
    peak = size[highest] - ends if highest in inside else 0.0
    if curve.kind is CurveKind.RESPONSE:
        dip = 0.0
    if max(dip, peak) <= 0.0:
        raise InputError("curve", "no extreme inside its range", "measured through a resonance")
    if curve.kind is CurveKind.RESPONSE:
        return ResonanceKind.RESPONSE, highest
    return (ResonanceKind.SERIES, lowest) if dip > peak else (ResonanceKind.PARALLEL, highest)


def _first_quality(frequency: Floats, size: Floats, centre: float) -> float:
    """Q from the point where the magnitude is nearest to sqrt(2) times its least."""
    ratio = size / np.min(size)
    away = np.abs(frequency / centre - centre / frequency)
    usable = away > 0.0
    estimates = np.sqrt(np.maximum(ratio[usable] ** 2 - 1.0, 1e-6)) / away[usable]
    return float(max(np.median(estimates), 1e-2))
