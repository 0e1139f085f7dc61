"""What a calibration has to say in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.bench.bench_model import RowBreakout
from burstwise.core.bench.calibration_result import Comparison, FittedParameter
from burstwise.core.design.calibration import BAD_FIT
from burstwise.core.findings import Finding, caution, heaviest_first, note
from burstwise.core.units import percent, shown

_STRAY: Final = 3.0
_ALIKE: Final = 0.95
_NEAR_ONSET: Final = 0.03
"""Distance of the top's peak from the onset, over it, within which either may be right."""


def calibration_findings(
    parameters: Sequence[FittedParameter],
    comparisons: Sequence[Comparison],
    correlation: Array,
    misfit: float,
) -> tuple[Finding, ...]:
    """Findings of a fit, heaviest first."""
    fitted = [item for item in parameters if item.fitted]
    said = [_at_bound(item) for item in fitted if item.at_bound]
    if not fitted:
        said.append(_nothing())
    if misfit > BAD_FIT:
        said.append(_bad_fit(misfit))
    said += [_stray(item) for item in comparisons if abs(item.residual) > _STRAY]
    for one, two in zip(*np.nonzero(np.triu(np.abs(correlation) > _ALIKE, 1)), strict=True):
        said.append(_alike(fitted[one], fitted[two], float(correlation[one, two])))
    said += [_kept(item) for item in parameters if not item.fitted]
    if len(comparisons) <= len(fitted) and fitted:
        said.append(_no_spare(len(comparisons), len(fitted)))
    return heaviest_first(said)


def breakout_findings(seen: Sequence[RowBreakout]) -> tuple[Finding, ...]:
    """Cautions for rows whose breakout, or whose want of one, the model does not have.

    Examples
    --------
    >>> row = RowBreakout("row 1, 24 V", 0.03, top_peak=7e3, onset=9e3)
    >>> [item.code for item in breakout_findings([row])]
    ['breakout-not-predicted']
    >>> breakout_findings([RowBreakout("row 1, 24 V", 0.0, top_peak=7e3, onset=9e3)])
    ()
    """
    said = []
    for item in seen:
        over = item.top_peak / item.onset - 1.0
        if item.length > 0.0 and over < -_NEAR_ONSET:
            said.append(_unexpected(item, f"a discharge of {shown(item.length, 'm')}", "lower"))
        elif item.length == 0.0 and over > _NEAR_ONSET:
            said.append(_unexpected(item, "no discharge", "higher"))
    return tuple(said)


def _unexpected(item: RowBreakout, read: str, way: str) -> Finding:
    return caution(
        "breakout-not-predicted",
        "calibration.breakout_voltage",
        f"{item.where}: {read} was read, but the top reaches {shown(item.top_peak, 'V', digits=3)} "
        f"in the model and its breakout sets in at {shown(item.onset, 'V', digits=3)}. The real "
        f"onset is {way}, or the coupling or Q is off.",
    )


def _at_bound(item: FittedParameter) -> Finding:
    name, unit = item.parameter.label, item.parameter.unit
    return caution(
        "calibration-at-bound",
        f"calibration.{item.parameter.value}",
        f"{name} ran to the end of its range, {shown(item.value, unit)} from "
        f"{shown(item.prior, unit)}: something else than the fitted values is off. Check shunt, "
        "probe factor and duty of the rows and the coil's dimensions; the diagnosis, which leaves "
        "such a fit out of account, tells whether a single fault explains it.",
    )


def _nothing() -> Finding:
    return caution(
        "calibration-nothing-fitted",
        "calibration",
        "The readings determine none of the chosen parameters; add rows at other supplies or a "
        "capture with a ring-down.",
    )


def _bad_fit(misfit: float) -> Finding:
    return caution(
        "calibration-misfit",
        "calibration",
        f"After the fit the figures are still {shown(misfit, '', digits=2)} standard "
        "uncertainties off (RMS; about 1 is good). The model or a reading is wrong: "
        "see the largest residuals.",
    )


def _stray(item: Comparison) -> Finding:
    seen = item.observation
    return caution(
        "calibration-stray",
        seen.where,
        f"{seen.where.capitalize()}: {seen.name} of {shown(seen.measured, seen.unit)} "
        f"against {shown(item.after, seen.unit)} in the fit "
        f"({percent(item.deviation, digits=2, signed=True)}, "
        f"{shown(abs(item.residual), '', digits=2)} uncertainties); repeat that reading.",
    )


def _alike(one: FittedParameter, two: FittedParameter, value: float) -> Finding:
    return note(
        "calibration-correlated",
        "calibration",
        f"{one.parameter.label} and {two.parameter.label.lower()} go together (correlation "
        f"{value:.2f}): the readings tell their combination better than each.",
    )


def _kept(item: FittedParameter) -> Finding:
    return note(
        "calibration-kept-prior",
        f"calibration.{item.parameter.value}",
        f"{item.parameter.label} keeps its value of {shown(item.prior, item.parameter.unit)}: "
        f"{item.reason}.",
    )


def _no_spare(figures: int, fitted: int) -> Finding:
    return note(
        "calibration-no-spare",
        "calibration",
        f"{figures} figures for {fitted} parameters: the residuals cannot show whether the model "
        "holds.",
    )
