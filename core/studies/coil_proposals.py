"""Edits of a design that reach a wanted resonance, coupling or breakout voltage."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from burstwise.core.coil.breakout import Air
from burstwise.core.coil.resolve import (
    geometry_constants,
    primary_geometry,
    secondary_geometry,
    top_load,
)
from burstwise.core.coil.summary import CoilConstants
from burstwise.core.design.calibrated import fitted_values
from burstwise.core.design.calibration import COIL_NAMES
from burstwise.core.design.coil import MOST_TURNS, measured_used
from burstwise.core.design.document import Design, with_values
from burstwise.core.errors import InputError
from burstwise.core.studies.coil_solving import (
    primary_height_for_coupling,
    primary_turns_for_coupling,
    scaled_top_load,
    top_load_for_breakout,
    turns_for_resonance,
)

_SECONDARY = "coil.geometry.secondary"
_PRIMARY = "coil.geometry.primary"
_TOP = "coil.geometry.top_load"
TURNS_STEP = 0.05
"""Step of proposed primary turns."""
_LENGTH_STEP = 1e-4
_TURNS_REACH = 5.0
"""Secondary turns are sought from a fifth to five times those wound."""


class Goal(StrEnum):
    """What is wanted, and which part of the geometry is free."""

    RESONANCE_BY_TURNS = "resonance by secondary turns"
    COUPLING_BY_TURNS = "coupling by primary turns"
    COUPLING_BY_HEIGHT = "coupling by primary height"
    BREAKOUT_BY_TOP_LOAD = "breakout by top load"


@dataclass(frozen=True, slots=True)
class Edit:
    """One field of a proposal: dotted path, value now and value proposed, and unit."""

    path: str
    now: float | None
    value: float | None
    unit: str


@dataclass(frozen=True, slots=True)
class Proposal:
    """Edits that belong together and what they reach, recomputed with the edited design.

    Parameters
    ----------
    edits : tuple of Edit
        Fields to be set in one step.
    quantity, unit : str
        What was wanted.
    wanted, reached, now : float
        Wanted, reached by the proposal, and as the design stands.
    remark : str
        What to know before applying, or nothing.
    """

    edits: tuple[Edit, ...]
    quantity: str
    unit: str
    wanted: float
    reached: float
    now: float
    remark: str = ""


@dataclass(frozen=True, slots=True)
class _Aim:
    quantity: str
    unit: str
    attribute: str
    overriding: tuple[str, ...]


_AIMS = {
    Goal.RESONANCE_BY_TURNS: _Aim(
        "Resonance",
        "Hz",
        "resonance",
        ("secondary_inductance", "secondary_capacitance", "resonance"),
    ),
    Goal.COUPLING_BY_TURNS: _Aim("Coupling", "", "coupling", ("coupling",)),
    Goal.COUPLING_BY_HEIGHT: _Aim("Coupling", "", "coupling", ("coupling",)),
    Goal.BREAKOUT_BY_TOP_LOAD: _Aim(
        "Breakout voltage", "V", "breakout_voltage", ("breakout_voltage",)
    ),
}


def proposal(
    design: Design,
    goal: Goal,
    wanted: float,
    *,
    check: Callable[[], None] | None = None,
) -> Proposal:
    """Edits of the geometry that reach what is wanted.

    Secondary turns are whole, primary turns come in steps of 0.05, lengths in steps of 0.1 mm.

    Parameters
    ----------
    design : Design
        Design whose coil is given by geometry.
    goal : Goal
        What is wanted.
    wanted : float
        Its value in SI, above 0.
    check : callable, optional
        Called between the stages of the work; may raise to stop it.

    Raises
    ------
    InputError
        Coil not given by geometry, geometry that cannot be built, or no answer in the range; then
        the message holds the reach.

    Examples
    --------
    >>> from burstwise.core.design.document import design_from
    >>> made = design_from({"coil": {"given_by": "geometry"}})
    >>> found = proposal(made, Goal.COUPLING_BY_HEIGHT, 0.3)
    >>> found.edits[0].path, abs(found.reached / 0.3 - 1) < 0.01
    ('coil.geometry.primary.start_height', True)
    """
    if design.coil.given_by != "geometry":
        raise InputError("coil.given_by", design.coil.given_by, "geometry, to solve for a part")
    if not 0.0 < wanted < 1e12:
        raise InputError("wanted value", wanted, "above 0")
    aim = _AIMS[goal]
    ask = check or _never_stops
    now = float(getattr(_constants(design), aim.attribute))
    ask()
    edits = _SOLVES[goal](design, wanted)
    ask()
    edited = with_values(design, {edit.path: edit.value for edit in edits})
    reached = float(getattr(_constants(edited), aim.attribute))
    return Proposal(
        edits=edits,
        quantity=aim.quantity,
        unit=aim.unit,
        wanted=wanted,
        reached=reached,
        now=now,
        remark=override_remark(design, aim.overriding),
    )


def used_overrides(design: Design, names: tuple[str, ...]) -> tuple[str, ...]:
    """Those of the named values that a measurement or a calibration sets over the geometry.

    Examples
    --------
    >>> from burstwise.core.design.document import design_from
    >>> coil = {"given_by": "geometry", "measured": {"coupling": 0.2}}
    >>> used_overrides(design_from({"coil": coil}), ("coupling", "quality_factor"))
    ('coupling',)
    """
    coil, fitted = design.coil, fitted_values(design, COIL_NAMES)
    return tuple(name for name in names if measured_used(coil, name) or name in fitted)


def override_remark(design: Design, names: tuple[str, ...]) -> str:
    """Sentence that measured or fitted values hide what a change of geometry does, or nothing."""
    used = used_overrides(design, names)
    if not used:
        return ""
    words = " and ".join(name.replace("_", " ") for name in used)
    by = "fitted" if fitted_values(design, used) else "measured"
    return (
        f"The {by} {words} overrides the geometry, so the value in use does not follow; "
        "the computed one does."
    )


def primary_turns_edits(design: Design, turns: float) -> tuple[Edit, ...]:
    """Edits to a number of primary turns, all in use."""
    primary = design.coil.geometry.primary
    edits: tuple[Edit, ...] = (Edit(f"{_PRIMARY}.turns", primary.turns, turns, "turns"),)
    if primary.tap is not None:
        edits += (Edit(f"{_PRIMARY}.tap", primary.tap, None, "turns"),)
    return edits


def _never_stops() -> None:
    return None


def _constants(design: Design) -> CoilConstants:
    return geometry_constants(design.coil.geometry, design.cooling.ambient)


def _rounded(value: float, step: float) -> float:
    return float(f"{round(value / step) * step:.10g}")


def _secondary_turns(design: Design, wanted: float) -> tuple[Edit, ...]:
    geometry = design.coil.geometry
    winding = secondary_geometry(geometry)
    found = turns_for_resonance(
        wanted,
        winding,
        top_load(geometry),
        base_height=geometry.base_height,
        low=max(winding.turns / _TURNS_REACH, 20.0),
        high=min(winding.turns * _TURNS_REACH, MOST_TURNS),
    )
    now = geometry.secondary.turns
    turns = float(round(found.value))
    edits: tuple[Edit, ...] = (Edit(f"{_SECONDARY}.turns", now, turns, "turns"),)
    length = geometry.secondary.winding_length
    if length is not None:
        edits += (Edit(f"{_SECONDARY}.winding_length", length, None, "m"),)
    return edits


def _primary_turns(design: Design, wanted: float) -> tuple[Edit, ...]:
    geometry = design.coil.geometry
    found = primary_turns_for_coupling(
        wanted,
        primary_geometry(geometry),
        secondary_geometry(geometry),
        top_load(geometry),
        base_height=geometry.base_height,
    )
    return primary_turns_edits(design, _rounded(found.value, TURNS_STEP))


def _primary_height(design: Design, wanted: float) -> tuple[Edit, ...]:
    geometry = design.coil.geometry
    found = primary_height_for_coupling(
        wanted,
        primary_geometry(geometry),
        secondary_geometry(geometry),
        top_load(geometry),
        base_height=geometry.base_height,
    )
    now = geometry.primary.start_height
    return (Edit(f"{_PRIMARY}.start_height", now, _rounded(found.value, _LENGTH_STEP), "m"),)


def _top_load(design: Design, wanted: float) -> tuple[Edit, ...]:
    geometry = design.coil.geometry
    part = geometry.top_load
    found = top_load_for_breakout(
        wanted,
        secondary_geometry(geometry),
        top_load(geometry),
        base_height=geometry.base_height,
        air=Air(design.cooling.ambient, geometry.air_pressure),
    )
    grown = scaled_top_load(top_load(geometry), found.value)
    names = ["diameter", "centre_height"]
    if part.kind != "sphere":
        names.insert(1, "thickness")
    return tuple(
        Edit(
            f"{_TOP}.{name}",
            getattr(part, name),
            _rounded(getattr(grown, name), _LENGTH_STEP),
            "m",
        )
        for name in names
    )


_SOLVES: dict[Goal, Callable[[Design, float], tuple[Edit, ...]]] = {
    Goal.RESONANCE_BY_TURNS: _secondary_turns,
    Goal.COUPLING_BY_TURNS: _primary_turns,
    Goal.COUPLING_BY_HEIGHT: _primary_height,
    Goal.BREAKOUT_BY_TOP_LOAD: _top_load,
}
