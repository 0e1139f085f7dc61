"""Time to make a build sheet of each example: content, HTML, PDF, beside its evaluation.

Run: ``python tests/benchmarks/bench_sheet.py``
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from figures import Figure, least_time, tell

from burstwise.app.sheet import pdf_bytes
from burstwise.core.evaluate import evaluate
from burstwise.core.report.html import sheet_html
from burstwise.core.report.sheet_content import build_sheet
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[2] / "resources" / "examples"


def figures() -> Iterator[Figure]:
    """Parts of a sheet for each example, after one run to warm up."""
    files = sorted(EXAMPLES.glob("*.burstwise"))
    build_sheet(evaluate(load(files[0])))
    for file in files:
        design = load(file)
        floor = least_time(lambda design=design: evaluate(design), repeats=1)
        results = evaluate(design)
        sheet = build_sheet(results)
        works = {
            "content of the sheet with its power-up plan": lambda of=results: build_sheet(of),
            "the sheet as HTML": lambda of=sheet: sheet_html(of),
            "the sheet as PDF": lambda of=sheet: pdf_bytes(of),
        }
        for what, work in works.items():
            yield Figure(
                f"{what}, {file.stem}",
                least_time(work, repeats=1),
                floor=floor,
                floor_is="the evaluation of the design",
            )


if __name__ == "__main__":
    tell(figures())
