"""The sound stage of a design, to compare faults with."""

from __future__ import annotations

from typing import Final

from burstwise.core.coil.resolve import coil_of
from burstwise.core.design.calibrated import calibrated
from burstwise.core.design.calibration import doubts
from burstwise.core.design.document import Design, with_values
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.circuit import StageCircuit

_JUNCTION: Final = 60.0


def believed(design: Design) -> Design:
    """Design without a calibration in use that is doubtful, which may have a fault fitted in.

    Examples
    --------
    >>> from burstwise.core.design.document import design_from
    >>> given = {"coil": {"given_by": "geometry"}, "calibration": {"coupling": 0.5, "misfit": 14}}
    >>> believed(design_from(given)).calibration.active
    False
    """
    if doubts(design.calibration):
        return with_values(design, {"calibration.active": False})
    return design


def sound_stage(design: Design) -> StageCircuit:
    """Circuit of a design with the device warm at 60 °C, with a calibration that is to be believed.

    See `believed`.
    """
    used = calibrated(believed(design))
    coil = coil_of(used)
    return stage_circuit(used, coil, junction_c=_JUNCTION)
