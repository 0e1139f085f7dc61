"""What goes around the program in a bundle: the stand-in for the compiler, the Debian package."""

from __future__ import annotations

import importlib.util
import json
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest

from burstwise.core.storage import SUFFIX

ROOT = Path(__file__).parents[2]
TOOLS = ROOT / "docs" / "bundle"
TAKES = ["int64", "float64", "bool", "float64 2 C write", ["int64 1 C read", "float64 1 A read"]]


def module_from(file: Path, name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, file)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def stand_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[ModuleType]:
    """The stand-in beside a library that doubles its fourth argument in place."""
    shutil.copy(TOOLS / "stand_in" / "numba.py", tmp_path)
    library = "def work(*given):\n    given[3][...] *= 2.0\n    return given\n"
    (tmp_path / "engine_of_this_test.py").write_text(library)
    functions = {f"{__name__}.work": {"symbol": "work", "takes": TAKES}}
    levels = [["engine_that_is_not_there", ["A_PROCESSOR_OF_2050"]], ["engine_of_this_test", []]]
    table = {"levels": levels, "functions": functions}
    (tmp_path / "signatures.json").write_text(json.dumps(table))
    monkeypatch.syspath_prepend(str(tmp_path))
    yield module_from(tmp_path / "numba.py", "stand_in_of_this_test")
    sys.modules.pop("engine_of_this_test", None)


def named(name: str) -> Callable[..., Any]:
    def function() -> None: ...

    function.__module__, function.__qualname__ = __name__, name
    return function


def given(**other: Any) -> list[Any]:
    usual = {
        "count": 3, "time": 0.5, "on": True, "table": np.ones((2, 3)),
        "law": (np.arange(4), np.zeros(5)),
    }  # fmt: skip
    return list((usual | other).values())


def test_what_was_compiled_for_it_is_handed_on_as_it_is(stand_in: ModuleType) -> None:
    work = stand_in.njit(cache=True)(named("work"))
    arguments = given()
    got = work(*arguments)
    assert got[3] is arguments[3]
    assert got[4][0] is arguments[4][0]
    assert arguments[3].tolist() == [[2.0] * 3] * 2


@pytest.mark.parametrize("table", [np.ones((6, 4))[::2, 1:], np.asfortranarray(np.ones((3, 3)))])
def test_what_lies_otherwise_is_computed_in_a_copy_and_written_back(stand_in, table) -> None:
    work = stand_in.njit()(named("work"))
    base = table.base if table.base is not None else table
    before = base.sum()
    got = work(*given(table=table))
    assert got[3] is not table
    assert got[3].flags.c_contiguous
    assert np.all(table == 2.0)
    assert base.sum() == before + table.size


def test_what_may_not_be_written_is_not(stand_in: ModuleType) -> None:
    table = np.ones((2, 2))
    table.flags.writeable = False
    for each in (table, np.broadcast_to(1.0, (2, 2))):
        stand_in.njit()(named("work"))(*given(table=each))
        assert each[0, 0] == 1.0


@pytest.mark.parametrize(
    "other",
    [
        {"table": np.ones((2, 3), dtype=np.float32)},
        {"table": np.ones(3)},
        {"table": [[1.0]]},
        {"count": 0.5},
        {"on": 1},
        {"time": "0.5"},
        {"law": (np.zeros(4), np.zeros(5))},
    ],
)
def test_another_kind_is_refused(stand_in: ModuleType, other: dict[str, Any]) -> None:
    with pytest.raises(TypeError, match="was compiled for"):
        stand_in.njit()(named("work"))(*given(**other))


def test_a_function_that_lives_in_others_is_not_called(stand_in: ModuleType) -> None:
    with pytest.raises(TypeError, match="not compiled ahead"):
        stand_in.njit(forceinline=True)(named("part"))(1.0)
    with pytest.raises(TypeError, match="takes 5 arguments, not 1"):
        stand_in.njit()(named("work"))(1.0)


def test_figures_that_differ_are_found() -> None:
    differences = module_from(ROOT / "docs" / "make_bundle.py", "make_bundle").differences
    one = {"a": [1.0, {"b": 2}], "c": "x", "d": True}
    assert max(differences(one, json.loads(json.dumps(one)))) == 0.0
    assert max(differences(one, one | {"a": [1.0, {"b": 2.5}]})) == pytest.approx(0.2)
    for other in ({"c": "y"}, {"d": False}, {"d": 1.0}, {"a": [1.0]}, {"e": 0}):
        assert max(differences(one, one | other)) == float("inf")


def test_a_word_beside_the_figures_ends_the_build() -> None:
    told = module_from(ROOT / "docs" / "make_bundle.py", "make_bundle").told
    talk = "import sys; print(1); sys.stderr.write({!r}); sys.exit({})"
    assert told(sys.executable, "-c", talk.format("", 0)) == "1\n"
    assert told(sys.executable, "-c", talk.format("", 1)) == "1\n"
    for words, status in (("FileNotFoundError", 0), ("", 2)):
        with pytest.raises(SystemExit, match=words or "status 2"):
            told(sys.executable, "-c", talk.format(words, status))


@pytest.mark.skipif(not shutil.which("dpkg-deb"), reason="no dpkg-deb here")
def test_the_debian_package_puts_everything_in_its_place(tmp_path: Path) -> None:
    debian = module_from(TOOLS / "debian.py", "debian_of_this_test")
    bundle = tmp_path / "made"
    bundle.mkdir()
    program = bundle / "burstwise"
    program.write_text("#!/bin/sh\necho started\n")
    program.chmod(0o700)
    icon = ROOT / "resources" / "icons" / "burstwise.svg"
    file = debian.package(bundle, "1.2.3", tmp_path, icon=icon, licence=ROOT / "LICENSE")
    root = tmp_path / "root"
    subprocess.run(["dpkg-deb", "-x", file, root], check=True)
    told = subprocess.run([root / "usr/bin/burstwise"], capture_output=True, check=True)
    assert told.stdout == b"started\n"
    assert program.stat().st_mode & 0o777 == 0o700
    share = root / "usr" / "share"
    kind = ElementTree.parse(share / "mime/packages/burstwise.xml").getroot()[0]
    patterns = [each.get("pattern") for each in kind if each.tag.endswith("glob")]
    assert patterns == [f"*{SUFFIX}"]
    menu = (share / "applications/burstwise.desktop").read_text("utf-8")
    assert f"MimeType={kind.get('type')};" in menu
    assert ElementTree.parse(share / "icons/hicolor/scalable/apps/burstwise.svg") is not None
    fields = subprocess.run(["dpkg-deb", "-f", file], capture_output=True, check=True).stdout
    assert b"Version: 1.2.3\n" in fields
    assert not [each for each in root.rglob("*") if each.stat().st_mode & 0o022]
