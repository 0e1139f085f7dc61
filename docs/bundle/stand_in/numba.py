"""Stand-in for Numba in a bundle: its functions were compiled ahead for several processors.

`compile_ahead.py` beside this folder wrote one library for each level of processor and, as
`signatures.json`, what each function takes. A compiled function believes what it is given, so every
argument is held against that before a call.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path
from typing import Any, Final

import numpy as np

try:  # where NumPy has told what the processor can do since its second edition
    from numpy._core._multiarray_umath import __cpu_features__

    _FEATURES: Any = __cpu_features__
except ImportError:
    _FEATURES = {}

_KNOWN: Final = json.loads(Path(__file__).with_name("signatures.json").read_text("utf-8"))


def level() -> str:
    """Name of the best library that this processor runs."""
    for name, needed in _KNOWN["levels"]:
        if all(_FEATURES.get(feature, False) for feature in needed):
            return str(name)
    raise ImportError("the engine was not compiled for a processor like this one")


_LIBRARY: Final = import_module(level())


def njit(**options: Any) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Decorator that gives the function that was compiled ahead; options were used there."""
    del options

    def found(function: Callable[..., Any]) -> Callable[..., Any]:
        name = f"{function.__module__}.{function.__qualname__}"
        entry = _KNOWN["functions"].get(name)
        return _part(name) if entry is None else _Ahead(name, entry)

    return found


def _part(name: str) -> Callable[..., Any]:
    """A function that lives only within compiled ones."""

    def refuse(*_given: Any) -> Any:
        raise TypeError(f"{name} was not compiled ahead to be called by itself")

    return refuse


class _Ahead:
    """A compiled function with its arguments checked."""

    def __init__(self, name: str, entry: dict[str, Any]) -> None:
        self._name = name
        self._kinds: list[Any] = entry["takes"]
        self._call: Callable[..., Any] = getattr(_LIBRARY, entry["symbol"])

    def __call__(self, *given: Any) -> Any:
        if len(given) != len(self._kinds):
            raise TypeError(f"{self._name} takes {len(self._kinds)} arguments, not {len(given)}")
        back: list[tuple[np.ndarray, np.ndarray]] = []
        taken = self._taken(self._kinds, given, back)
        result = self._call(*taken)
        for original, copy in back:
            original[...] = copy
        return result

    def _taken(self, kinds: Sequence[Any], given: Sequence[Any], back: list[Any]) -> list[Any]:
        return [
            tuple(self._taken(kind, value, back))
            if isinstance(kind, list)
            else self._one(kind, value, back)
            for kind, value in zip(kinds, given, strict=True)
        ]

    def _one(self, kind: str, value: Any, back: list[Any]) -> Any:
        if kind == "int64" and isinstance(value, int | np.integer):
            return value
        if kind == "bool" and isinstance(value, bool | np.bool_):
            return value
        if kind == "float64" and isinstance(value, float | int | np.integer):
            return float(value)
        if isinstance(value, np.ndarray) and kind[: kind.find(" ")] == str(value.dtype):
            _, dimensions, layout, access = kind.split()
            if value.ndim == int(dimensions):
                lies = layout == "A" or value.flags.c_contiguous
                if lies and value.flags.aligned and (access == "read" or value.flags.writeable):
                    return value
                # What may not be written is never written: the original compiler would refuse it.
                copy = np.array(value, order="C")
                if value.flags.writeable:
                    back.append((value, copy))
                return copy
        raise TypeError(f"{self._name} was compiled for {kind}, not for {type(value).__name__}")
