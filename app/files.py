"""New, open, save and recover, with the questions that keep work from being lost."""

from __future__ import annotations

import logging
import os
from pathlib import Path
from typing import Any, Final

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from burstwise.app.file_dialogs import ask_open, ask_save, set_last_folder, show_saved
from burstwise.app.messages import Button, ask, choose, warn
from burstwise.app.places import Places, RecentFiles
from burstwise.app.recovery import Autosave, LeftBehind, left_behind
from burstwise.app.refusals import refusal
from burstwise.app.session import Session
from burstwise.core.disk import clear_leftovers, stamp_of, stamp_of_bytes
from burstwise.core.errors import InputError
from burstwise.core.storage import SUFFIX

_FILTER: Final = f"Design (*{SUFFIX});;All files (*)"
_WAYS: Final = ("Keep mine", "Take theirs", "Save mine as…")
_KEEP_MINE, _TAKE_THEIRS, _SAVE_AS = range(len(_WAYS))
_CHANGED: Final = """{name} has been changed since this window last read or saved it, \
by another program or in another window.

Keep mine: the file takes this window's design; what was changed there is lost.
Take theirs: this window takes the file's design; undo brings yours back.
Save mine as…: yours goes into another file, and both stay."""
_log = logging.getLogger(__name__)


class Files(QObject):
    """File commands of a window.

    Parameters
    ----------
    session : Session
        Holder of the document.
    recent : RecentFiles
        List that opened and saved files join.
    autosave : Autosave
        Keeps the unsaved work; takes over what is recovered.
    window : QWidget
        Parent of the dialogs.
    """

    def __init__(
        self, session: Session, recent: RecentFiles, autosave: Autosave, window: QWidget
    ) -> None:
        super().__init__(window)
        self._autosave = autosave
        self._session, self._recent, self._window = session, recent, window

    def new(self) -> None:
        """Start a new design."""
        if self.may_leave():
            self.begin_new()

    def begin_new(self) -> None:
        """Start a new design without a question."""
        self._session.document.open(self._session.job.new(), None)

    def ask_open(self) -> None:
        """Ask for a file and open it."""
        if not self.may_leave():
            return
        file = ask_open(self._window, "Open design", _FILTER)
        if file is not None:
            self._load(file, keep_name=True)

    def open(self, file: Path) -> bool:
        """Open a file; tells whether it is open now."""
        return self.may_leave() and self._load(file, keep_name=True)

    def open_example(self, file: Path) -> bool:
        """Open an example as a design without a file, so that saving does not overwrite it."""
        return self.may_leave() and self._load(file, keep_name=False)

    def save(self) -> bool:
        """Save to the design's file, or ask for one; tells whether it is saved."""
        file = self._session.document.file
        return self.save_as() if file is None else self._store(file)

    def save_as(self) -> bool:
        """Ask for a file and save there; tells whether it is saved."""
        asked = ask_save(self._window, "Save design", _FILTER, self._name())
        return asked is not None and self._store_under(asked[0])

    def may_leave(self) -> bool:
        """Whether the design may be given up: saved, or the user agrees to lose the edits.

        A lesson ends here: what is asked about, and saved, is the user's own design.
        """
        self._session.document.send_off()
        if not self._session.document.unsaved:
            return True
        answer = ask(
            self._window,
            "Unsaved edits",
            "The design has edits that are not saved. Save them?",
            Button.Save | Button.Discard | Button.Cancel,
            Button.Save,
        )
        if answer == Button.Save:
            return self.save()
        return answer == Button.Discard

    def offer_recovery(self, places: Places) -> None:
        """Offer the latest work that a crash left behind; a refused copy is deleted.

        Copies that cannot be used are put aside first, and told in one message.
        """
        usable = self._usable(left_behind(*places.recoveries()))
        for found, design in usable:
            what = "a new design" if found.origin is None else found.origin.name
            answer = ask(
                self._window,
                "Recover work",
                f"The last session ended with unsaved edits in {what}. Recover them?",
                Button.Yes | Button.No,
                Button.Yes,
            )
            if answer == Button.Yes:
                self._session.document.open(design, found.origin, unsaved=True, stamp=found.stamp)
                self._autosave.take_over(found)
                return
            found.discard()

    def _usable(self, copies: tuple[LeftBehind, ...]) -> list[tuple[LeftBehind, Any]]:
        """Copies with their designs; those that hold none are put aside and told of."""
        usable, told = [], []
        for found in copies:
            problem = found.problem
            if not problem:
                try:
                    usable.append((found, self._session.job.from_text(found.text)))
                    continue
                except InputError as error:
                    problem = str(error)
                except Exception as error:  # a damaged copy may hold anything; it must stop nothing
                    _log.error("recovery copy %s cannot be used", found.copy, exc_info=error)
                    problem = "it holds no design"
            what = "" if found.origin is None else f" of {found.origin.name}"
            told.append(
                f"A copy{what} cannot be used: {problem}. It is kept as {found.set_aside()}."
            )
        if told:
            warn(self._window, "Not recovered", "\n\n".join(told))
        return usable

    def clear_leftovers(self) -> None:
        """Delete what a killed save left beside the recent files."""
        for folder in {file.parent for file in self._recent.files}:
            clear_leftovers(folder)

    def _load(self, file: Path, *, keep_name: bool) -> bool:
        try:
            stamp = stamp_of(file)
            design = self._session.job.load(file)
        except InputError as error:
            self._tell("Not opened", error)
            return False
        if not keep_name:
            self._session.document.open(design, None)
            return True
        self._session.document.open(design, file, stamp=stamp)
        set_last_folder(str(file.absolute().parent))
        self._recent.add(file)
        return True

    def _store_under(self, file: Path) -> bool:
        """Save under a chosen name; where the suffix is added, the dialog has not asked yet."""
        if file.suffix:
            return self._store(file)
        file = file.with_name(file.name + SUFFIX)
        if os.path.exists(file) and not self._may_replace(file):
            return False
        return self._store(file)

    def _may_replace(self, file: Path) -> bool:
        answer = ask(
            self._window,
            "Replace file",
            f"{file.name} exists already. Replace it?",
            Button.Yes | Button.No,
            Button.No,
        )
        return answer == Button.Yes

    def _store(self, file: Path) -> bool:
        document, job = self._session.document, self._session.job
        mine = stamp_of_bytes(job.to_text(document.design).encode("utf-8"))
        try:
            if self._is_own(file):
                settled = self._settled(file, mine)
                if settled is not None:
                    return settled
            job.save(document.design, file)
        except InputError as error:
            self._tell("Not saved", error)
            return False
        document.mark_saved(file, mine)
        self._recent.add(file)
        show_saved(self._window, file)
        return True

    def _is_own(self, file: Path) -> bool:
        """Whether a file is the one of the design in hand, under this name or another."""
        own = self._session.document.file
        if own is None:
            return False
        return os.path.realpath(own) == os.path.realpath(file)

    def _settled(self, file: Path, mine: str) -> bool | None:
        """Ask where somebody else has changed the file; None where it may be written.

        What comes while the question stands is asked about again.

        Raises
        ------
        InputError
            The file cannot be read, so that nobody knows what would be lost.
        """
        known = {"", mine, self._session.document.own_stamp}
        while True:
            found = stamp_of(file)
            if found in known:
                return None
            answer = choose(
                self._window,
                "File changed elsewhere",
                _CHANGED.format(name=file.name),
                _WAYS,
                default=_SAVE_AS,
            )
            if answer == _KEEP_MINE:
                known.add(found)
            elif answer == _TAKE_THEIRS:
                return self._take_theirs(file)
            else:
                return self.save_as() if answer == _SAVE_AS else False

    def _take_theirs(self, file: Path) -> bool:
        """Take the file's design in hand; false, as the one that was to be saved is not."""
        stamp = stamp_of(file)
        self._session.document.take_theirs(self._session.job.load(file), stamp)
        return False

    def _tell(self, title: str, error: InputError) -> None:
        warn(self._window, title, refusal(error))

    def _name(self) -> str:
        """Name that a dialog begins with: the design's file, else none."""
        file = self._session.document.file
        return str(file) if file else ""
