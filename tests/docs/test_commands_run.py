"""The commands that README and pages show run as they stand there, and do what they say."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from burstwise.app.launch import COMMANDS, main
from burstwise.core.version import VERSION

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
_COMMAND = re.compile(r"^burstwise (\w+ .+)$", re.MULTILINE)
SHOWN = _COMMAND.findall(README)
ON_PAGES = [
    line
    for page in sorted((ROOT / "docs").rglob("*.md"))
    for line in _COMMAND.findall(page.read_text("utf-8"))
    if line not in SHOWN
]
QUICK = {"search": ["--evaluations", "4"]}
"""Added to a command so that it ends soon; so few trials need not hold the wish."""


def test_every_command_is_shown() -> None:
    assert {line.split()[0] for line in SHOWN} == set(COMMANDS)


@pytest.mark.parametrize("line", SHOWN + ON_PAGES, ids=lambda line: line.split()[0])
def test_a_shown_command_runs(
    line: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    name, *words = shlex.split(line)
    words = [str(ROOT / word) if word.startswith("resources/") else word for word in words]
    monkeypatch.chdir(tmp_path)
    status = main([name, *words, *QUICK.get(name, [])])
    told = capsys.readouterr()
    assert status == 0 or (name in QUICK and status == 1)
    assert told.err == ""
    if "-o" in words:
        assert (tmp_path / words[words.index("-o") + 1]).stat().st_size > 1000
    else:
        assert told.out.strip()


def test_links_between_pages_lead_somewhere() -> None:
    for page in (ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))):
        for link in re.findall(r"\]\(([^)\s]+)\)", page.read_text("utf-8")):
            if not link.startswith("http"):
                assert (page.parent / link.split("#")[0]).exists(), (page.name, link)


def test_the_index_leads_to_every_page() -> None:
    index = (ROOT / "docs" / "index.md").read_text("utf-8")
    linked = set(re.findall(r"\]\(([\w/.-]+\.md)\)", index))
    theory = (ROOT / "docs" / "theory.md").read_text("utf-8")
    linked |= set(re.findall(r"\]\(([\w/.-]+\.md)\)", theory)) | {"index.md"}
    pages = {page.relative_to(ROOT / "docs").as_posix() for page in (ROOT / "docs").rglob("*.md")}
    assert pages - linked == set()


def test_the_citation_and_the_changes_name_this_version() -> None:
    citation = (ROOT / "docs" / "citation.cff").read_text("utf-8")
    assert f"version: {VERSION}\n" in citation
    assert f"## {VERSION}" in (ROOT / "docs" / "changelog.md").read_text("utf-8")
