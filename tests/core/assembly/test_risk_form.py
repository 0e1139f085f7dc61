"""The form for a class holds every hazard of the one list, and defers to local rules."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest

from burstwise.core.assembly.cautions import HAZARDS, Hazard
from burstwise.core.evaluate.results import Results
from burstwise.core.report import risk_form as form
from burstwise.core.report.sheet import Paragraph, Table
from burstwise.core.report.sheet_content import build_sheet

Evaluated = Callable[[str], Results]
NO_BREAK = "\N{NO-BREAK SPACE}"


def cells(results: Results) -> list[tuple[str, ...]]:
    tables = [block for block in form.risk_form(results) if isinstance(block, Table)]
    return [row for table in tables for row in table.rows]


def test_every_hazard_has_its_measures_and_room_to_write(evaluated: Evaluated) -> None:
    rows = {row[0]: row[1:] for row in cells(evaluated("classroom-gated-interrupted"))}
    for hazard in HAZARDS:
        measures, *room = rows[hazard.title]
        assert measures == hazard.text
        assert room == [form.BLANK] * 3


def test_a_hazard_that_is_added_is_on_the_form(
    evaluated: Evaluated, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(form, "HAZARDS", (*HAZARDS, Hazard("Cold", "Wear a coat.")))
    rows = cells(evaluated("classroom-gated-interrupted"))
    assert ("Cold", "Wear a coat.", form.BLANK, form.BLANK, form.BLANK) in rows


def test_it_defers_and_permits_nothing(evaluated: Evaluated) -> None:
    blocks = form.risk_form(evaluated("classroom-gated-interrupted"))
    words = " ".join(block.text for block in blocks if isinstance(block, Paragraph))
    assert "replaces none of them" in words
    assert "local rules" in json.dumps(cells(evaluated("classroom-gated-interrupted")))
    assert "safe" not in words.replace("safety", "")
    assert "stays off" in words


def test_its_figures_are_those_of_the_design(evaluated: Evaluated) -> None:
    results = evaluated("demonstration-gated-large")
    rows = {row[0]: row[1].replace(NO_BREAK, " ") for row in cells(results)}
    # 10 mF at 60 V hold 18 J.
    assert rows["Energy in the bulk capacitor"] == "18 J"
    stops = sum(item.severity.value == "stop" for item in results.findings)
    assert rows["Findings that say stop"] == str(stops)


def test_it_is_the_last_page_of_the_sheet(evaluated: Evaluated) -> None:
    section = build_sheet(evaluated("classroom-gated-interrupted")).sections[-1]
    assert section.title == "Risk assessment for a class"
    assert section.new_page
