"""Time to make a build sheet of each example: evaluation, content, HTML, PDF.

Run: ``python tests/benchmarks/bench_sheet.py``
"""

from __future__ import annotations

import itertools
import os
import time
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from burstwise.app.sheet import pdf_bytes
from burstwise.core.evaluate import evaluate
from burstwise.core.report.html import sheet_html
from burstwise.core.report.sheet_content import build_sheet
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[2] / "resources" / "examples"


def main() -> None:
    """Print seconds per part for each example, after one run to warm up."""
    files = sorted(EXAMPLES.glob("*.burstwise"))
    build_sheet(evaluate(load(files[0])))
    print(f"{'design':32} evaluate  content  html   pdf    whole")
    for file in files:
        marks = [time.perf_counter()]
        results = evaluate(load(file))
        marks.append(time.perf_counter())
        sheet = build_sheet(results)
        marks.append(time.perf_counter())
        sheet_html(sheet)
        marks.append(time.perf_counter())
        pdf_bytes(sheet)
        marks.append(time.perf_counter())
        parts = [b - a for a, b in itertools.pairwise(marks)]
        words = "  ".join(f"{part:5.2f} s" for part in parts)
        print(f"{file.stem:32} {words}  {marks[-1] - marks[0]:5.2f} s")


if __name__ == "__main__":
    main()
