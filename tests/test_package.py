"""What is installed: one package with all modules, and nothing beside it."""

from __future__ import annotations

import re
import runpy
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
    pages = {"burstwise.docs", "burstwise.docs.guide", "burstwise.docs.images"}
    assert set(SETTINGS["packages"]) == there | pages | {"burstwise"}


def test_all_pages_are_installed_with_their_pictures() -> None:
    docs = ROOT / "docs"
    installed = {
        file
        for folder in ("", "guide", "images")
        for name in SETTINGS["package-data"][f"burstwise.docs.{folder}".rstrip(".")]
        for file in (docs / folder).glob(name)
    }
    pages = {file for file in installed if file.suffix == ".md"}
    assert pages == set(docs.rglob("*.md"))
    assert docs / "guide" / "index.md" in pages
    for page in pages:
        for picture in re.findall(r"!\[[^]]*\]\(([^)]+)\)", page.read_text("utf-8")):
            assert (page.parent / picture).resolve() in installed, (page.name, picture)


@pytest.mark.filterwarnings("ignore")  # the tool's own
def test_scripts_beside_the_pages_are_not_installed() -> None:
    pytest.importorskip("setuptools")
    from setuptools import Distribution

    name, _, step = SETTINGS["cmdclass"]["build_py"].rpartition(".")
    made = runpy.run_path(str(ROOT / f"{name.replace('.', '/')}.py"))[step](
        Distribution({"script_name": "setup.py"})
    )
    made.finalize_options()
    assert made.find_package_modules("burstwise.docs", str(ROOT / "docs")) == []
    found = {
        module
        for _, module, _ in made.find_package_modules(
            "burstwise.core.burst", str(ROOT / "core/burst")
        )
    }
    assert found == {file.stem for file in (ROOT / "core" / "burst").glob("*.py")}


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
