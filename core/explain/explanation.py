"""Explanation of one number: equation, values put in, source, validity, what dominates."""

from __future__ import annotations

import ast
import math
import operator
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from burstwise.core.units import percent, shown

_OPERATORS: Final[dict[type, Callable[[float, float], float]]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}
_SIGNS: Final = {ast.Add: " + ", ast.Sub: " − ", ast.Mult: " · ", ast.Div: " / ", ast.Pow: "^"}
_RANKS: Final = {ast.Add: 1, ast.Sub: 1, ast.Mult: 2, ast.Div: 2, ast.Pow: 3}
_STEP: Final = 1e-4


@dataclass(frozen=True, slots=True)
class Term:
    """A quantity of an equation: symbol, name in words, value in `unit`."""

    symbol: str
    name: str
    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class Influence:
    """How much the result moves in percent for one percent more of something."""

    name: str
    percent: float

    @property
    def text(self) -> str:
        """Words.

        Examples
        --------
        >>> Influence("supply voltage", 2.04).text
        '1 % more supply voltage: +2.0 %'
        """
        return f"1 % more {self.name}: {percent(self.percent / 100.0, decimals=1, signed=True)}"


@dataclass(frozen=True, slots=True)
class Explanation:
    """Why a result is what it is.

    Attributes
    ----------
    path, title : str
        Key of the result, e.g. ``"carrier.input_power_W"``, and its name.
    value : float or None
        The result; None where it does not exist (runs away, without end).
    unit : str
        SI unit, ``"%"`` for a ratio shown in percent.
    expression : str
        Equation in plain arithmetic over the symbols of the terms; empty where there is none.
    terms : tuple of Term
        What is put in.
    words : str
        How it comes about, in words.
    source, validity : str
        Where the equation comes from and where it holds.
    influences : tuple of Influence
        What moves it most, the strongest first.
    keys : tuple of str
        Entries of the bibliography that it stands on, see `burstwise.core.explain.sources`.
    """

    path: str
    title: str
    value: float | None
    unit: str
    expression: str
    terms: tuple[Term, ...]
    words: str
    source: str
    validity: str
    influences: tuple[Influence, ...]
    keys: tuple[str, ...] = ()

    @property
    def result_text(self) -> str:
        """The number as it is shown."""
        return "does not exist" if self.value is None else shown(self.value, self.unit)

    @property
    def equation(self) -> str:
        """Equation in symbols."""
        return _written(self.expression, {}) if self.expression else ""

    @property
    def with_values(self) -> str:
        """Equation with the values put in."""
        texts = {term.symbol: shown(term.value, term.unit) for term in self.terms}
        return _written(self.expression, texts) if self.expression else ""

    def evaluated(self) -> float:
        """Value of the arithmetic itself."""
        return arithmetic(self.expression, {term.symbol: term.value for term in self.terms})


def arithmetic(expression: str, values: Mapping[str, float]) -> float:
    """Value of an equation in plain arithmetic: ``+ - * / **``, ``sqrt``, ``max`` and ``pi``.

    Examples
    --------
    >>> arithmetic("2*pi*sqrt(L*C)", {"L": 4.0, "C": 0.25}) == 2 * math.pi
    True
    """
    return _value(ast.parse(expression, mode="eval").body, values)


def _value(node: ast.expr, values: Mapping[str, float]) -> float:
    if isinstance(node, ast.BinOp):
        act = _OPERATORS[type(node.op)]
        return act(_value(node.left, values), _value(node.right, values))
    if isinstance(node, ast.Constant) and isinstance(node.value, (int, float)):
        return float(node.value)
    if isinstance(node, ast.Name):
        return math.pi if node.id == "pi" else values[node.id]
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        arguments = [_value(part, values) for part in node.args]
        return math.sqrt(*arguments) if node.func.id == "sqrt" else max(arguments)
    raise ValueError(f"not plain arithmetic: {ast.dump(node)}")


def _written(expression: str, texts: Mapping[str, str]) -> str:
    return _words(ast.parse(expression, mode="eval").body, texts, 0)


def _words(node: ast.expr, texts: Mapping[str, str], outer: int) -> str:
    if isinstance(node, ast.BinOp):
        kind: Any = type(node.op)
        rank = _RANKS[kind]
        # The right side of a difference, quotient or power needs its brackets at equal rank.
        right = rank + (kind in (ast.Sub, ast.Div, ast.Pow))
        text = _words(node.left, texts, rank) + _SIGNS[kind] + _words(node.right, texts, right)
        return f"({text})" if rank < outer else text
    if isinstance(node, ast.Name):
        text = "π" if node.id == "pi" else texts.get(node.id, node.id.replace("_", ""))
        return f"({text})" if outer == 3 and " " in text else text
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        sign = "√" if node.func.id == "sqrt" else node.func.id
        return f"{sign}({', '.join(_words(part, texts, 0) for part in node.args)})"
    assert isinstance(node, ast.Constant)
    return f"{node.value:g}" if isinstance(node.value, (int, float)) else str(node.value)


def term_influences(expression: str, terms: Sequence[Term]) -> tuple[Influence, ...]:
    """Influence of each term on the value of an expression, the strongest first.

    Relative change of the result over that of the term, by a central difference.

    Examples
    --------
    >>> term_influences("U**2/R", [Term("U", "voltage", 10.0, "V"), Term("R", "load", 5.0, "Ω")])
    (Influence(name='voltage', percent=2.0), Influence(name='load', percent=-1.0))
    """
    values = {term.symbol: term.value for term in terms}
    base = arithmetic(expression, values)
    if base == 0.0:
        return ()
    found = []
    for term in terms:
        up = arithmetic(expression, {**values, term.symbol: term.value * (1 + _STEP)})
        down = arithmetic(expression, {**values, term.symbol: term.value * (1 - _STEP)})
        found.append(Influence(term.name, round((up - down) / (2 * _STEP * base), 6)))
    return tuple(sorted(found, key=lambda item: -abs(item.percent)))
