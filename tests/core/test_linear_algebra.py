"""Small matrices are worked on by one thread; what the process had set comes back.

threadpoolctl's own report of each library is the second opinion.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator

import numpy as np
import pytest
from threadpoolctl import threadpool_info, threadpool_limits

from burstwise.core.coil.geometry import (
    ConductorKind,
    PrimaryConductor,
    PrimaryGeometry,
    PrimaryShape,
    SecondaryGeometry,
    TopLoad,
    TopLoadKind,
)
from burstwise.core.coil.resonator import secondary_resonator
from burstwise.core.coil.summary import coil_constants
from burstwise.core.linear_algebra import one_thread

WIRE = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
PRIMARY = PrimaryGeometry(PrimaryShape.HELICAL, WIRE, 0.085, 8, 0.01)
SECONDARY = SecondaryGeometry(0.10964, 0.000315, 0.00036, 987)
TOP = TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=0.05)


def threads() -> set[int]:
    return {each["num_threads"] for each in threadpool_info() if each["user_api"] == "blas"}


@pytest.fixture(autouse=True)
def two_threads() -> Iterator[None]:
    with threadpool_limits(limits=2, user_api="blas"):
        if threads() != {2}:
            pytest.skip("linear algebra has one thread on this machine")
        yield


def test_one_thread_inside_and_two_again_behind() -> None:
    with one_thread:
        assert threads() == {1}
        with one_thread:
            assert threads() == {1}
        assert threads() == {1}
    assert threads() == {2}


def test_threads_come_back_after_an_error() -> None:
    with pytest.raises(ZeroDivisionError), one_thread:
        raise ZeroDivisionError
    assert threads() == {2}


def test_threads_come_back_when_two_were_inside_by_turns() -> None:
    inside, leave = threading.Event(), threading.Event()

    def other() -> None:
        with one_thread:
            inside.set()
            leave.wait(10)

    worker = threading.Thread(target=other)
    with one_thread:
        worker.start()
        assert inside.wait(10)
        assert threads() == {1}
    leave.set()
    worker.join()
    assert threads() == {2}


@pytest.mark.parametrize("door", ["resonator", "constants"])
def test_a_coil_is_computed_on_one_thread(door: str, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[set[int]] = []
    solve, inverse = np.linalg.solve, np.linalg.inv

    def noted(work, *given):
        seen.append(threads())
        return work(*given)

    monkeypatch.setattr(np.linalg, "solve", lambda *given: noted(solve, *given))
    monkeypatch.setattr(np.linalg, "inv", lambda *given: noted(inverse, *given))
    if door == "resonator":
        secondary_resonator(SECONDARY, TOP, 0.1, 40)
    else:
        coil_constants(PRIMARY, SECONDARY, TOP, base_height=0.1, rings=41)
    assert len(seen) >= 2
    assert set().union(*seen) == {1}
    assert threads() == {2}
