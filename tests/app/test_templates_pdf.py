"""Templates are as large on paper as the design says, read from the PDF's own numbers.

Unit of user space: 1/72 inch, ISO 32000-1, 8.3.2.3 (from memory). An inch is 25.4 mm.
"""

from __future__ import annotations

import math
import re
import zlib
from collections.abc import Iterator

import pytest

from burstwise.app.sheet import pdf_bytes
from burstwise.core.design.coil import CoilGeometry, PrimaryWinding
from burstwise.core.report.sheet import Section, Sheet
from burstwise.core.report.template_page import HEIGHT, OVERLAP
from burstwise.core.report.templates import geometry_templates

MILLIMETRE = 72.0 / 25.4
NUMBER = re.compile(rb"-?\d*\.?\d+")
FLAT = PrimaryWinding(shape="flat", inner_radius=0.045, turns=5.25, tap=4.5, pitch=5e-3)


def content_streams(pdf: bytes) -> Iterator[bytes]:
    """Drawing instructions of each page."""
    for found in re.finditer(rb"stream\r?\n(.*?)endstream", pdf, re.DOTALL):
        try:
            content = zlib.decompress(found[1])
        except zlib.error:
            content = found[1]
        if b" cm" in content and b" l" in content:
            yield content


def times(inner, outer):
    """Product of two transforms (a b c d e f), the inner one first."""
    a, b, c, d, e, f = inner
    g, h, i, j, k, m = outer
    return (
        a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j,
        e * g + f * i + k, e * h + f * j + m,
    )  # fmt: skip


def strokes(content: bytes) -> Iterator[list[tuple[float, float]]]:
    """Straight paths of a page in points."""
    state, kept, stack, path = (1, 0, 0, 1, 0, 0), [], [], []
    for token in content.split():
        if NUMBER.fullmatch(token):
            stack.append(float(token))
            continue
        if token == b"q":
            kept.append(state)
        elif token == b"Q":
            state = kept.pop() if kept else state
        elif token == b"cm":
            state = times(stack[-6:], state)
        elif token in (b"m", b"l"):
            a, b, c, d, e, f = state
            x, y = stack[-2:]
            if token == b"m":
                path = []
                yield path
            path.append((a * x + c * y + e, b * x + d * y + f))
        stack = []


def lines_of(blocks) -> list[list[list[tuple[float, float]]]]:
    sheet = Sheet("A", "B", "mark", (Section("Templates at 1:1", blocks, new_page=True),))
    return [
        [path for path in map(list, list(strokes(content))) if len(path) > 1]
        for content in content_streams(pdf_bytes(sheet))
    ]


def lengths(paths, *, upright: bool) -> list[float]:
    """Lengths of level or upright lines [mm]."""
    found = []
    for path in paths:
        dx, dy = path[-1][0] - path[0][0], path[-1][1] - path[0][1]
        if len(path) == 2 and abs(dx if upright else dy) < 0.01:
            found.append(abs(dy if upright else dx) / MILLIMETRE)
    return found


@pytest.fixture
def flat_page(qapp: object):
    pages = lines_of(geometry_templates(CoilGeometry(primary=FLAT)))
    return next(page for page in pages if len(page) > 300)


def test_both_rulers_are_100_mm_on_paper(flat_page) -> None:
    for upright in (False, True):
        assert any(length == pytest.approx(100.0, abs=0.02)
                   for length in lengths(flat_page, upright=upright))  # fmt: skip


def test_spiral_has_the_radii_of_the_design(flat_page) -> None:
    """The axis is the crossing of the two short lines at the hole; radii by r = r0 + p n."""
    cross = [
        path for path in flat_page
        if len(path) == 2 and math.dist(*path) == pytest.approx(10.0 * MILLIMETRE, abs=0.02)
    ]  # fmt: skip
    level = next(path for path in cross if abs(path[0][1] - path[1][1]) < 0.01)
    x = 0.5 * (level[0][0] + level[1][0])
    y = level[0][1]
    radii = [math.hypot(px - x, py - y) / MILLIMETRE for path in flat_page for px, py in path]
    start, end = 45.0, 45.0 + 5.0 * 5.25
    for expected in (start, end, 25.0):
        assert any(radius == pytest.approx(expected, abs=0.03) for radius in radii), expected


def test_a_smaller_setting_leaves_templates_alone(
    qapp: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("burstwise.app.sheet._set_small", lambda *_: 0.94)
    pages = lines_of(geometry_templates(CoilGeometry(primary=FLAT)))
    page = next(page for page in pages if len(page) > 300)
    assert any(length == pytest.approx(100.0, abs=0.02) for length in lengths(page, upright=False))


def test_a_large_spiral_goes_over_pages_that_overlap(qapp: object) -> None:
    large = PrimaryWinding(shape="flat", inner_radius=0.1, turns=8.0, pitch=0.01)
    pages = lines_of(geometry_templates(CoilGeometry(primary=large)))
    spiral = [page for page in pages if len(page) > 100]
    # 372 mm over windows of 172 by 216 mm that share 10 mm: 3 across, 2 down.
    assert len(spiral) == 6
    assert HEIGHT > 200
    assert OVERLAP == 10.0
    for page in spiral:
        assert any(length == pytest.approx(100.0, abs=0.02)
                   for length in lengths(page, upright=True))  # fmt: skip
