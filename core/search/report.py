"""Answer of a search as one JSON-ready object."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel

from core.search.found import Answer, Found


def answer_object(answer: Answer) -> dict[str, Any]:
    """Object that `burstwise search --json` prints.

    ``best`` is None where no design holds everything; ``closest`` then is the one that misses
    least.
    """
    return {
        "best": _one(answer.found[0]) if answer.found else None,
        "others": [_one(item) for item in answer.found[1:]],
        "closest": None if answer.closest is None else _one(answer.closest),
        "limited_by": [{"name": item.name, "text": item.text} for item in answer.limited_by],
        "evaluations": answer.evaluations,
        "seconds": round(answer.seconds, 3),
        "stopped": answer.stopped,
        "findings": [item.as_object() for item in answer.findings],
    }


def _plain(values: Mapping[str, Any]) -> dict[str, Any]:
    """Values as JSON has them; a whole part as an object of its own."""
    return {
        path: value.model_dump(mode="json") if isinstance(value, BaseModel) else value
        for path, value in values.items()
    }


def _one(found: Found) -> dict[str, Any]:
    return {
        "values": _plain(found.values),
        "changed": _plain(found.changed),
        "objective": found.objective if math.isfinite(found.objective) else None,
        "margins": {
            item.rating: 100.0 * item.margin if math.isfinite(item.margin) else None
            for item in found.results.limits
        },
        "findings": [item.as_object() for item in found.results.findings],
    }
