"""A user's own folder that cannot be written costs neither the window nor the work."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from burstwise.app import places as module
from burstwise.app.places import Places, usable


def test_places_that_can_be_written_stay(tmp_path: Path) -> None:
    asked = Places(tmp_path / "settings", tmp_path / "deep" / "data")
    assert usable(asked) == (asked, "")
    assert asked.recovery.is_dir()
    assert list(asked.recovery.iterdir()) == []


@pytest.mark.parametrize("what", ["a file in the way of the folder", "a folder for the log"])
def test_a_temporary_folder_takes_the_place_of_one_that_cannot(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, what: str
) -> None:
    asked = Places(tmp_path / "settings", tmp_path / "data")
    spoiled = asked.log if "log" in what else asked.data
    if spoiled is asked.data:
        spoiled.write_text("in the way")
    else:
        spoiled.mkdir(parents=True)
    other = tmp_path / "other"
    monkeypatch.setattr(module, "mkdtemp", lambda prefix: str(other))
    found, told = usable(asked)
    assert (found.data, found.settings) == (other, asked.settings)
    assert found.recovery.is_dir()
    assert told.startswith(str(spoiled))
    assert "cannot be written" in told
    assert f"kept in {other}" in told


def test_earlier_stand_ins_are_looked_in(tmp_path: Path, temporary_folder: Path) -> None:
    asked = Places(tmp_path / "settings", tmp_path / "data")
    assert asked.recoveries() == (asked.recovery,)
    earlier = temporary_folder / "burstwise-earlier" / "recovery"
    earlier.mkdir(parents=True)
    (temporary_folder / "burstwise-a-file").write_text("")
    (temporary_folder / "another" / "recovery").mkdir(parents=True)
    linked = temporary_folder / "burstwise-linked"
    linked.mkdir()
    (linked / "recovery").symlink_to(temporary_folder / "another" / "recovery")
    assert asked.recoveries() == (asked.recovery, earlier)
    assert Places(tmp_path, earlier.parent).recoveries() == (earlier,)


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="owners as POSIX has them")
def test_a_folder_of_somebody_else_is_no_stand_in(
    tmp_path: Path, temporary_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (temporary_folder / "burstwise-theirs" / "recovery").mkdir(parents=True)
    monkeypatch.setattr(os, "getuid", lambda: 987_654)
    asked = Places(tmp_path / "settings", tmp_path / "data")
    assert asked.recoveries() == (asked.recovery,)


def test_no_folder_at_all_is_an_error_of_the_system(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "data").write_text("in the way")
    monkeypatch.setattr(module, "mkdtemp", lambda prefix: str(tmp_path / "data"))
    with pytest.raises(OSError, match="data"):
        usable(Places(tmp_path, tmp_path / "data"))
