"""Files read and written whole, with a plain word about whatever else stands at a path."""

from __future__ import annotations

import hashlib
import os
import re
import secrets
import stat
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from io import FileIO
from pathlib import Path
from typing import BinaryIO, Final

from burstwise.core.errors import FileError
from burstwise.core.units import shown

if sys.platform != "win32":
    import fcntl

LARGEST_TEXT: Final = 20_000_000
"""Most bytes of a design or a table [B]."""
_PART: Final = re.compile(r"\.burstwise-[0-9a-f]{16}\.part")
_PRIVATE: Final = 0o600
_USUAL: Final = 0o666
_LOCKS: Final = sys.platform != "win32"
_KINDS: Final = (
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISSOCK, "a socket"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
)


@contextmanager
def opened(path: str | os.PathLike[str], *, largest: int) -> Iterator[BinaryIO]:
    """Ordinary file of bearable size, open for reading.

    Parameters
    ----------
    path : path-like
        File to read; a link is followed.
    largest : int
        Most bytes it may have.

    Raises
    ------
    FileError
        It cannot be opened, is a folder, a pipe or a device, or is too long. Nothing of it has
        been read then, so that a pipe without a writer does not keep the program waiting.
    """
    _check_name(path)
    try:
        _check_ordinary(path, os.stat(path))
        # Should a pipe take the file's place in between, opening it does not wait either.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0) | _no_wait())
        with os.fdopen(handle, "rb") as stream:
            found = os.fstat(handle)
            _check_ordinary(path, found)
            if found.st_size > largest:
                raise _too_long(path, found.st_size, largest)
            yield stream
    except OSError as error:
        raise FileError(path, error.strerror or error, "a file that can be read") from error


def read_bytes(path: str | os.PathLike[str], *, largest: int) -> bytes:
    """All bytes of an ordinary file.

    Raises
    ------
    FileError
        See `opened`; also where the file grows beyond `largest` while it is read.
    """
    with opened(path, largest=largest) as stream:
        content = stream.read(largest + 1)
    if len(content) > largest:
        raise _too_long(path, len(content), largest)
    return content


def read_text(path: str | os.PathLike[str]) -> str:
    """Text of an ordinary file in UTF-8, with or without a byte order mark.

    Raises
    ------
    FileError
        See `opened`; other bytes than UTF-8 are named by their line.
    """
    content = read_bytes(path, largest=LARGEST_TEXT)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise FileError(path, "bytes that are no text", "text in UTF-8", line=line) from error
    return text.replace("\r\n", "\n").replace("\r", "\n")


def stamp_of(path: str | os.PathLike[str]) -> str:
    """Mark of what a file holds, to see later whether somebody has changed it; empty without one.

    It follows the content, not the time: a copy of the same bytes is no change, and two saves
    within one tick of the file system's clock are told apart.

    Raises
    ------
    FileError
        See `opened`.
    """
    if not os.path.exists(path):
        return ""
    return stamp_of_bytes(read_bytes(path, largest=LARGEST_TEXT))


def stamp_of_bytes(content: bytes) -> str:
    """Mark of a file that holds these bytes.

    Examples
    --------
    >>> stamp_of_bytes(b"coil") == stamp_of_bytes(b"coil "), len(stamp_of_bytes(b""))
    (False, 64)
    """
    return hashlib.sha256(content).hexdigest()


def write_whole(path: str | os.PathLike[str], content: bytes) -> None:
    """Write a file in one go: after an error or a kill it holds the old content or the new.

    A link is followed, so that it stays a link. The content goes into a neighbour with a short
    name of its own, which then takes the file's place. A new file has the permissions that the
    user's mask leaves; an existing one keeps permissions, owner, group and attributes.

    A file with several names (hard links), or whose owner the neighbour cannot be given, is
    written over in place, as a neighbour in its place would part it from its other names. What
    was there comes back after an error. Only where the power fails in that moment may it be cut
    off; the new content is whole beside it then (`whole_copy`).

    Raises
    ------
    FileError
        No ordinary file, write-protected, or it cannot be written.
    """
    _check_name(path)
    try:
        target = Path(os.path.realpath(path))
        was = _present(target)
        if was is not None:
            _check_ordinary(path, was)
            if not was.st_mode & 0o222 or not os.access(target, os.W_OK):
                raise FileError(path, "one that is write-protected", "a writable file")
        clear_leftovers(target.parent)
        _write(target, was, content)
        whole_copy(target).unlink(missing_ok=True)
    except OSError as error:
        raise FileError(path, error.strerror or error, "a writable file") from error


def whole_copy(path: str | os.PathLike[str]) -> Path:
    """Where the new content stands while a file is written over in place."""
    target = Path(os.path.realpath(path))
    mark = hashlib.sha256(os.fsencode(target.name)).hexdigest()[:16]
    return target.with_name(f".burstwise-{mark}.whole")


def clear_leftovers(folder: Path) -> None:
    """Delete neighbours in a folder that a killed save left; one still being written stays."""
    with suppress(OSError), os.scandir(folder) as entries:
        for part in [Path(entry.path) for entry in entries if _PART.fullmatch(entry.name)]:
            with suppress(OSError):
                _delete_idle(part)


def _check_name(path: str | os.PathLike[str]) -> None:
    try:
        name = os.fsencode(path)
    except UnicodeEncodeError:
        name = b"\0"
    if b"\0" in name:
        raise FileError(path, "characters that no file name has", "the name of a file")


def _check_ordinary(path: str | os.PathLike[str], found: os.stat_result) -> None:
    if not stat.S_ISREG(found.st_mode):
        kind = next((word for test, word in _KINDS if test(found.st_mode)), "something else")
        raise FileError(path, kind, "an ordinary file")


def _too_long(path: str | os.PathLike[str], size: int, largest: int) -> FileError:
    return FileError(path, shown(size, "B"), f"at most {shown(largest, 'B')} long")


def _no_wait() -> int:
    return int(getattr(os, "O_NONBLOCK", 0))


def _present(target: Path) -> os.stat_result | None:
    try:
        return os.stat(target)
    except FileNotFoundError:
        return None


def _write(target: Path, was: os.stat_result | None, content: bytes) -> None:
    part, handle = _new_part(target.parent, _USUAL if was is None else _PRIVATE)
    try:
        with FileIO(handle, "wb") as stream:
            _put(stream, content)
            replaces = was is None or (was.st_nlink == 1 and _made_alike(part, target, was))
            if replaces and _LOCKS:  # open until then: the lock keeps others from clearing it
                os.replace(part, target)
        if replaces and not _LOCKS:
            os.replace(part, target)
        if not replaces:
            _write_over(target, content, part.replace(whole_copy(target)))
    except BaseException:
        part.unlink(missing_ok=True)
        raise


def _new_part(folder: Path, mode: int) -> tuple[Path, int]:
    """A new neighbour, locked as long as it is open."""
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    while True:
        part = folder / f".burstwise-{secrets.token_hex(8)}.part"
        handle = os.open(part, flags, mode)
        if sys.platform != "win32":
            with suppress(OSError):  # a file system without locks: nobody clears anything there
                fcntl.flock(handle, fcntl.LOCK_EX)
        if part.exists():
            return part, handle
        os.close(handle)  # cleared away by somebody else before it was locked


def _delete_idle(part: Path) -> None:
    if sys.platform == "win32":
        part.unlink()  # refused by the system while it is open
        return
    handle = os.open(part, os.O_RDWR | os.O_NOFOLLOW | os.O_NONBLOCK)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        part.unlink()
    finally:
        os.close(handle)


def _made_alike(part: Path, target: Path, was: os.stat_result) -> bool:
    """Give a neighbour owner, permissions and attributes of the file; tells whether it has them."""
    made = part.stat()
    try:
        if sys.platform != "win32" and (made.st_uid, made.st_gid) != (was.st_uid, was.st_gid):
            os.chown(part, was.st_uid, was.st_gid)
        part.chmod(stat.S_IMODE(was.st_mode))
        return _attributes_copied(part, target)
    except OSError:
        return False


def _attributes_copied(part: Path, target: Path) -> bool:
    """Copy extended attributes, access lists among them; tells whether they are the same now."""
    if sys.platform != "linux":
        return True
    wanted = _attributes(target)
    for name, value in wanted.items():
        os.setxattr(part, name, value)
    return _attributes(part) == wanted


def _attributes(file: Path) -> dict[str, bytes]:
    if sys.platform != "linux":
        return {}
    try:
        names = os.listxattr(file)
    except OSError:
        return {}
    return {name: os.getxattr(file, name) for name in names}


def _write_over(target: Path, content: bytes, whole: Path) -> None:
    with target.open("r+b", buffering=0) as stream:
        old = stream.read()
        try:
            _put(stream, content)
        except BaseException:
            _put(stream, old)
            whole.unlink(missing_ok=True)
            raise


def _put(stream: FileIO, content: bytes) -> None:
    stream.seek(0)
    rest = memoryview(content)
    while rest:
        rest = rest[stream.write(rest) :]
    stream.truncate()
    os.fsync(stream.fileno())
