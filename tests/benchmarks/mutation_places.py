"""Places of `core` at which a small change can be fair, and the changed text.

Left out is what no test should notice: types and annotations, docstrings, decorators (`frozen`,
the size of a cache), lists of names, texts of versions, `strict` of a `zip`, stars before
arguments, and what runs on another platform only. A change that does not compile, or gives the
same program, is none either.
"""

from __future__ import annotations

import ast
import warnings
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

LEFT_OUT: Final = ("core/stage/kernel/", "core/command.py", "core/version.py")
SKIPPED_KINDS: Final = (
    "Bit",
    "Shift",
    "FloorDiv",
    "Mod",
    "Decorator",
    "Exception",
    "Zero",
    "Variable",
)
"""Operators that mostly touch annotations, or make code that cannot run at all."""
ASKS_IDENTITY: Final = ("_Is", "_IsNot")
"""Ends of the operators that ask whether two numbers or words are one object: chance decides."""
PLATFORM: Final = ("sys.platform", "os.name", "platform.system", "TYPE_CHECKING")

Span = tuple[tuple[int, int], tuple[int, int]]
Place = tuple[str, Span]


def is_fair(operator: str) -> bool:
    """Whether an operator changes what a program does, and not only how it asks."""
    if any(kind in operator for kind in SKIPPED_KINDS):
        return False
    if "Operator_Is" in operator:
        return operator.endswith(("Operator_Is_IsNot", "Operator_IsNot_Is"))
    return not operator.endswith(ASKS_IDENTITY)


def unfair_nodes(tree: ast.AST) -> Iterator[ast.AST]:
    """Parts of a program that are not for running here."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield from (
                each.annotation
                for each in ast.walk(node.args)
                if isinstance(each, ast.arg) and each.annotation
            )
            yield from filter(None, [node.returns, *node.decorator_list])
        elif isinstance(node, ast.ClassDef):
            yield from node.decorator_list
        elif isinstance(node, ast.AnnAssign):
            # What is told of a field of a document stands in its annotation and is no type.
            if not any(isinstance(each, ast.Call) for each in ast.walk(node.annotation)):
                yield node.annotation
        elif isinstance(node, ast.Assign):
            if any(isinstance(each, ast.Name) and each.id == "__all__" for each in node.targets):
                yield node
        elif isinstance(node, ast.If | ast.IfExp):
            if any(word in ast.unparse(node.test) for word in PLATFORM):
                yield node
        elif isinstance(node, ast.keyword):
            if node.arg == "strict":
                yield node
        elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            yield node


def closed_spans(tree: ast.AST) -> list[Span]:
    """Stretches in which no place is fair."""
    return [
        ((node.lineno, node.col_offset), (node.end_lineno, node.end_col_offset))  # type: ignore[attr-defined]
        for node in unfair_nodes(tree)
    ]


def operator_spans(tree: ast.AST) -> list[Span]:
    """Stretches between the two sides of an operator; a star before arguments is none."""
    return [
        (
            (node.left.end_lineno or 0, node.left.end_col_offset or 0),
            (node.right.lineno, node.right.col_offset),
        )
        for node in ast.walk(tree)
        if isinstance(node, ast.BinOp)
    ]


def lies_in(place: Span, stretches: list[Span]) -> bool:
    """Whether a place lies in any of some stretches."""
    return any(first <= place[0] and place[1] <= last for first, last in stretches)


def positions(root: Path) -> dict[Place, list[tuple[str, int]]]:
    """Places that can be changed, each with the operators and their occurrence numbers."""
    from cosmic_ray.ast import ast_nodes, get_ast_from_path
    from cosmic_ray.plugins import get_operator, operator_names

    found: dict[Place, list[tuple[str, int]]] = defaultdict(list)
    names = [name for name in operator_names() if is_fair(name)]
    for path in sorted(root.joinpath("core").rglob("*.py")):
        name = path.relative_to(root).as_posix()
        if name.startswith(LEFT_OUT) or path.name == "__init__.py":
            continue
        tree = ast.parse(path.read_text("utf-8"))
        closed, between = closed_spans(tree), operator_spans(tree)
        nodes = list(ast_nodes(get_ast_from_path(path)))
        for operator in names:
            makes, count = get_operator(operator)(), 0
            for node in nodes:
                for start, end in makes.mutation_positions(node):
                    place = start, end
                    two_sided = "Binary" not in operator or lies_in(place, between)
                    if two_sided and not lies_in(place, closed):
                        found[name, place].append((operator, count))
                    count += 1
    return found


def mutated(text: str, operator: str, occurrence: int) -> str | None:
    """Text with one change; None where that is no program, or the same one."""
    from cosmic_ray.mutating import mutate_code
    from cosmic_ray.plugins import get_operator

    changed: Any = mutate_code(text, get_operator(operator)(), occurrence)
    if changed is None:
        return None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            tree = ast.parse(changed)
            compile(changed, "changed", "exec")
    except (SyntaxError, SyntaxWarning):
        return None
    return None if ast.dump(tree) == ast.dump(ast.parse(text)) else str(changed)
