from __future__ import annotations

import threading
import time
from dataclasses import dataclass, replace

import pytest

from burstwise.app.session import SETTLE_MS, Evaluated, Session
from burstwise.core.errors import InputError
from burstwise.core.stopping import StoppedError


def test_an_edit_is_evaluated_and_the_last_one_wins(session, qtbot) -> None:
    seen: list[Evaluated] = []
    session.evaluated.connect(seen.append)
    for voltage in (20.0, 25.0, 30.0, 40.0):
        session.document.edit("supply.voltage", voltage, live=True)
    qtbot.waitUntil(lambda: not session.settling and not session.worker.busy)
    assert seen[-1].design is session.document.design
    assert session.latest is seen[-1]
    assert session.latest.results.power == pytest.approx(40.0 * 0.3)
    # Of a run of edits only the last is worth an evaluation.
    assert len(seen) == 1


def test_edits_one_by_one_do_not_wait_for_a_rest(session, qtbot) -> None:
    qtbot.waitUntil(lambda: not session.settling and not session.worker.busy)
    qtbot.wait(2 * SETTLE_MS)
    session.document.edit("supply.voltage", 20.0)
    assert session.worker.busy
    assert not session.settling
    for voltage in (25.0, 30.0):
        session.document.edit("supply.voltage", voltage)
    assert session.settling
    qtbot.waitUntil(lambda: not session.settling and not session.worker.busy)
    assert session.latest.design is session.document.design


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


def test_a_refused_design_is_told_by_title_and_in_the_users_units(qapp, toy_job, qtbot) -> None:
    path = "coil.geometry.primary.inner_radius"

    def refuse(design, task):
        raise InputError(path, 0.03, "more than 0.03863 m, clear of the secondary winding")

    made = Session(replace(toy_job, evaluate=refuse))
    with qtbot.waitSignal(made.failed) as failed:
        made.document.edit("supply.voltage", 20.0)
    (finding,) = failed.args
    assert finding.field == path
    assert finding.text == (
        "Primary: Radius of the start, to the conductor's middle must be more than 38.63 mm, "
        "clear of the secondary winding; instead received 30 mm"
    )
    made.close()


@pytest.fixture
def quick_session(qapp, toy_job):
    prepared = []

    def glimpse(design):
        return ToyQuick(design.supply.voltage) if design.supply.voltage != 66.0 else None

    job = replace(toy_job, glimpse=glimpse, prepare=lambda design, task: prepared.append(design))
    made = Session(job)
    made.prepared = prepared
    yield made
    made.close()


@dataclass(frozen=True)
class ToyQuick:
    power: float


def test_a_glimpse_comes_at_once_and_the_full_results_once_the_hand_rests(
    quick_session, qtbot
) -> None:
    seen, full = [], []
    quick_session.glimpsed.connect(seen.append)
    quick_session.evaluated.connect(full.append)
    for voltage in (20.0, 25.0, 30.0):
        quick_session.document.edit("supply.voltage", voltage, live=True)
        assert seen[-1].results.power == voltage
        assert not full
        assert not quick_session.worker.busy
    qtbot.waitUntil(lambda: bool(full))
    assert len(full) == 1
    assert full[0].design is quick_session.document.design
    assert quick_session.latest is full[0]
    qtbot.waitUntil(lambda: bool(quick_session.prepared))
    assert quick_session.prepared[-1] is quick_session.document.design


def test_what_was_looked_ahead_is_kept_for_whoever_comes_later(qapp, toy_job, qtbot) -> None:
    ready: list[object] = []

    def summarise(results, *, during_drag=False):
        breaks = (("Drain voltage", 42.0),) if ready else ()
        return replace(toy_job.summarise(results), breaks=breaks)

    made = Session(
        replace(toy_job, prepare=lambda design, task: ready.append(design), summarise=summarise)
    )
    with qtbot.waitSignal(made.looked_ahead) as told:
        made.document.edit("supply.voltage", 20.0)
    assert made.latest_complete is told.args[0]
    assert made.latest_complete.summary.breaks == (("Drain voltage", 42.0),)
    with qtbot.waitSignal(made.evaluated):
        made.document.edit("supply.voltage", 21.0)
    assert made.latest_complete.results is made.latest.results
    made.close()


def test_full_results_that_a_newer_glimpse_has_overtaken_are_not_told(quick_session, qtbot) -> None:
    full = []
    quick_session.evaluated.connect(full.append)
    quick_session.document.edit("supply.voltage", 66.0)
    assert quick_session.worker.busy
    quick_session.document.edit("supply.voltage", 50.0, live=True)
    qtbot.waitUntil(lambda: bool(full))
    assert [item.design.supply.voltage for item in full] == [50.0]


def test_a_preparation_that_fails_is_logged_and_stops_nothing(qapp, toy_job, qtbot, caplog) -> None:
    def prepare(design, task) -> None:
        raise ZeroDivisionError("no table")

    made = Session(replace(toy_job, prepare=prepare))
    with qtbot.waitSignal(made.evaluated):
        made.document.edit("supply.voltage", 20.0)
    qtbot.waitUntil(lambda: "no table" in caplog.text)
    made.close()
    caplog.clear()


def test_an_edit_that_no_glimpse_serves_stops_the_preparation_for_the_design_before(
    qapp, toy_job, qtbot
) -> None:
    began, stopped = [], []

    def prepare(design, task) -> None:
        began.append(design.supply.voltage)
        end = time.monotonic() + 8.0
        try:
            while design.supply.voltage == 20.0 and time.monotonic() < end:
                task.check()
                time.sleep(0.002)
        except StoppedError:
            stopped.append(design.supply.voltage)
            raise

    hold = threading.Event()

    def evaluate(design, task):
        if design.supply.voltage != 20.0:
            hold.wait(5.0)
        return toy_job.evaluate(design, task)

    made = Session(replace(toy_job, prepare=prepare, evaluate=evaluate))
    with qtbot.waitSignal(made.evaluated):
        made.document.edit("supply.voltage", 20.0)
    qtbot.waitUntil(lambda: began == [20.0])
    made.document.edit("supply.voltage", 21.0)
    try:
        qtbot.waitUntil(lambda: stopped == [20.0])
    finally:
        hold.set()
        made.close()


def test_results_of_a_design_that_has_moved_on_are_never_told(qapp, toy_job, qtbot) -> None:
    """An evaluation that began before an edit and ends long after it has settled."""
    gates = {36.0: threading.Event(), 48.0: threading.Event()}

    def evaluate(design, task):
        gates[design.supply.voltage].wait(20.0)
        return toy_job.evaluate(design, task)

    session = Session(replace(toy_job, evaluate=evaluate))
    told = []
    session.evaluated.connect(lambda item: told.append(item.design.supply.voltage))
    session.refresh()
    session.document.edit("supply.voltage", 48.0)
    qtbot.waitUntil(lambda: not session.settling, timeout=20_000)
    gates[36.0].set()
    gates[48.0].set()
    qtbot.waitUntil(lambda: told != [], timeout=20_000)
    assert told == [48.0]
    session.close()
