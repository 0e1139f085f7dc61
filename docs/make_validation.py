"""Run the tests, collect the figures they measured, write docs/validation.md.

Usage: python docs/make_validation.py [FIGURES.jsonl]
With a file of figures already collected (pytest --figures FILE) nothing is run.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).parents[1]
HEAD = """# Validation

Made by `python docs/make_validation.py` from the figures that the tests measure; do not edit.
Each row is one test: what it compares, what it measured, the limit it holds, and where the
reference comes from. 'From memory' means that the source was remembered and not re-read.

No figure was compared with a measured coil. Parts are piecewise linear, capacitances follow a law
through datasheet figures, and the discharge is a voltage law.
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


def page(figures: list[dict[str, object]]) -> str:
    """Markdown of all figures by part."""
    parts: dict[str, list[dict[str, object]]] = defaultdict(list)
    for row in figures:
        parts[str(row["part"])].append(row)
    lines = [HEAD]
    for part in sorted(parts):
        lines += [f"\n## {part}\n", "| What | Measured | Limit | Source |", "|---|---|---|---|"]
        for row in sorted(parts[part], key=lambda item: str(item["what"])):
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
    (ROOT / "docs" / "validation.md").write_text(page(figures), encoding="utf-8")
    print(f"{len(figures)} figures")
    return 0


if __name__ == "__main__":
    sys.exit(main())
