"""The sound stage of a design, to compare faults with."""

from __future__ import annotations

from typing import Final

from core.coil.resolve import resolved_coil
from core.design.calibrated import calibrated
from core.design.document import Design
from core.stage.build import stage_circuit
from core.stage.circuit import StageCircuit

_JUNCTION: Final = 60.0


def sound_stage(design: Design) -> StageCircuit:
    """Circuit of a design, calibration included, with the device warm at 60 °C."""
    used = calibrated(design)
    coil = resolved_coil(used.coil, temperature_c=used.cooling.ambient)
    return stage_circuit(used, coil, junction_c=_JUNCTION)
