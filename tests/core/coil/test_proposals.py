"""Proposals reach what is wanted when their edits are put into the design."""

import pytest

from burstwise.core.coil.resolve import geometry_constants
from burstwise.core.design.document import design_from, with_values
from burstwise.core.errors import InputError
from burstwise.core.studies.coil_proposals import Goal, proposal


@pytest.fixture
def design():
    return design_from({"coil": {"given_by": "geometry"}})


@pytest.mark.parametrize(
    ("goal", "wanted", "name", "close"),
    [
        (Goal.RESONANCE_BY_TURNS, 700e3, "resonance", 1e-3),
        (Goal.COUPLING_BY_TURNS, 0.25, "coupling", 1e-2),
        (Goal.COUPLING_BY_HEIGHT, 0.25, "coupling", 1e-2),
        (Goal.BREAKOUT_BY_TOP_LOAD, 60e3, "breakout_voltage", 1e-2),
    ],
)
def test_the_edited_design_has_what_is_wanted(design, goal, wanted, name, close):
    found = proposal(design, goal, wanted)
    edited = with_values(design, {edit.path: edit.value for edit in found.edits})
    got = getattr(geometry_constants(edited.coil.geometry, 25.0), name)
    assert got == pytest.approx(wanted, rel=close)
    assert found.reached == got
    assert found.now == getattr(geometry_constants(design.coil.geometry, 25.0), name)
    assert found.remark == ""


def test_turns_replace_a_winding_length_and_a_tap_is_taken_off(design):
    winding = {
        "coil.geometry.secondary.turns": None,
        "coil.geometry.secondary.winding_length": 0.2,
    }
    found = proposal(with_values(design, winding), Goal.RESONANCE_BY_TURNS, 700e3)
    edits = {edit.path.rpartition(".")[2]: edit.value for edit in found.edits}
    assert edits["winding_length"] is None
    assert edits["turns"] == round(edits["turns"])
    tapped = with_values(design, {"coil.geometry.primary.tap": 4.0})
    found = proposal(tapped, Goal.COUPLING_BY_TURNS, 0.3)
    assert [edit.path.rpartition(".")[2] for edit in found.edits] == ["turns", "tap"]


def test_a_measured_value_that_hides_the_change_is_told(design):
    hidden = with_values(design, {"coil.measured.coupling": 0.2})
    assert "measured coupling" in proposal(hidden, Goal.COUPLING_BY_HEIGHT, 0.25).remark


@pytest.mark.parametrize(
    ("goal", "wanted", "words"),
    [
        (Goal.RESONANCE_BY_TURNS, 1e9, "between .* can reach"),
        (Goal.COUPLING_BY_HEIGHT, 0.89, "between .* can reach"),
        (Goal.COUPLING_BY_TURNS, 0.0, "above 0"),
        (Goal.BREAKOUT_BY_TOP_LOAD, float("nan"), "above 0"),
    ],
)
def test_no_answer_is_said(design, goal, wanted, words):
    with pytest.raises(InputError, match=words):
        proposal(design, goal, wanted)


def test_a_measured_coil_and_a_missing_top_load_are_refused(design):
    bare = with_values(design, {"coil.geometry.top_load.kind": "none"})
    with pytest.raises(InputError, match="sphere, toroid or disc"):
        proposal(bare, Goal.BREAKOUT_BY_TOP_LOAD, 50e3)
    values = {
        "coil.given_by": "measured",
        "coil.measured.primary_inductance": 2.5e-6,
        "coil.measured.primary_resistance": 0.05,
        "coil.measured.secondary_inductance": 12e-3,
        "coil.measured.secondary_capacitance": 9e-12,
        "coil.measured.quality_factor": 150.0,
        "coil.measured.coupling": 0.2,
        "coil.measured.breakout_voltage": 20e3,
    }
    with pytest.raises(InputError, match=r"coil\.given_by must be geometry"):
        proposal(with_values(design, values), Goal.COUPLING_BY_HEIGHT, 0.2)
