"""Entry point: headless commands without Qt, otherwise the window."""

from __future__ import annotations

import logging
import os
import signal
import sys
import traceback
from collections.abc import Sequence
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final, NoReturn

from burstwise.app.display_check import no_window_reason
from burstwise.app.log_file import log_file
from burstwise.app.process_memory import share_one_heap
from burstwise.core.errors import one_line

if TYPE_CHECKING:
    from burstwise.app.window import MainWindow

THREADS: Final = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
"""Settings of the threads of linear algebra; the engine's matrices are far too small for any."""
COMMANDS: Final = frozenset({"evaluate", "timer", "forecast", "netlist", "search", "sheet"})
NO_WINDOW_STATUS: Final = 3
UNEXPECTED: Final = 70
"""Exit status of an error that nobody foresaw."""
SIGNALLED: Final = 128
"""Exit status of an end by a signal, less the signal's number, as a shell has it."""
_SWITCH_INTERVAL: Final = 0.001
"""Longest turn of the computing thread while the window waits for the interpreter [s]."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run `burstwise`; returns the exit status.

    Parameters
    ----------
    argv : sequence of str, optional
        Arguments after the program's name, those of the process by default.
    """
    arguments = list(sys.argv[1:] if argv is None else argv)
    for name in THREADS:  # read when numpy is imported; two threads made an evaluation ten times
        os.environ.setdefault(name, "1")  # slower on a machine with two busy cores
    # The drawing library asks for the plotting library's backend, which on a desktop would be Qt.
    os.environ.setdefault("MPLBACKEND", "agg")
    if is_headless(arguments):
        return _headless(arguments)
    reason = no_window_reason(os.environ)
    if reason is not None:
        print(f"burstwise: {reason}", file=sys.stderr)
        return NO_WINDOW_STATUS
    open_window(Path(arguments[0]) if any(arguments) else None)


def _headless(arguments: list[str]) -> int:
    """Run a command; an error that nobody foresaw is one line and a page in the log file."""
    try:
        if arguments[:1] == ["sheet"]:
            from burstwise.app.sheet_command import run as run_sheet

            return run_sheet(arguments[1:])
        from burstwise.core.command import run

        return run(arguments)
    except KeyboardInterrupt:
        return SIGNALLED + signal.SIGINT
    except Exception as error:
        file = _logged(error)
        what = " ".join(str(error).split())[:80]
        print(
            f"burstwise: unexpected error ({type(error).__name__}: {what}); {file} holds the rest",
            file=sys.stderr,
        )
        return UNEXPECTED


def _logged(error: Exception) -> str:
    """Write an error to the log file; its path, or why there is none."""
    file = log_file(os.environ)
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with file.open("a", encoding="utf-8", errors="replace") as log:
            log.write(f"{datetime.now().isoformat(timespec='seconds')} ERROR headless\n")
            log.writelines(traceback.format_exception(error))
    except OSError as refused:
        return f"the log file {file} cannot be written ({refused.strerror}), so nothing"
    return str(file)


def is_headless(arguments: Sequence[str]) -> bool:
    """Whether the arguments ask for a command; a lone file name or nothing opens the window."""
    if not arguments:
        return False
    return arguments[0] in COMMANDS or arguments[0].startswith("-") or len(arguments) > 1


def open_window(file: Path | None) -> NoReturn:
    """Open the window, stay until it is closed, end the process."""
    from PySide6.QtCore import QTimer
    from PySide6.QtWidgets import QApplication

    from burstwise.app.crash import CrashHook, Log
    from burstwise.app.end_requests import EndRequests
    from burstwise.app.messages import show_error
    from burstwise.app.places import usable, user_places
    from burstwise.app.session import Session
    from burstwise.app.stored import stored
    from burstwise.app.theme import Theme
    from burstwise.app.window import DARK_KEY, MainWindow, stored_symbols
    from burstwise.app.wiring import design_job

    sys.setswitchinterval(_SWITCH_INTERVAL)
    share_one_heap()
    application = QApplication(sys.argv[:1])
    application.setApplicationName("burstwise")
    application.setApplicationDisplayName("Burstwise")
    try:
        places, problem = usable(user_places())
    except OSError as error:
        print(f"burstwise: no window can be opened: {one_line(error)}", file=sys.stderr)
        end_process(NO_WINDOW_STATUS)
    log = Log(places.log)
    settings = places.open_settings()
    dark = stored(settings, DARK_KEY, False)
    theme = Theme(application, dark=dark, symbols=stored_symbols(settings))
    window = MainWindow(Session(design_job()), theme, places)

    def tell(error: str) -> None:
        show_error(
            window,
            "Unexpected error",
            f"{error}\n\nThe design is kept for recovery. Details are in {places.log}.",
        )

    hook = CrashHook(keep_work=window.autosave.flush, tell=tell)
    hook.install()
    requests = EndRequests(application)
    requests.asked.connect(lambda number: _end_asked(window, number))
    window.show()
    QTimer.singleShot(0, window, lambda: _start_work(window, file, problem))
    status = application.exec()
    requests.remove()
    hook.remove()
    log.close()
    end_process(status)


def end_process(status: int) -> NoReturn:
    """End this process at once; no thread's work is waited for, its processes are ended too.

    Everything that lasts is on disk by then: designs and settings are written by the window, other
    files whole or not at all. A thread may be in compiled code for seconds, and what the
    interpreter does at its end takes another one.

    Parameters
    ----------
    status : int
        Exit status.
    """
    import multiprocessing

    for child in multiprocessing.active_children():
        child.kill()  # deaf to the request, as those of a search are
    logging.shutdown()
    for stream in (sys.stdout, sys.stderr):
        if stream is not None:  # a window without a console has none
            with suppress(OSError, ValueError):
                stream.flush()
    os._exit(status)


def _end_asked(window: MainWindow, number: int) -> NoReturn:
    """End as a signal of the system asks: unsaved work is offered at the next start."""
    window.autosave.leave()
    end_process(SIGNALLED + number)


def _start_work(window: MainWindow, file: Path | None, problem: str = "") -> None:
    """Say what is wrong with the user's own folder, take up what a crash left, open the file."""
    from burstwise.app.messages import warn

    if problem:
        warn(window, "Own folder not writable", problem)
    window.files.clear_leftovers()
    window.files.offer_recovery(window.places)
    if file is not None and not window.session.document.unsaved:
        window.files.open(file)
    else:
        window.session.refresh()
    window.help.greet(busy=file is not None or window.session.document.unsaved)


if __name__ == "__main__":
    sys.exit(main())
