"""The examples in the docstrings of the package run and print what they say.

By the package's own names: the folders lie at the top level of the checkout, where pytest's own
collector would import each file a second time under another name.
"""

from __future__ import annotations

import doctest
import importlib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
FLAGS = doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS


def name_of(file: Path) -> str:
    parts = file.relative_to(ROOT).with_suffix("").parts
    return ".".join(("burstwise", *parts)).removesuffix(".__init__")


FILES = {
    name_of(file): file
    for folder in ("core", "app")
    for file in sorted((ROOT / folder).rglob("*.py"))
    if ">>> " in file.read_text("utf-8")
} | {"burstwise": ROOT / ".package" / "burstwise" / "__init__.py"}


@pytest.mark.parametrize("name", FILES)
def test_examples_of(name: str) -> None:
    module = importlib.import_module(name)
    assert Path(module.__file__).resolve() == FILES[name].resolve()
    failed = []
    runner = doctest.DocTestRunner(optionflags=FLAGS)
    for each in doctest.DocTestFinder(exclude_empty=True).find(module):
        said: list[str] = []
        if runner.run(each, out=said.append).failed:
            failed.append("".join(said))
    assert not failed, "\n".join(failed)
    assert runner.tries > 0


def test_a_wrong_example_fails() -> None:
    wrong = doctest.DocTestParser().get_doctest(">>> 1 + 1\n3\n", {}, "wrong", None, 0)
    assert doctest.DocTestRunner(optionflags=FLAGS).run(wrong, out=lambda _: None).failed == 1
