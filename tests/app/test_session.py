from __future__ import annotations

import pytest

from app.session import Evaluated, Session


@pytest.fixture
def session(qapp, toy_job):
    made = Session(toy_job)
    yield made
    made.close()


def test_an_edit_is_evaluated_and_the_last_one_wins(session, qtbot) -> None:
    seen: list[Evaluated] = []
    session.evaluated.connect(seen.append)
    for voltage in (20.0, 25.0, 30.0, 40.0):
        session.document.edit("supply.voltage", voltage, live=True)
    qtbot.waitUntil(lambda: not session.worker.busy)
    assert seen[-1].design is session.document.design
    assert session.latest is seen[-1]
    assert session.latest.results.power == pytest.approx(40.0 * 0.3)
    assert len(seen) <= 4


def test_an_unexpected_error_is_logged_and_told_and_the_results_stay(
    session, qtbot, caplog
) -> None:
    with qtbot.waitSignal(session.evaluated):
        session.document.edit("supply.voltage", 20.0)
    good = session.latest
    with qtbot.waitSignal(session.failed) as failed:
        session.document.edit("supply.voltage", 13.0)
    (finding,) = failed.args
    assert finding.code == "evaluation-failed"
    assert "thirteen" in finding.text
    assert session.latest is good
    assert "ZeroDivisionError" in caplog.text
    caplog.clear()
