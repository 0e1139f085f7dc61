"""Strip above all screens: what runs is told in full."""

from __future__ import annotations

import pytest

from burstwise.app.widgets.summary_strip import SummaryStrip
from burstwise.app.worker import Progress


@pytest.mark.parametrize("words", ["Computing", "Starting the engine", "Running the stage"])
def test_words_of_the_work_are_not_cut_off(qtbot, theme, words) -> None:
    strip = SummaryStrip()
    qtbot.addWidget(strip)
    strip.resize(1366, strip.height())
    strip.show()
    strip.set_busy(True)
    strip.show_progress(Progress(1, 0.1, words))
    qtbot.waitUntil(lambda: strip.shows_work)
    seen = strip.doing.size()
    assert strip.doing.minimumSizeHint().width() <= seen.width()
    assert strip.doing.heightForWidth(seen.width()) <= seen.height()
