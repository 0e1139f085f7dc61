"""What a diagnosis stands on, in words: rows used, figures converted, the stage compared with."""

from __future__ import annotations

import math
from collections.abc import Sequence

from burstwise.core.bench.derived import BenchSetup
from burstwise.core.bench.readings import Reading
from burstwise.core.design.calibration import doubts
from burstwise.core.design.document import Design
from burstwise.core.units import percent, shown


def basis_words(
    design: Design, rows: Sequence[Reading], setup: BenchSetup, supplies: Sequence[float]
) -> tuple[str, ...]:
    """Sentences on the rows used, on what was converted, and on what they are compared with.

    Parameters
    ----------
    design : Design
        The design.
    rows : sequence of Reading
        All readings.
    setup : BenchSetup
        Shunt and instruments.
    supplies : sequence of float
        Supplies of the engine's runs [V].

    Examples
    --------
    >>> from burstwise.core.bench.instruments import Shunt
    >>> from burstwise.core.design.document import design_from
    >>> rows = [Reading(supply=30.0, duty=0.5, shunt_mean=0.07), Reading(supply=12.0)]
    >>> design = design_from({"coil": {"given_by": "geometry"}})
    >>> said = basis_words(design, rows, BenchSetup(Shunt(0.1), 1.0), [30.0])
    >>> said[0]
    '1 of 2 rows used, at 30 V.'
    >>> said[1]
    'At 30 V and a duty of 50 % a mean of 700 mA over the period counts as 1.4 A while on.'
    """
    used = [row for supply in supplies if (row := _row_at(rows, supply)) is not None]
    return (
        _rows_words(len(used), len(rows), supplies),
        *(words for row in used if (words := _converted(row, setup))),
        _stage_words(design),
    )


def _row_at(rows: Sequence[Reading], supply: float) -> Reading | None:
    """The row that the diagnosis takes at a supply: the first with a figure there."""
    near = (
        row
        for row in rows
        if row.supply is not None and math.isclose(row.supply, supply, rel_tol=1e-3)
    )
    return next(near, None)


def _rows_words(used: int, given: int, supplies: Sequence[float]) -> str:
    if not used:
        return "No row used; the capture stands alone."
    volts = ", ".join(shown(supply, "V", digits=3) for supply in supplies)
    rest = f" The engine runs at up to {len(supplies)} supplies, one row each."
    return f"{used} of {given} rows used, at {volts}.{rest if given > len(supplies) > 1 else ''}"


def _converted(row: Reading, setup: BenchSetup) -> str:
    """Currents of an interrupted row over the period, and while the drive is on."""
    duty = 1.0 if row.duty is None else row.duty
    if duty == 1.0:
        return ""
    told = [
        f"{kind} of {shown(volts / setup.shunt.resistance, 'A', digits=3)} over the period counts "
        f"as {shown(volts / setup.shunt.resistance / share, 'A', digits=3)} while on"
        for kind, volts, share in (
            ("a mean", row.shunt_mean, duty),
            ("an RMS", row.shunt_rms, math.sqrt(duty)),
        )
        if volts is not None
    ]
    if not told:
        return ""
    supply = shown(row.supply or 0.0, "V", digits=3)
    return f"At {supply} and a duty of {percent(duty)} {', '.join(told)}."


def _stage_words(design: Design) -> str:
    layer = design.calibration
    if doubts(layer):
        return (
            "Compared with the design's own values: the calibration in use is doubtful and may "
            "have a fault fitted in."
        )
    if layer is not None and layer.active:
        return "Compared with the stage as calibrated."
    return "Compared with the design's own values."
