"""Diagrams of the model's page: `python docs/make_diagrams.py`.

They are drawn from the worked design's own results, in the colours of the program's light look.
"""

from __future__ import annotations

from pathlib import Path

from diagrams import circuit_model, coil_rings, device_pieces, reads, slow_side, stepping

from burstwise.core.design.document import Design
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.results import Results
from burstwise.core.storage import load

DOCS = Path(__file__).parent
FOLDER = DOCS / "images" / "model"
EXAMPLE = DOCS.parent / "resources" / "examples" / "classroom-gated-interrupted.burstwise"


def diagrams(design: Design, results: Results) -> dict[str, str]:
    """SVG texts by name."""
    return {
        "circuit": circuit_model.svg(),
        "channel": device_pieces.channel(design),
        "capacitances": device_pieces.capacitances(design),
        "burst": slow_side.burst(results),
        "heat": slow_side.heat(results),
        "rings": coil_rings.svg(results),
        "reads": reads.svg(),
        "stepping": stepping.arrays(),
        "border": stepping.border(),
    }


def main() -> None:
    """Write all diagrams."""
    design = load(EXAMPLE)
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, text in diagrams(design, evaluate(design)).items():
        (FOLDER / f"{name}.svg").write_text(text, encoding="utf-8", newline="\n")
        print(f"docs/images/model/{name}.svg")


if __name__ == "__main__":
    main()
