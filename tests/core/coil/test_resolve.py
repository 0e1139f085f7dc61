"""From the design's coil to values in use: mix of geometry and measurement, errors with paths."""

import json
from importlib import resources

import pytest

from core.coil.resolve import geometry_constants, resolved_coil
from core.design.document import design_from, with_value, with_values
from core.errors import InputError

GEOMETRY = "coil.geometry"


@pytest.fixture
def design():
    return design_from({"coil": {"given_by": "geometry"}})


def test_measured_value_overrides_and_its_difference_is_told(design):
    computed = resolved_coil(design.coil)
    assert computed.comparisons == ()
    mixed = resolved_coil(with_value(design, "coil.measured.coupling", 0.2).coil)
    assert mixed.coupling == 0.2
    (item,) = mixed.comparisons
    assert item.computed == computed.coupling
    assert item.difference == pytest.approx(0.2 / computed.coupling - 1)
    assert item.used
    assert mixed.secondary_inductance == computed.secondary_inductance
    assert mixed.mutual_inductance < computed.mutual_inductance


def test_override_that_is_switched_off_is_kept_and_compared_only(design):
    off = with_values(design, {"coil.measured.coupling": 0.1, "coil.not_used": ("coupling",)})
    found = resolved_coil(off.coil)
    assert found.coupling == found.constants.coupling
    assert not found.comparisons[0].used
    assert found.comparisons[0].measured == 0.1
    codes = [finding.code for finding in found.findings]
    assert "measured-far-from-computed" not in codes
    used = resolved_coil(with_value(off, "coil.not_used", ()).coil)
    assert "measured-far-from-computed" in [finding.code for finding in used.findings]


def test_a_coil_given_by_measured_values_uses_all_of_them():
    measured = {
        "primary_inductance": 2.5e-6,
        "primary_resistance": 0.05,
        "secondary_inductance": 12e-3,
        "secondary_capacitance": 9e-12,
        "quality_factor": 150.0,
        "coupling": 0.2,
        "breakout_voltage": 20e3,
    }
    design = design_from({"coil": {"measured": measured, "not_used": ["coupling"]}})
    found = resolved_coil(design.coil)
    assert found.coupling == 0.2
    assert found.constants is None
    assert found.quality_factor == pytest.approx(150.0)
    with pytest.raises(InputError, match=r"coil\.not_used"):
        with_value(design, "coil.not_used", ("colour",))


@pytest.mark.parametrize(
    ("edits", "field"),
    [
        ({"primary.inner_radius": 0.02}, "primary.inner_radius"),
        ({"primary.pitch": 1e-3}, "primary.pitch"),
        ({"primary.start_height": -0.2}, "primary.start_height"),
        ({"primary.tap": 40.0}, "primary.tap"),
        ({"top_load.centre_height": -0.05}, "top_load.centre_height"),
        ({"top_load.kind": "toroid", "top_load.thickness": 0.03}, "top_load.thickness"),
        ({"secondary.wire_diameter": 4e-3}, "secondary.wire_diameter"),
        ({"secondary.former_diameter": 5e-3, "secondary.wire_diameter": 2.5e-3}, None),
        ({"secondary.turns": 2e4, "secondary.spacing": 2e-3}, "secondary.turns"),
        (
            {
                "secondary.turns": None,
                "secondary.winding_length": 20.0,
                "secondary.wire_diameter": 6e-5,
            },
            "secondary.winding_length",
        ),
    ],
)
def test_geometry_that_cannot_be_built_names_its_field_in_the_design(design, edits, field):
    made = with_values(design, {f"{GEOMETRY}.{name}": value for name, value in edits.items()})
    with pytest.raises(InputError) as caught:
        resolved_coil(made.coil)
    assert caught.value.field == f"{GEOMETRY}.{field or 'secondary.wire_diameter'}"


def test_fewer_rings_come_near(design):
    few = resolved_coil(design.coil, rings=40)
    many = resolved_coil(design.coil, rings=100)
    assert few.constants is not many.constants
    assert few.resonance == pytest.approx(many.resonance, rel=1e-2)
    assert few.coupling == pytest.approx(many.coupling, rel=1e-2)


def test_constants_are_kept_per_geometry(design):
    again = with_value(design, "supply.voltage", 20.0)
    assert geometry_constants(design.coil.geometry) is geometry_constants(again.coil.geometry)


def test_every_example_given_by_geometry_resolves_without_a_stop():
    folder = resources.files("resources") / "examples"
    seen = 0
    for file in folder.iterdir():
        design = design_from(json.loads(file.read_text(encoding="utf-8")))
        assert design.coil.given_by == "geometry"
        found = resolved_coil(design.coil, temperature_c=design.cooling.ambient)
        assert found.constants.resonance > 50e3
        assert not [f for f in found.findings if f.severity.value == "stop"]
        seen += 1
    assert seen >= 4


def test_a_measured_q_below_the_coppers_is_a_note_and_one_above_a_caution(design):
    copper = resolved_coil(design.coil).quality_factor
    lower = resolved_coil(with_value(design, "coil.measured.quality_factor", 0.5 * copper).coil)
    (said,) = [f for f in lower.findings if f.field == "coil.measured.quality_factor"]
    assert (said.severity.value, said.code) == ("note", "measured-q-below-copper")
    assert f"{0.5 * copper:.3g}" in said.text
    higher = resolved_coil(with_value(design, "coil.measured.quality_factor", 1.5 * copper).coil)
    (said,) = [f for f in higher.findings if f.field == "coil.measured.quality_factor"]
    assert (said.severity.value, said.code) == ("caution", "measured-far-from-computed")
    assert "+50 % from what the geometry gives" in said.text


def test_a_value_many_times_the_computed_one_is_told_in_times(design):
    capacitance = resolved_coil(design.coil).secondary_capacitance
    far = with_value(design, "coil.measured.secondary_capacitance", 15.0 * capacitance)
    (said,) = [f for f in resolved_coil(far.coil).findings if "secondary_capac" in f.field]
    assert "15 times what the geometry gives" in said.text
