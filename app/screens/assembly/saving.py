"""Files that leave the build screen: sheet, circuit, netlist, parts, results."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from burstwise.app.drawing.circuit_view import png_of
from burstwise.app.plots.picture import png_bytes
from burstwise.app.saving import write_sheet
from burstwise.core.assembly.circuit import combined_svg
from burstwise.core.assembly.drawn import CircuitSheet
from burstwise.core.assembly.parts import parts_csv
from burstwise.core.assembly.powerup import PowerupPlan
from burstwise.core.assembly.symbol_style import SymbolStyle
from burstwise.core.disk import write_whole
from burstwise.core.drawer import Drawer
from burstwise.core.errors import FileError
from burstwise.core.evaluate.results import Results
from burstwise.core.report.export import results_csv, results_json
from burstwise.core.report.netlist import stage_netlist
from burstwise.core.report.sheet_content import build_sheet

SHEET: Final = "Build sheet (*.pdf);;Build sheet for the browser (*.html)"
CIRCUIT: Final = "Drawing (*.svg);;Picture (*.png)"
NETLIST: Final = "Netlist (*.cir)"
PARTS: Final = "Table (*.csv)"
RESULTS: Final = "Whole result set (*.json);;Table (*.csv)"


def save_sheet(
    results: Results,
    plan: PowerupPlan | None,
    with_templates: bool,
    style: SymbolStyle,
    drawer: Drawer,
    file: Path,
) -> None:
    """Write the build sheet as PDF or HTML, with templates at 1:1 if wanted.

    Raises
    ------
    FileError
        Another suffix, or the file cannot be written.
    """
    sheet = build_sheet(results, plan, with_templates=with_templates, style=style, drawer=drawer)
    write_sheet(sheet, file)


def save_circuit(sheets: Sequence[CircuitSheet], file: Path) -> None:
    """Write sheets of the circuit below one another as SVG or PNG.

    Raises
    ------
    FileError
        Another suffix, or the file cannot be written.
    """
    svg = combined_svg(sheets)
    if file.suffix.lower() == ".svg":
        write_whole(file, svg.encode("utf-8"))
    elif file.suffix.lower() == ".png":
        write_whole(file, png_bytes(png_of(svg)))
    else:
        raise FileError(file, file.suffix or "no suffix", "a file ending in .svg or .png")


def save_netlist(results: Results, file: Path) -> None:
    """Write the stage as a netlist for a circuit simulator.

    Raises
    ------
    FileError
        Another suffix, or the file cannot be written.
    """
    if file.suffix.lower() != ".cir":
        raise FileError(file, file.suffix or "no suffix", "a file ending in .cir")
    write_whole(file, stage_netlist(results).encode("ascii"))


def save_parts(results: Results, file: Path) -> None:
    """Write the parts list as CSV.

    Raises
    ------
    FileError
        The file cannot be written.
    """
    from burstwise.core.assembly.parts import parts_list

    write_whole(file, parts_csv(parts_list(results).parts).encode("utf-8"))


def save_results(results: Results, file: Path) -> None:
    """Write the whole result set as JSON or CSV.

    Raises
    ------
    FileError
        Another suffix, or the file cannot be written.
    """
    writers = {".json": results_json, ".csv": results_csv}
    writer = writers.get(file.suffix.lower())
    if writer is None:
        raise FileError(file, file.suffix or "no suffix", "a file ending in .json or .csv")
    write_whole(file, writer(results).encode("utf-8"))
