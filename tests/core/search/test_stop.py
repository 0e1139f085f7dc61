"""A stop is answered with what there is: nobody waits for a process to come up, or for a thread."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

import pytest

from burstwise.core.search import Keep, Objective, Wish, search, wanted
from burstwise.core.search.budget import Budget
from burstwise.core.search.pool import NICE, Pool, beside
from burstwise.core.search.space import free_from_text
from burstwise.core.search.trial import Ground
from burstwise.core.stopping import StoppedError, check_stop
from burstwise.core.storage import load

FILE = Path(__file__).parents[3] / "resources/examples/classroom-gated-interrupted.burstwise"
WISH = Wish(Objective("burst.top_voltage_reached_V", highest=True), (Keep("margin", 0.2),))
PATIENCE = 60.0
"""After this long a wait is given up, so that a fault fails instead of hanging [s]."""


class Answers:
    """Wants to go on for some questions."""

    def __init__(self, yes: int) -> None:
        self.yes = yes

    def __call__(self, *_: object) -> bool:
        self.yes -= 1
        return self.yes >= 0


def test_work_in_a_thread_is_left_to_itself() -> None:
    release, ended = threading.Event(), threading.Event()

    def work() -> None:
        release.wait(PATIENCE)  # as a compiler, which does not ask
        ended.set()

    with pytest.raises(StoppedError):
        beside(work, Answers(2))
    assert not ended.is_set()
    release.set()
    assert ended.wait(PATIENCE)


def test_work_in_a_thread_hears_of_the_stop() -> None:
    heard, begun = threading.Event(), threading.Event()

    def work() -> None:
        begun.set()
        try:
            while True:
                check_stop()
        finally:
            heard.set()

    with pytest.raises(StoppedError):
        beside(work, lambda: not begun.is_set())
    assert heard.wait(PATIENCE)


def test_work_in_a_thread_gives_its_result_or_its_error() -> None:
    assert beside(lambda: 42, lambda: True) == 42
    with pytest.raises(ZeroDivisionError):
        beside(lambda: 1 // 0, lambda: True)


def test_a_search_does_not_wait_for_what_it_prepares(monkeypatch: pytest.MonkeyPatch) -> None:
    release, ended = threading.Event(), threading.Event()

    def prepared(*_: object) -> Any:
        release.wait(PATIENCE)
        ended.set()
        raise StoppedError("asked to stop")

    monkeypatch.setattr(wanted, "check_names", prepared)
    design = load(FILE)
    free = [free_from_text(design, "supply.voltage=20:40")]
    answer = search(design, WISH, free, evaluations=10, processes=2, go_on=Answers(2))
    assert answer.stopped
    assert not answer.found
    assert not ended.is_set()
    release.set()
    assert ended.wait(PATIENCE)


class Slow:
    """Cannot be read by a process before somebody writes into a pipe."""

    def __init__(self, pipe: Path) -> None:
        self.pipe = pipe

    def __reduce__(self) -> tuple[Any, ...]:
        return (os.open, (str(self.pipe), os.O_RDONLY))


@pytest.mark.skipif(os.name != "posix", reason="pipes with a name as POSIX has them")
def test_a_pool_does_not_wait_for_its_processes(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    given_up: list[int] = []

    def release() -> None:
        given_up.append(os.open(pipe, os.O_RDWR | os.O_NONBLOCK))  # whoever waits reads on

    design = load(FILE)
    free = (free_from_text(design, "supply.voltage=20:40"),)
    # More than a pipe holds, so that a start that hands all of it over would wait for a reader.
    padding = (os.urandom(1_000_000), Slow(pipe), os.urandom(1_000_000))
    ground = Ground(design, WISH, free, hidden=padding)  # type: ignore[arg-type]
    timer = threading.Timer(PATIENCE, release)
    timer.start()
    asked = Answers(3)
    with pytest.raises(StoppedError), Pool(2, asked, ground) as pool:
        pool.run([{"supply.voltage": volts} for volts in (20.0, 25.0, 30.0)])
    timer.cancel()
    assert not given_up
    assert len(pool.done) < 3


@pytest.mark.skipif(os.name != "posix", reason="priorities as POSIX has them")
def test_processes_stand_back_behind_the_window() -> None:
    design = load(FILE)
    free = (free_from_text(design, "supply.voltage=20:40"),)
    with Pool(1, lambda: True, Ground(design, WISH, free)) as pool:
        assert pool._executor is not None
        priority = pool._executor.submit(os.nice, 0).result(PATIENCE)
    assert priority == min(os.nice(0) + NICE, 19)


@pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
@pytest.mark.parametrize("asking", [signal.SIGINT, signal.SIGTERM], ids=lambda one: one.name)
def test_the_command_tells_what_it_has_when_asked_to_end(asking: signal.Signals) -> None:
    aim = ["--maximise", "burst.top_voltage_reached_V", "--free", "supply.voltage=20:40"]
    program = (
        "import sys; from burstwise.core import command; from burstwise.core.search import wanted\n"
        "check = wanted.check_names\n"
        "def told(*given):\n    print('begun', flush=True); check(*given)\n"
        "wanted.check_names = told\n"
        "if __name__ == '__main__': sys.exit(command.run(sys.argv[1:]))\n"
    )
    asked = subprocess.Popen(
        [sys.executable, "-c", program, "search", str(FILE), *aim, "--seconds", "600", "--json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    assert asked.stdout is not None
    assert asked.stdout.readline() == "begun\n"
    os.killpg(asked.pid, asking)  # as a terminal does: all of its processes
    out, err = asked.communicate(timeout=PATIENCE)
    assert '"stopped": true' in out
    assert err == ""
    assert asked.returncode in (0, 1)


def test_a_slow_machine_makes_a_few_evaluations_all_the_same() -> None:
    wanted_still = [True]
    budget = Budget(10.0, None, lambda _progress: wanted_still[0], fewest=8)
    budget.begun -= 1000.0  # as if so long ago
    budget.used = 7
    assert budget.go_on()
    budget.used = 8
    assert not budget.go_on()
    assert not budget.cancelled
    budget.used = 7
    wanted_still[0] = False
    assert not budget.go_on()
    assert budget.cancelled


def test_a_search_begun_late_has_its_few_evaluations(monkeypatch: pytest.MonkeyPatch) -> None:
    def late(*given: Any, **more: Any) -> Budget:
        made = Budget(*given, **more)
        made.begun -= 1000.0
        return made

    monkeypatch.setattr(wanted, "Budget", late)
    free = [free_from_text(load(FILE), "supply.voltage=20:40")]
    answer = search(load(FILE), WISH, free, seconds=1.0, processes=0)
    assert wanted.FEWEST <= answer.evaluations <= wanted.FEWEST + 5
    assert answer.found
