"""Files written whole: links, permissions and names stay; a kill or an error loses nothing."""

from __future__ import annotations

import os
import signal
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from burstwise.core import disk
from burstwise.core.disk import (
    clear_leftovers,
    opened,
    read_bytes,
    read_text,
    whole_copy,
    write_whole,
)
from burstwise.core.errors import FileError

posix = pytest.mark.skipif(os.name != "posix", reason="permissions and links as POSIX has them")


def mode_of(file: Path) -> int:
    return stat.S_IMODE(file.stat().st_mode)


def names_in(folder: Path) -> list[str]:
    return sorted(item.name for item in folder.iterdir())


@posix
def test_a_link_stays_a_link_and_its_target_is_written(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    target, near, far = tmp_path / "real" / "coil", tmp_path / "near", tmp_path / "far"
    target.write_bytes(b"old")
    near.symlink_to(Path("real") / "coil")
    far.symlink_to(near)
    write_whole(far, b"new")
    assert far.is_symlink()
    assert near.is_symlink()
    assert not target.is_symlink()
    assert target.read_bytes() == b"new"
    assert names_in(tmp_path) == ["far", "near", "real"]
    assert names_in(tmp_path / "real") == ["coil"]


@posix
def test_a_link_to_a_file_that_is_not_there_makes_it(tmp_path: Path) -> None:
    link = tmp_path / "link"
    link.symlink_to("later")
    write_whole(link, b"new")
    assert link.is_symlink()
    assert (tmp_path / "later").read_bytes() == b"new"


@posix
def test_links_in_a_circle_are_refused(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to("b")
    (tmp_path / "b").symlink_to("a")
    with pytest.raises(FileError, match="evels of symbolic links"):
        write_whole(tmp_path / "a", b"new")
    assert names_in(tmp_path) == ["a", "b"]


@posix
@pytest.mark.parametrize("mode", [0o664, 0o600, 0o640, 0o666, 0o755])
def test_an_existing_file_keeps_its_permissions(tmp_path: Path, mode: int) -> None:
    file = tmp_path / "coil"
    file.write_bytes(b"old")
    file.chmod(mode)
    write_whole(file, b"new")
    assert (file.read_bytes(), mode_of(file)) == (b"new", mode)


@posix
@pytest.mark.parametrize(("mask", "mode"), [(0o022, 0o644), (0o002, 0o664), (0o077, 0o600)])
def test_a_new_file_has_what_the_mask_leaves(tmp_path: Path, mask: int, mode: int) -> None:
    before = os.umask(mask)
    try:
        write_whole(tmp_path / "coil", b"new")
    finally:
        os.umask(before)
    assert mode_of(tmp_path / "coil") == mode


@posix
def test_all_names_of_one_file_show_the_new_content(tmp_path: Path) -> None:
    file, other = tmp_path / "coil", tmp_path / "other name"
    file.write_bytes(b"a longer old content")
    file.chmod(0o664)
    os.link(file, other)
    write_whole(file, b"new")
    assert other.read_bytes() == b"new"
    assert other.samefile(file)
    assert mode_of(other) == 0o664
    assert names_in(tmp_path) == ["coil", "other name"]


def fails_once_on(monkeypatch: pytest.MonkeyPatch, number: int) -> None:
    """Let one of the calls of fsync fail, as it does on a full disk."""
    calls = []

    def fsync(_: int) -> None:
        calls.append(1)
        if len(calls) == number:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fsync)


@posix
@pytest.mark.parametrize("number", [1, 2], ids=["neighbour", "file itself"])
def test_an_error_leaves_a_file_of_two_names_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    file, other = tmp_path / "coil", tmp_path / "other"
    file.write_bytes(b"old content")
    os.link(file, other)
    fails_once_on(monkeypatch, number)
    with pytest.raises(FileError, match="No space left"):
        write_whole(file, b"something newer and longer")
    assert (file.read_bytes(), other.read_bytes()) == (b"old content", b"old content")
    assert names_in(tmp_path) == ["coil", "other"]


@posix
def test_what_power_failure_cuts_off_stands_whole_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every write after the neighbour's fails, the one that puts the old content back too."""
    file = tmp_path / "coil"
    file.write_bytes(b"old")
    os.link(file, tmp_path / "other")
    calls = []

    def fsync(_: int) -> None:
        calls.append(1)
        if len(calls) > 1:
            raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "fsync", fsync)
    with pytest.raises(FileError, match="Input/output"):
        write_whole(file, b"new and whole")
    clear_leftovers(tmp_path)
    assert whole_copy(file).read_bytes() == b"new and whole"
    monkeypatch.undo()
    write_whole(file, b"newer")
    assert names_in(tmp_path) == ["coil", "other"]


@posix
def test_owner_and_group_stay_or_the_file_is_written_in_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "coil"
    file.write_bytes(b"old")
    file.chmod(0o664)
    number = file.stat().st_ino
    # As if the file belonged to somebody else, whom the neighbour cannot be given to.
    real = Path.stat

    def other_owner(path: Path, **how: bool) -> os.stat_result:
        found = real(path, **how)
        if not path.name.startswith(".burstwise"):
            return found
        return os.stat_result([*found[:4], found.st_uid + 1, *found[5:10]])

    def refuse(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(Path, "stat", other_owner)
    monkeypatch.setattr(os, "chown", refuse)
    write_whole(file, b"new")
    monkeypatch.undo()
    assert file.read_bytes() == b"new"
    assert (file.stat().st_ino, mode_of(file)) == (number, 0o664)
    assert names_in(tmp_path) == ["coil"]


@pytest.mark.skipif(sys.platform != "linux", reason="attributes as Linux has them")
def test_attributes_of_a_file_stay(tmp_path: Path) -> None:
    file = tmp_path / "coil"
    file.write_bytes(b"old")
    try:
        os.setxattr(file, "user.origin", b"bench 3")
    except OSError:
        pytest.skip("this file system keeps no attributes")
    write_whole(file, b"new")
    assert os.getxattr(file, "user.origin") == b"bench 3"


@pytest.mark.parametrize("length", [1, 245, 246, 250, 255])
def test_names_up_to_the_longest_can_be_saved_twice(tmp_path: Path, length: int) -> None:
    file = tmp_path / ("x" * length)
    for content in (b"first", b"second"):
        write_whole(file, content)
        assert file.read_bytes() == content
    assert names_in(tmp_path) == [file.name]


def test_a_name_that_is_too_long_is_told_in_a_line(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="name too long") as caught:
        write_whole(tmp_path / ("x" * 256), b"")
    assert "\n" not in str(caught.value)


@posix
def test_a_write_protected_file_is_not_replaced(tmp_path: Path) -> None:
    file = tmp_path / "coil"
    file.write_bytes(b"old")
    file.chmod(0o444)
    with pytest.raises(FileError, match="write-protected"):
        write_whole(file, b"new")
    assert (file.read_bytes(), mode_of(file)) == (b"old", 0o444)


@posix
def test_nothing_else_than_a_file_is_replaced(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "link").symlink_to("/dev/null")
    for name, kind in (("folder", "a folder"), ("pipe", "a pipe"), ("link", "a device")):
        with pytest.raises(FileError, match=f"an ordinary file; instead received {kind}"):
            write_whole(tmp_path / name, b"new")
    assert names_in(tmp_path) == ["folder", "link", "pipe"]


KILLED = """
import os, sys, time
from burstwise.core.disk import write_whole
def wait(_):
    print("in the middle", flush=True)
    time.sleep(60)
os.fsync = wait
write_whole(sys.argv[1], b"never to be seen")
"""


def start_a_save(file: Path) -> subprocess.Popen[str]:
    """Another process in the middle of saving."""
    started = subprocess.Popen(
        [sys.executable, "-c", KILLED, str(file)], stdout=subprocess.PIPE, text=True
    )
    assert started.stdout is not None
    assert started.stdout.readline() == "in the middle\n"
    return started


@posix
def test_what_a_killed_save_leaves_is_cleared_by_the_next(tmp_path: Path) -> None:
    file = tmp_path / "coil"
    write_whole(file, b"old")
    with start_a_save(file) as saving:
        saving.send_signal(signal.SIGKILL)
    assert file.read_bytes() == b"old"
    (left,) = [name for name in names_in(tmp_path) if name != "coil"]
    assert (tmp_path / left).read_bytes() == b"never to be seen"
    write_whole(tmp_path / "another", b"new")
    assert names_in(tmp_path) == ["another", "coil"]


@posix
def test_a_save_that_goes_on_elsewhere_is_not_disturbed(tmp_path: Path) -> None:
    file = tmp_path / "coil"
    with start_a_save(file) as saving:
        write_whole(file, b"ours")
        clear_leftovers(tmp_path)
        assert len(names_in(tmp_path)) == 2
        saving.kill()
    clear_leftovers(tmp_path)
    assert names_in(tmp_path) == ["coil"]


def test_only_leftovers_of_this_program_are_cleared(tmp_path: Path) -> None:
    kept = [".burstwise-notes.part", ".coil.part", "burstwise-0123456789abcdef.part"]
    for name in [*kept, ".burstwise-0123456789abcdef.part"]:
        (tmp_path / name).write_bytes(b"x")
    clear_leftovers(tmp_path)
    assert names_in(tmp_path) == sorted(kept)
    clear_leftovers(tmp_path / "nowhere")


@posix
def test_a_neighbour_cleared_before_it_was_locked_is_made_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cleared: list[Path] = []
    real = disk.fcntl.flock

    def clear_first(handle: int, how: int) -> None:
        if not cleared:
            cleared.extend(tmp_path.iterdir())
            cleared[0].unlink()
        real(handle, how)

    monkeypatch.setattr(disk.fcntl, "flock", clear_first)
    write_whole(tmp_path / "coil", b"new")
    assert len(cleared) == 1
    assert names_in(tmp_path) == ["coil"]


def test_only_ordinary_files_of_bearable_size_are_read(odd_files: dict[str, Path]) -> None:
    for words, file in odd_files.items():
        with pytest.raises(FileError) as caught:
            read_bytes(file, largest=1000)
        said = str(caught.value)
        assert said.endswith(f"instead received {words}"), said
        limit = "at most 1 kB long" if words == "1 TB" else "an ordinary file"
        assert f"{file} must be {limit}" in said
        assert "\n" not in said


@posix
def test_a_pipe_that_takes_a_files_place_does_not_hold_the_reader(
    odd_files: dict[str, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between the look at the file and its opening."""
    file = tmp_path / "file"
    file.write_bytes(b"x")
    was = file.stat()
    real = os.stat
    monkeypatch.setattr(
        os, "stat", lambda path, **how: was if path == odd_files["a pipe"] else real(path, **how)
    )
    with pytest.raises(FileError, match="a pipe"):
        read_bytes(odd_files["a pipe"], largest=10)


@pytest.mark.parametrize(("size", "taken"), [(0, True), (10, True), (11, False)])
def test_the_limit_of_size_is_met_to_the_byte(tmp_path: Path, size: int, taken: bool) -> None:
    file = tmp_path / "file"
    file.write_bytes(b"x" * size)
    if taken:
        assert read_bytes(file, largest=10) == b"x" * size
        return
    with pytest.raises(FileError, match="at most 10 B long; instead received 11 B"):
        read_bytes(file, largest=10)


def test_a_file_that_grows_while_it_is_read_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_bytes(b"x" * 10)
    real = disk.opened

    with opened(file, largest=10) as stream, file.open("ab") as writer:
        writer.write(b"x" * 10_000)
        writer.flush()
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(disk, "opened", lambda *_, **__: real(file, largest=10**9))
            with pytest.raises(FileError, match="at most 10 B"):
                read_bytes(file, largest=10)
        assert stream.read(3) == b"xxx"


def test_text_with_and_without_mark_and_with_any_line_ends(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_bytes(b"\xef\xbb\xbfone\r\ntwo\rthree\n")
    assert read_text(file) == "one\ntwo\nthree\n"
    file.write_bytes(b"one\ntwo\n\xe4\n")
    with pytest.raises(FileError, match="line 3 must be text in UTF-8"):
        read_text(file)


@pytest.mark.parametrize("name", ["lone \ud800", "nothing \0 of it"])
def test_a_name_that_no_file_can_have_is_told_in_a_line(name: str) -> None:
    for use in (read_bytes, write_whole):
        with pytest.raises(FileError, match="must be the name of a file") as refused:
            use(name, largest=10) if use is read_bytes else use(name, b"new")
        assert str(refused.value).isprintable()
