"""Answer of a search as one JSON-ready object."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel

from burstwise.core.search.found import Answer, Found, Nearest
from burstwise.core.search.tolerance import Tolerance
from burstwise.core.search.tradeoff import TradeOff


def answer_object(answer: Answer) -> dict[str, Any]:
    """Object that `burstwise search --json` prints.

    ``best`` is None where no design holds everything; ``closest`` then is the one that misses
    least, and ``nearest``, where there is one, what can be had instead with a design that does.
    """
    return {
        "best": _one(answer.found[0]) if answer.found else None,
        "others": [_one(item) for item in answer.found[1:]],
        "closest": None if answer.closest is None else _one(answer.closest),
        "nearest": None if answer.nearest is None else _nearest(answer.nearest),
        "limited_by": [{"name": item.name, "text": item.text} for item in answer.limited_by],
        "evaluations": answer.evaluations,
        "seconds": round(answer.seconds, 3),
        "stopped": answer.stopped,
        "findings": [item.as_object() for item in answer.findings],
    }


def trade_object(trade: TradeOff) -> dict[str, Any]:
    """Object that `burstwise search --sweep ... --json` prints.

    ``best`` of a point is None where no design holds everything there.
    """
    return {
        "sweep": trade.sweep.name,
        "points": [
            {
                "value": point.value,
                "best": None if point.found is None else _one(point.found),
                "limited_by": [{"name": one.name, "text": one.text} for one in point.limited_by],
            }
            for point in trade.points
        ],
        "evaluations": trade.evaluations,
        "seconds": round(trade.seconds, 3),
        "stopped": trade.stopped,
        "findings": [item.as_object() for item in trade.findings],
    }


def _plain(values: Mapping[str, Any]) -> dict[str, Any]:
    """Values as JSON has them; a whole part as an object of its own."""
    return {
        path: value.model_dump(mode="json") if isinstance(value, BaseModel) else value
        for path, value in values.items()
    }


def _nearest(nearest: Nearest) -> dict[str, Any]:
    return {
        "eased": [
            {"name": keep.name, "most": keep.most, "limit": keep.limit, "text": keep.text}
            for keep in nearest.eased
        ],
        "design": _one(nearest.found),
    }


def _one(found: Found) -> dict[str, Any]:
    return {
        "values": _plain(found.values),
        "changed": _plain(found.changed),
        "objective": found.objective if math.isfinite(found.objective) else None,
        "margins": {item.rating: _percent(item.margin) for item in found.results.limits},
        "tolerance": None if found.tolerance is None else _tolerance(found.tolerance),
        "findings": [item.as_object() for item in found.results.findings],
    }


def _tolerance(told: Tolerance) -> dict[str, Any]:
    return {
        "builds": told.builds,
        "no_rating_exceeded": _number(told.holds),
        "margins_kept": _number(told.keeps),
        "starts": told.starts,
        "margin_5_percent": _percent(told.low),
        "margin_50_percent": _percent(told.middle),
        "decided_by": [{"input": title, "share": share} for title, share in told.inputs],
    }


def _percent(margin: float) -> float | None:
    return _number(100.0 * margin)


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None
