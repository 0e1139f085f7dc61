"""From the design's coil to values in use: mix of geometry and measurement, errors with paths."""

import json
import math
from importlib import resources

import pytest

from burstwise.core.coil.coil_values import Origin
from burstwise.core.coil.resolve import coil_of, geometry_constants, resolved_coil
from burstwise.core.design.document import design_from, with_value, with_values
from burstwise.core.errors import InputError

GEOMETRY = "coil.geometry"


@pytest.fixture
def design():
    return design_from({"coil": {"given_by": "geometry"}})


def test_measured_value_overrides_and_its_difference_is_told(design):
    computed = resolved_coil(design.coil)
    assert not [item for item in computed.values if item.entered is not None]
    mixed = resolved_coil(with_value(design, "coil.measured.coupling", 0.2).coil)
    assert mixed.coupling == 0.2
    item = mixed.known("coupling")
    assert item.computed == computed.coupling
    assert item.entered == pytest.approx(0.2 / computed.coupling - 1)
    assert item.origin is Origin.MEASURED
    assert mixed.secondary_inductance == computed.secondary_inductance
    assert mixed.mutual_inductance < computed.mutual_inductance


def test_override_that_is_switched_off_is_kept_and_compared_only(design):
    off = with_values(design, {"coil.measured.coupling": 0.1, "coil.not_used": ("coupling",)})
    found = resolved_coil(off.coil)
    assert found.coupling == found.constants.coupling
    assert found.known("coupling").origin is Origin.COMPUTED
    assert found.known("coupling").measured == 0.1
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
    folder = resources.files("burstwise.resources") / "examples"
    seen = 0
    for file in sorted(folder.glob("*.burstwise")):
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


def test_a_fitted_value_is_never_called_measured(design):
    """A fit of 0.4989 beside a measured 0.30 and what the geometry gives."""
    fitted = {"coupling": 0.4989, "quality_factor": 100.0}
    both = {"coil.measured.coupling": 0.30, "calibration": fitted}
    coil = coil_of(with_values(design, both))
    item = coil.known("coupling")
    assert (coil.coupling, item.origin, item.own) == (0.4989, Origin.FITTED, 0.30)
    assert coil.origin("quality_factor") is coil.origin("secondary_resistance") is Origin.FITTED
    assert coil.origin("mutual_inductance") is Origin.FITTED
    assert coil.origin("resonance") is Origin.COMPUTED
    assert not [f for f in coil.findings if "measured" in f.code or "measured." in f.field]
    (listed,) = [f for f in coil.findings if f.code == "calibration-in-use"]
    assert "coupling 0.4989 in place of 0.3" in listed.text
    (far,) = [f for f in coil.findings if f.code == "fitted-far-from-computed"]
    assert (far.severity.value, far.field) == ("caution", "calibration.coupling")
    off = coil_of(with_values(design, both | {"calibration": fitted | {"active": False}}))
    assert (off.coupling, off.origin("coupling")) == (0.30, Origin.MEASURED)
    assert "calibration-in-use" not in {f.code for f in off.findings}


@pytest.mark.parametrize(
    ("more", "said"),
    [({"misfit": 14.0}, "14 standard uncertainties"), ({"at_bound": ["coupling"]}, "their range")],
)
def test_a_doubtful_fit_in_use_says_so_wherever_the_coil_is_shown(design, more, said):
    coil = coil_of(with_values(design, {"calibration": {"coupling": 0.3, "misfit": 1.9} | more}))
    (found,) = [f for f in coil.findings if f.code == "calibration-doubtful"]
    assert said in found.text
    good = coil_of(with_values(design, {"calibration": {"coupling": 0.3, "misfit": 1.9}}))
    assert "calibration-doubtful" not in {f.code for f in good.findings}


def test_the_difference_of_a_q_is_told_as_the_resistance_that_it_stands_for(design):
    """R = omega L / Q, by hand from the coil's own f0 and L2."""
    copper = resolved_coil(design.coil)
    half = resolved_coil(with_value(design, "coil.measured.quality_factor", 150.0).coil)
    reactance = 2 * math.pi * copper.resonance * copper.secondary_inductance
    more = reactance / 150.0 - reactance / copper.quality_factor
    (said,) = [f for f in half.findings if f.field == "coil.measured.quality_factor"]
    assert f"stands for {more:.3g} Ω" in said.text


def test_a_measured_resonance_gives_the_capacitance(design):
    """C2 = 1/((2 pi f)^2 L2), with the inductance in use."""
    asked = with_values(
        design, {"coil.measured.resonance": 850e3, "coil.measured.secondary_inductance": 8e-3}
    )
    coil = resolved_coil(asked.coil)
    assert coil.resonance == pytest.approx(850e3, rel=1e-9)
    assert coil.secondary_capacitance == pytest.approx(4.3825e-12, rel=1e-4)
    assert coil.origin("resonance") is Origin.MEASURED
    assert coil.known("secondary_capacitance").entered is None
    kept = resolved_coil(with_value(asked, "coil.not_used", ("resonance",)).coil)
    assert kept.secondary_capacitance == resolved_coil(design.coil).secondary_capacitance


def test_a_resonance_and_a_capacitance_that_disagree_are_refused(design):
    both = {
        "coil.measured.resonance": 850e3,
        "coil.measured.secondary_inductance": 8e-3,
        "coil.measured.secondary_capacitance": 4.3825e-12,
    }
    agreeing = with_values(design, both)
    assert resolved_coil(agreeing.coil).resonance == pytest.approx(850e3)
    apart = with_value(agreeing, "coil.measured.secondary_capacitance", 4.5e-12)
    with pytest.raises(InputError, match=r"one of the two not used.*4\.382 pF") as caught:
        resolved_coil(apart.coil)
    assert caught.value.field == "coil.measured.resonance"
    assert resolved_coil(with_value(apart, "coil.not_used", ("secondary_capacitance",)).coil)


def test_a_coil_given_by_measured_values_takes_a_resonance_in_place_of_the_capacitance():
    measured = {
        "primary_inductance": 2.5e-6, "primary_resistance": 0.05, "secondary_inductance": 8e-3,
        "resonance": 850e3, "quality_factor": 150.0, "coupling": 0.2, "breakout_voltage": 20e3,
    }  # fmt: skip
    design = design_from({"coil": {"measured": measured}})
    coil = resolved_coil(design.coil)
    assert coil.secondary_capacitance == pytest.approx(4.3825e-12, rel=1e-4)
    with pytest.raises(InputError, match="secondary_capacitance"):
        with_value(design, "coil.not_used", ("resonance",))
    kept = with_values(
        design,
        {
            "coil.measured.secondary_capacitance": 9e-12,
            "coil.not_used": ("secondary_capacitance",),
        },
    )
    assert resolved_coil(kept.coil).resonance == pytest.approx(850e3)
    other = resolved_coil(with_value(kept, "coil.not_used", ("resonance",)).coil)
    assert other.secondary_capacitance == 9e-12


def test_values_left_from_the_geometry_are_not_called_measured(design):
    """Given by measured values, but copied from what the geometry gives, rounded."""
    computed = resolved_coil(design.coil)
    names = [item.name for item in computed.values]
    copied = {f"coil.measured.{name}": float(f"{computed.own(name):.4g}") for name in names}
    switched = with_values(
        design,
        {
            **copied,
            "coil.given_by": "measured",
            "coil.not_used": [name for name in names if name != "breakout_voltage"],
            "coil.measured.breakout_voltage": 9e3,
            "coil.measured.coupling": 0.3,
        },
    )
    coil = resolved_coil(switched.coil)
    assert coil.origin("secondary_inductance") is Origin.COMPUTED
    assert coil.origin("breakout_voltage") is Origin.MEASURED
    # In the list of those left over, but another value since: entered by hand.
    assert coil.origin("coupling") is Origin.MEASURED
    (said,) = [f for f in coil.findings if f.code == "measured-from-geometry"]
    assert "secondary inductance 7.5" in said.text
    assert "coupling" not in said.text
