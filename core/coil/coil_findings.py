"""What to say about a coil beside its numbers."""

from __future__ import annotations

import math

import numpy as np

from burstwise.core.coil.breakout import (
    Electrode,
    cylinder_plane_field,
    peek_gradient,
    uneven_gap_voltage,
    uniform_gap_voltage,
)
from burstwise.core.coil.clearance import primary_gaps
from burstwise.core.coil.geometry import (
    PRIMARY,
    SECONDARY,
    TOP_LOAD,
    ConductorKind,
    PrimaryGeometry,
    SecondaryGeometry,
    TopLoad,
    TopLoadKind,
)
from burstwise.core.coil.resonator import Resonator
from burstwise.core.findings import Finding, caution, note, stop
from burstwise.core.units import shown

_ENAMEL_STRENGTH = 50e6
"""Working strength of enamel [V/m]: common practice, no source; new films stand three times it."""
_LIGHT = 299792458.0
_TIGHT_COUPLING = 0.35
_LOOSE_COUPLING = 0.03
_HARMONIC_SHARE = 0.04
_CLOSEST_WINDING = 0.95


def proportion_findings(secondary: SecondaryGeometry) -> tuple[Finding, ...]:
    """Winding shorter than one or longer than five diameters, or wire nearly touching.

    Examples
    --------
    >>> [f.code for f in proportion_findings(SecondaryGeometry(0.1, 0.0003, 0.00034, 200))]
    ['secondary-short']
    """
    findings = []
    ratio = secondary.length / secondary.mean_diameter
    if ratio < 1.0:
        text = (
            f"The winding is {ratio:.2f} diameters long; below 1 its top sits close to the primary."
        )
        findings.append(caution("secondary-short", f"{SECONDARY}.turns", text))
    if ratio > 5.0:
        text = f"The winding is {ratio:.1f} diameters long; above 5 coupling and Q suffer."
        findings.append(caution("secondary-long", f"{SECONDARY}.turns", text))
    if secondary.bare_diameter / secondary.pitch > _CLOSEST_WINDING:
        text = (
            f"Copper fills {secondary.bare_diameter / secondary.pitch:.3f} of the pitch; the ac "
            f"resistance is computed for {_CLOSEST_WINDING} and is a lower bound."
        )
        findings.append(note("winding-close", f"{SECONDARY}.spacing", text))
    return tuple(findings)


def coupling_findings(coupling: float) -> tuple[Finding, ...]:
    """Coupling that is too tight or too loose for a single-switch stage.

    The limits, 0.35 and 0.03, are common practice, no source.

    Examples
    --------
    >>> [f.code for f in coupling_findings(0.4)]
    ['coupling-tight']
    """
    if coupling > _TIGHT_COUPLING:
        text = (
            f"Coupling {coupling:.3f} is above {_TIGHT_COUPLING}: the two modes lie far apart and "
            "the voltage between primary and secondary grows. Lower or widen the primary."
        )
        return (caution("coupling-tight", PRIMARY, text),)
    if coupling < _LOOSE_COUPLING:
        text = f"Coupling {coupling:.4f} is below {_LOOSE_COUPLING}: little power reaches the top."
        return (note("coupling-loose", PRIMARY, text),)
    return ()


def mode_findings(resonator: Resonator, secondary: SecondaryGeometry) -> tuple[Finding, ...]:
    """Second mode close to a harmonic of the carrier; coil large against the wavelength.

    Examples
    --------
    >>> from burstwise.core.coil.resonator import secondary_resonator
    >>> coil = SecondaryGeometry(0.10964, 0.000315, 0.00036, 1000)
    >>> ring = TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=0.05)
    >>> [f.code for f in mode_findings(secondary_resonator(coil, ring, 0.1), coil)]
    ['harmonic-mode-near']
    """
    findings = []
    first, second = resonator.modes[0].frequency, resonator.modes[1].frequency
    ratio = second / first
    harmonic = round(ratio)
    if abs(ratio / harmonic - 1.0) < _HARMONIC_SHARE:
        text = (
            f"The second mode, {shown(second, 'Hz')}, is {ratio:.2f} times the first: the "
            f"carrier's harmonic {harmonic} excites it. Another top load shifts it."
        )
        findings.append(caution("harmonic-mode-near", SECONDARY, text))
    share = secondary.length * first / _LIGHT
    if share > 0.02:
        text = f"The winding is {share:.3f} wavelengths long; the field sums assume below 0.02."
        findings.append(note("quasi-static-limit", SECONDARY, text))
    return tuple(findings)


def turn_voltage_findings(
    resonator: Resonator, secondary: SecondaryGeometry, *, top_voltage: float, density: float
) -> tuple[Finding, ...]:
    """Voltage between neighbouring turns at the breakout voltage against their insulation.

    Parameters
    ----------
    resonator : Resonator
        Modes of the secondary.
    secondary : SecondaryGeometry
        Winding.
    top_voltage : float
        Peak voltage at the top [V].
    density : float
        Relative air density.

    Notes
    -----
    Enamel at 50 V/µm (common practice, no source) and the gap between turns as a uniform field.

    Examples
    --------
    >>> from burstwise.core.coil.resonator import secondary_resonator
    >>> coil = SecondaryGeometry(0.06, 0.0004, 0.00042, 150)
    >>> mode = secondary_resonator(coil, TopLoad(TopLoadKind.NONE), 0.1)
    >>> findings = turn_voltage_findings(mode, coil, top_voltage=200e3, density=1.0)
    >>> [(f.severity.value, f.code) for f in findings]
    [('stop', 'turn-voltage')]
    """
    per_turn = turn_voltage(resonator, secondary) * top_voltage
    film = secondary.overall_diameter - secondary.bare_diameter
    withstand = film * _ENAMEL_STRENGTH
    if secondary.spacing > 0.0:
        withstand += uniform_gap_voltage(secondary.spacing, density=density)
    if per_turn < 0.5 * withstand:
        return ()
    text = (
        f"Neighbouring turns carry {shown(per_turn, 'V')} at the breakout voltage; their "
        f"insulation is good for about {shown(withstand, 'V')}."
    )
    report = stop if per_turn > withstand else caution
    return (report("turn-voltage", f"{SECONDARY}.overall_diameter", text),)


def turn_voltage(resonator: Resonator, secondary: SecondaryGeometry) -> float:
    """Largest voltage between neighbouring turns at 1 V on top [V].

    Examples
    --------
    >>> from burstwise.core.coil.resonator import secondary_resonator
    >>> coil = SecondaryGeometry(0.06, 0.0004, 0.00042, 150)
    >>> mode = secondary_resonator(coil, TopLoad(TopLoadKind.NONE), 0.1)
    >>> bool(turn_voltage(mode, coil) > 1 / 150)
    True
    """
    rings = len(resonator.ring_heights)
    volts = resonator.fundamental.potential[:rings]
    per_ring = np.max(np.abs(np.diff(volts)))
    return float(per_ring * rings / secondary.turns)


def flashover_findings(
    resonator: Resonator,
    primary: PrimaryGeometry,
    secondary: SecondaryGeometry,
    *,
    top_voltage: float,
    density: float,
) -> tuple[Finding, ...]:
    """Field between primary and secondary at the breakout voltage against Peek's gradient.

    Parameters
    ----------
    resonator : Resonator
        Modes of the secondary.
    primary, secondary : geometry
        The two windings.
    top_voltage : float
        Peak voltage at the top [V].
    density : float
        Relative air density.

    Notes
    -----
    An estimate: the primary at earth potential, the secondary as a plane at the voltage that it has
    at the primary's height; a strip's edge is taken as a wire of its thickness.

    Examples
    --------
    >>> from burstwise.core.coil.geometry import PrimaryConductor, PrimaryShape
    >>> from burstwise.core.coil.resonator import secondary_resonator
    >>> coil = SecondaryGeometry(0.06, 0.0004, 0.00042, 400)
    >>> wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0015)
    >>> near = PrimaryGeometry(PrimaryShape.HELICAL, wire, 0.033, 6, 0.01, start_height=0.05)
    >>> mode = secondary_resonator(coil, TopLoad(TopLoadKind.NONE), 0.1)
    >>> found = flashover_findings(mode, near, coil, top_voltage=80e3, density=1.0)
    >>> [(f.severity.value, f.code) for f in found]
    [('stop', 'flashover')]
    """
    conductor = primary.conductor
    radius = (
        0.5 * conductor.thickness
        if conductor.kind is ConductorKind.STRIP
        else 0.5 * conductor.diameter
    )
    worst, worst_voltage, worst_gap = 0.0, 0.0, math.inf
    gaps = primary_gaps(primary, secondary)
    rings = len(resonator.ring_heights)
    volts = np.abs(resonator.fundamental.potential[:rings])
    for gap, height in zip(gaps.each, gaps.heights, strict=True):
        voltage = top_voltage * float(np.interp(height, resonator.ring_heights, volts))
        field = cylinder_plane_field(voltage, radius=radius, gap=float(gap))
        if field > worst:
            worst, worst_voltage, worst_gap = field, voltage, float(gap)
    onset = peek_gradient(radius, electrode=Electrode.PARALLEL_WIRES, density=density)
    if worst < 0.7 * onset:
        return ()
    text = (
        f"At the breakout voltage {shown(worst_voltage, 'V')} stands across "
        f"{shown(worst_gap, 'm')} of air to the primary: {worst / onset:.1f} times the onset of "
        "corona there."
    )
    sparks = worst_voltage > uneven_gap_voltage(worst_gap, density=density)
    report = stop if sparks else caution
    return (report("flashover", f"{PRIMARY}.inner_radius", text),)


def top_load_findings(top_load: TopLoad, primary: PrimaryGeometry) -> tuple[Finding, ...]:
    """Estimates that stand on weaker ground: no top load, strip primary.

    Examples
    --------
    >>> from burstwise.core.coil.geometry import PrimaryConductor, PrimaryShape
    >>> wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0015)
    >>> helix = PrimaryGeometry(PrimaryShape.HELICAL, wire, 0.05, 6, 0.01)
    >>> [f.code for f in top_load_findings(TopLoad(TopLoadKind.NONE), helix)]
    ['breakout-at-wire']
    """
    findings = []
    if top_load.kind is TopLoadKind.NONE:
        text = (
            "Without a top load the breakout voltage is that of the last turn's wire, +-50 %; a "
            "free end of wire breaks out much earlier."
        )
        findings.append(note("breakout-at-wire", f"{TOP_LOAD}.kind", text))
    if primary.conductor.kind is ConductorKind.STRIP:
        text = "Current crowds at a strip's edges: its resistance may be up to twice that shown."
        findings.append(note("strip-resistance", f"{PRIMARY}.conductor", text))
    return tuple(findings)
