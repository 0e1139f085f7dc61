"""How far the fixed barrier of the first power-up stands."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from burstwise.core.coil.breakout import rule_of_thumb_spark_length
from burstwise.core.evaluate.results import Results
from burstwise.core.evaluate.surroundings import surroundings_of
from burstwise.core.units import shown

LEAST: Final = 1.0
"""Least distance of the barrier [m]; common practice, no source."""
DISCHARGES: Final = 3.0
"""Its distance over the expected discharge; common practice, no source."""
_STEP: Final = 0.5


@dataclass(frozen=True, slots=True)
class Barrier:
    """Distance from the axis, and what it follows from.

    Attributes
    ----------
    distance : float
        From the coil's axis, in steps of half a metre upwards [m].
    discharge : float
        Longest discharge that is reckoned with [m].
    field : float or None
        Distance of the reference levels for the general public [m]; None where not computed.
    """

    distance: float
    discharge: float
    field: float | None


def barrier(results: Results) -> Barrier:
    """Barrier of a design at its full operating point; it stays there for every stage.

    The discharge is reckoned with the rule of thumb for coils on the mains, which small stages do
    not reach, from the power while on.

    Parameters
    ----------
    results : Results
        Evaluated design.
    """
    length = rule_of_thumb_spark_length(max(results.carrier.input_power, 0.0))
    found = surroundings_of(results)
    field = None if found is None else _public(found.farthest_of("public"))
    wanted = max(LEAST, DISCHARGES * length, field or 0.0)
    return Barrier(math.ceil(wanted / _STEP) * _STEP, length, field)


def _public(distance: float) -> float | None:
    return distance if math.isfinite(distance) else None


def barrier_words(results: Results) -> str:
    """The barrier and who stands where, in sentences.

    Parameters
    ----------
    results : Results
        Evaluated design.
    """
    found = barrier(results)
    said = (
        f"{shown(LEAST, 'm')} at least, three times a discharge of up to "
        f"{shown(found.discharge, 'm', digits=2)}"
    )
    if found.field is not None:
        said += (
            f", and {shown(found.field, 'm', digits=2)} for the reference levels of the field "
            "for the general public"
        )
    return (
        f"Clear the table. A fixed barrier {shown(found.distance, 'm')} from the coil on all sides "
        f"({said}); pupils and everybody else behind it, an adult in charge, a second person at "
        "the switch. The distance is no permission."
    )


def short_barrier_words(results: Results) -> str:
    """The same for the stages after the first, in a sentence.

    Parameters
    ----------
    results : Results
        Evaluated design.
    """
    return (
        f"Barrier at {shown(barrier(results).distance, 'm')}, everybody behind it, a second person "
        "at the switch, as in the first stage with the coil."
    )
