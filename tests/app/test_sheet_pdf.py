"""Build sheet as PDF: whole, unclipped, marked on each page, made without a display."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QRectF

from burstwise.app.sheet import _Pages, pdf_bytes
from burstwise.core.assembly.picture import Curve, Scale, line_picture
from burstwise.core.assembly.sheet import Paragraph, Picture, Section, Sheet, Table

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


def test_pages_follow_the_content(qapp: object) -> None:
    content = pdf_bytes(long_sheet())
    assert content.startswith(b"%PDF-")
    assert page_count(content) >= 5


def test_nothing_is_drawn_outside_the_page_or_over_the_foot(
    qapp: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    places: list[tuple[str, QRectF, QRectF]] = []
    real = _Pages._draw

    def spy(self: _Pages, text: str, place: QRectF, size: float, **how: object) -> None:
        real(self, text, place, size, **how)
        painter, unit = self._painter, self._unit
        flags = how.get("flags", 0x1000 | 1)
        needed = painter.boundingRect(self._device(place), flags, text)
        places.append(
            (
                text,
                place,
                QRectF(
                    needed.x() / unit,
                    needed.y() / unit,
                    needed.width() / unit,
                    needed.height() / unit,
                ),
            )
        )

    monkeypatch.setattr(_Pages, "_draw", spy)
    pdf_bytes(long_sheet())
    marks = [place for text, place, _ in places if text.startswith("A title ·")]
    assert len(marks) >= 5
    foot = min(place.top() for place in marks)
    for text, place, needed in places:
        assert needed.width() <= place.width() + 0.5, text
        assert needed.height() <= place.height() + 0.5, text
        assert place.left() >= 40.0
        assert place.right() <= 595.0 - 40.0
        if not text.startswith(("A title ·", "page ")):
            assert place.bottom() <= foot + 1.0, text


def test_command_makes_a_pdf_without_a_display(tmp_path: Path) -> None:
    out = tmp_path / "sheet.pdf"
    clean = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "QT_QPA_PLATFORM")}
    done = subprocess.run(
        [sys.executable, "-m", "burstwise.app.launch", "sheet", str(EXAMPLE), "-o", str(out)],
        cwd=ROOT, env=clean, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    content = out.read_bytes()
    assert 8 <= page_count(content) <= 24


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
