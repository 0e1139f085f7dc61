"""Page of speeds: `python docs/make_benchmarks.py [NAME ...]` writes docs/benchmarks.md.

Runs the scripts of tests/benchmarks that tell figures as JSON, all of them or those named, each in
a process of its own, one after the other. Every ratio on the page is of two times of one run.
"""

from __future__ import annotations

import json
import os
import platform
import subprocess
import sys
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import Any, Final

DOCS: Final = Path(__file__).parent
FOLDER: Final = DOCS.parent / "tests" / "benchmarks"
PAGE: Final = DOCS / "benchmarks.md"
SCRIPTS: Final = {
    "bench_engine": "The stage's engine",
    "bench_coil": "The coil",
    "bench_interrupter": "The interrupter's timer",
    "bench_capture": "Captures and readings",
    "bench_start": "Start of the window",
    "bench_drag": "A drag",
    "bench_sheet": "The build sheet",
    "bench_map": "Limit map, order of failure, random builds, remedies",
    "bench_search": "A search",
}
"""Scripts by name, with the heading of their part."""
LIBRARIES: Final = ("numpy", "scipy", "numba", "scikit-sundae")
HEAD: Final = """# Speed

Made by `python docs/make_benchmarks.py` from the scripts in `tests/benchmarks`. A time alone says \
little, as machines differ and are shared; so beside it stand, of the same run, a *floor*, \
the least that has to be done, and a *peer*, another way to the same result. A dash: there is none.
"""


def figures_of(name: str) -> list[dict[str, Any]]:
    """What a script measures."""
    done = subprocess.run(
        [sys.executable, FOLDER / f"{name}.py", "--json"], stdout=subprocess.PIPE, check=True
    )
    told: list[dict[str, Any]] = json.loads(done.stdout)
    return told


def surroundings() -> str:
    """Machine, load and versions."""
    libraries = ", ".join(f"{name} {version(name)}" for name in LIBRARIES)
    processors = os.cpu_count() or 1
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    busy = " (other programs at work: times are long)" if load > 0.5 * processors else ""
    return (
        f"{date.today().isoformat()}, {platform.system()} on {platform.machine()}, "
        f"{processors} processors, load {load:.1f} when it began{busy}; "
        f"Python {platform.python_version()}, {libraries}."
    )


def part(heading: str, figures: list[dict[str, Any]], in_units: Any) -> str:
    """A heading with the table of a script's figures."""
    rows = ["| What | Time | Floor | times | Peer | times as fast |", "|---|--:|---|--:|---|--:|"]
    for each in figures:
        cells = [each["what"], in_units(each["seconds"])]
        for kind in ("floor", "peer"):
            other = each[kind]
            if other is None:
                cells += ["—", "—"]
                continue
            ratio = each["seconds"] / other if kind == "floor" else other / each["seconds"]
            cells += [f"{each[f'{kind}_is']}, {in_units(other)}", f"{ratio:.3g}"]
        rows.append(f"| {' | '.join(cells)} |")
    return f"\n## {heading}\n\n" + "\n".join(rows) + "\n"


def main(names: list[str]) -> int:
    """Write the page; returns the exit status."""
    sys.path.insert(0, str(FOLDER))
    from figures import in_units

    told = surroundings()
    parts = [part(SCRIPTS[name], figures_of(name), in_units) for name in names or SCRIPTS]
    PAGE.write_text(f"{HEAD}\n{told}\n" + "".join(parts), encoding="utf-8")
    print(PAGE)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
