"""The coil's constants for the stage: one call from geometry to L, C, M, R, f0 and breakout."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from burstwise.core.coil.arrays import Floats
from burstwise.core.coil.breakout import Air, BreakoutPoint, point_breakout, top_load_gradient
from burstwise.core.coil.clearance import check_primary_position
from burstwise.core.coil.coil_findings import (
    coupling_findings,
    flashover_findings,
    mode_findings,
    proportion_findings,
    top_load_findings,
    turn_voltage,
    turn_voltage_findings,
)
from burstwise.core.coil.copper import copper_resistivity, skin_depth
from burstwise.core.coil.geometry import PrimaryGeometry, SecondaryGeometry, TopLoad
from burstwise.core.coil.loops import coupling_coefficient, loop_sum_mutual
from burstwise.core.coil.primary import (
    primary_ac_inductance,
    primary_inductance,
    primary_length,
    primary_resistance,
)
from burstwise.core.coil.proximity import winding_resistance_ratio
from burstwise.core.coil.resonator import Resonator, secondary_resonator
from burstwise.core.coil.self_capacitance import TableEstimate, table_estimate
from burstwise.core.coil.wire import copper_mass, dc_resistance, helix_length, wire_area
from burstwise.core.findings import Finding, heaviest_first
from burstwise.core.linear_algebra import one_thread

_BAND_POINTS = 3
_CLOSEST_WINDING = 0.95


@dataclass(frozen=True, slots=True, eq=False)
class WindingProfile:
    """Voltage and current along the secondary in its lowest mode, at 1 V peak on top.

    Parameters
    ----------
    ring_heights : array of shape (N,)
        Middle of each ring above the foot [m].
    voltage : array of shape (N,)
        Peak voltage of each ring, relative to the top.
    edge_heights : array of shape (N + 1,)
        Ring edges above the foot [m].
    current : array of shape (N + 1,)
        Peak current through the edges at 1 V on top [A].
    """

    ring_heights: Floats
    voltage: Floats
    edge_heights: Floats
    current: Floats


@dataclass(frozen=True, slots=True, eq=False)
class CoilConstants:
    """Electrical values of a coil from its geometry.

    The lumped secondary is an inductance in resonance with a capacitance that holds the top
    voltage; it has the frequency, the stored energy and the losses of the distributed mode. Its
    current times `base_current_ratio` is the current at the winding's foot.

    Parameters
    ----------
    primary_inductance, primary_inductance_dc : float
        Of the turns in use, at resonance and at low frequency [H].
    secondary_inductance, secondary_capacitance : float
        Lumped equivalent [H], [F].
    secondary_inductance_dc : float
        Of the winding at low frequency, with even current [H].
    mutual_inductance, coupling : float
        With the lumped secondary's current [H].
    mutual_inductance_dc, coupling_dc : float
        With even current in the winding, as a low-frequency measurement finds them [H].
    resonance, second_mode : float
        Frequencies of the secondary's two lowest modes, primary open [Hz].
    quality_factor : float
        Of the secondary from its copper alone.
    primary_resistance, secondary_resistance : float
        Ac at resonance; the secondary's belongs to the lumped current [ohm].
    secondary_resistance_dc : float
        [ohm].
    base_current_ratio : float
        Current at the foot over the lumped current.
    base_current_per_top_volt : float
        Peak current at the foot per peak volt on top [A/V].
    breakout_voltage : float
        Peak top voltage at which corona starts on the top load or on its point [V].
    smooth_breakout_voltage : float
        The same of the top load by itself [V].
    surface_field : float
        Largest field on the top load per volt [1/m].
    turn_voltage : float
        Largest voltage between neighbouring turns per volt on top.
    primary_wire_length, secondary_wire_length : float
        Without leads [m].
    primary_copper_mass, secondary_copper_mass : float
        [kg].
    profile : WindingProfile
        Voltage and current along the winding.
    table : TableEstimate
        Second opinion on capacitance and frequency.
    findings : tuple of Finding
        Heaviest first.
    """

    primary_inductance: float
    primary_inductance_dc: float
    secondary_inductance: float
    secondary_capacitance: float
    secondary_inductance_dc: float
    mutual_inductance: float
    coupling: float
    mutual_inductance_dc: float
    coupling_dc: float
    resonance: float
    second_mode: float
    quality_factor: float
    primary_resistance: float
    secondary_resistance: float
    secondary_resistance_dc: float
    base_current_ratio: float
    base_current_per_top_volt: float
    breakout_voltage: float
    smooth_breakout_voltage: float
    surface_field: float
    turn_voltage: float
    primary_wire_length: float
    secondary_wire_length: float
    primary_copper_mass: float
    secondary_copper_mass: float
    profile: WindingProfile
    table: TableEstimate
    findings: tuple[Finding, ...]


@one_thread
def coil_constants(
    primary: PrimaryGeometry,
    secondary: SecondaryGeometry,
    top_load: TopLoad,
    *,
    base_height: float,
    temperature_c: float = 20.0,
    rings: int = 100,
    air: Air | None = None,
    point: BreakoutPoint | None = None,
) -> CoilConstants:
    """Constants of a coil from its geometry.

    Parameters
    ----------
    primary : PrimaryGeometry
        Primary winding.
    secondary : SecondaryGeometry
        Secondary winding.
    top_load : TopLoad
        Conductor on top, or none.
    base_height : float
        Height of the secondary's foot above the earth plane [m].
    temperature_c : float
        Copper temperature [°C].
    rings : int
        Rings of the distributed model.
    air : Air or None
        Air around the coil; 25 °C and 101.325 kPa if not given.
    point : BreakoutPoint or None
        Point that stands on the top load.

    Notes
    -----
    The secondary's modes are kept from call to call, so a move of the primary costs only its own
    sums. Validity: as the parts; dielectric loss of the former, leads, walls and the primary's
    capacitance to the secondary are left out, so a real Q is lower.

    Raises
    ------
    InputError
        Parts that overlap, or rings out of range.

    Examples
    --------
    >>> from burstwise.core.coil.geometry import *
    >>> wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
    >>> helix = PrimaryGeometry(PrimaryShape.HELICAL, wire, 0.085, 8, 0.01)
    >>> coil = SecondaryGeometry(0.10964, 0.000315, 0.00036, 1000)
    >>> ring = TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=0.05)
    >>> values = coil_constants(helix, coil, ring, base_height=0.1)
    >>> f"{values.resonance / 1e3:.0f} kHz, k = {values.coupling_dc:.4f}"
    '263 kHz, k = 0.3124'
    """
    check_primary_position(primary, secondary, top_load, base_height=base_height)
    resonator = secondary_resonator(secondary, top_load, base_height, rings)
    mode = resonator.fundamental
    resistivity = copper_resistivity(temperature_c)
    density = (air or Air()).relative_density

    L1 = primary_ac_inductance(primary, mode.frequency, resistivity=resistivity)
    L1_dc = primary_inductance(primary)
    linked = ring_mutuals(primary, secondary, rings)
    M = float(linked @ mode.ring_current) / mode.lumped_current
    M_dc = float(np.sum(linked))
    R2_dc, R2 = _secondary_resistances(secondary, resonator, resistivity)
    field = resonator.surface_field
    smooth = top_load_gradient(top_load, secondary.bare_diameter, density=density) / field
    breakout = smooth
    if point is not None:
        breakout = min(smooth, point_breakout(point, surface_field=field, density=density))
    coupling = coupling_coefficient(M, L1, mode.lumped_inductance)
    findings = (
        *proportion_findings(secondary),
        *coupling_findings(coupling),
        *mode_findings(resonator, secondary),
        *turn_voltage_findings(resonator, secondary, top_voltage=breakout, density=density),
        *flashover_findings(resonator, primary, secondary, top_voltage=breakout, density=density),
        *top_load_findings(top_load, primary),
    )
    length = secondary_wire_length(secondary)
    return CoilConstants(
        primary_inductance=L1,
        primary_inductance_dc=L1_dc,
        secondary_inductance=mode.lumped_inductance,
        secondary_capacitance=mode.lumped_capacitance,
        secondary_inductance_dc=resonator.inductance,
        mutual_inductance=M,
        coupling=coupling,
        mutual_inductance_dc=M_dc,
        coupling_dc=coupling_coefficient(M_dc, L1_dc, resonator.inductance),
        resonance=mode.frequency,
        second_mode=resonator.modes[1].frequency,
        quality_factor=mode.angular_frequency * mode.lumped_inductance / R2,
        primary_resistance=primary_resistance(primary, mode.frequency, resistivity=resistivity),
        secondary_resistance=R2,
        secondary_resistance_dc=R2_dc,
        base_current_ratio=float(mode.node_current[0]) / mode.lumped_current,
        base_current_per_top_volt=float(mode.node_current[0]),
        breakout_voltage=breakout,
        smooth_breakout_voltage=smooth,
        surface_field=resonator.surface_field,
        turn_voltage=turn_voltage(resonator, secondary),
        primary_wire_length=primary_length(primary),
        secondary_wire_length=length,
        primary_copper_mass=copper_mass(primary_length(primary), primary.conductor.area),
        secondary_copper_mass=copper_mass(length, wire_area(secondary.bare_diameter)),
        profile=_profile(secondary, resonator),
        table=table_estimate(secondary, top_load, resonator),
        findings=heaviest_first(findings),
    )


def ring_mutuals(primary: PrimaryGeometry, secondary: SecondaryGeometry, rings: int) -> Floats:
    """Mutual inductance of the primary's turns in use with each ring of the secondary [H].

    Parameters
    ----------
    primary, secondary : geometry
        The two windings.
    rings : int
        Number of rings.

    Notes
    -----
    Each ring is a current sheet, by a Gauss rule of three loops. Source: burstwise.core.coil.loops.

    Examples
    --------
    >>> from burstwise.core.coil.geometry import ConductorKind, PrimaryConductor, PrimaryShape
    >>> wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
    >>> helix = PrimaryGeometry(PrimaryShape.HELICAL, wire, 0.085, 8, 0.01)
    >>> coil = SecondaryGeometry(0.10964, 0.000315, 0.00036, 1000)
    >>> f"{ring_mutuals(helix, coil, 100).sum() * 1e6:.3f} µH"
    '186.055 µH'
    """
    loops = primary.loops()
    points, weights = np.polynomial.legendre.leggauss(_BAND_POINTS)
    width = secondary.length / rings
    heights = width * (np.arange(rings)[:, None] + 0.5 * (points + 1.0))
    linked = loop_sum_mutual(
        loops.radii,
        loops.heights,
        radii_b=np.full(heights.size, 0.5 * secondary.mean_diameter),
        heights_b=heights.ravel(),
        weights_a=loops.weights,
    )
    per_ring = linked.reshape(heights.shape) @ (0.5 * weights)
    return np.asarray(per_ring * secondary.turns / rings, dtype=np.float64)


def secondary_wire_length(secondary: SecondaryGeometry) -> float:
    """Length of wire in the winding [m].

    Examples
    --------
    >>> f"{secondary_wire_length(SecondaryGeometry(0.10964, 0.000315, 0.00036, 1000)):.4f} m"
    '345.5754 m'
    """
    return helix_length(secondary.mean_diameter, turns=secondary.turns, pitch=secondary.pitch)


def _secondary_resistances(
    secondary: SecondaryGeometry, resonator: Resonator, resistivity: float
) -> tuple[float, float]:
    """Dc resistance, and ac resistance that loses with the lumped current what the mode loses."""
    mode = resonator.fundamental
    direct = dc_resistance(
        secondary_wire_length(secondary),
        wire_area(secondary.bare_diameter),
        resistivity=resistivity,
    )
    in_depths = 0.5 * secondary.bare_diameter / skin_depth(mode.frequency, resistivity)
    closeness = min(secondary.bare_diameter / secondary.pitch, _CLOSEST_WINDING)
    ratio = winding_resistance_ratio(in_depths, closeness)
    shape = float(np.mean(mode.ring_current**2)) / mode.lumped_current**2
    return direct, direct * ratio * shape


def _profile(secondary: SecondaryGeometry, resonator: Resonator) -> WindingProfile:
    mode, rings = resonator.fundamental, len(resonator.ring_heights)
    return WindingProfile(
        ring_heights=resonator.ring_heights,
        voltage=mode.potential[:rings],
        edge_heights=secondary.length * np.arange(rings + 1) / rings,
        current=mode.node_current,
    )
