"""Templates: what is drawn for which winding, and where they say no."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree

import pytest

from burstwise.core.design.coil import CoilGeometry, PrimaryWinding, SecondaryWinding
from burstwise.core.report.sheet import Paragraph, Picture
from burstwise.core.report.template_page import MOST_PAGES, Window
from burstwise.core.report.templates import MEASURE, geometry_templates


def words_of(picture: Picture) -> list[str]:
    root = ElementTree.fromstring(picture.svg)
    return [element.text or "" for element in root.iter() if element.tag.endswith("text")]


def pictures(geometry: CoilGeometry) -> list[Picture]:
    return [block for block in geometry_templates(geometry) if isinstance(block, Picture)]


def test_a_flat_primary_has_spiral_tap_and_hole() -> None:
    primary = PrimaryWinding(shape="flat", inner_radius=0.045, turns=5.25, tap=4.5, pitch=5e-3)
    spiral, strips = pictures(CoilGeometry(primary=primary))
    assert {"start", "tap, turn 4.5", "end, turn 5.25", "hole 50 mm"} <= set(words_of(spiral))
    assert spiral.real
    assert strips.real
    assert not any("Primary" in words for words in words_of(strips))


def test_a_cone_is_drawn_as_seen_from_above() -> None:
    """At 60 degrees the turns of 8 mm pitch lie 4 mm apart: 6 turns from 45 to 69 mm."""
    primary = PrimaryWinding(
        shape="conical", inner_radius=0.045, turns=6, pitch=8e-3, cone_angle=60.0
    )
    spiral = pictures(CoilGeometry(primary=primary))[0]
    assert "60°" in spiral.caption
    numbers = re.findall(r'x2="([\d.]+)" y2="([\d.]+)".*?stroke-width="0.5"', spiral.svg)
    xs = [float(x) for x, _ in numbers]
    middle = 12.0 + 0.5 * 172.0
    assert max(xs) - middle == pytest.approx(69.0, abs=0.1)


def test_strips_mark_the_ends_of_the_secondary_and_turns_of_a_helical_primary() -> None:
    secondary = SecondaryWinding(turns=None, winding_length=0.15)
    geometry = CoilGeometry(
        secondary=secondary, primary=PrimaryWinding(turns=6, pitch=5e-3, tap=4.0)
    )
    (strips,) = pictures(geometry)
    said = words_of(strips)
    for words in ("start: foot, to BASE", "end of the former", "100 mm", "tap, turn 4",
                  "end, turn 6"):  # fmt: skip
        assert words in said
    places = {
        element.text: float(element.get("y"))
        for element in ElementTree.fromstring(strips.svg).iter()
        if element.tag.endswith("text")
    }
    end = next(words for words in places if "to the top load" in words)
    assert places["start: foot, to BASE"] - places[end] == pytest.approx(150.0, abs=0.4)
    assert places["start"] - places["end, turn 6"] == pytest.approx(30.0, abs=0.02)


def test_a_long_winding_is_cut_into_pieces_with_joints() -> None:
    secondary = SecondaryWinding(
        former_diameter=0.11, wire_diameter=0.3e-3, turns=None, winding_length=0.5
    )
    strips = pictures(CoilGeometry(secondary=secondary))
    said = [words for picture in strips for words in words_of(picture)]
    assert {"Secondary, 1 of 3", "Secondary, 3 of 3"} <= set(said)


def test_what_is_too_large_says_so() -> None:
    primary = PrimaryWinding(shape="flat", inner_radius=0.5, turns=10, pitch=0.05)
    blocks = geometry_templates(CoilGeometry(primary=primary))
    said = " ".join(block.text for block in blocks if isinstance(block, Paragraph))
    assert MEASURE in said
    assert "2.01 m across" in said.replace("\N{NO-BREAK SPACE}", " ")
    assert len([block for block in blocks if isinstance(block, Picture)]) < MOST_PAGES


def test_lines_are_cut_at_a_window() -> None:
    window = Window(0.0, 0.0, 4.0, 2.0)
    assert window.clipped(((-2.0, -1.0), (2.0, 1.0))) == ((0.0, 0.0), (2.0, 1.0))
    assert window.clipped(((5.0, 0.0), (5.0, 2.0))) is None
    assert window.clipped(((-1.0, 3.0), (5.0, 3.0))) is None
