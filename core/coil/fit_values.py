"""From a fitted resonance to the measured values of a coil."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from burstwise.core.coil.resonance_fit import ResonanceFit, ResonanceKind
from burstwise.core.errors import InputError


class MeasuredWinding(StrEnum):
    """Winding that was measured.

    `SECONDARY` at its foot against earth, top free, primary open; `PRIMARY` with a known capacitor
    across it, secondary out.
    """

    SECONDARY = "secondary"
    PRIMARY = "primary"


@dataclass(frozen=True, slots=True)
class TakenValue:
    """One measured value of the design: its name and value in SI."""

    name: str
    value: float


def capacitance_for_resonance(frequency: float, inductance: float) -> float:
    """Capacitance in resonance with an inductance, ``1/((2 pi f)^2 L)`` [F].

    Examples
    --------
    >>> f"{capacitance_for_resonance(263e3, 29e-3) * 1e12:.2f} pF"
    '12.63 pF'
    """
    return 1.0 / ((2.0 * math.pi * frequency) ** 2 * inductance)


def taken_values(
    fit: ResonanceFit,
    winding: MeasuredWinding,
    *,
    base_current_ratio: float = 1.0,
) -> tuple[TakenValue, ...]:
    """Values of the design's measured coil that a fit gives.

    A secondary measured at its foot shows ``L = L2/r^2`` and ``C = C2 r^2``, for the foot carries
    r times the lumped current at the same energy.

    Parameters
    ----------
    fit : ResonanceFit
        Fit of the measured curve.
    winding : MeasuredWinding
        Which winding it is of.
    base_current_ratio : float
        r, current at the foot over the lumped current [1].

    Raises
    ------
    InputError
        A response of the primary, or a secondary's curve that was not taken at its foot.

    Notes
    -----
    Source: equality of the mode's energy, ``L I_foot^2 = L2 I2^2``, and of its frequency. The
    primary's resistance is that of the resonance, capacitor included.

    Examples
    --------
    >>> import numpy as np
    >>> from burstwise.core.coil.curves import CurveKind, MeasuredCurve
    >>> from burstwise.core.coil.resonance_fit import fitted_resonance
    >>> f = np.linspace(190e3, 210e3, 41)
    >>> Z = 10.0 * (1 + 150j * (f / 200e3 - 200e3 / f))
    >>> fit = fitted_resonance(MeasuredCurve(CurveKind.IMPEDANCE, f, Z))
    >>> for item in taken_values(fit, MeasuredWinding.SECONDARY, base_current_ratio=1.1):
    ...     print(item.name, f"{item.value:.4g}")
    secondary_inductance 0.001444
    secondary_capacitance 4.384e-10
    quality_factor 150
    """
    quality = TakenValue("quality_factor", fit.quality_factor.value)
    if fit.inductance is None or fit.capacitance is None:
        return _from_response(fit, winding, quality)
    inductance, capacitance = fit.inductance.value, fit.capacitance.value
    if winding is MeasuredWinding.PRIMARY:
        reactance = 2.0 * math.pi * fit.frequency.value * inductance
        return (
            TakenValue("primary_inductance", inductance),
            TakenValue("primary_resistance", reactance / fit.quality_factor.value),
        )
    if fit.kind is ResonanceKind.PARALLEL:
        raise InputError("curve", "a largest impedance", "the secondary's least one at its foot")
    return (
        TakenValue("secondary_inductance", inductance * base_current_ratio**2),
        TakenValue("secondary_capacitance", capacitance / base_current_ratio**2),
        quality,
    )


def _from_response(
    fit: ResonanceFit, winding: MeasuredWinding, quality: TakenValue
) -> tuple[TakenValue, ...]:
    if winding is MeasuredWinding.PRIMARY:
        raise InputError("curve", "a response", "an impedance to find the primary's inductance")
    return (TakenValue("resonance", fit.frequency.value), quality)
