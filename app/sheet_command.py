"""`burstwise sheet`: HTML without Qt, PDF by Qt without a display."""

from __future__ import annotations

from collections.abc import Sequence

from burstwise.core.report.command import Writer, html_bytes, run_sheet


def run(argv: Sequence[str]) -> int:
    """Run the command with the arguments after ``sheet``; returns the exit status."""
    return run_sheet(argv, {".html": lambda: html_bytes, ".pdf": _pdf_writer})


def _pdf_writer() -> Writer:
    from burstwise.app.sheet import pdf_bytes

    return pdf_bytes
