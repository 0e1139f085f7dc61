from __future__ import annotations

import threading

import pytest
from PySide6.QtCore import Qt, QThread

from app.worker import Outcome, Overtake, Progress, Task, Worker


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
    worker = make_worker(overtake=Overtake.CANCEL)
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


def test_errors_come_back_as_data(make_worker, qtbot) -> None:
    worker = make_worker()
    with qtbot.waitSignal(worker.finished) as done:
        worker.submit(lambda task: 1 / 0)
    assert isinstance(done.args[0].error, ZeroDivisionError)
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
    assert not any("closing" in thread.name for thread in threading.enumerate())
    worker.submit(lambda task: "late")
    qtbot.wait(20)
    assert outcomes == []


def test_what_is_stopped_after_its_work_is_done_is_not_delivered(make_worker, qtbot) -> None:
    """The work has ended in its thread, its outcome still waits for this one."""
    worker = make_worker()
    outcomes = []
    worker.finished.connect(outcomes.append)
    ended = threading.Event()
    worker._ended.connect(lambda *_: ended.set(), Qt.ConnectionType.DirectConnection)
    worker.submit(lambda task: "old")
    assert ended.wait(20.0)
    worker.stop()
    qtbot.waitUntil(lambda: not worker.busy, timeout=20_000)
    assert outcomes == []
