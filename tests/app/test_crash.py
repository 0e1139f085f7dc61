from __future__ import annotations

import logging
import sys
import threading

from burstwise.app.crash import CrashHook, Log


def test_an_uncaught_error_is_logged_first_then_kept_then_told(caplog) -> None:
    order: list[str] = []

    def keep() -> None:
        assert "RuntimeError: broken" in caplog.text
        order.append("kept")

    hook = CrashHook(keep_work=keep, tell=order.append)
    before = sys.excepthook
    hook.install()
    try:
        try:
            raise RuntimeError("broken")
        except RuntimeError as error:
            sys.excepthook(type(error), error, error.__traceback__)
    finally:
        hook.remove()
    assert order == ["kept", "RuntimeError: broken"]
    assert sys.excepthook is before
    caplog.clear()


def test_an_error_while_telling_does_not_go_round_in_circles(caplog) -> None:
    told: list[str] = []

    def tell(text: str) -> None:
        told.append(text)
        error = RuntimeError("again")
        sys.excepthook(RuntimeError, error, None)

    hook = CrashHook(keep_work=lambda: None, tell=tell)
    hook.install()
    try:
        sys.excepthook(RuntimeError, RuntimeError("first"), None)
    finally:
        hook.remove()
    assert told == ["RuntimeError: first"]
    assert "again" in caplog.text
    caplog.clear()


def test_an_error_in_a_thread_is_logged(caplog) -> None:
    hook = CrashHook(keep_work=lambda: None, tell=lambda text: None)
    hook.install()
    try:
        thread = threading.Thread(target=lambda: 1 / 0)
        thread.start()
        thread.join()
    finally:
        hook.remove()
    assert "ZeroDivisionError" in caplog.text
    caplog.clear()


def test_log_file_takes_records_until_closed(tmp_path, caplog) -> None:
    file = tmp_path / "burstwise.log"
    log = Log(file)
    logging.getLogger("burstwise.core").warning("heed this")
    log.close()
    logging.getLogger("burstwise.core").warning("not this")
    text = file.read_text(encoding="utf-8")
    assert "WARNING burstwise.core: heed this" in text
    assert "not this" not in text
    caplog.clear()
