"""Build sheet as PDF: whole, unclipped, marked on each page, made without a display."""

from __future__ import annotations

import bisect
import os
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtSvg import QSvgRenderer

from burstwise.app.sheet import _Pages, pdf_bytes
from burstwise.app.sheet_pen import RESOLUTION, Pen
from burstwise.core.report.picture import Curve, Scale, line_picture
from burstwise.core.report.sheet import Paragraph, Picture, Section, Sheet, Table

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "resources" / "examples" / "classroom-gated-interrupted.burstwise"


def long_sheet() -> Sheet:
    row = ("R1", "a resistor with a rather long description of what it is there for", "4.7 kΩ")
    return Sheet(
        "A title",
        "Build sheet",
        "A title · design 0123456789ab · Burstwise 1",
        (
            Section("Cautions", tuple(Paragraph("Keep away. " * 30, "caution") for _ in range(12))),
            Section("Table", (Table(("Ref.", "Part", "Value"), (row,) * 120, (1, 5, 2)),)),
            Section(
                "Picture",
                (
                    Picture(
                        line_picture(
                            "Line", Scale("t", "s"), Scale("u", "V"),
                            [Curve("a", np.arange(5.0), np.arange(5.0))],
                        ),
                        "A caption",
                    ),
                ),
                new_page=True,
            ),
        ),
    )  # fmt: skip


def page_count(content: bytes) -> int:
    return len(re.findall(rb"/Type\s*/Page[^s]", content))


def test_words_of_a_drawing_do_not_take_the_weight_of_a_heading(qapp: object) -> None:
    """As in a viewer that knows nothing of the sheet: SVG words are of normal weight unless said.

    SVG 2, property font-weight, initial value normal (from memory).
    """
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 20">'
        '<text x="2" y="15" font-family="DejaVu Sans" font-size="14">4.7 mF</text></svg>'
    )

    def drawn(heading: bool | None) -> QImage:
        image = QImage(1100, 500, QImage.Format.Format_RGB32)
        image.fill(Qt.GlobalColor.white)
        painter = QPainter(image)
        if heading is None:
            QSvgRenderer(svg.encode()).render(painter, QRectF(100, 50, 900, 300))
        else:
            pen = Pen(painter)
            pen.words("Circuit", QRectF(0, 26, 60, 4), 4.0, bold=heading)
            place = QRectF(*(at * 72.0 / RESOLUTION for at in (100, 50, 900, 300)))
            pen.picture(svg, place)
        painter.end()
        return image.copy(0, 0, 1100, 400)

    assert drawn(heading=True) == drawn(heading=False) == drawn(heading=None)


def test_pages_follow_the_content(qapp: object) -> None:
    content = pdf_bytes(long_sheet())
    assert content.startswith(b"%PDF-")
    assert page_count(content) >= 3


def test_nothing_is_drawn_outside_the_page_or_over_the_foot(
    qapp: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    places: list[tuple[str, QRectF, float]] = []
    real = Pen.words

    def spy(self: Pen, text: str, place: QRectF, size: float, **how: object) -> None:
        real(self, text, place, size, **how)
        needed = self.height(text, size, place.width(), bold=bool(how.get("bold", False)))
        places.append((text, place, needed))

    monkeypatch.setattr(Pen, "words", spy)
    pdf_bytes(long_sheet())
    marks = [place for text, place, _ in places if text.startswith("A title ·")]
    assert len(marks) >= 3
    foot = min(place.top() for place in marks)
    wide = marks[0].left() + marks[0].right()
    assert 595.0 <= wide <= 595.0 / 0.94
    for text, place, needed in places:
        assert needed <= place.height() + 0.5, text
        assert place.left() >= 30.0
        assert place.right() <= wide - 30.0
        if not text.startswith(("A title ·", "page ")):
            assert place.bottom() <= foot + 1.0, text


def heading_positions(sheet: Sheet, monkeypatch: pytest.MonkeyPatch) -> list[tuple[int, str]]:
    """Page and words of everything drawn, in order."""
    drawn: list[tuple[int, str]] = []
    real = Pen.words

    def spy(self: Pen, text: str, place: QRectF, size: float, **how: object) -> None:
        real(self, text, place, size, **how)
        page = drawn[-1][0] if drawn else 0
        drawn.append((int(text.split()[1]) if re.fullmatch(r"page \d+", text) else page, text))

    monkeypatch.setattr(Pen, "words", spy)
    pdf_bytes(sheet)
    return drawn


@pytest.mark.parametrize("words_before", range(100, 2500, 300))
def test_a_heading_is_not_parted_from_its_table(
    qapp: object, monkeypatch: pytest.MonkeyPatch, words_before: int
) -> None:
    row = ("R1", "a resistor with a rather long description of what it is there for", "4.7 kΩ" * 5)
    sheet = Sheet(
        "A title", "Build sheet", "mark",
        (
            Section("Before", (Paragraph("word " * words_before),)),
            Section(
                "Title of the table",
                (Paragraph("Head of it", "head"), Table(("a", "b", "c"), (row,) * 4, (1, 2, 6))),
            ),
        ),
    )  # fmt: skip
    drawn = heading_positions(sheet, monkeypatch)
    pages = {text: page for page, text in drawn}
    first_row = next(page for page, text in drawn if text == "R1")
    assert pages["Title of the table"] == pages["Head of it"] == first_row


def test_words_over_a_wide_table_stay_with_it(
    qapp: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    row = ("R1", *("a long description of what it is there for, and why",) * 5)
    wide = Table(("a", "b", "c", "d", "e", "f"), (row,) * 4, (1, 3, 3, 3, 3, 3))
    for lines in range(112, 128, 2):
        before = tuple(Paragraph(f"Line {number}", "item") for number in range(lines))
        sheet = Sheet(
            "A title", "Build sheet", "mark",
            (Section("Before", before), Section("Title", (Paragraph("Words over it"), wide))),
        )  # fmt: skip
        drawn = heading_positions(sheet, monkeypatch)
        pages = {text: page for page, text in drawn}
        first_row = next(page for page, text in drawn if text == "R1")
        assert pages["Title"] == pages["Words over it"] == first_row, lines


def test_a_last_page_with_hardly_anything_is_saved_by_a_smaller_setting(qapp: object) -> None:
    """The most lines that fit on one page do so by a smaller setting only."""

    def lines(count: int) -> tuple[Paragraph, ...]:
        return tuple(Paragraph(f"{number} " + "word " * 8) for number in range(count))

    def pages(count: int) -> int:
        return page_count(pdf_bytes(Sheet("A", "B", "mark", (Section("C", lines(count)),))))

    most = bisect.bisect_right(range(80, 240), 1, key=pages) + 79
    assert (pages(most), pages(most + 1)) == (1, 2)
    assert _scale_of(lines(most)) < 1.0
    assert _scale_of(lines(most - 40)) == 1.0
    assert _scale_of(lines(most + 60)) == 1.0


def _scale_of(blocks: tuple[Paragraph, ...]) -> float:
    found: list[float] = []

    class Seen(_Pages):
        def __init__(self, pen, sheet, page, scale, new_page) -> None:
            super().__init__(pen, sheet, page, scale, new_page)
            if new_page is not None:
                found.append(scale)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("burstwise.app.sheet._Pages", Seen)
        pdf_bytes(Sheet("A", "B", "mark", (Section("C", blocks),)))
    return found[0]


def test_command_makes_a_pdf_without_a_display(tmp_path: Path) -> None:
    out = tmp_path / "sheet.pdf"
    clean = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "QT_QPA_PLATFORM")}
    done = subprocess.run(
        [sys.executable, "-m", "burstwise.app.launch", "sheet", str(EXAMPLE), "-o", str(out)],
        cwd=ROOT, env=clean, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    content = out.read_bytes()
    assert 7 <= page_count(content) <= 10


def test_html_needs_no_qt(tmp_path: Path) -> None:
    code = (
        "import sys\n"
        "from burstwise.app.launch import main\n"
        f"status = main(['sheet', {str(EXAMPLE)!r}, '-o', {str(tmp_path / 'a.html')!r}])\n"
        "assert not any(name.startswith('PySide6') for name in sys.modules), 'Qt was imported'\n"
        "sys.exit(status)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "a.html").stat().st_size > 20_000
