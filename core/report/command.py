"""`burstwise sheet FILE -o OUT.html`: the build sheet without a display and without Qt."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from burstwise.core.assembly.symbol_style import SymbolStyle
from burstwise.core.console import DONE, STOPPED, Parser, file_name, guarded
from burstwise.core.disk import write_whole
from burstwise.core.errors import InputError
from burstwise.core.evaluate import evaluate
from burstwise.core.report.html import sheet_html
from burstwise.core.report.sheet import Sheet
from burstwise.core.report.sheet_content import build_sheet
from burstwise.core.storage import load

Writer = Callable[[Sheet], bytes]


def html_bytes(sheet: Sheet) -> bytes:
    """Sheet as the content of an HTML file."""
    return sheet_html(sheet).encode("utf-8")


def run_sheet(argv: Sequence[str], writers: dict[str, Callable[[], Writer]]) -> int:
    """Make a build sheet; returns the exit status 0, 1 (stop finding) or 2 (bad input).

    Parameters
    ----------
    argv : sequence of str
        Arguments after ``sheet``.
    writers : dict
        By file suffix, a call that gives the writer, so that only the one in use is imported.
    """
    parser = Parser(prog="burstwise sheet", description="Build sheet of a design file.")
    parser.add_argument("file", type=file_name, help="design file")
    parser.add_argument(
        "-o", "--output", type=file_name, required=True, help=f"file to write: {', '.join(writers)}"
    )
    parser.add_argument(
        "--templates", action="store_true",
        help="add templates at 1:1 of a flat or conical primary and of the windings' ends",
    )  # fmt: skip
    parser.add_argument(
        "--symbols", type=SymbolStyle, choices=list(SymbolStyle), default=SymbolStyle.IEC,
        help="standard of the symbols for resistors, potentiometers and fuses; iec if not given",
    )  # fmt: skip

    def work() -> int:
        told = parser.parse_args(list(argv))
        suffix = told.output.suffix.lower()
        if suffix not in writers:
            raise InputError("--output", told.output, f"a file ending in {' or '.join(writers)}")
        results = evaluate(load(told.file))
        sheet = build_sheet(results, with_templates=told.templates, style=told.symbols)
        write_whole(told.output, writers[suffix]()(sheet))
        return STOPPED if results.stopped else DONE

    return guarded(work)
