"""Remedies for the first limit: each is an edit of the design that was evaluated, not quoted.

An edit is tried in steps and the first that brings the whole design to the wanted margin is kept,
else the best. What a remedy promises is the evaluation of the edited design.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from burstwise.core.burst.table import CarrierTable
from burstwise.core.design.device import Device
from burstwise.core.design.document import Design, with_values
from burstwise.core.drawer import Drawer
from burstwise.core.errors import InputError
from burstwise.core.evaluate.evaluation import evaluate
from burstwise.core.evaluate.results import Results
from burstwise.core.limits.ratings import TIGHT_BELOW, title_of
from burstwise.core.stopping import StoppedError
from burstwise.core.studies.quick import same_stage
from burstwise.core.studies.remedies_at_hand import at_hand
from burstwise.core.studies.remedy_kinds import KINDS, Edits, Kind, other_device

ENOUGH: Final = TIGHT_BELOW
"""Smallest margin of the edited design at which a remedy stops trying for more [1]."""
_GAIN: Final = 1e-3
"""Least gain of margin that makes a remedy."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """A computed remedy.

    Attributes
    ----------
    kind : str
        Stable name of the kind.
    text : str
        What to do, with the numbers in it.
    edits : mapping
        Dotted path to new value; applied together as one step.
    margin : float
        Margin of the limit in question after the edit [1].
    smallest_margin : float
        Smallest margin of all ratings after the edit [1].
    first_title : str
        Rating that the smallest margin belongs to.
    top_voltage_change, power_change : float
        Relative changes of top voltage and average power [1]: the price.
    oscillates : bool
        Whether the stage still runs as it should.
    """

    kind: str
    text: str
    edits: dict[str, Any]
    margin: float
    smallest_margin: float
    first_title: str
    top_voltage_change: float
    power_change: float
    oscillates: bool


def remedies(
    results: Results,
    *,
    classes: Mapping[str, Device] | None = None,
    drawer: Drawer | None = None,
    ask: Callable[[float], bool] | None = None,
) -> Iterator[Remedy]:
    """Remedies for the first limit of some results, as they are found.

    Parameters
    ----------
    results : Results
        Present state.
    classes : mapping, optional
        Device classes by name, for another device.
    drawer : Drawer, optional
        Parts at hand: a remedy that chooses a part of a kind listed there takes no other.
    ask : callable
        Told the share done; answers whether to go on.

    Yields
    ------
    Remedy
        Only those that raise the margin of the first limit and leave a stage that runs.

    Raises
    ------
    StoppedError
        `ask` answered no.
    """
    kinds = (*KINDS, other_device(classes or {}))
    if drawer is not None:
        kinds = at_hand(kinds, drawer, classes or {})
    for done, kind in enumerate(kinds):
        if ask is not None and not ask(done / len(kinds)):
            raise StoppedError("the search for remedies was stopped")
        best = _best(results, kind, ask)
        if best is not None:
            yield best


def ranked(found: list[Remedy]) -> list[Remedy]:
    """Best first: those that lift all ratings to the wanted margin by their price, then by margin.

    The price is what they take from the top voltage.
    """
    return sorted(
        found,
        key=lambda item: (
            -min(item.smallest_margin, ENOUGH),
            max(-item.top_voltage_change, 0.0),
            -item.margin,
        ),
    )


def _best(results: Results, kind: Kind, ask: Callable[[float], bool] | None) -> Remedy | None:
    first = results.first_limit
    best: Remedy | None = None
    for text, edits in kind.edits(results.design):
        if ask is not None and not ask(0.0):
            raise StoppedError("the search for remedies was stopped")
        tried = _tried(results, kind, text, edits)
        if tried is None or not tried.oscillates or tried.margin < first.margin + _GAIN:
            continue
        if best is None or tried.smallest_margin > best.smallest_margin:
            best = tried
        if tried.smallest_margin >= ENOUGH:
            break
    return best


def _tried(results: Results, kind: Kind, text: str, edits: Edits) -> Remedy | None:
    try:
        changed = with_values(results.design, edits)
        after = evaluate(changed, table=_kept_table(results, changed), verify=False)
    except InputError:
        return None
    rating = results.first_limit.rating
    margins = {item.rating: item.margin for item in after.limits}
    before = max(results.carrier.top_voltage_peak, 1e-9)
    return Remedy(
        kind=kind.name,
        text=text,
        edits=dict(edits),
        margin=margins.get(rating, 1.0),
        smallest_margin=after.first_limit.margin,
        first_title=title_of(after.first_limit.rating),
        top_voltage_change=after.carrier.top_voltage_peak / before - 1.0,
        power_change=after.average_power / max(results.average_power, 1e-9) - 1.0,
        oscillates=after.carrier.oscillates,
    )


def _kept_table(results: Results, changed: Design) -> CarrierTable | None:
    """Table of the results where an edit leaves stage and supply alone, so that it still holds."""
    kept = changed.supply.voltage == results.design.supply.voltage
    return results.table if kept and same_stage(results.design, changed) else None
