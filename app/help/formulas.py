"""Formulas of a page as text with raised and lowered signs, for a reader that sets no LaTeX."""

from __future__ import annotations

import re
from html import escape
from typing import Final

_FENCED: Final = re.compile(r"(```.*?```|`[^`\n]+`)", re.DOTALL)
_FORMULA: Final = re.compile(r"\$\$(.+?)\$\$|\$([^$\n]+)\$", re.DOTALL)
_TOKEN: Final = re.compile(r"\\[A-Za-z]+|\\.|\s+|.", re.DOTALL)
_SIGN_OF: Final = {"|": "&#124;", "*": "&#42;", "_": "&#95;", "-": "−", "'": "′"}
"""Signs that Markdown would take for marks, and those that print has better ones for."""
_OVER: Final = {"dot": "\u0307", "ddot": "\u0308", "hat": "\u0302", "bar": "\u0304"}
_UPRIGHT: Final = frozenset({"mathrm", "text"})
_FRACTIONS: Final = frozenset({"frac", "tfrac", "dfrac"})
_HALF: Final = ("1", "2")
_AFTER_FRACTION: Final = frozenset({"", "+", "-", "=", ",", "}", ")", "\\right", "\\qquad"})
"""What ends a fraction on a line without brackets around it."""
_SINGLE: Final = re.compile(
    r"(<i>)?(\d+|\w)[\u0300-\u036f]?(</i>)?(<su[bp]>((?!<su).)*?</su[bp]>)*"
)
_SIGNS: Final = {
    "rho": "ρ", "tau": "τ", "pi": "π", "omega": "ω", "Delta": "Δ", "alpha": "α", "imath": "ı",
    "le": " ≤ ", "ge": " ≥ ", "times": " × ", "cdot": "·", "mp": "∓", "propto": " ∝ ", "sum": "∑",
    "int": "∫", "ln": "ln ", "exp": "exp ", "min": "min ", "arcsin": "arcsin ", "left": "",
    "right": "", "qquad": "\u2003\u2003", "quad": "\u2003", ",": "\u2009", ";": "\u2002",
    " ": " ", "\\": "; ", "!": "",
}  # fmt: skip


def with_formulas(page: str) -> str:
    r"""Page whose formulas are text.

    Examples
    --------
    >>> with_formulas("At `$x` the loss is $R_{on}\\,i^2$.")
    'At `$x` the loss is <i>R</i><sub><i>on</i></sub>\u2009<i>i</i><sup>2</sup>.'
    """
    parts = _FENCED.split(page)
    parts[::2] = [_FORMULA.sub(lambda found: as_text(found[1] or found[2]), p) for p in parts[::2]]
    return "".join(parts)


def as_text(formula: str) -> str:
    r"""Formula in the few tags of rich text.

    Raises
    ------
    ValueError
        For a command that has no text here.

    Examples
    --------
    >>> as_text(r"\frac{V-V_s}{2\pi}"), as_text(r"\hat v")
    ('(<i>V</i> − <i>V</i><sub><i>s</i></sub>)/(2π)', '<i>v̂</i>')
    """
    return _Reader(formula).all_of()


class _Reader:
    """Reads a formula from left to right."""

    def __init__(self, formula: str) -> None:
        self._tokens: list[str] = _TOKEN.findall(formula.strip())
        self._place = 0

    def all_of(self, end: str = "", *, upright: bool = False, tight: bool = False) -> str:
        """Everything up to a closing sign; tight where signs of sums get no space."""
        found: list[str] = []
        while self._place < len(self._tokens):
            token = self._next()
            if token == end:
                break
            sums = token in ("+", "-") and found and not found[-1].endswith((*"(,;|", " "))
            if token == "=" or (sums and not tight):
                found.append(f" {_SIGN_OF.get(token, token)} ")
            else:
                found.append(self._one(token, upright=upright))
        else:
            if end:
                raise ValueError(f"no {end} in a formula")
        return "".join(found).strip().replace("</i><i>", "")

    def _next(self) -> str:
        self._place += 1
        return self._tokens[self._place - 1]

    def _follows(self) -> str:
        """Next sign that is no space, empty at the end."""
        return next((each for each in self._tokens[self._place :] if not each.isspace()), "")

    def _one(self, token: str, *, upright: bool = False, tight: bool = False) -> str:
        if token == "{":
            return self.all_of("}", upright=upright, tight=tight)
        if token in "_^":
            tag = "sub" if token == "_" else "sup"
            return f"<{tag}>{self._argument(tight=True)}</{tag}>"
        if token.startswith("\\"):
            return self._command(token[1:])
        if token.isspace():
            return " " if upright else ""
        if token == "&":
            return ", "
        sign = _SIGN_OF.get(token, escape(token))
        return f"<i>{sign}</i>" if token.isalpha() and not upright else sign

    def _command(self, name: str) -> str:
        if name in _SIGNS:
            return _SIGNS[name]
        if name in _UPRIGHT:
            return self._argument(upright=True)
        if name in _OVER:
            body = self._argument()
            return re.sub(r"(\w)(?=</i>|$)", rf"\1{_OVER[name]}", body, count=1)
        if name == "sqrt":
            return f"√{_bracketed(self._argument())}"
        if name in _FRACTIONS:
            over, under = self._argument(), self._argument()
            if (over, under) == _HALF:
                return "½"
            whole = f"{_bracketed(over)}/{_bracketed(under)}"
            return whole if self._follows() in _AFTER_FRACTION else f"({whole})"
        if name in ("begin", "end"):
            self._argument()
            return "(" if name == "begin" else ")"
        raise ValueError(f"no text for \\{name} in a formula")

    def _argument(self, *, upright: bool = False, tight: bool = False) -> str:
        """What a command or a raised sign applies to: a group, or the next sign."""
        while self._place < len(self._tokens):
            token = self._next()
            if not token.isspace():
                return self._one(token, upright=upright, tight=tight)
        raise ValueError("a formula ends too early")


def _bracketed(text: str) -> str:
    """Text in brackets, unless it is one sign with what hangs at it."""
    return text if _SINGLE.fullmatch(text) else f"({text})"
