"""Percentages are written by one function, so that none comes out as 3.5e+02 % or -0.0 %."""

from __future__ import annotations

import re
from pathlib import Path

_ROOT = Path(__file__).parents[2]
_BY_HAND = re.compile(r"100(\.0)? \* [^{}]*:[^{}]*\}\s*%|:[^{}]*\d%\}")
_ALLOWED = {
    "core/report/html.py",  # a width in a style sheet
    "core/assembly/part.py",  # tolerance as bought: 5 %, 20 %
    "core/coil/self_capacitance.py",  # an example in a docstring
    "core/bench/sheet.py",  # a cell that is read back
}


def test_no_percentage_is_formatted_by_hand():
    found = {
        f"{path.relative_to(_ROOT)}:{number}"
        for folder in ("core", "app")
        for path in sorted((_ROOT / folder).rglob("*.py"))
        if str(path.relative_to(_ROOT)) not in _ALLOWED
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if _BY_HAND.search(line)
    }
    assert found == set()


def test_the_pattern_finds_what_it_is_for():
    assert _BY_HAND.search('f"{100 * item.deviation:+.2g} %"')
    assert _BY_HAND.search('f"{apart:+.0%}: the stage"')
    assert not _BY_HAND.search('f"{percent(item.deviation, digits=2)}"')
