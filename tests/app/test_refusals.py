"""Refusals in the window's words: no dotted path, no bare SI number of a length."""

from __future__ import annotations

import re

import pytest

from burstwise.app.refusals import limit_of, refusal, title_of
from burstwise.core.coil.resolve import resolved_coil
from burstwise.core.design.document import Design, design_from, with_values
from burstwise.core.errors import FileError, InputError

PRIMARY = "coil.geometry.primary"
TOP = "coil.geometry.top_load"


@pytest.fixture
def design() -> Design:
    return design_from({"coil": {"given_by": "geometry"}})


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({f"{PRIMARY}.inner_radius": 0.02}, "more than 26.13 mm"),
        ({f"{PRIMARY}.pitch": 1e-3}, "conductor's own size, 1.8 mm; instead received 1 mm"),
        ({f"{TOP}.centre_height": -0.01}, "Top load: Height of its middle above the winding must"),
        ({f"{PRIMARY}.start_height": -0.2}, "instead received -200 mm"),
        (
            {"coil.geometry.secondary.wire_diameter": 4e-3},
            "and 2.5 mm; instead received 4 mm",
        ),
    ],
)
def test_what_a_coil_is_refused_for(design, changes, words) -> None:
    """Hand figures: the former's 25 mm + 0.226 mm + 0.9 mm, the wire table's ends."""
    with pytest.raises(InputError) as caught:
        resolved_coil(with_values(design, changes).coil)
    told = refusal(caught.value)
    assert words in told
    assert "coil." not in told
    assert re.search(r"0\.\d+ m\b", told) is None


@pytest.mark.parametrize(
    ("path", "title"),
    [
        ("supply.voltage", "Supply voltage"),
        (f"{TOP}.diameter", "Top load: Outer diameter"),
        ("device.impedance_curve.2.time", "row 3: Pulse length"),
        ("wanted value", "wanted value"),
        ("cellar.depth", "cellar.depth"),
    ],
)
def test_titles(path, title) -> None:
    assert title_of(path).endswith(title)


def test_numbers_in_other_units_stay(design) -> None:
    limit = "below Coss, 40 pF at 0.5 V and 0.25 mm/s"
    assert limit_of(InputError("supply.voltage", 1, limit)) == limit.replace("0.5 V", "500 mV")
    assert limit_of(InputError("coil.geometry.base_height", 1, limit)) == limit


def test_a_path_within_a_limit_is_translated_too() -> None:
    told = refusal(InputError("sweep", "1 to 2", "buildable; supply.voltage must be above 0 V"))
    assert (
        told == "sweep must be buildable; Supply voltage must be above 0 V; instead received 1 to 2"
    )


def test_names_of_files_stay_as_they_are() -> None:
    error = FileError("coil.geometry.json", "nothing", "a design file", line=3)
    assert refusal(error) == str(error)
