"""Share of small random changes of the code that some test notices.

Each mutant changes one operator, comparison or number of one line of `core` outside the compiled
kernel, in a copy of the tree. It is killed when a test of its own package fails, or else one of
the packages that stand on it; it survives when all of them pass. Run from the top of the tree::

    python tests/benchmarks/mutation_sample.py --count 100 --seed 1 --out mutants.jsonl

One mutant takes 5 to 120 s of a core. The out file grows by a line each, so that a run can be
stopped at any time (`--minutes` ends one, the next goes on where it ended) and told of by
`--report mutants.jsonl`, with `--verdicts FILE` for what was found of the survivors: a CSV file of
`file:line:operator,verdict,why`. Needs cosmic-ray (pip) and a POSIX system.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from pathlib import Path
from typing import Any, Final

from mutation_places import mutated, positions

ROOT: Final = Path(__file__).parents[2]
ABOVE: Final = {
    "coil": ["coil", "explain", "evaluate/test_load_by_hand.py"],
    "interrupter": ["interrupter", "explain"],
    "burst": ["burst", "evaluate"],
    "stage": ["stage", "burst"],
    "limits": ["limits", "evaluate/test_load_by_hand.py", "assembly"],
    "evaluate": ["evaluate", "studies", "limits"],
    "studies": ["studies"],
    "report": ["assembly"],
    "design": ["design", "test_storage.py", "test_released_files.py"],
}
"""Test folders asked about a package, its own first; the others are asked by their own name."""
FEW: Final = 8
"""Test files that import a module directly are asked about it wherever they lie, if so few do."""
PATIENCE: Final = 600
"""Seconds of a core after which a mutant is taken to run for ever."""
WAIT: Final = 2400.0
"""Seconds by the clock after which a mutant is given up, undecided: the machine was busy."""
ORDER: Final = """
import json, os, pathlib
FILE = pathlib.Path(os.environ["MUTATION_TIMES"])
KNOWN = json.loads(FILE.read_text()) if FILE.exists() else {}
TAKEN = {}
def pytest_collection_modifyitems(items):
    # Doublings of time: of tests that take alike, those of the nearest file stay first.
    items.sort(key=lambda item: int(max(KNOWN.get(item.nodeid, 0.0), 1.0)).bit_length())
def pytest_runtest_logreport(report):
    TAKEN[report.nodeid] = TAKEN.get(report.nodeid, 0.0) + report.duration
def pytest_sessionfinish():
    FILE.write_text(json.dumps(KNOWN | TAKEN))
"""
"""Plug-in for pytest that has the quick tests first and learns which are."""


def asked(tree: Path, name: str) -> list[str]:
    """Tests asked about a file, near ones first: those of its name, those that import it."""
    package, stem = Path(name).parts[1], Path(name).stem
    folders = ABOVE.get(package, [package])
    if package.endswith(".py"):
        folders = [f"test_{stem}.py", "interrupter", "bench"]
    module = "burstwise." + name.removesuffix(".py").replace("/", ".") + " import "
    files = sorted((tree / "tests/core").rglob("test_*.py"))
    near = [path for path in files if stem in path.stem]
    direct = [path for path in files if module in path.read_text("utf-8")]
    if len(direct) <= FEW:
        near += [path for path in direct if path not in near]
    tests = [f"tests/core/{item}" for item in folders if (tree / "tests/core" / item).exists()]
    return [*(path.relative_to(tree).as_posix() for path in near), *tests]


def examples(tree: Path, name: str) -> list[str]:
    """Test of the examples in a file's docstrings, where it has any."""
    if ">>> " not in (tree / name).read_text("utf-8"):
        return []
    module = name.removesuffix(".py").replace("/", ".")
    return [f"tests/test_doctests.py::test_examples_of[burstwise.{module}]"]


def first_failure(tree: Path, tests: list[str], times: Path) -> str | None:
    """Name of the first test that fails, or of another end; None when all pass."""
    surroundings = os.environ | {
        "PYTHONPATH": os.pathsep.join([str(tree / ".package"), str(tree.parent)]),
        "PYTHONDONTWRITEBYTECODE": "1",
        "QT_QPA_PLATFORM": "offscreen",
        "MUTATION_TIMES": str(times),
    }
    options = ["-q", "-x", "--no-header", "--tb=no", "-p", "mutation_order"]
    try:
        done = subprocess.run(
            [sys.executable, "-m", "pytest", *options, *tests],
            cwd=tree,
            env=surroundings,
            capture_output=True,
            text=True,
            timeout=WAIT,
            preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_CPU, (PATIENCE, PATIENCE)),
        )
    except subprocess.TimeoutExpired:
        return "undecided"
    if done.returncode in (-signal.SIGXCPU, -signal.SIGKILL):
        return "runs for ever"
    if done.returncode == 0:
        return None
    lines = [x for x in done.stdout.splitlines() if x.startswith(("FAILED", "ERROR"))]
    return lines[0].split(" - ")[0] if lines else f"exit {done.returncode}"


class Copy:
    """Copy of the tree in which one file at a time is changed.

    Parameters
    ----------
    room : Path
        Folder for the copy.
    times : Path
        File of the seconds that the tests take, written anew after each run of them.
    """

    def __init__(self, room: Path, times: Path) -> None:
        self.tree, self._times = room / "tree", times.resolve()
        # The links of `.package` stay links: copies of what they lead to would never be changed.
        leave = shutil.ignore_patterns(".git", ".venv", "*.egg-info", ".hypothesis")
        shutil.copytree(ROOT, self.tree, symlinks=True, ignore=leave)
        (room / "mutation_order.py").write_text(ORDER)
        self._sound: set[str] = set()
        if self.noticed("core/coil/skin.py", "raise RuntimeError\n") is None:
            raise SystemExit("A file that cannot be imported goes unnoticed: the copy is not read.")

    def noticed(self, name: str, text: str) -> str | None:
        """Name of the first test that fails with another text of a file; None when none does."""
        target = self.tree / name
        before, stamps = target.read_text("utf-8"), target.stat()
        tests = [*examples(self.tree, name), *asked(self.tree, name)]
        target.write_text(text, "utf-8")
        try:
            by = first_failure(self.tree, tests, self._times)
        finally:
            target.write_text(before, "utf-8")
            # As old as it was, so that what is compiled of the file stays valid.
            os.utime(target, ns=(stamps.st_atime_ns, stamps.st_mtime_ns))
        if by and "::" in by and by not in self._sound:
            test = by.removeprefix("FAILED ").removeprefix("ERROR ")
            if first_failure(self.tree, [test], self._times) is not None:
                return "undecided: the test fails without the change as well"
            self._sound.add(by)
        return by


def run(count: int, seed: int, out: Path, minutes: float) -> None:
    """Try a sample of mutants, one after the other, and go on where an earlier run ended."""
    end = time.monotonic() + 60.0 * minutes
    places = positions(ROOT)
    chance = random.Random(seed)
    chosen = chance.sample(sorted(places), min(count, len(places)))
    picked = [(place, chance.sample(places[place], len(places[place]))) for place in chosen]
    behind = len(out.read_text().splitlines()) if out.exists() else 0
    print(f"{len(places)} places, {len(chosen)} in the sample, {behind} tried before", flush=True)
    with tempfile.TemporaryDirectory() as room:
        copy = Copy(Path(room), out.with_suffix(".times.json"))
        for (name, place), changes in picked[behind:]:
            before = (copy.tree / name).read_text("utf-8")
            row: dict[str, Any] = {"file": name, "line": place[0][0], "column": place[0][1]}
            for operator, occurrence in changes:
                after = mutated(before, operator, occurrence)
                if after is not None:
                    break
            else:
                after, operator = None, "none"
            row["operator"] = operator.removeprefix("core/")
            if after is None:
                row["killed_by"] = "undecided: no change makes another program"
            else:
                began, used = time.monotonic(), resource.getrusage(resource.RUSAGE_CHILDREN)
                row["killed_by"] = copy.noticed(name, after)
                now = resource.getrusage(resource.RUSAGE_CHILDREN)
                row["seconds"] = round(time.monotonic() - began, 1)
                row["of_a_core"] = round(
                    now.ru_utime + now.ru_stime - used.ru_utime - used.ru_stime, 1
                )
                lines = zip(before.splitlines(), after.splitlines(), strict=False)
                row["was"], row["now"] = next(
                    ((old.strip(), new.strip()) for old, new in lines if old != new), ("", "")
                )
            with out.open("a") as stream:
                stream.write(json.dumps(row) + "\n")
            if time.monotonic() > end:
                print("the time is over")
                break


def share(rows: list[dict[str, Any]]) -> str:
    """Killed among some rows, in words."""
    killed = sum(bool(row["killed_by"]) for row in rows)
    return f"{killed:4} of {len(rows):4} killed, {killed / max(len(rows), 1):.1%}"


def report(file: Path, verdicts: Path | None) -> None:
    """Score of a run, overall and by package, and its survivors."""
    tried = [json.loads(line) for line in file.read_text().splitlines()]
    rows = [row for row in tried if not (row["killed_by"] or "").startswith("undecided")]
    words = {}
    if verdicts:
        with verdicts.open(newline="", encoding="utf-8") as stream:
            words = {line[0]: line[1:] for line in csv.reader(stream) if len(line) > 1}
    alive = [row for row in rows if not row["killed_by"]]
    said = {
        id(row): words.get(f"{row['file']}:{row['line']}:{row['operator']}", ["unread"])
        for row in alive
    }
    print(f"{share(rows)}; {len(tried) - len(rows)} undecided")
    same = [row for row in alive if said[id(row)][0] == "equivalent"]
    if same:
        print(f"{share([row for row in rows if row not in same])} without the equivalent ones")
    by_package = defaultdict(list)
    for row in rows:
        by_package[Path(row["file"]).parts[1]].append(row)
    for package, of_it in sorted(by_package.items()):
        print(f"  {package:15} {share(of_it)}")
    spent = sorted(row["of_a_core"] for row in rows)
    if spent:
        print(
            f"seconds of a core a mutant: {sum(spent) / len(spent):.0f} in the mean, "
            f"{spent[len(spent) // 2]:.0f} in the middle, {spent[-1]:.0f} at most"
        )
    print(f"survivors, {len(alive)}:", dict(Counter(said[id(row)][0] for row in alive)))
    for row in alive:
        verdict, *why = said[id(row)]
        print(f"{verdict:12} {row['file']}:{row['line']}:{row['operator']} {' '.join(why)}")
        print(f"{'':12}   - {row['was']}\n{'':12}   + {row['now']}")


def main() -> None:
    """Read the arguments and run, or tell of a run."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--out", type=Path, default=Path("mutants.jsonl"))
    parser.add_argument("--minutes", type=float, default=float("inf"))
    parser.add_argument("--report", type=Path)
    parser.add_argument("--verdicts", type=Path)
    told = parser.parse_args()
    if told.report:
        report(told.report, told.verdicts)
    else:
        run(told.count, told.seed, told.out, told.minutes)


if __name__ == "__main__":
    main()
