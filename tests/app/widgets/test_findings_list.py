from __future__ import annotations

import pytest

from burstwise.app.widgets.findings_list import FindingsList
from burstwise.core.findings import caution, stop

LONG = (
    "The loop has locked to a poor mode at 749 kHz with 1.9 kV on top; the right one gives "
    "13.0 kV at 940 kHz, and this sentence goes on for some lines more."
)


@pytest.mark.parametrize("width", [150, 226, 252, 340])
@pytest.mark.parametrize("count", [1, 6])
def test_no_finding_is_cut_off_whether_or_not_the_list_scrolls(qtbot, theme, width, count) -> None:
    found = FindingsList(theme)
    qtbot.addWidget(found)
    found.resize(400, 330)
    with qtbot.waitExposed(found):
        found.show()
    found.show_findings([stop(f"s{n}", "supply", LONG) for n in range(count)])
    found.resize(width, 330)
    items = found.items
    qtbot.waitUntil(lambda: items.viewport().width() <= width)
    room = items.viewport().width()
    for row in range(items.count()):
        box = items.visualItemRect(items.item(row))
        words = items.fontMetrics().boundingRect(
            0, 0, box.width() - 8, 10_000, 0x1000, items.item(row).text()
        )
        assert box.right() <= room
        assert box.height() >= words.height()
    last = items.visualItemRect(items.item(items.count() - 1))
    reach = items.verticalScrollBar().maximum()
    assert last.bottom() - reach <= items.viewport().height()


def test_a_note_below_a_stop_keeps_its_place(qtbot, theme) -> None:
    found = FindingsList(theme)
    qtbot.addWidget(found)
    found.show_findings([caution("c", "supply", "Less."), stop("s", "supply", "More.")])
    texts = [found.items.item(row).text() for row in range(found.items.count())]
    assert texts == ["■ stop: More.", "▲ caution: Less."]
