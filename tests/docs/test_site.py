"""The static site: every page is in it, formulas are set, and it asks nothing of a network.

The generator comes with the extra `docs`; without it the tests that build skip.
"""

from __future__ import annotations

import ast
import re
import runpy
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
MAKER = DOCS / "make_site.py"


def named(name: str) -> Any:
    """Constant of the script, without importing the generator."""
    tree = ast.parse(MAKER.read_text("utf-8"))
    for node in tree.body:
        target = (
            node.target if isinstance(node, ast.AnnAssign) else getattr(node, "targets", [0])[0]
        )
        if isinstance(target, ast.Name) and target.id == name:
            return ast.literal_eval(node.value)  # type: ignore[union-attr]
    raise AssertionError(name)


def test_every_page_has_its_place() -> None:
    placed = [page for part in named("PARTS").values() for page in part.values()]
    pages = {page.relative_to(DOCS).as_posix() for page in DOCS.rglob("*.md")}
    assert len(placed) == len(set(placed))
    assert set(placed) | {"index.md"} == pages | {"start.md", "developers.md"}


def test_every_package_of_the_core_is_in_the_reference() -> None:
    packages = {path.parent.name for path in (ROOT / "core").glob("*/__init__.py")}
    assert packages <= set(named("PACKAGES"))
    assert all(
        (ROOT / "core" / name).exists() or (ROOT / "core" / f"{name}.py").exists()
        for name in named("PACKAGES")
    )


class Links(HTMLParser):
    """What a page loads."""

    def __init__(self) -> None:
        super().__init__()
        self.loaded: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag in ("script", "img", "iframe"):
            self.loaded.append(given.get("src") or "")
        if tag == "link" and given.get("rel") in ("stylesheet", "icon", "preconnect"):
            self.loaded.append(given.get("href") or "")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    pytest.importorskip("mkdocs")
    pytest.importorskip("material")
    pytest.importorskip("latex2mathml")
    folder = tmp_path_factory.mktemp("site")
    runpy.run_path(str(MAKER))["make_site"](folder, api=False)
    return folder


def test_the_site_has_every_page_and_loads_nothing_from_outside(site: Path) -> None:
    for page in DOCS.rglob("*.md"):
        html = site / page.relative_to(DOCS).with_suffix(".html")
        found = Links()
        found.feed(html.read_text("utf-8"))
        outside = [link for link in found.loaded if re.match(r"(https?:)?//", link)]
        assert outside == [], page
        for link in found.loaded:
            if link and not link.startswith("data:"):
                assert (html.parent / link.split("?")[0]).exists(), (page, link)


def test_formulas_are_set(site: Path) -> None:
    for page in ("model", "theory_stage", "theory_limits"):
        text = (site / f"{page}.html").read_text("utf-8")
        assert text.count("<math") > 10
        prose = re.sub(r"<(pre|code|script)\b.*?</\1>", "", text, flags=re.DOTALL)
        assert "$" not in prose, page
