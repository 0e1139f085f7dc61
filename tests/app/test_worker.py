from __future__ import annotations

import threading

import pytest
from PySide6.QtCore import QObject, Qt, QThread
from shiboken6 import Shiboken

from burstwise.app import worker as module
from burstwise.app.worker import BusyPolicy, Outcome, Progress, Task, Worker
from burstwise.core.errors import InputError
from burstwise.core.stopping import check_stop


@pytest.fixture
def make_worker(qapp):
    made: list[Worker] = []

    def make(**options) -> Worker:
        worker = Worker(**options)
        made.append(worker)
        return worker

    yield make
    for worker in made:
        worker.close()


def collect(worker: Worker) -> list[Outcome]:
    outcomes: list[Outcome] = []
    worker.finished.connect(outcomes.append)
    return outcomes


def test_runs_in_another_thread_and_delivers_in_this_one(make_worker, qtbot) -> None:
    worker = make_worker()
    threads: list[object] = []
    worker.finished.connect(lambda outcome: threads.append(threading.current_thread()))
    with qtbot.waitSignal(worker.finished) as done:
        number = worker.submit(lambda task: threading.current_thread())
    (outcome,) = done.args
    assert outcome.number == number
    assert outcome.error is None
    assert outcome.value is not threading.main_thread()
    assert threads == [threading.main_thread()]


def test_work_at_once_takes_the_place_of_what_runs(make_worker, qtbot, caplog) -> None:
    worker = make_worker()
    outcomes = collect(worker)
    gate = threading.Event()
    worker.submit(lambda task: gate.wait(5))
    worker.run_now(lambda task: threading.current_thread())
    assert [(each.number, each.value) for each in outcomes] == [(2, threading.main_thread())]
    gate.set()
    qtbot.waitUntil(lambda: not worker.busy)
    assert len(outcomes) == 1
    worker.run_now(lambda task: 1 / 0)
    assert isinstance(outcomes[-1].error, ZeroDivisionError)
    assert [record.getMessage() for record in caplog.records] == ["worker failed"]
    caplog.clear()


def test_of_many_waiting_requests_only_the_latest_is_computed(make_worker, qtbot) -> None:
    worker = make_worker()
    outcomes = collect(worker)
    gate = threading.Event()
    computed: list[int] = []

    def work(number: int):
        def run(task: Task) -> int:
            gate.wait(5)
            computed.append(number)
            return number

        return run

    for number in range(10):
        worker.submit(work(number))
    gate.set()
    qtbot.waitUntil(lambda: not worker.busy)
    assert computed == [0, 9]
    assert [outcome.value for outcome in outcomes] == [0, 9]


def test_cancel_policy_stops_the_running_one_and_does_not_deliver_it(make_worker, qtbot) -> None:
    worker = make_worker(when_busy=BusyPolicy.CANCEL)
    outcomes = collect(worker)
    started = threading.Event()

    def endless(task: Task) -> None:
        started.set()
        while True:
            task.check()
            QThread.msleep(1)

    worker.submit(endless)
    assert started.wait(5)
    worker.submit(lambda task: "new")
    qtbot.waitUntil(lambda: not worker.busy)
    assert [outcome.value for outcome in outcomes] == ["new"]


def test_errors_come_back_as_data(make_worker, qtbot, caplog) -> None:
    worker = make_worker()
    with qtbot.waitSignal(worker.finished) as done:
        worker.submit(lambda task: 1 / 0)
    assert isinstance(done.args[0].error, ZeroDivisionError)
    caplog.clear()
    with qtbot.waitSignal(worker.finished) as done:
        worker.submit(lambda task: "next")
    assert done.args[0].value == "next"


def test_progress_and_stop(make_worker, qtbot) -> None:
    worker = make_worker()
    outcomes = collect(worker)
    seen: list[Progress] = []
    busy: list[bool] = []
    worker.progressed.connect(seen.append)
    worker.busy_changed.connect(busy.append)

    def counting(task: Task) -> None:
        step = 0
        while True:
            task.progress(min(step / 100, 1.0), "counting")
            step += 1
            QThread.msleep(1)

    worker.submit(counting)
    qtbot.waitUntil(lambda: len(seen) >= 3)
    assert seen[0].share == 0.0
    assert seen[1].share > 0.0
    assert seen[0].text == "counting"
    worker.stop()
    qtbot.waitUntil(lambda: not worker.busy)
    assert busy == [True, False]
    assert outcomes == []


def test_close_ends_the_thread_and_delivers_nothing(make_worker, qtbot) -> None:
    worker = make_worker(name="closing")
    outcomes = collect(worker)
    started = threading.Event()

    def until_cancelled(task: Task) -> None:
        started.set()
        while not task.cancelled:
            QThread.msleep(1)

    worker.submit(until_cancelled)
    worker.submit(lambda task: "waiting")
    assert started.wait(5)
    worker.close()
    assert not worker.busy
    (thread,) = (one for one in threading.enumerate() if "closing" in one.name)
    thread.join(20.0)
    assert not thread.is_alive()
    worker.submit(lambda task: "late")
    qtbot.wait(20)
    assert outcomes == []


def test_what_is_stopped_after_its_work_is_done_is_not_delivered(make_worker, qtbot) -> None:
    """The work has ended in its thread, its outcome still waits for this one."""
    worker = make_worker()
    outcomes = []
    worker.finished.connect(outcomes.append)
    ended = threading.Event()
    worker._end_sent.connect(lambda *_: ended.set(), Qt.ConnectionType.DirectConnection)
    worker.submit(lambda task: "old")
    assert ended.wait(20.0)
    worker.stop()
    qtbot.waitUntil(lambda: not worker.busy, timeout=20_000)
    assert outcomes == []


def test_closing_does_not_wait_for_work_that_does_not_ask(make_worker, qtbot) -> None:
    worker = make_worker(name="deaf")
    outcomes = collect(worker)
    hold = threading.Event()
    worker.submit(lambda task: hold.wait(60.0))
    worker.close()
    (thread,) = (one for one in threading.enumerate() if "deaf" in one.name)
    assert thread.is_alive()
    hold.set()
    thread.join(20.0)
    qtbot.wait(20)
    assert outcomes == []


def test_work_in_the_core_is_stopped_where_it_asks(make_worker, qtbot) -> None:
    worker = make_worker()
    outcomes = collect(worker)
    started = threading.Event()

    def endless(task: Task) -> None:
        started.set()
        while True:
            check_stop()
            QThread.msleep(1)

    worker.submit(endless)
    assert started.wait(20.0)
    worker.stop()
    qtbot.waitUntil(lambda: not worker.busy, timeout=20_000)
    assert outcomes == []


def test_nothing_that_waits_for_delivery_comes_after_a_stop(make_worker, qtbot) -> None:
    """Parts and progress were sent by the thread, and wait in the queue of this one."""
    worker = make_worker()
    came: list[object] = []
    for signal in (worker.part, worker.progressed, worker.finished):
        signal.connect(came.append)
    ended = threading.Event()

    def work(task: Task) -> str:
        task.deliver("part")
        task.progress(0.5)
        ended.set()
        return "whole"

    worker.submit(work)
    assert ended.wait(20.0)
    worker.stop()
    qtbot.waitUntil(lambda: not worker.busy, timeout=20_000)
    assert came == []


def test_parts_come_in_order_and_only_those_of_the_request_in_hand(make_worker, qtbot) -> None:
    worker = make_worker(when_busy=BusyPolicy.CANCEL)
    came: list[object] = []
    worker.part.connect(came.append)
    worker.finished.connect(lambda outcome: came.append(outcome.value))
    handed = threading.Event()

    def old(task: Task) -> None:
        task.deliver("old")
        handed.set()
        while True:
            task.check()
            QThread.msleep(1)

    def new(task: Task) -> str:
        task.deliver("first")
        task.deliver("second")
        return "whole"

    worker.submit(old)
    assert handed.wait(20.0)
    worker.submit(new)
    qtbot.waitUntil(lambda: not worker.busy, timeout=20_000)
    assert came == ["first", "second", "whole"]


def test_an_unforeseen_error_is_logged_once_and_put_into_words(make_worker, qtbot, caplog) -> None:
    worker = make_worker(name="odd")
    with qtbot.waitSignal(worker.finished) as done:
        worker.submit(lambda task: 1 / 0)
    (outcome,) = done.args
    assert outcome.complaint("The study").startswith("The study failed (ZeroDivisionError")
    assert [record.getMessage() for record in caplog.records] == ["odd failed"]
    caplog.clear()


def test_refused_input_is_no_failure(make_worker, qtbot) -> None:
    worker = make_worker()

    def refuse(task: Task) -> None:
        raise InputError("supply.voltage", 900.0, "at most 400 V")

    with qtbot.waitSignal(worker.finished) as done:
        worker.submit(refuse)
    (outcome,) = done.args
    assert outcome.refused
    assert outcome.complaint().startswith("Supply voltage must be at most 400 V")


def test_a_worker_goes_with_its_owner_and_with_the_program(make_worker, qapp, qtbot) -> None:
    owner = QObject()
    of_owner, of_program = make_worker(owner=owner), make_worker()
    Shiboken.delete(owner)
    qapp.aboutToQuit.emit()
    for worker in (of_owner, of_program):
        worker.submit(lambda task: None)
        assert not worker.busy


def test_memory_goes_back_once_after_a_while_without_work(make_worker, qtbot, monkeypatch) -> None:
    given_back: list[bool] = []
    monkeypatch.setattr(module, "REST_MS", 50)
    monkeypatch.setattr(module, "return_freed", lambda: given_back.append(worker.busy))
    worker = make_worker()
    for _ in range(2):
        with qtbot.waitSignal(worker.finished):
            worker.submit(lambda task: None)
    assert given_back == []
    qtbot.waitUntil(lambda: given_back == [False])
    with qtbot.waitSignal(worker.finished):
        worker.submit(lambda task: None)
    worker.close()
    qtbot.wait(100)
    assert given_back == [False]


def test_a_worker_that_went_with_its_owner_can_be_closed(make_worker) -> None:
    owner = QObject()
    worker = make_worker(owner=owner)
    Shiboken.delete(worker)
    Shiboken.delete(owner)  # closes it
    worker.close()
