"""Backwards: from a wish and what may move to the designs that fulfil it best."""

from burstwise.core.search.found import Answer, Found, Limiting
from burstwise.core.search.space import Free
from burstwise.core.search.tradeoff import Sweep, TradeOff, TradePoint, trade_off
from burstwise.core.search.wanted import search
from burstwise.core.search.wish import Keep, Objective, Wish

__all__ = [
    "Answer",
    "Found",
    "Free",
    "Keep",
    "Limiting",
    "Objective",
    "Sweep",
    "TradeOff",
    "TradePoint",
    "Wish",
    "search",
    "trade_off",
]
