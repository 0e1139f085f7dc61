"""Which table serves a drag, on the real core."""

from __future__ import annotations

import pytest

from burstwise.app.live import EACH, LiveModel, supply_reach
from burstwise.app.wiring import new_design
from burstwise.app.worker import Task
from burstwise.core.design.document import with_value, with_values
from burstwise.core.stopping import StoppedError
from burstwise.core.studies import first_break
from burstwise.core.studies.first_break import breaks_in_stage


@pytest.fixture
def task() -> Task:
    return Task(1, lambda progress: None)


@pytest.mark.parametrize(
    ("voltage", "reach"), [(5.0, 12.0), (20.0, 40.0), (36.0, 60.0), (60.0, 100.0), (400.0, 400.0)]
)
def test_the_slider_leaves_room_above_the_supply(voltage, reach) -> None:
    assert supply_reach(voltage) == reach


def test_glimpses_follow_evaluation_and_preparation(task) -> None:
    live, design = LiveModel(), new_design()
    assert live.glimpse(design) is None
    full = live.evaluate(design, task)
    near = live.glimpse(with_value(design, "interrupter.duty", 0.6))
    assert near is not None
    assert near.average_power == pytest.approx(2.0 * full.average_power, rel=0.05)
    assert live.glimpse(with_value(design, "supply.voltage", 5.0)) is None
    live.prepare(design, task)
    low = live.glimpse(with_value(design, "supply.voltage", 12.0))
    assert low is not None
    assert low.average_power < 0.3 * full.average_power
    assert live.glimpse(with_value(design, "drive.kind", "direct")) is None


def test_a_stopped_preparation_leaves_the_near_table(task) -> None:
    live, design = LiveModel(), new_design()
    live.evaluate(design, task)
    stopped = Task(2, lambda progress: None)
    stopped.cancel()
    with pytest.raises(StoppedError):
        live.prepare(design, stopped)
    assert live.glimpse(design) is not None
    assert live.glimpse(with_value(design, "supply.voltage", 10.0)) is None


def test_quick_pictures_look_ahead_in_one_stage_at_a_time(task, monkeypatch) -> None:
    """All tell the distance anew; after a round of turns all stages have been looked at."""
    live, design = LiveModel(), new_design()
    live.evaluate(design, task)
    live.prepare(design, task)
    seen: list[str] = []

    def counted(*args, corner, **others):
        seen.append("as designed" if corner is None else corner.corner.name)
        return breaks_in_stage(*args, corner=corner, **others)

    monkeypatch.setattr(first_break, "breaks_in_stage", counted)

    def looked(duty: float, volts: float, *, during_drag: bool):
        moved = with_values(design, {"interrupter.duty": duty, "supply.voltage": volts})
        return live.ahead(live.glimpse(moved), during_drag=during_drag)

    first = looked(0.1, 24.0, during_drag=False)
    stages = list(seen)
    assert len(set(stages)) == len(stages) > 1
    seen.clear()
    for _ in range(EACH - 1):
        soon = looked(0.6, 20.0, during_drag=True)
        assert soon.breaks == first.breaks
        assert gap(soon.words) == pytest.approx(gap(first.words) + 4.0, abs=0.2)
    assert not seen
    for turn, stage in enumerate(stages, start=1):
        again = looked(0.6, 20.0, during_drag=True)
        assert seen == stages[:turn], stage
        for _ in range(EACH - 1):
            looked(0.6, 20.0, during_drag=True)
    assert again.breaks != first.breaks
    assert looked(0.6, 20.0, during_drag=False).breaks == again.breaks


def gap(words: str) -> float:
    """Distance told in 'Rating at 31 V, 7 V above' [V]."""
    return float(words.split(", ")[1].split(" ")[0])
