"""The commands that README and pages show run as they stand there, and do what they say.

What installs or takes many minutes is run by the scripts named in `ELSEWHERE`; here it is held
against what it names.
"""

from __future__ import annotations

import importlib.util
import re
import shlex
import tomllib
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
PAGES = {
    page.relative_to(ROOT).as_posix(): page.read_text("utf-8")
    for page in (
        ROOT / "README.md",
        ROOT / "DEVELOPERS.md",
        *sorted((ROOT / "docs").rglob("*.md")),
    )
}
SHELL = [
    (name, line)
    for name, text in PAGES.items()
    for block in re.findall(r"^```sh\n(.*?)^```", text, re.DOTALL | re.MULTILINE)
    for line in block.splitlines()
    if not line.startswith("burstwise ")
]
INLINE = [
    (name, command)
    for name, text in PAGES.items()
    for command in re.findall(
        r"`((?:burstwise|python3?|pip) [^`\n]+)`", re.sub(r"```.*?```", "", text, flags=re.DOTALL)
    )
]
_VENV = "python3 -m venv .venv && .venv/bin/pip install "
ELSEWHERE = {
    f"{_VENV}-q -e . && .venv/bin/burstwise": "tests/end2end/check_readme.py",
    f"{_VENV}-q -e '.[test]' && .venv/bin/python -m pytest -q -n 2 --dist loadfile": ".ci/run",
    f"{_VENV}-e '.[test]'": ".ci/run",
    ".venv/bin/python -m pytest -q -n 2 --dist loadfile     # tests and doctests": ".ci/run",
    ".venv/bin/ruff check . && .venv/bin/ruff format --check .": ".ci/run",
    ".venv/bin/mypy && .venv/bin/lint-imports": ".ci/run",
    "bash .ci/run                           # all of it, from a clean environment": ".ci/run",
    f"sudo apt install ./burstwise_{VERSION}_amd64.deb": "tests/end2end/check_bundle.py",
    f"pipx install burstwise-{VERSION}-py3-none-any.whl": "tests/end2end/check_wheel.py",
    f"{_VENV}-c tests/tested_versions.txt pyinstaller setuptools .": "docs/make_bundle.py",
    ".venv/bin/python docs/make_bundle.py --deb": "docs/make_bundle.py",
}
"""Lines for a shell that take minutes or a network, by what runs them."""
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


def test_every_line_for_a_shell_is_run_somewhere() -> None:
    assert {line for _, line in SHELL} == set(ELSEWHERE)
    assert all((ROOT / script).is_file() for script in ELSEWHERE.values())


@pytest.mark.parametrize(("page", "command"), INLINE, ids=lambda text: text[:60])
def test_a_command_in_a_sentence_names_what_there_is(
    page: str, command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    words = [word for word in command.replace("...", "…").split() if word != "…"]
    if words[0] == "pip":
        extras = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
        assert set(re.findall(r"\.\[(\w+)\]", command)) <= set(extras["optional-dependencies"])
        assert all((ROOT / word).is_file() for word in words if word.endswith(".txt"))
    elif words[0] == "burstwise":
        assert words[1] in COMMANDS
        main([words[1], "--help"])
        known = set(re.findall(r"--?[a-z-]+", capsys.readouterr().out))
        assert {word for word in words[2:] if re.match(r"--?[a-z]", word)} <= known
    elif words[1] == "-m":
        assert words[2] == "pip" or importlib.util.find_spec(words[2])
    else:
        script = (ROOT / words[1]).read_text("utf-8")
        assert all(word in script for word in words[2:] if word.startswith("-"))


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
