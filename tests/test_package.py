"""What is installed: one package with all modules, and nothing beside it."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
FOLDERS = ("app", "core", "resources")
SETTINGS = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["setuptools"]


def test_every_package_of_the_tree_is_installed() -> None:
    there = {
        ".".join(("burstwise", *file.parent.relative_to(ROOT).parts))
        for folder in FOLDERS
        for file in (ROOT / folder).rglob("__init__.py")
    }
    assert sorted(SETTINGS["packages"]) == SETTINGS["packages"]
    pages = {"burstwise.docs.guide", "burstwise.docs.images"}
    assert set(SETTINGS["packages"]) == there | pages | {"burstwise"}


def test_pages_of_the_guide_are_installed_with_their_pictures() -> None:
    data = SETTINGS["package-data"]
    guide = ROOT / "docs" / "guide"
    pages = [page for name in data["burstwise.docs.guide"] for page in guide.glob(name)]
    assert guide / "index.md" in pages
    assert len(pages) == len(list(guide.iterdir()))
    images = ROOT / "docs" / "images"
    installed = {file for name in data["burstwise.docs.images"] for file in images.glob(name)}
    for page in pages:
        for picture in re.findall(r"!\[[^]]*\]\(([^)]+)\)", page.read_text("utf-8")):
            assert (guide / picture).resolve() in installed, (page.name, picture)


def test_no_module_lies_outside_a_package() -> None:
    for folder in ("app", "core"):
        for file in (ROOT / folder).rglob("*.py"):
            assert (file.parent / "__init__.py").exists(), file


def test_the_folders_are_where_setuptools_and_the_links_look() -> None:
    assert SETTINGS["package-dir"] == {
        "burstwise": ".package/burstwise",
        **{f"burstwise.{folder}": folder for folder in (*FOLDERS, "docs")},
    }
    links = ROOT / ".package" / "burstwise"
    if not (links / "core").is_symlink():
        pytest.skip("a checkout without links")
    for folder in FOLDERS:
        assert (links / folder).resolve() == ROOT / folder
    assert not (ROOT / "burstwise").exists()
