"""Cached machine code goes when any source of its package has changed."""

from __future__ import annotations

from pathlib import Path

import pytest

from burstwise.core.stage import kernel
from burstwise.core.stage.kernel.stale_code import STAMP, forget_stale_code


@pytest.fixture
def package(tmp_path: Path) -> Path:
    (tmp_path / "outer.py").write_text("x = 1\n")
    (tmp_path / "inner.py").write_text("y = 1\n")
    forget_stale_code(tmp_path)
    for ending in ("nbi", "1.nbc"):
        (tmp_path / "__pycache__" / f"outer.advance-1.py311.{ending}").write_bytes(b"code")
    return tmp_path


def compiled(package: Path) -> list[Path]:
    return list((package / "__pycache__").glob("*.nb*"))


def test_code_of_the_same_sources_stays(package):
    forget_stale_code(package)
    assert len(compiled(package)) == 2


@pytest.mark.parametrize("name", ["outer.py", "inner.py", "new.py"])
def test_code_goes_when_any_source_changes(package, name):
    (package / name).write_text("y = 2\n")
    forget_stale_code(package)
    assert not compiled(package)
    assert (package / "__pycache__" / STAMP).exists()


def test_where_nothing_can_be_written_all_goes_on(package):
    (package / "__pycache__" / STAMP).unlink()
    (package / "__pycache__" / STAMP).mkdir()
    forget_stale_code(package)
    assert (package / "__pycache__" / STAMP).is_dir()


def test_the_engine_s_own_code_is_stamped():
    assert (Path(kernel.__file__).parent / "__pycache__" / STAMP).exists()
