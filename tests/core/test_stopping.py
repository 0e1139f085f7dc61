"""Work in the core ends where it is asked to stop, in whichever thread it runs."""

from __future__ import annotations

import ast
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from carrier_grid import carrier_table

from burstwise.core.coil.resolve import resolved_coil
from burstwise.core.design.document import Design
from burstwise.core.evaluate import evaluate
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import carrier
from burstwise.core.stopping import StoppedError, carried, check_stop, stoppable


class Wish:
    """Asks to stop from the given question on; notes the threads that asked."""

    def __init__(self, after: int) -> None:
        self.after, self.count = after, 0
        self.threads: set[str] = set()
        self._lock = threading.Lock()

    def __call__(self) -> bool:
        with self._lock:
            self.count += 1
            self.threads.add(threading.current_thread().name)
            return self.count > self.after


@pytest.fixture
def circuit(small_design: Design) -> Any:
    design = small_design
    return stage_circuit(design, resolved_coil(design.coil, temperature_c=design.cooling.ambient))


def test_without_a_wish_nothing_is_stopped() -> None:
    check_stop()
    with stoppable(None):
        check_stop()


@pytest.mark.parametrize(("outer", "inner"), [(True, False), (False, True)])
def test_a_wish_holds_inside_only_also_within_another(outer: bool, inner: bool) -> None:
    with stoppable(lambda: outer):
        with stoppable(lambda: inner), pytest.raises(StoppedError):
            check_stop()
        with stoppable(None):
            check_stop()
        if not outer:
            check_stop()
    check_stop()


def test_another_thread_has_the_wish_only_where_it_is_carried() -> None:
    def asks(_given: int) -> str:
        check_stop()
        return "done"

    with ThreadPoolExecutor(max_workers=1) as pool, stoppable(lambda: True):
        assert list(pool.map(asks, [1])) == ["done"]
        with pytest.raises(StoppedError):
            list(pool.map(carried(asks), [1]))


def test_every_pool_of_threads_in_the_core_is_given_carried_work() -> None:
    """What is left out would run on for nobody; see the test above."""
    found = 0
    for file in sorted((Path(__file__).parents[2] / "core").rglob("*.py")):
        source = file.read_text(encoding="utf-8")
        if "ThreadPoolExecutor(" not in source:
            continue
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.Call) and ast.unparse(node.func) in ("pool.map", "pool.submit"):
                found += 1
                assert ast.unparse(node.args[0]).startswith("carried("), file.name
    assert found >= 3


def test_an_engine_run_asks_at_each_mark_of_the_ring_up(circuit) -> None:
    wish = Wish(after=3)
    with stoppable(wish), pytest.raises(StoppedError):
        carrier(circuit)
    assert wish.count == 4


def test_the_runs_of_a_table_ask_in_their_own_threads(circuit) -> None:
    asked_from: list[threading.Thread] = []

    def beside() -> bool:
        asked_from.append(threading.current_thread())
        return asked_from[-1] is not threading.main_thread()

    with stoppable(beside), pytest.raises(StoppedError):
        carrier_table(circuit, [20.0, 30.0, 36.0], [0.1, 0.2])
    others = [one for one in asked_from if one is not threading.main_thread()]
    # The first run is the caller's own; of the five others none went on after its first question.
    assert 1 <= len(others) <= 5


def test_a_stopped_evaluation_has_no_results_and_the_next_is_whole(small_design) -> None:
    with stoppable(Wish(after=5)), pytest.raises(StoppedError):
        evaluate(small_design)
    with stoppable(never := Wish(after=10**9)):
        results = evaluate(small_design)
    assert results.carrier.oscillates
    assert never.count > 50
