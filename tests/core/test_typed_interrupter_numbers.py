"""Who may read the duty and frequency that were typed: only what says at what the stage runs.

With timer parts in use the typed numbers are idle, and whoever reads them computes another stage.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
NUMBERS = {"duty", "frequency"}
PATHS = {f"interrupter.{name}" for name in NUMBERS}
READERS = {"value_at", "value", "getattr"}
"""Calls that read a field by its path."""
ALLOWED = {"core/interrupter/resolve.py"}
READ_BY_PATH = {
    "core/design/optional_parts.py": "whether an optional part is fitted",
    "core/studies/remedy_kinds.py": "scaled fields; the frequency only without timer parts",
    "core/lessons/folder.py": "whether there is such a field",
    "core/search/from_drawer.py": "values of a drawer, as a design keeps them",
    "core/search/space.py": "whether there is such a field, and how a choice is read",
    "core/search/trial.py": "which fields differ between two designs",
    "core/search/proposals.py": "ranges around fields; the frequency only without timer parts",
    "app/document.py": "the document's own reader",
    "core/studies/coil_sweep.py": "fields of the coil's geometry",
}
"""Files that read fields by a path which they are given."""


def modules() -> list[Path]:
    return sorted([*(ROOT / "core").rglob("*.py"), *(ROOT / "app").rglob("*.py")])


def _is_interrupter(node: ast.expr, names: set[str]) -> bool:
    if isinstance(node, ast.NamedExpr):
        node = node.value
    if isinstance(node, ast.Attribute):
        return node.attr == "interrupter"
    return isinstance(node, ast.Name) and node.id in names


def _names_of_it(tree: ast.AST) -> set[str]:
    """Names that stand for a design's interrupter section somewhere in a module."""
    names = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.arg) and node.annotation is not None:
            if ast.unparse(node.annotation).strip("'\"") == "Interrupter":
                names.add(node.arg)
        elif isinstance(node, ast.Assign | ast.NamedExpr | ast.AnnAssign):
            if node.value is None or not _is_interrupter(node.value, set()):
                continue
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            names |= {one.id for one in targets if isinstance(one, ast.Name)}
    return names


def typed_reads(source: str) -> Iterator[int]:
    """Lines that read a typed number: by attribute, or by its path."""
    tree = ast.parse(source)
    names = _names_of_it(tree)
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and node.attr in NUMBERS:
            if isinstance(node.ctx, ast.Load) and _is_interrupter(node.value, names):
                yield node.lineno
        elif isinstance(node, ast.Call) and _called(node) in READERS and _names_a_number(node):
            yield node.lineno


def _names_a_number(node: ast.Call) -> bool:
    return any(isinstance(one, ast.Constant) and one.value in PATHS for one in node.args)


def _called(node: ast.Call) -> str:
    function = node.func
    return function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")


def reads_any_field(source: str) -> bool:
    """Whether a module reads fields of the design by a path that it is given."""
    return any(
        isinstance(node, ast.Call)
        and _called(node) in {"value_at", "_value_at"}
        and len(node.args) == 2
        and not isinstance(node.args[1], ast.Constant)
        for node in ast.walk(ast.parse(source))
    )


def test_nobody_else_reads_the_typed_numbers() -> None:
    found = {}
    for file in modules():
        name = file.relative_to(ROOT).as_posix()
        lines = list(typed_reads(file.read_text(encoding="utf-8")))
        if lines:
            found[name] = lines
    assert found.keys() == ALLOWED, f"{found} read typed numbers: ask resolved_interrupter"


def test_who_reads_fields_by_any_path_is_known_not_to_be_given_those() -> None:
    found = set()
    for file in modules():
        name = file.relative_to(ROOT).as_posix()
        if reads_any_field(file.read_text(encoding="utf-8")):
            found.add(name)
    found -= {"core/interrupter/resolve.py", "core/design/document.py", "app/plots/map_plot.py"}
    assert found == set(READ_BY_PATH), "ask value_in_use, or say here why not"


@pytest.mark.parametrize(
    "source",
    [
        "x = design.interrupter.duty",
        "x = self.results.design.interrupter.frequency * 2",
        "part = design.interrupter\nx = part.duty",
        "def f(one: Interrupter) -> float:\n    return one.frequency",
        "if (part := design.interrupter).duty > 0.0:\n    pass",
        "x = value_at(design, 'interrupter.duty')",
        "x = session.document.value('interrupter.frequency')",
    ],
)
def test_the_check_sees_each_way_of_reading(source: str) -> None:
    assert list(typed_reads(source))


@pytest.mark.parametrize(
    "source",
    [
        "x = resolved_interrupter(design).duty",
        "x = results.duty + wish.frequency",
        "caution('code', 'interrupter.duty', 'words')",
        "edits = {'interrupter.duty': 0.2}",
    ],
)
def test_the_check_lets_pass_what_reads_nothing(source: str) -> None:
    assert not list(typed_reads(source))
