"""Write docs/reference.md from the code: every field of a design, every rating, every finding.

Usage: python docs/make_reference.py
"""

from __future__ import annotations

import ast
import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from burstwise.core.design.document import Design
from burstwise.core.limits.checks import RATINGS
from burstwise.core.units import shown

ROOT = Path(__file__).parents[1]
TARGET = ROOT / "docs" / "reference.md"
SEVERITIES = ("note", "caution", "stop")
HEAD = """# Reference

Made by `python docs/make_reference.py` from the code; do not edit. How the numbers
come about stands in [theory](theory.md), how the file is kept in [file format](file-format.md).
"""
FIELDS = """
## Fields of a design

By their path in the file, as `--set PATH=VALUE` and the search take it. A part that is not fitted
is `null`; a list is shown by one of its entries, `0`. Limits are closed.
"""
RATINGS_HEAD = """
## Ratings

Names as in `limits` of `evaluate --json`, and as `--keep margin.NAME=...` takes them.
"""
FINDINGS = """
## Findings

A note informs, a caution wants a decision, a stop means: do not build or power it as it stands.
Numbers of the design stand where the text has an ellipsis. Several texts may go under one code.
"""


def fields(schema: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Each plain field of a design with its path and entry in the schema."""

    def under(entry: dict[str, Any], path: str) -> Iterator[tuple[str, dict[str, Any]]]:
        target = _part(entry)
        if target is not None:
            for name, below in schema["$defs"][target]["properties"].items():
                yield from under(below, f"{path}.{name}")
        elif "items" in entry and _part(entry["items"]) is not None:
            yield from under(entry["items"], f"{path}.0")
        else:
            yield path, entry

    for name, entry in schema["properties"].items():
        yield from under(entry, name)


def _part(entry: dict[str, Any]) -> str | None:
    """Name of the part that an entry stands for, fitted or not; None for a plain field."""
    for one in (entry, *entry.get("anyOf", ())):
        if "$ref" in one:
            return str(one["$ref"]).rsplit("/", 1)[1]
    return None


def _value(value: object, unit: str) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return shown(float(value), unit).replace("|", "\\|")
    if value is None:
        return "none"
    return "–" if value in ("", [], {}) else str(value)


def _shown_unit(entry: dict[str, Any]) -> str:
    return "%" if entry.get("percent") else str(entry.get("unit", ""))


def _limits(entry: dict[str, Any]) -> str:
    """What a field takes."""
    unit = _shown_unit(entry)
    if "low" in entry or "high" in entry:
        low, high = entry.get("low", -math.inf), entry.get("high", math.inf)
        ends = [_value(end, unit) for end in (low, high) if math.isfinite(end)]
        return " to ".join(ends) if len(ends) == 2 else f"from {ends[0]}"
    if "enum" in entry or "const" in entry:
        return ", ".join(f"`{choice}`" for choice in entry.get("enum", [entry.get("const")]))
    return {"boolean": "yes or no", "string": "text", "integer": "whole number"}.get(
        str(entry.get("type")), "see the file format"
    )


def field_rows() -> Iterator[str]:
    """Table of the fields, a line each."""
    yield "| Path | Meaning | Takes | Default |"
    yield "|---|---|---|---|"
    for path, entry in fields(Design.model_json_schema()):
        words = ". ".join(filter(None, (entry.get("title", ""), entry.get("description", ""))))
        default = _value(entry["default"], _shown_unit(entry)) if "default" in entry else "–"
        yield f"| `{path}` | {words} | {_limits(entry)} | {default[:60]} |"


def rating_rows() -> Iterator[str]:
    """Table of the ratings."""
    yield "| Name | Rating | Unit |"
    yield "|---|---|---|"
    for rating in RATINGS:
        yield f"| `{rating.name}` | {rating.title} | {rating.unit} |"


def words_of(node: ast.expr, named: dict[str, ast.expr]) -> str:
    """A text as the source has it, an ellipsis for each value that it takes in."""
    if isinstance(node, ast.Constant):
        return str(node.value)
    if isinstance(node, ast.JoinedStr):
        return "".join(words_of(part, {}) for part in node.values)
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        return words_of(node.left, named) + words_of(node.right, named)
    if isinstance(node, ast.Name) and node.id in named:
        return words_of(named[node.id], {})
    return "…"


def assigned(function: ast.AST) -> dict[str, ast.expr]:
    """What a function assigns to plain names; the first where there are several."""
    named: dict[str, ast.expr] = {}
    for node in ast.walk(function):
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            named.setdefault(node.targets[0].id, node.value)
    return named


def calls(module: ast.Module) -> Iterator[tuple[ast.Call, dict[str, ast.expr]]]:
    """Calls with three plain arguments in each function, and what is assigned there."""
    for function in ast.walk(module):
        if isinstance(function, ast.FunctionDef):
            named = assigned(function)
            for node in ast.walk(function):
                if isinstance(node, ast.Call) and len(node.args) == 3:
                    yield node, named


def findings() -> list[tuple[str, str, str]]:
    """Code, severity and text of every finding that the core makes, in order of code."""
    found = set()
    for file in sorted((ROOT / "core").rglob("*.py")):
        for node, named in calls(ast.parse(file.read_text("utf-8"))):
            code, severity = words_of(node.args[0], named), getattr(node.func, "id", "")
            if severity in SEVERITIES and code.strip("…-"):
                found.add((code, severity, words_of(node.args[2], named)))
    return sorted(found)


def finding_rows() -> Iterator[str]:
    """Table of the findings."""
    yield "| Code | Weight | Text |"
    yield "|---|---|---|"
    yield "| `exceeded-…` | stop | A rating, by its name, asks more than is allowed. |"
    yield "| `exceeded-lost-loop-…` | caution | The same where the loop has to be lost first. |"
    yield "| `tight-…` | caution | A rating has less than a fifth in hand. |"
    for code, severity, text in findings():
        words = " ".join(text.split()).replace("|", "\\|")
        words = words if words.strip("…. ") else "made from its parts"
        yield f"| `{code}` | {severity} | {words} |"


def reference_text() -> str:
    """The whole page."""
    parts = (HEAD, FIELDS, *field_rows(), RATINGS_HEAD, *rating_rows(), FINDINGS, *finding_rows())
    return "\n".join(parts) + "\n"


if __name__ == "__main__":
    TARGET.write_text(reference_text(), encoding="utf-8")
    print(json.dumps({"lines": reference_text().count("\n")}))
