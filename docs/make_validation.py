"""Run the tests, collect the figures they measured, write docs/validation.md.

Usage: python docs/make_validation.py [FIGURES.jsonl]
With a file of figures already collected (pytest --figures FILE) nothing is run.
"""

from __future__ import annotations

import json
import re
import runpy
import subprocess
import sys
import tempfile
from collections import Counter, defaultdict
from pathlib import Path

ROOT = Path(__file__).parents[1]
HEAD = """# Validation

No figure was ever compared with a measured coil. Parts are assumed piecewise linear, capacitances
to follow a law through datasheet figures, and the discharge to be a voltage law: what stands below
tells how well the program does its own sums, not how well a coil keeps to them.

Made by `python docs/make_validation.py` from the figures that the tests of {made_of} measured; do
not edit. Each row is one test: what it compares, what it measured, the limit it holds, and where
the reference comes from. 'From memory' means that the source was remembered and not re-read.
"""


def collected(target: Path) -> list[dict[str, object]]:
    """Figures of a whole test run."""
    subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-n", "2", "--figures", str(target)],
        cwd=ROOT,
        check=True,
    )
    return read(target)


def read(path: Path) -> list[dict[str, object]]:
    """Figures of a JSON-lines file."""
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def made_of() -> str:
    """Version and commit that the figures are of, and whether files differ from it."""
    version = runpy.run_path(str(ROOT / "core" / "version.py"))["VERSION"]
    commit = _git("rev-parse", "--short=10", "HEAD")
    if not commit:
        return f"version {version}, commit not known"
    # The page itself is about to be written anew.
    changed = _git(
        "status", "--porcelain", "--untracked-files=no", "--", ".", ":!docs/validation.md"
    )
    return f"version {version}, commit {commit}{' with changes' if changed else ''}"


def _git(*arguments: str) -> str:
    """What git answers; nothing where there is none."""
    try:
        done = subprocess.run(["git", *arguments], cwd=ROOT, capture_output=True, text=True)
    except OSError:
        return ""
    return done.stdout.strip() if done.returncode == 0 else ""


def told_apart(rows: list[dict[str, object]]) -> list[dict[str, object]]:
    """Rows of one name with the case of their test added, or a number where that is one too."""
    for key in (_case, _number):
        names = Counter(str(row["what"]) for row in rows)
        seen: Counter[str] = Counter()
        changed = []
        for row in rows:
            what = str(row["what"])
            seen[what] += 1
            several = names[what] > 1
            changed.append({**row, "what": what + key(row, seen[what])} if several else row)
        rows = changed
    return rows


def _case(row: dict[str, object], _place: int) -> str:
    """Parameters of a test as its name has them in brackets."""
    found = re.search(r"\[(.+)\]$", str(row.get("test", "")))
    return f" ({found[1].replace('|', '/')})" if found else ""


def _number(_row: dict[str, object], place: int) -> str:
    return f", {place}"


def page(figures: list[dict[str, object]], made: str) -> str:
    """Markdown of all figures by part.

    Parameters
    ----------
    figures : list of dict
        Figures as the tests recorded them.
    made : str
        Version and commit that they are of.
    """
    parts: dict[str, list[dict[str, object]]] = defaultdict(list)
    for row in figures:
        parts[str(row["part"])].append(row)
    lines = [HEAD.format(made_of=made)]
    for part in sorted(parts):
        lines += [f"\n## {part}\n", "| What | Measured | Limit | Source |", "|---|---|---|---|"]
        for row in sorted(told_apart(parts[part]), key=lambda item: str(item["what"])):
            measured = f"{row['measured']:.3g} {row['unit']}".strip()
            lines.append(f"| {row['what']} | {measured} | {row['limit']} | {row['source']} |")
    return "\n".join(lines) + "\n"


def main() -> int:
    """Write the page."""
    if len(sys.argv) > 1:
        figures = read(Path(sys.argv[1]))
    else:
        with tempfile.TemporaryDirectory() as folder:
            figures = collected(Path(folder) / "figures.jsonl")
    (ROOT / "docs" / "validation.md").write_text(page(figures, made_of()), encoding="utf-8")
    print(f"{len(figures)} figures")
    return 0


if __name__ == "__main__":
    sys.exit(main())
