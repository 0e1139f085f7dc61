"""Diagnosis: which single fault explains the measured figures, by running the engine with each."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from burstwise.core.bench.faults import Fault, with_fault
from burstwise.core.bench.symptoms import FIGURES, Figure, Symptoms, symptoms_of_run
from burstwise.core.errors import InputError
from burstwise.core.stage.carrier import carrier
from burstwise.core.stage.circuit import StageCircuit
from burstwise.core.stage.engine import NOTHING_VISITED
from burstwise.core.units import shown

SOUND_ODDS: Final = 3.0
"""Belief in a build without fault before any reading, over that in each fault [-]."""
UNEXPLAINED: Final = 3.0
"""Root mean square deviation above which a cause does not explain the figures [-]."""
_FREEDOM: Final = 3.0
"""Degrees of freedom of Student's t for deviations, so that one bad reading decides nothing."""
_BETWEEN: Final = 4
_MOST_SUPPLIES: Final = 3


@dataclass(frozen=True, slots=True)
class Signature:
    """What a stage with a fault of a size would show, per supply."""

    fault: Fault | None
    size: float
    shown: tuple[Symptoms, ...]


@dataclass(frozen=True, slots=True)
class Deviation:
    """One measured figure against the sound stage."""

    figure: Figure
    supply: float
    measured: float
    expected: float

    @property
    def relative(self) -> float:
        """Measured over expected, less one [-]; infinite where nothing was expected."""
        return self.measured / self.expected - 1.0 if self.expected else math.inf


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause in the ranking.

    Attributes
    ----------
    fault : Fault or None
        None for a build without fault.
    probability : float
        Belief in it among all causes looked at [-].
    best : Signature
        Size that explains the figures best, with what it would show.
    misfit : float
        Root mean square deviation of the figures from it, in units of what model and meters are
        worth [-]; about 1 for a cause that explains them.
    remedy : str
        What to look at.
    next_measurement : str
        What tells it from its nearest rival, with both figures.
    """

    fault: Fault | None
    probability: float
    best: Signature
    misfit: float
    remedy: str
    next_measurement: str

    @property
    def label(self) -> str:
        """Name of the cause."""
        return "no fault" if self.fault is None else self.fault.value


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """Deviations from the sound stage, and causes, the likeliest first."""

    deviations: tuple[Deviation, ...]
    causes: tuple[Cause, ...]

    @property
    def unexplained(self) -> bool:
        """Whether no cause, no fault included, explains the figures."""
        return min(cause.misfit for cause in self.causes) > UNEXPLAINED


def signatures(
    circuit: StageCircuit,
    supplies: Sequence[float],
    *,
    check: Callable[[], None] = lambda: None,
) -> tuple[Signature, ...]:
    """Engine runs of the sound stage and of each fault at its sizes.

    Parameters
    ----------
    circuit : StageCircuit
        The sound stage.
    supplies : sequence of float
        Supply voltages [V].
    check : callable
        Called before each run; may raise to stop.
    """
    regions = NOTHING_VISITED

    def run(changed: StageCircuit, supply: float) -> Symptoms:
        nonlocal regions
        check()
        done = carrier(changed.with_supply(supply), hint=regions)
        regions = done.regions
        return symptoms_of_run(done)

    found = [Signature(None, 0.0, tuple(run(circuit, supply) for supply in supplies))]
    for fault in Fault:
        for size in fault.sizes:
            changed = with_fault(circuit, fault, size)
            if changed is not None:
                runs = tuple(run(changed, supply) for supply in supplies)
                found.append(Signature(fault, size, runs))
    return tuple(found)


def supplies_of(measured: Sequence[Symptoms]) -> tuple[float, ...]:
    """Up to three supplies, those with most figures and then the highest, to run the engine at."""
    ranked = sorted(measured, key=lambda one: (_known(one), one.supply), reverse=True)
    chosen = dict.fromkeys(one.supply for one in ranked)
    return tuple(sorted(list(chosen)[:_MOST_SUPPLIES]))


def diagnose(measured: Sequence[Symptoms], known: Sequence[Signature]) -> Diagnosis:
    """Causes of measured figures, ranked.

    The belief in a fault is the mean likelihood over its sizes, with the figures between two
    sizes interpolated; deviations count with Student's t of three degrees of freedom in units of
    what model and meters are worth.

    Parameters
    ----------
    measured : sequence of Symptoms
        Figures at some of the supplies of the signatures; others are passed over.
    known : sequence of Signature
        From `signatures`, for the same stage.

    Raises
    ------
    InputError
        No figure at any of the supplies.
    """
    pairs = _matched(measured, known[0])
    if not pairs:
        raise InputError("readings", "none at these supplies", "at least one figure to compare")
    weights: dict[Fault | None, float] = {}
    best: dict[Fault | None, tuple[float, Signature]] = {}
    for fault, path in _paths(known).items():
        scores = [(_likelihood(pairs, point), point) for point in path]
        top = max(score for score, _ in scores)
        mean = sum(math.exp(score - top) for score, _ in scores) / len(scores)
        weights[fault] = top + math.log(mean) + (math.log(SOUND_ODDS) if fault is None else 0.0)
        best[fault] = max(scores, key=lambda item: item[0])
    highest = max(weights.values())
    total = sum(math.exp(value - highest) for value in weights.values())
    order = sorted(weights, key=lambda fault: -weights[fault])
    causes = []
    for place, fault in enumerate(order):
        rival = order[1] if place == 0 else order[0]
        causes.append(
            Cause(
                fault=fault,
                probability=math.exp(weights[fault] - highest) / total,
                best=best[fault][1],
                misfit=_misfit(pairs, best[fault][1]),
                remedy=_remedy(fault),
                next_measurement=_telling(best[fault][1], best[rival][1], pairs),
            )
        )
    return Diagnosis(_deviations(pairs, known[0]), tuple(causes))


_Pairs = Mapping[int, Symptoms]
"""Measured figures by the place of their supply in a signature."""


def _matched(measured: Sequence[Symptoms], sound: Signature) -> _Pairs:
    pairs = {}
    for place, one in enumerate(sound.shown):
        near = [item for item in measured if math.isclose(item.supply, one.supply, rel_tol=1e-3)]
        if near and _known(near[0]):
            pairs[place] = near[0]
    return pairs


def _known(one: Symptoms) -> int:
    return sum(one.value(figure) is not None for figure in FIGURES)


def _paths(known: Sequence[Signature]) -> dict[Fault | None, list[Signature]]:
    """Signatures of each fault with points between its sizes; the sound end itself left out."""
    sound = known[0]
    paths: dict[Fault | None, list[Signature]] = {None: [sound]}
    for fault in Fault:
        given = [one for one in known if one.fault is fault]
        if not given:
            continue
        points = list(given)
        if fault.none is not None:
            points.append(replace(sound, fault=fault, size=fault.none))
            points.sort(key=lambda one: one.size)
        path = list(given)
        for one, two in itertools.pairwise(points):
            path += _between(one, two)
        paths[fault] = path
    return paths


def _between(one: Signature, two: Signature) -> list[Signature]:
    """Points between two sizes where the stage oscillates at both."""
    runs = [*one.shown, *two.shown]
    if not all(run.frequency for run in runs):
        return []
    found = []
    for step in range(1, _BETWEEN):
        part = step / _BETWEEN
        mixed = tuple(_mixed(a, b, part) for a, b in zip(one.shown, two.shown, strict=True))
        found.append(Signature(one.fault, one.size + part * (two.size - one.size), mixed))
    return found


def _mixed(one: Symptoms, two: Symptoms, part: float) -> Symptoms:
    values = {}
    for figure in FIGURES:
        a, b = one.value(figure), two.value(figure)
        if a is not None and b is not None:
            values[figure.field] = a + part * (b - a)
    return Symptoms(supply=one.supply, **values)


def _likelihood(pairs: _Pairs, point: Signature) -> float:
    """Logarithm of the likelihood, up to a constant."""
    total = 0.0
    for place, seen in pairs.items():
        for figure in FIGURES:
            one, two = seen.value(figure), point.shown[place].value(figure)
            if one is not None and two is not None:
                total += log_likelihood(_apart(figure, one, two))
    return total


def _misfit(pairs: _Pairs, point: Signature) -> float:
    """Root mean square deviation of measured figures from a signature [-]."""
    apart = [
        _apart(figure, one, two)
        for place, seen in pairs.items()
        for figure in FIGURES
        if (one := seen.value(figure)) is not None
        and (two := point.shown[place].value(figure)) is not None
    ]
    return math.sqrt(sum(off**2 for off in apart) / len(apart)) if apart else 0.0


def log_likelihood(off: float) -> float:
    """Logarithm of Student's density of three degrees of freedom, without its constant.

    Parameters
    ----------
    off : float
        Deviation in units of what model and meters are worth.

    Examples
    --------
    >>> log_likelihood(0.0), round(log_likelihood(3.0), 3)
    (-0.0, -2.773)
    """
    return -0.5 * (_FREEDOM + 1.0) * math.log1p(off**2 / _FREEDOM)


def _apart(figure: Figure, one: float, two: float) -> float:
    """Difference of two values of a figure in units of what it is worth [-]."""
    middle = 0.5 * (abs(one) + abs(two))
    return (one - two) / math.hypot(figure.spread * middle, figure.floor)


def _deviations(pairs: _Pairs, sound: Signature) -> tuple[Deviation, ...]:
    found = []
    for place, seen in pairs.items():
        for figure in FIGURES:
            one, two = seen.value(figure), sound.shown[place].value(figure)
            if one is not None and two is not None:
                found.append(Deviation(figure, seen.supply, one, two))
    return tuple(found)


def _remedy(fault: Fault | None) -> str:
    if fault is None:
        return (
            "The figures are within what model and meters are worth: no single fault to look for. "
            "A calibration can only refine the values from here."
        )
    return fault.remedy


def _telling(one: Signature, two: Signature, pairs: _Pairs) -> str:
    """Measurement that tells two causes apart best, one not yet made where there is such."""
    choices = []
    for place, (a, b) in enumerate(zip(one.shown, two.shown, strict=True)):
        seen = pairs.get(place)
        for figure in FIGURES:
            first, second = a.value(figure), b.value(figure)
            if first is None or second is None:
                continue
            new = seen is None or seen.value(figure) is None
            choices.append(
                (abs(_apart(figure, first, second)), new, figure, a.supply, first, second)
            )
    fresh = [choice for choice in choices if choice[1] and choice[0] > 3.0]
    _, new, figure, supply, first, second = max(fresh or choices, key=lambda choice: choice[0])
    start = "Measure" if new else "Repeat"
    names = ["a sound stage" if item.fault is None else item.fault.value for item in (one, two)]
    return (
        f"{start} the {figure.label} at {shown(supply, 'V', digits=3)} ({figure.how}): "
        f"{shown(first, figure.unit, digits=3)} with {names[0]}, "
        f"{shown(second, figure.unit, digits=3)} with {names[1]}."
    )
