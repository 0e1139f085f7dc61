"""The one list of the parts that a design has, and their numbers, from the design alone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from types import MappingProxyType

from burstwise.core.assembly.drive_parts import fitted_drive
from burstwise.core.assembly.low_voltage_parts import fitted_low_voltage
from burstwise.core.assembly.part import Fitted
from burstwise.core.assembly.stage_parts import fitted_stage
from burstwise.core.assembly.timer_parts import fitted_interrupter
from burstwise.core.design.document import Design
from burstwise.core.evaluate.results import Results


def fitted(design: Design) -> Iterator[Fitted[Results]]:
    """Parts that a design has, in the order supply, stage, protection, drive, interrupter.

    References, list of parts and drawings all follow this list.

    Parameters
    ----------
    design : Design
        The design.
    """
    yield from fitted_stage(design)
    yield from fitted_drive(design)
    yield from fitted_interrupter(design)
    yield from fitted_low_voltage(design)


def references(design: Design) -> Mapping[str, str]:
    """Reference designator of every part by its role, in the order of the list of parts.

    Numbers run per letter in that order, so that a part has the same reference in the list, in
    every drawing and in the build sheet.

    Parameters
    ----------
    design : Design
        The design.
    """
    counts: Counter[str] = Counter()
    found = {}
    for part in fitted(design):
        counts[part.letter] += 1
        found[part.role] = f"{part.letter}{counts[part.letter]}"
    return MappingProxyType(found)


def timer_references(design: Design) -> Mapping[str, str]:
    """References as they are once the design takes its interrupter from its timer parts.

    Parameters
    ----------
    design : Design
        The design, whatever its interrupter is given by.
    """
    return references(with_timer_parts(design))


def with_timer_parts(design: Design) -> Design:
    """Design that takes its interrupter from its timer parts, whatever it is given by now."""
    part = design.interrupter.model_copy(update={"enabled": True, "given_by": "parts"})
    return design.model_copy(update={"interrupter": part})
