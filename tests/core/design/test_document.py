"""The design document: validation with field, value and limit; edits; schema; round trip."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel

from burstwise.core.design.document import (
    Design,
    design_from,
    field_info,
    value_at,
    with_value,
    with_values,
)
from burstwise.core.design.fields import input_error
from burstwise.core.errors import InputError

COIL = {
    "given_by": "measured",
    "measured": {
        "primary_inductance": "8 µH",
        "primary_resistance": "50 mΩ",
        "secondary_inductance": "12 mH",
        "secondary_capacitance": "14 pF",
        "quality_factor": 150,
        "coupling": 0.2,
        "breakout_voltage": "25 kV",
    },
}


@pytest.fixture(scope="module")
def design() -> Design:
    return design_from({"name": "bench", "coil": COIL})


def test_texts_become_si_numbers(design):
    measured = design.coil.measured
    assert measured.primary_inductance == pytest.approx(8e-6)
    assert measured.secondary_capacitance == pytest.approx(14e-12)


def test_edit_gives_a_new_document(design):
    edited = with_value(design, "supply.voltage", "48 V")
    assert edited.supply.voltage == 48.0
    assert design.supply.voltage == 36.0
    assert value_at(edited, "supply.voltage") == 48.0


def test_document_is_frozen(design):
    with pytest.raises(ValueError, match="frozen"):
        design.supply.voltage = 12.0


@pytest.mark.parametrize(
    ("path", "value", "limit"),
    [
        ("supply.voltage", "900 V", "between 1 V and 400 V"),
        ("supply.voltage", "36 A", "quantity in V"),
        ("supply.voltage", True, "number or a text"),
        ("interrupter.duty", "120%", "between 0 and 1"),
        ("drive.kind", "magic", "'direct' or 'gated'"),
        ("supply.colour", 3, "field of the design"),
        ("cellar.depth", 3, "field of the design"),
        ("device.avalanche_voltage", 500, "at least the drain voltage rating"),
        ("device.reverse_capacitance", "1 nF", "above the reverse capacitance"),
        ("device.pulsed_current", 1, "at least the continuous current"),
        ("drive.gated.input_threshold_low", 3.0, "below the rising threshold"),
        ("coil.measured.coupling", None, "must be given"),
        ("protection.snubber.resistance", "10", "not fitted"),
    ],
)
def test_bad_edit_names_field_value_and_limit(design, path, value, limit):
    with pytest.raises(InputError) as caught:
        with_value(design, path, value)
    text = str(caught.value)
    assert limit in text or limit in f"{caught.value.field} {caught.value.value}"
    assert caught.value.field.split(".")[0] in {path.split(".")[0], ""}


@pytest.mark.parametrize("place", ["²", "٠", "-1", "00", "7", "", "\ud800"])
def test_a_place_in_a_list_is_a_plain_number(design, place):
    """Python counts superscript digits as digits and then cannot read them."""
    for path in (f"variants.{place}.name", f"readings.rows.{place}.supply"):
        with pytest.raises(InputError) as caught:
            with_value(design, path, "1")
        str(caught.value).encode("utf-8")


def test_edits_that_only_fit_together(design):
    edited = with_values(
        design, {"device.drain_voltage_rating": 800, "device.avalanche_voltage": 900}
    )
    assert edited.device.avalanche_voltage == 900
    with pytest.raises(InputError):
        with_value(design, "device.drain_voltage_rating", 800)


def test_parts_come_and_go(design):
    part = {"resistance": "47", "capacitance": "470 pF"}
    fitted = with_value(design, "protection.snubber", part)
    assert fitted.protection.snubber is not None
    assert with_value(fitted, "protection.snubber.resistance", "33").protection.snubber == (
        fitted.protection.snubber.model_copy(update={"resistance": 33.0})
    )
    assert with_value(fitted, "protection.snubber", None) == design


def test_unknown_fields_and_missing_parts_of_a_file():
    with pytest.raises(InputError, match="unknown"):
        design_from({"coil": COIL, "sauce": 1})
    with pytest.raises(InputError, match=r"coil must be given"):
        design_from({"name": "no coil"})
    with pytest.raises(InputError):
        design_from({"coil": COIL, "format": 99})


def test_json_round_trip_is_exact(design):
    text = design.model_dump_json()
    assert design_from(json.loads(text)) == design


def leaves(model: type[BaseModel], path: str = ""):
    for name, info in model.model_fields.items():
        here = f"{path}.{name}" if path else name
        inner = info.annotation
        if isinstance(inner, type) and issubclass(inner, BaseModel):
            yield from leaves(inner, here)
        else:
            yield here, info


def test_every_quantity_has_a_title_unit_and_limits_that_hold(design):
    seen = 0
    for path, _ in leaves(Design):
        info = field_info(path)
        assert info["title"], path
        if "unit" not in info:
            continue
        seen += 1
        for end in ("low", "high"):
            if end not in info:
                continue
            outside = info[end] * 2 + 1 if end == "high" else info[end] - abs(info[end]) - 1
            with pytest.raises(InputError):
                with_value(design, path, outside)
    assert seen > 40


def test_choices_and_unknown_paths():
    assert set(field_info("drive.kind")["choices"]) == {"direct", "gated"}
    with pytest.raises(InputError):
        field_info("drive.nothing")


def test_schema_carries_units():
    schema = json.dumps(Design.model_json_schema())
    assert '"unit": "V"' in schema
    assert '"unit": "F"' in schema


@given(st.floats(1, 400), st.floats(0, 1), st.floats(0.2, 2e4))
def test_any_value_within_limits_is_kept_exactly(voltage, duty, frequency):
    design = design_from({"coil": COIL})
    edited = with_values(
        design,
        {
            "supply.voltage": voltage,
            "interrupter.duty": duty,
            "interrupter.frequency": frequency,
        },
    )
    assert edited.supply.voltage == voltage
    assert edited.interrupter.duty == duty
    assert edited.interrupter.frequency == frequency


def test_pydantic_errors_are_told_in_our_words():
    try:
        Design.model_validate({"coil": COIL, "supply": {"voltage": "x"}})
    except ValueError as error:
        told = input_error(error)
        assert told.field == "supply.voltage"
        assert told.value == "x"
    else:
        pytest.fail("a text that is no quantity was accepted")


def test_sections_that_no_edit_touches_are_shared(small_design: Design) -> None:
    """A long history of edits holds what was edited, not copies of the whole design."""
    after = with_values(small_design, {"supply.voltage": 33.0, "cooling.ambient": "31 °C"})
    shared = {
        name for name in Design.model_fields
        if getattr(after, name) is getattr(small_design, name)
        and isinstance(getattr(after, name), BaseModel)
    }  # fmt: skip
    assert {"coil", "device", "drive", "interrupter"} <= shared
    assert not {"supply", "cooling"} & shared
