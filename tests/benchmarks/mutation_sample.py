"""Share of small random changes of the code that some test notices.

Each mutant changes one operator, comparison or number of one line of `core` outside the compiled
kernel, in a copy of the tree. It is killed when a test of its own package fails, or else one of
the packages that stand on it; it survives when all of them pass. Run from the top of the tree::

    python tests/benchmarks/mutation_sample.py --count 100 --seed 1 --out mutants.jsonl

One mutant takes 5 to 120 s. The out file grows by a line each, so that a run can be stopped at any
time and told of by `--report mutants.jsonl`. Needs cosmic-ray (pip).
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections import defaultdict
from pathlib import Path
from typing import Any, Final

ROOT: Final = Path(__file__).parents[2]
ABOVE: Final = {
    "coil": ["coil", "explain", "evaluate/test_load_by_hand.py"],
    "interrupter": ["interrupter", "explain"],
    "burst": ["burst", "evaluate"],
    "stage": ["stage", "burst"],
    "limits": ["limits", "evaluate/test_load_by_hand.py", "assembly"],
    "evaluate": ["evaluate", "limits"],
    "design": ["design", "test_storage.py", "test_released_files.py"],
}
"""Test folders asked about a package, its own first; the others are asked by their own name."""
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
PATIENCE: Final = 420.0


def positions() -> dict[tuple[str, Any], list[tuple[str, int]]]:
    """Places that can be changed, each with the operators and their occurrence numbers."""
    from cosmic_ray.ast import ast_nodes, get_ast_from_path
    from cosmic_ray.plugins import get_operator, operator_names

    found: dict[tuple[str, Any], list[tuple[str, int]]] = defaultdict(list)
    names = [n for n in operator_names() if not any(kind in n for kind in SKIPPED_KINDS)]
    for path in sorted(ROOT.joinpath("core").rglob("*.py")):
        name = str(path.relative_to(ROOT))
        if name.startswith(LEFT_OUT) or path.name == "__init__.py":
            continue
        nodes = list(ast_nodes(get_ast_from_path(path)))
        for operator in names:
            makes, count = get_operator(operator)(), 0
            for node in nodes:
                for place in makes.mutation_positions(node):
                    found[name, tuple(place)].append((operator, count))
                    count += 1
    return found


def mutated(text: str, operator: str, occurrence: int) -> str:
    """Text with one change."""
    from cosmic_ray.mutating import mutate_code
    from cosmic_ray.plugins import get_operator

    return str(mutate_code(text, get_operator(operator)(), occurrence))


def asked(name: str) -> list[str]:
    """Tests asked about a file, near ones first."""
    package = Path(name).parts[1]
    if package.endswith(".py"):
        return [f"tests/core/test_{package[:-3]}.py", "tests/core/interrupter", "tests/core/bench"]
    return [f"tests/core/{item}" for item in ABOVE.get(package, [package])]


def examples(tree: Path, name: str) -> list[str]:
    """Test of the examples in a file's docstrings, where it has any."""
    if ">>> " not in (tree / name).read_text("utf-8"):
        return []
    module = name.removesuffix(".py").replace("/", ".")
    return [f"tests/test_doctests.py::test_examples_of[burstwise.{module}]"]


def noticed(tree: Path, name: str) -> str | None:
    """Name of the first test that fails; None when all pass."""
    surroundings = os.environ | {
        "PYTHONPATH": str(tree / ".package"),
        "QT_QPA_PLATFORM": "offscreen",
    }
    for tests in asked(name):
        if not (tree / tests).exists():
            continue
        command = [
            sys.executable,
            "-m",
            "pytest",
            "-q",
            "-x",
            "--no-header",
            "--tb=no",
            tests,
            *examples(tree, name),
        ]
        try:
            done = subprocess.run(
                command,
                cwd=tree,
                env=surroundings,
                capture_output=True,
                text=True,
                timeout=PATIENCE,
            )
        except subprocess.TimeoutExpired:
            return "took too long"
        if done.returncode != 0:
            lines = [x for x in done.stdout.splitlines() if x.startswith(("FAILED", "ERROR"))]
            return lines[0] if lines else f"exit {done.returncode}"
    return None


def report(file: Path) -> None:
    """Score of a run, and its survivors."""
    rows = [json.loads(line) for line in file.read_text().splitlines()]
    killed = [row for row in rows if row["killed_by"]]
    print(f"{len(killed)} of {len(rows)} killed ({len(killed) / max(len(rows), 1):.1%})")
    for row in rows:
        if not row["killed_by"]:
            print(
                f"{row['file']}:{row['line']} {row['operator']}\n  - {row['was']}\n  + {row['now']}"
            )


def run(count: int, seed: int, out: Path) -> None:
    """Try a sample of mutants, one after the other."""
    places = positions()
    chance = random.Random(seed)
    chosen = chance.sample(sorted(places), min(count, len(places)))
    print(f"{len(places)} places, {len(chosen)} tried")
    with tempfile.TemporaryDirectory() as room:
        tree = Path(room) / "tree"
        shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(".git", ".venv", "*.egg-info"))
        for name, place in chosen:
            operator, occurrence = chance.choice(places[name, place])
            target = tree / name
            before = target.read_text()
            after = mutated(before, operator, occurrence)
            target.write_text(after)
            by = noticed(tree, name)
            target.write_text(before)
            line = place[0][0]
            row = {"file": name, "line": line, "operator": operator, "killed_by": by}
            row["was"] = before.splitlines()[line - 1].strip()
            row["now"] = after.splitlines()[line - 1].strip()
            with out.open("a") as stream:
                stream.write(json.dumps(row) + "\n")


def main() -> None:
    """Read the arguments and run, or tell of a run."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--out", type=Path, default=Path("mutants.jsonl"))
    parser.add_argument("--report", type=Path)
    told = parser.parse_args()
    if told.report:
        report(told.report)
    else:
        run(told.count, told.seed, told.out)


if __name__ == "__main__":
    main()
