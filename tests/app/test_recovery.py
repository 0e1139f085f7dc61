from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from burstwise.app.document import Document
from burstwise.app.places import MOST_RECENT, Places, RecentFiles
from burstwise.app.recovery import Autosave, LeftBehind, left_behind
from burstwise.core.design.document import Design, value_at, with_values


@pytest.fixture
def document(qapp, small_design: Design) -> Document[Design]:
    return Document(small_design, with_values=with_values, value_at=value_at)


def to_text(design: Design) -> str:
    return design.model_dump_json()


@pytest.fixture
def autosave(document, tmp_path):
    made = Autosave(document, tmp_path, to_text=to_text, delay_ms=10)
    yield made
    made.close()


def test_edits_are_copied_after_a_moment_and_saving_removes_the_copy(
    document, autosave, qtbot
) -> None:
    assert not autosave.copy.exists()
    document.edit("supply.voltage", 48.0)
    qtbot.waitUntil(autosave.copy.exists)
    document.mark_saved(Path("some.json"))
    qtbot.waitUntil(lambda: not autosave.copy.exists())


def test_a_living_window_is_not_offered_for_recovery(document, autosave, tmp_path) -> None:
    document.edit("supply.voltage", 48.0)
    autosave.flush()
    assert autosave.copy.exists()
    assert left_behind(tmp_path) == ()


CRASH = """
import os, sys
from pathlib import Path
from PySide6.QtCore import QCoreApplication
from burstwise.app.document import Document
from burstwise.app.recovery import Autosave
application = QCoreApplication([])
document = Document("old", with_values=lambda design, values: values["x"], value_at=getattr)
document.open("old", Path("mine.json"))
autosave = Autosave(document, Path(sys.argv[1]), to_text=str)
document.edit("x", "new work")
autosave.flush()
os._exit(9)
"""


def test_a_crash_leaves_a_copy_that_can_be_recovered(qapp, tmp_path) -> None:
    ended = subprocess.run([sys.executable, "-c", CRASH, str(tmp_path)], check=False)
    assert ended.returncode == 9
    (found,) = left_behind(tmp_path)
    assert (found.text, found.origin) == ("new work", Path("mine.json"))
    found.discard()
    assert left_behind(tmp_path) == ()
    assert list(tmp_path.iterdir()) == []


def test_what_a_killed_save_of_a_copy_leaves_is_cleared(document, autosave, tmp_path) -> None:
    (tmp_path / ".burstwise-0123456789abcdef.part").write_text("half a copy")
    assert left_behind(tmp_path) == ()
    assert [item.suffix for item in tmp_path.iterdir()] == [".lock"]


def test_the_mark_of_the_file_is_kept_in_the_copy(document, autosave, tmp_path) -> None:
    document.open(document.design, Path("mine.json"), stamp="a mark")
    document.edit("supply.voltage", 48.0)
    autosave.flush()
    kept = tmp_path / "kept"
    kept.mkdir()
    (kept / "copy.json").write_bytes(autosave.copy.read_bytes())
    (found,) = left_behind(kept)
    assert (found.origin, found.stamp) == (Path("mine.json"), "a mark")


DEEP = "[" * 100_000 + "]" * 100_000


@pytest.mark.parametrize(
    "content",
    [
        b"{",
        b"",
        b"null",
        b"7",
        b"[]",
        b"\xff\xfe",
        DEEP.encode(),
        b'{"design": 7, "origin": null}',
        b'{"design": null, "origin": null}',
        b'{"design": "{}", "origin": 7}',
        b'{"design": "{}", "origin": ""}',
        b'{"design": "{}", "origin": "a\\u0000b"}',
        b'{"origin": "/a/b"}',
    ],
    ids=repr,
)
def test_a_damaged_copy_is_found_with_its_problem_and_can_be_put_aside(
    qapp, tmp_path, caplog, content
) -> None:
    (tmp_path / "broken.json").write_bytes(content)
    (found,) = left_behind(tmp_path)
    assert found.problem
    assert found.problem in caplog.text
    aside = found.set_aside()
    assert aside.read_bytes() == content
    assert list(tmp_path.iterdir()) == [aside]
    assert left_behind(tmp_path) == ()
    caplog.clear()


def left_by_a_crash(folder: Path) -> LeftBehind:
    (folder / "crashed.json").write_text('{"origin": null, "design": "work"}')
    (found,) = [each for each in left_behind(folder) if each.copy.name == "crashed.json"]
    return found


def test_a_copy_taken_over_stays_until_the_next_one_is_written(
    document, autosave, tmp_path, caplog
) -> None:
    """At no moment is there no copy: not when the next one cannot be written either."""
    found = left_by_a_crash(tmp_path)
    autosave.copy.mkdir()
    document.edit("supply.voltage", 48.0)
    autosave.take_over(found)
    assert "not written" in caplog.text
    caplog.clear()
    assert found.copy.exists()
    autosave.copy.rmdir()
    autosave.flush()
    assert autosave.copy.exists()
    assert not found.copy.exists()


def test_a_copy_taken_over_goes_once_the_work_is_saved_or_the_window_closes_well(
    document, tmp_path, caplog
) -> None:
    for end in ("saved", "closed"):
        autosave = Autosave(document, tmp_path, to_text=to_text, delay_ms=10)
        found = left_by_a_crash(tmp_path)
        document.edit("supply.voltage", 48.0 if end == "saved" else 49.0)
        autosave.copy.mkdir()
        autosave.take_over(found)
        autosave.copy.rmdir()
        assert found.copy.exists()
        if end == "saved":
            document.mark_saved(Path("some.json"))
            autosave.flush()
            assert not found.copy.exists()
        autosave.close()
        assert list(tmp_path.iterdir()) == []
    caplog.clear()


def test_a_copy_that_cannot_be_written_is_logged_and_told_once(
    document, autosave, tmp_path, caplog
) -> None:
    told: list[str] = []
    autosave.failed.connect(told.append)
    autosave.copy.mkdir()
    for volts in (48.0, 49.0):
        document.edit("supply.voltage", volts)
        autosave.flush()
    assert caplog.text.count("not written") == 2
    assert [str(autosave.copy) in words for words in told] == [True]
    autosave.copy.rmdir()
    autosave.flush()
    autosave.copy.unlink()
    autosave.copy.mkdir()
    autosave.flush()
    assert len(told) == 2
    caplog.clear()


def test_a_folder_that_went_is_made_again(document, autosave, tmp_path) -> None:
    shutil.rmtree(tmp_path)
    document.edit("supply.voltage", 48.0)
    autosave.flush()
    assert autosave.copy.exists()


def test_what_cannot_be_deleted_keeps_nobody_from_leaving(
    document, tmp_path, caplog, monkeypatch
) -> None:
    autosave = Autosave(document, tmp_path, to_text=to_text, delay_ms=10)
    document.edit("supply.voltage", 48.0)
    autosave.flush()

    def refused(_file: Path, missing_ok: bool = False) -> None:
        raise PermissionError(13, "Permission denied")

    with monkeypatch.context() as patched:
        patched.setattr(Path, "unlink", refused)
        autosave.close()
    assert "not deleted" in caplog.text
    caplog.clear()


def test_leaving_keeps_unsaved_work_for_the_next_start(document, tmp_path) -> None:
    autosave = Autosave(document, tmp_path, to_text=to_text, delay_ms=10)
    document.edit("supply.voltage", 48.0)
    autosave.leave()
    (found,) = left_behind(tmp_path)
    assert value_at(Design.model_validate_json(found.text), "supply.voltage") == 48.0
    found.discard()


def test_recent_files_latest_first_without_repeats_or_ghosts(qapp, tmp_path) -> None:
    places = Places(settings=tmp_path / "settings", data=tmp_path / "data")
    files = [tmp_path / f"{index}.json" for index in range(MOST_RECENT + 2)]
    recent = RecentFiles(places.open_settings())
    for file in files:
        file.write_text("{}")
        recent.add(file)
    recent.add(files[5])
    files[6].unlink()
    again = RecentFiles(places.open_settings())
    assert again.files == tuple(files[index] for index in (5, 9, 8, 7, 4, 3, 2) if index != 6)
    again.clear()
    assert again.files == ()
