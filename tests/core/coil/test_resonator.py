"""Who checks whom: the chain by the uniform line's closed form; the whole resonator by an
independent solver's figures for bare coils, for the intercept with a large external capacitance and
for the example; its lumped equivalent by the energies and by a coupled ring network.
"""

import math

import numpy as np
import pytest
from scipy.linalg import eigh

from burstwise.core.coil.charges import winding_potential_matrix
from burstwise.core.coil.geometry import SecondaryGeometry, TopLoad, TopLoadKind
from burstwise.core.coil.line import line_modes
from burstwise.core.coil.loops import coupling_coefficient
from burstwise.core.coil.resonator import ring_inductance_matrix, secondary_resonator
from burstwise.core.coil.solenoid import rosa_mutual_correction, solenoid_inductance
from burstwise.core.coil.summary import coil_constants, ring_mutuals
from burstwise.core.errors import InputError

BARE = TopLoad(TopLoadKind.NONE)


def sheet_winding(diameter: float, length: float, turns: int) -> SecondaryGeometry:
    """Winding whose wire is such that Rosa's two corrections cancel: a current sheet."""
    pitch = length / turns
    wire = 2 * pitch * math.exp(-1.25 - rosa_mutual_correction(turns))
    return SecondaryGeometry(diameter - pitch, wire, pitch, turns)


def test_uniform_line_limit():
    exact = np.array([1, 3]) * math.pi / 2
    errors = []
    for rings in (50, 100, 200):
        modes = line_modes(np.eye(rings) / rings, np.eye(rings) * rings)
        found = np.array([mode.angular_frequency for mode in modes])
        errors.append(found / exact - 1)
    # Second order in the ring number, with the known constant, and to 1e-6 when extrapolated.
    assert errors[1][0] == pytest.approx((math.pi / 200) ** 2 / 12, rel=0.01)
    assert np.all(np.abs((4 * errors[2] - errors[1]) / 3) < 1e-6)


def test_uniform_line_profile_is_a_quarter_wave():
    rings = 200
    mode = line_modes(np.eye(rings) / rings, np.eye(rings) * rings, count=1)[0]
    x = (np.arange(rings) + 0.5) / rings
    np.testing.assert_allclose(mode.potential, np.sin(math.pi * x / 2), atol=3e-5)
    edges = np.arange(rings + 1) / rings
    np.testing.assert_allclose(mode.node_current, np.cos(math.pi * edges / 2), atol=3e-5)
    # C = c'l/2 and L = l'l 8/pi^2 hold the energy of the quarter wave at its top voltage.
    assert mode.lumped_capacitance == pytest.approx(0.5, rel=1e-4)
    assert mode.lumped_inductance == pytest.approx(8 / math.pi**2, rel=1e-4)


def test_line_with_a_heavy_load_is_a_lumped_circuit():
    rings, load = 100, 1e4
    potential = np.diag(np.append(np.full(rings, float(rings)), 1 / load))
    mode = line_modes(np.eye(rings) / rings, potential, count=1)[0]
    # Whole l' in series; a third of c' counts beside the load.
    assert mode.angular_frequency == pytest.approx(1 / math.sqrt(load + 1 / 3), rel=1e-5)
    assert mode.node_current[0] / mode.lumped_current == pytest.approx(1.0, abs=1e-4)


def test_ring_inductances_add_up_to_the_winding():
    coil = SecondaryGeometry(0.0492, 0.0004, 0.0008, 125)
    whole = solenoid_inductance(
        0.05, turns=125, pitch=0.0008, mean_distance=0.0002 * math.exp(-0.25)
    )
    for rings in (10, 100, 400):
        assert ring_inductance_matrix(coil, rings).sum() == pytest.approx(whole, rel=1e-9)


def test_bare_resonators_against_an_independent_solver(reference, figure):
    worst = 0.0
    for row in reference("bare_resonator"):
        coil = sheet_winding(row["diameter_m"], row["length_m"], int(row["turns"]))
        found = secondary_resonator(coil, BARE, row["base_height_m"], 160)
        first, second = (mode.frequency for mode in found.modes)
        worst = max(worst, abs(first / row["resonance_Hz"] - 1))
        assert first == pytest.approx(row["resonance_Hz"], rel=3e-3), row["id"]
        assert second / first == pytest.approx(row["second_mode_ratio"], rel=2e-3), row["id"]
        effective = 1e12 / ((2 * math.pi * first) ** 2 * found.inductance)
        assert effective == pytest.approx(row["effective_pF"], rel=6e-3), row["id"]
    figure(
        "resonance of bare windings, worst error of twelve",
        worst,
        limit="3e-3",
        source="independent moment solver, extrapolated",
    )


def test_default_rings_meet_the_same_figures(reference):
    for row in reference("bare_resonator"):
        coil = sheet_winding(row["diameter_m"], row["length_m"], int(row["turns"]))
        first = secondary_resonator(coil, BARE, row["base_height_m"]).fundamental.frequency
        assert first == pytest.approx(row["resonance_Hz"], rel=3e-3), row["id"]


def test_convergence_in_ring_number(reference, figure):
    row = reference("bare_resonator")[2]
    coil = sheet_winding(row["diameter_m"], row["length_m"], int(row["turns"]))
    found = [
        secondary_resonator(coil, BARE, 0.0, n).fundamental.frequency for n in (50, 100, 200, 400)
    ]
    steps = -np.diff(found) / found[-1]
    # First order, from the crowding of charge at the open end: each doubling halves the step.
    assert np.all(steps[1:] / steps[:-1] == pytest.approx(0.5, abs=0.06))
    figure(
        "change of resonance from 100 to 200 rings, bare winding",
        steps[1],
        limit="6e-4",
        source="convergence",
    )
    assert steps[1] < 6e-4
    extrapolated = 2 * found[3] - found[2]
    assert extrapolated == pytest.approx(row["resonance_Hz"], rel=5e-4)


def test_self_capacitance_by_its_definition(reference):
    external = 2e-9
    for row in reference("bare_resonator"):
        coil = sheet_winding(row["diameter_m"], row["length_m"], int(row["turns"]))
        rings = 100
        potential = np.zeros((rings + 1, rings + 1))
        potential[:rings, :rings] = winding_potential_matrix(
            0.5 * coil.mean_diameter, coil.length, rings=rings, base_height=row["base_height_m"]
        )
        potential[rings, rings] = 1 / external
        inductance = ring_inductance_matrix(coil, rings)
        mode = line_modes(inductance, potential, count=1)[0]
        own = 1 / (mode.angular_frequency**2 * inductance.sum()) - external
        per_cm = own * 1e12 / (100 * row["diameter_m"])
        assert per_cm == pytest.approx(row["intercept_pF_per_cm"], rel=0.01), row["id"]


def test_example_against_an_independent_solver(example, example_figures, figure):
    secondary = example.secondary
    found = secondary_resonator(secondary, example.top_load, example.base_height)
    first, second = (mode.frequency for mode in found.modes)
    assert first == pytest.approx(example_figures["Z-E2EDIST-1/f0_Hz"], rel=3e-3)
    assert second == pytest.approx(example_figures["Z-E2EDIST-1/second_mode_Hz"], rel=3e-3)
    sheet = sheet_winding(secondary.mean_diameter, secondary.length, 1000)
    found = secondary_resonator(sheet, example.top_load, example.base_height)
    frequency = found.fundamental.frequency
    figure(
        "resonance of the 110 mm example with toroid",
        frequency / example_figures["Z-E2EDIST-1/f0_Hz"] - 1,
        limit="3e-4",
        source="independent moment solver",
    )
    assert frequency == pytest.approx(example_figures["Z-E2EDIST-1/f0_Hz"], rel=3e-4)
    effective = 1 / ((2 * math.pi * frequency) ** 2 * found.inductance)
    assert effective == pytest.approx(example_figures["Z-E2EDIST-1/C2_effective_F"], rel=1e-3)


def test_example_at_other_heights(example, reference):
    for row in reference("example_heights"):
        top = TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=row["centre_height_m"])
        found = secondary_resonator(example.secondary, top, example.base_height)
        assert found.fundamental.frequency == pytest.approx(row["resonance_Hz"], rel=3e-3)


def test_tiny_sphere_changes_nothing(example):
    bare = secondary_resonator(example.secondary, BARE, 0.1).fundamental.frequency
    speck = TopLoad(TopLoadKind.SPHERE, 1e-3, centre_height=0.2)
    loaded = secondary_resonator(example.secondary, speck, 0.1).fundamental.frequency
    assert loaded == pytest.approx(bare, rel=5e-3)
    assert loaded < bare


def test_wide_thin_toroid_and_disc_load_like_each_other(example):
    # A flat toroid has no hole to speak of at this distance from the winding.
    disc = TopLoad(TopLoadKind.DISC, 0.25, 0.002, centre_height=0.1)
    ring = TopLoad(TopLoadKind.TOROID, 0.25, 0.06, centre_height=0.1)
    by_disc = secondary_resonator(example.secondary, disc, 0.1).fundamental.frequency
    by_ring = secondary_resonator(example.secondary, ring, 0.1).fundamental.frequency
    assert by_disc == pytest.approx(by_ring, rel=0.08)


def test_lumped_equivalent_holds_frequency_and_energy(example):
    mode = secondary_resonator(example.secondary, example.top_load, 0.1).fundamental
    L, C = mode.lumped_inductance, mode.lumped_capacitance
    assert 1 / (2 * math.pi * math.sqrt(L * C)) == pytest.approx(mode.frequency, rel=1e-12)
    inductance = ring_inductance_matrix(example.secondary, 100)
    magnetic = 0.5 * mode.ring_current @ inductance @ mode.ring_current
    assert magnetic == pytest.approx(mode.energy, rel=1e-9)
    assert 0.5 * L * mode.lumped_current**2 == pytest.approx(magnetic, rel=1e-9)


def test_charge_is_the_integral_of_the_base_current(example):
    mode = secondary_resonator(example.secondary, example.top_load, 0.1).fundamental
    assert mode.charge.sum() == pytest.approx(
        mode.node_current[0] / mode.angular_frequency, rel=1e-9
    )


@pytest.mark.parametrize("detune", [0.8, 1.0, 1.3])
def test_lumped_pair_splits_like_the_whole_ring_network(example, detune):
    values = coil_constants(example.primary, example.secondary, BARE, base_height=0.1)
    L1, L2, M = values.primary_inductance, values.secondary_inductance, values.mutual_inductance
    tuned = detune / ((2 * math.pi * values.resonance) ** 2 * L1)
    lumped = eigh(
        np.diag([1 / tuned, 1 / values.secondary_capacitance]),
        np.array([[L1, M], [M, L2]]),
        eigvals_only=True,
    )
    # The same primary circuit joined to all 100 rings: edge currents and the primary's as unknowns.
    rings = 100
    coil = example.secondary
    mean = 0.5 * (np.eye(rings) + np.eye(rings, rings, 1))
    gather = np.eye(rings) - np.eye(rings, rings, 1)
    linked = ring_mutuals(example.primary, coil, rings) @ mean
    magnetic = np.block(
        [
            [np.array([[L1]]), linked[None, :]],
            [linked[:, None], mean.T @ ring_inductance_matrix(coil, rings) @ mean],
        ]
    )
    potential = winding_potential_matrix(
        0.5 * coil.mean_diameter, coil.length, rings=rings, base_height=0.1
    )
    electric = np.zeros((rings + 1, rings + 1))
    electric[0, 0] = 1 / tuned
    electric[1:, 1:] = gather.T @ potential @ gather
    whole = 1 / eigh(magnetic, electric, eigvals_only=True)[::-1]
    np.testing.assert_allclose(np.sqrt(lumped), np.sqrt(whole[:2]), rtol=0.02)


def test_coupling_of_the_mode_exceeds_that_of_even_current(example):
    # Current crowds to the foot, where the primary is.
    values = coil_constants(example.primary, example.secondary, example.top_load, base_height=0.1)
    assert values.coupling > values.coupling_dc
    assert values.coupling == pytest.approx(
        coupling_coefficient(
            values.mutual_inductance, values.primary_inductance, values.secondary_inductance
        )
    )


def test_surface_field_of_a_far_toroid_is_that_of_an_isolated_one(example):
    far = TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=3.0)
    found = secondary_resonator(example.secondary, far, 3.0)
    # Coil and earth at 0 V some metres away add a few per cent to the field of 16.33 per metre.
    assert found.surface_field == pytest.approx(16.32653627, rel=0.04)


@pytest.mark.parametrize(
    ("top_load", "base", "field"),
    [
        (
            TopLoad(TopLoadKind.TOROID, 0.13, 0.05, centre_height=0.01),
            0.1,
            "top_load.centre_height",
        ),
        (TopLoad(TopLoadKind.SPHERE, 0.2, centre_height=0.05), 0.1, "top_load.centre_height"),
        (TopLoad(TopLoadKind.DISC, 0.2, 0.01, centre_height=0.004), 0.1, "top_load.centre_height"),
        (TopLoad(TopLoadKind.TOROID, 0.5, 0.2, centre_height=-0.9), 0.5, "top_load.centre_height"),
    ],
)
def test_parts_that_overlap_are_refused(example, top_load, base, field):
    with pytest.raises(InputError) as caught:
        secondary_resonator(example.secondary, top_load, base)
    assert caught.value.field == f"coil.{field}"


@pytest.mark.parametrize("rings", [0, 9, 401])
def test_ring_number_is_bounded(example, rings):
    with pytest.raises(InputError, match="rings must be between 10 and 400"):
        secondary_resonator(example.secondary, BARE, 0.1, rings)
