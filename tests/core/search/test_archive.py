"""What is known of trials: full evaluations near by tell what their corners ask, by hand."""

from __future__ import annotations

from pathlib import Path
from typing import Any, cast

import pytest

from burstwise.core.evaluate.results import Results
from burstwise.core.limits.rating import Limit
from burstwise.core.search.archive import Archive, key_of
from burstwise.core.search.sample import INVALID, Sample, judged
from burstwise.core.search.space import Free
from burstwise.core.search.trial import Ground
from burstwise.core.search.wish import Keep, Objective, Wish
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
SUPPLY = "supply.voltage"
TOP = Objective("burst.top_voltage_reached_V", highest=True)
WISH = Wish(TOP, (Keep("margin", 0.2),))
ANY_RESULTS = cast(Results, object())


def sample(volts: float, drain: float, *, exact: bool = False, **more: Any) -> Sample:
    """A stage whose drain asks `drain` of 600 V, and whose top has 300 times its supply."""
    return Sample(
        {SUPPLY: volts},
        {"carrier": {"oscillates": True}, "burst": {"top_voltage_reached_V": 300.0 * volts}},
        (Limit("drain_voltage", "Peak drain voltage", drain, 600.0, "V", 1 - drain / 600.0, ""),),
        25.0,
        exact=exact,
        **more,
    )


@pytest.fixture
def archive() -> Archive:
    design = load(EXAMPLES / "classroom-gated-interrupted.burstwise")
    return Archive(Ground(design, WISH, (Free(SUPPLY, 10.0, 110.0),)))


def test_a_full_evaluation_corrects_the_trials_around_it(archive: Archive) -> None:
    for volts, drain in ((36.0, 300.0), (80.0, 420.0), (85.0, 440.0), (90.0, 460.0)):
        archive.take(sample(volts, drain))
    first = archive.first()
    assert first is not None
    assert first.values[SUPPLY] == 90.0, "460 V of 600 V leaves 23 %"
    # In full the corner asks 506 V, 10 % more: by hand 440 V become 484 V, which leaves 19.3 %,
    # and 420 V become 462 V, which leaves 23 %. The far one is nearer to where the search began.
    archive.take_exact(sample(90.0, 506.0, exact=True), ANY_RESULTS)
    kept = {trial.values[SUPPLY]: trial.kept[0] for trial in archive.trials.values()}
    assert kept[90.0] == pytest.approx(1 - 506 / 600)
    assert kept[85.0] == pytest.approx(1 - 484 / 600)
    assert kept[80.0] == pytest.approx(1 - 462 / 600)
    assert kept[36.0] == pytest.approx(0.5)
    first = archive.first()
    assert first is not None
    assert first.values[SUPPLY] == 80.0
    # The next trial there knows it from the beginning.
    archive.take(sample(88.0, 450.0))
    assert archive.trials[key_of({SUPPLY: 88.0})].kept[0] == pytest.approx(1 - 495 / 600)
    assert [pair[0].values for pair in archive.held()] == []


def test_what_the_full_evaluation_has_beyond_the_trial_counts_near_by(archive: Archive) -> None:
    lost = Limit("lost_loop_current", "Lost loop", 9.0, 10.0, "A", 0.1, "", corner="lost loop")
    archive.take(sample(80.0, 300.0))
    archive.take(sample(82.0, 300.0))
    exact = sample(80.0, 300.0, exact=True)
    archive.take_exact(
        Sample(exact.values, exact.figures, (*exact.limits, lost), 25.0, exact=True), ANY_RESULTS
    )
    assert archive.trials[key_of({SUPPLY: 82.0})].kept[0] == pytest.approx(0.1)


def test_temperatures_move_over_ambient(archive: Archive) -> None:
    def hot(volts: float, celsius: float, exact: bool) -> Sample:
        limit = Limit("junction", "Junction", celsius, 125.0, "°C", (125.0 - celsius) / 100.0, "")
        plain = sample(volts, 300.0, exact=exact)
        return Sample(plain.values, plain.figures, (limit,), 25.0, exact=exact)

    archive.take(hot(80.0, 75.0, False))
    archive.take(hot(82.0, 85.0, False))
    archive.take_exact(hot(80.0, 85.0, True), ANY_RESULTS)
    # By hand: a rise of 50 K became 60 K, so one of 60 K becomes 72 K of 100 K.
    assert archive.trials[key_of({SUPPLY: 82.0})].kept[0] == pytest.approx(0.28)


def test_another_wish_judges_the_same_trials(archive: Archive) -> None:
    for volts, drain in ((40.0, 300.0), (50.0, 420.0), (60.0, 500.0)):
        archive.take(sample(volts, drain))
    best = {}
    for margin in (0.1, 0.25, 0.4):
        other = archive.under(Wish(TOP, (Keep("margin", margin),)))
        first = other.first()
        assert first is not None
        best[margin] = first.values[SUPPLY]
    assert best == {0.1: 60.0, 0.25: 50.0, 0.4: 40.0}
    assert archive.ground.wish == WISH


def test_a_stop_that_the_wish_does_not_allow_is_a_miss(archive: Archive) -> None:
    near = archive.ground.corners
    assert judged(sample(40.0, 300.0, exact=True, stops=("no-oscillation",)), WISH, near).miss == 1
    beyond = Wish(TOP, (Keep("margin", -0.5),))
    over = sample(40.0, 700.0, exact=True, stops=("exceeded-drain_voltage",))
    assert judged(over, beyond, near).miss == 0.0
    assert judged(over, WISH, near).miss > 0.2
    assert judged(Sample({SUPPLY: 1.0}, None), WISH, near).miss == INVALID
