"""Ways to damage bytes, JSON values and words."""

from __future__ import annotations

import copy
import json
import random
import re
from collections.abc import Iterator
from contextlib import suppress
from typing import Any

ODD_VALUES: tuple[Any, ...] = (
    None, True, False, 0, -1, 1, 1e308, -1e308, 5e-324, 10**400, float("nan"), float("inf"),
    "", " ", "NaN", "inf", "-0", "1e999999999", "9" * 5000, "4R7", "1,5", ",5", "5:6",
    "lambda: 1", "=1+1", "@x", "12 V", "12 parsec", "\0", "\x1b[2J", "\u202e", "\ud800", "²",
    "１２", "a" * 100_000, [], {}, [[]], {"": ""}, [None] * 1000, {"a": {"b": {"c": 1}}},
    "__class__", "../../x", "none",
)  # fmt: skip
ODD_BYTES = (
    b"\0", b"\xff", b"\xef\xbb\xbf", b"\r", b"\n", b",", b";", b"\t", b'"', b"{", b"[", b"]", b"}",
    b"-", b"e", b"E+", b"0" * 400, b"1e999", b"\\ud800", b" " * 3000, b"=", b"\x1b",
    b"\xe2\x80\xae",
    b"NaN", b"nan", b"inf", b"(", b"))", b"[V]", b"mV", b"#", b"'", b"\x85", b"\xe2\x80\xa8",
)  # fmt: skip
DEEP = "nested "
"""Stands in a tree for lists within lists: Python's own writer gives up on deep ones."""
UNITS = ("", "", "V", "mV", "kΩ", "ohm", "µF", "uF", "Hz", "%", "C", "K/W", "x" * 50)


def damaged_bytes(content: bytes, draw: random.Random) -> bytes:
    """Bytes with one to eight of them flipped, left out, doubled, moved or added."""
    for _ in range(draw.choice((1, 1, 2, 3, 8))):
        content = _damaged_once(content, draw)
    return content


def _damaged_once(content: bytes, draw: random.Random) -> bytes:
    at = draw.randrange(len(content) + 1)
    to = min(len(content), at + draw.choice((1, 2, 10, 100, 1000)))
    kind = draw.randrange(7)
    if kind == 0:
        return content[:at]
    if kind == 1:
        return content[:at] + content[to:]
    if kind == 2:
        return content[:to] + content[at:to] * draw.choice((1, 2, 50)) + content[to:]
    if kind == 3:
        return content[:at] + bytes([draw.randrange(256)]) + content[at + 1 :]
    if kind == 4:
        return content[:at] + draw.choice(ODD_BYTES) + content[at:]
    if kind == 5:
        other = draw.randrange(len(content) + 1)
        return content[:at] + content[other : other + to - at] + content[to:]
    return content[:at] + draw.choice(ODD_BYTES) + content[to:]


def odd_value(draw: random.Random) -> Any:
    """One of the odd values, for the caller alone: a later turn may put something into it."""
    return copy.deepcopy(draw.choice(ODD_VALUES))


def damaged_tree(tree: Any, draw: random.Random) -> Any:
    """JSON value with one to six of its places replaced, removed, renamed or wrapped."""
    tree = json.loads(json.dumps(tree))
    for _ in range(draw.choice((1, 1, 1, 2, 6))):
        places = list(_places(tree))
        if not places:
            return odd_value(draw)
        holder, key = draw.choice(places)
        _damage_place(holder, key, draw)
    return tree


def _places(tree: Any) -> Iterator[tuple[Any, Any]]:
    waiting = [tree]
    while waiting:
        part = waiting.pop()
        keys: list[Any] = []
        if isinstance(part, dict):
            keys = list(part)
        elif isinstance(part, list):
            keys = list(range(min(len(part), 50)))
        for key in keys:
            yield part, key
            waiting.append(part[key])


def _damage_place(holder: Any, key: Any, draw: random.Random) -> None:
    value, kind = holder[key], draw.randrange(8)
    if kind == 0:
        del holder[key]
    elif kind == 1 and isinstance(holder, dict):
        holder[draw.choice(("", "x" * 300, "a.b", "\0", f"{key} ", "__dict__"))] = holder.pop(key)
    elif kind == 2:
        holder[key] = [value] if draw.random() < 0.5 else {"value": value}
    elif kind == 3:
        holder[key] = f"{DEEP}{draw.choice((10, 100, 2000))}"
    elif kind <= 5 and isinstance(value, (int, float)) and not isinstance(value, bool):
        with suppress(OverflowError):  # a number of very many digits from an earlier turn
            holder[key] = value * draw.choice((-1, 0, 1e-6, 0.1, 0.5, 2, 10, 1e6, 1e300))
    elif kind == 6:
        holder[key] = str(value)
    else:
        holder[key] = odd_value(draw)


def odd_word(draw: random.Random) -> str:
    """Word as somebody, or something, might type it where a quantity is asked for."""
    value = draw.choice(ODD_VALUES)
    if draw.random() < 0.5:
        number = draw.choice(("1", "-3", "0", "4.7", "1e3", "1e-12", "47", "0,5", "1.2.3", "٣"))
        unit = draw.choice(
            ("", "V", "mV", "kΩ", "ohm", "µF", "uF", "Hz", "%", "C", "K/W", "x" * 50)
        )
        return number + draw.choice(("", " ", "\t", "\u00a0")) + unit
    return (
        value if isinstance(value, str) else str(value)[:200_000] if value != 10**400 else "1e400"
    )


def encoded(tree: Any, draw: random.Random) -> bytes:
    """JSON text of a value in bytes; lone surrogates stay, as escapes or as such."""
    plain = draw.random() < 0.7
    text = json.dumps(tree, ensure_ascii=plain, indent=draw.choice((None, 2)))
    text = re.sub(f'"{DEEP}(\\d+)"', lambda found: "[" * int(found[1]) + "]" * int(found[1]), text)
    return text.encode("utf-8", "surrogatepass")
