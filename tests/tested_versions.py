"""Versions that the tests last passed with: write them, or say how this environment differs.

Usage: python tests/tested_versions.py [--write]

Without --write: one line for each package of another version than the tested one, exit status 0.
Install the tested set by `pip install -c tests/tested_versions.txt '.[test]'`.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Iterable
from importlib.metadata import PackageNotFoundError, distribution, version
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
FILE = Path(__file__).with_suffix(".txt")
HEAD = "# Versions that the tests passed with; made by python tests/tested_versions.py --write\n"


def wanted() -> list[Requirement]:
    """What the project itself asks for, to run and to be tested."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    texts = project["dependencies"] + project["optional-dependencies"]["test"]
    return [Requirement(text) for text in texts]


def installed(requirements: Iterable[Requirement]) -> dict[str, str]:
    """Versions here of the requirements and of all that they require, by name."""
    found: dict[str, str] = {}
    open_ones = [(each, "") for each in requirements]
    while open_ones:
        each, extra = open_ones.pop()
        if each.marker is not None and not each.marker.evaluate({"extra": extra}):
            continue
        name = canonicalize_name(each.name)
        new = name not in found
        if new:
            try:
                found[name] = version(name)
            except PackageNotFoundError:
                continue
        if new or each.extras:
            further = [Requirement(text) for text in distribution(name).requires or ()]
            for asked in (*each.extras, ""):
                open_ones += [(one, asked) for one in further if one.name != each.name]
    return dict(sorted(found.items()))


def tested() -> dict[str, str]:
    """Versions of the file, by name."""
    lines = [line for line in FILE.read_text("utf-8").split("\n") if line and line[0] != "#"]
    return dict(line.split("==") for line in lines)


def differences(here: dict[str, str], there: dict[str, str]) -> list[str]:
    """A line for each package that is of another version here than in the tested set."""
    return [
        f"{name} {here.get(name, 'missing')}, tested with {there.get(name, 'none')}"
        for name in sorted({*here, *there})
        if here.get(name) != there.get(name)
    ]


def main() -> int:
    here = installed(wanted())
    if "--write" in sys.argv[1:]:
        FILE.write_text(HEAD + "".join(f"{n}=={v}\n" for n, v in here.items()), encoding="utf-8")
        return 0
    lines = differences(here, tested())
    print("\n".join(lines) or "all packages are of the tested versions")
    return 0


if __name__ == "__main__":
    sys.exit(main())
