"""Whether each design that a search returns holds what was promised, evaluated from its file.

Searches for ten wishes, saves each design that comes back, reads it and evaluates it alone.

    python tests/benchmarks/search_promises.py [EVALUATIONS] [SEED]
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from search_wishes import CASES, Case

from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.search import Found, search
from burstwise.core.storage import load, save


def broken(case: Case, found: Found, file: Path) -> list[str]:
    """Promises that a design from its file does not keep."""
    save(found.design, file)
    alone = results_object(evaluate(load(file)))
    told = [keep.text for keep in case.wish.conditions if keep.miss(alone) > 0.0]
    told += [f"finding {one['code']}" for one in alone["findings"] if one["severity"] == "stop"]
    objective = case.wish.objective.value(alone)
    if abs(objective - found.objective) > 1e-9 * abs(objective):
        told.append(f"objective {objective:.6g} instead of {found.objective:.6g}")
    return told


def main(evaluations: int, seed: int) -> None:
    """Print the figures."""
    designs = failed = 0
    with tempfile.TemporaryDirectory() as folder:
        for case in CASES:
            answer = search(
                case.design, case.wish, case.free, seed=seed, evaluations=evaluations, processes=0
            )
            file = Path(folder) / "found.burstwise"
            bad = [told for one in answer.found if (told := broken(case, one, file))]
            designs, failed = designs + len(answer.found), failed + len(bad)
            print(f"{case.name}: {len(answer.found)} designs, {len(bad)} break a promise {bad}")
            sys.stdout.flush()
    print(f"{designs} designs of {len(CASES)} wishes, {failed} break a promise")


if __name__ == "__main__":
    numbers = [int(text) for text in sys.argv[1:]]
    main(*(numbers + [60, 1][len(numbers) :]))
