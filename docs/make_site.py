"""Static site of all pages with an API reference: `python docs/make_site.py [FOLDER]`.

Needs the extra `docs` (pip install -e '.[docs]'). The site stands by itself: it opens from disk
without a network. A warning of the generator ends the run. `--pages` leaves the API reference out.
"""

from __future__ import annotations

import argparse
import json
import logging
import os
import re
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

os.environ.setdefault("NO_MKDOCS_2_WARNING", "1")

from latex2mathml.converter import convert
from mkdocs.commands.build import build
from mkdocs.config import load_config
from mkdocs.exceptions import Abort

DOCS = Path(__file__).parent
ROOT = DOCS.parent
PARTS: dict[str, dict[str, str]] = {
    "Learn": {"Start": "start.md", "Tutorial": "tutorial.md"},
    "Get it done": {
        "Install": "installing.md", "Guide": "guide/index.md", "Coil": "guide/coil.md",
        "Switch and drive": "guide/device.md",
        "Interrupter": "guide/interrupter.md", "Supply and cooling": "guide/supply.md",
        "Operating point": "guide/operating_point.md", "Limits": "guide/limits.md",
        "Build": "guide/build.md", "Bench": "guide/bench.md",
        "Compare": "guide/compare.md", "Lessons": "guide/lessons.md",
        "Scripting": "scripting.md",
    },
    "Look up": {
        "Reference": "reference.md", "File format": "file-format.md", "Sources": "sources.md",
        "Validation": "validation.md", "Speed": "benchmarks.md", "Changes": "changelog.md",
        "Developers": "developers.md", "Own code or a library": "decisions.md",
    },
    "Understand": {
        "Model in pictures": "model.md", "Theory": "theory.md", "Coil": "theory_coil.md",
        "Stage": "theory_stage.md", "Burst scale": "theory_burst.md",
        "Interrupter": "theory_interrupter.md", "Limits": "theory_limits.md",
        "Bench": "theory_bench.md",
    },
}  # fmt: skip
"""Pages by part; the index comes first, the API reference last."""
PACKAGES = (
    "design", "storage", "units", "coil", "interrupter", "stage", "burst", "limits", "bench",
    "evaluate", "studies", "explain", "search", "assembly", "report", "lessons", "command",
)  # fmt: skip
"""Modules and packages of `burstwise.core` with a page in the API reference."""
_FENCED = re.compile(r"(```.*?```|`[^`\n]+`)", re.DOTALL)
_BLOCK = re.compile(r"\$\$(.+?)\$\$", re.DOTALL)
_INLINE = re.compile(r"\$([^$\n]+)\$")


def with_mathml(text: str) -> str:
    """Page with its formulas as MathML, which browsers set without a script.

    Examples
    --------
    >>> "<math" in with_mathml("a $b_1$ c"), with_mathml("`$b$`")
    (True, '`$b$`')
    """
    parts = _FENCED.split(text)
    for place in range(0, len(parts), 2):
        block = _BLOCK.sub(lambda found: _set(found[1], "block"), parts[place])
        parts[place] = _INLINE.sub(lambda found: _set(found[1], "inline"), block)
    return "".join(parts)


def _set(formula: str, display: str) -> str:
    return convert(" ".join(formula.split()), display=display).replace("\n", "")


def write_pages(folder: Path) -> None:
    """Copy all pages with their pictures; README and DEVELOPERS come along."""
    shutil.copytree(DOCS / "images", folder / "images")
    shutil.copy(DOCS / "design.schema.json", folder)
    pages = {page.relative_to(DOCS).as_posix(): page for page in DOCS.rglob("*.md")}
    pages |= {"start.md": ROOT / "README.md", "developers.md": ROOT / "DEVELOPERS.md"}
    for name, page in pages.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        text = with_mathml(_relinked(page.read_text("utf-8")))
        (folder / name).write_text(text, encoding="utf-8")


def _relinked(text: str) -> str:
    """Links between the top level and docs, as the site has the pages side by side."""
    text = text.replace("](docs/", "](").replace("](../README.md)", "](start.md)")
    text = text.replace("](DEVELOPERS.md)", "](developers.md)")
    return re.sub(r"\[(\w+)\]\(LICENSE\)", r"\1", text)


def write_api(folder: Path) -> dict[str, str]:
    """One page for each package of `core`; returns them by title."""
    (folder / "api").mkdir()
    for name in PACKAGES:
        text = f"# burstwise.core.{name}\n\n::: burstwise.core.{name}\n"
        (folder / "api" / f"{name}.md").write_text(text, encoding="utf-8")
    return {f"burstwise.core.{name}": f"api/{name}.md" for name in PACKAGES}


def settings(pages: Path, site: Path, *, api: dict[str, str]) -> dict[str, Any]:
    """Settings of the generator."""
    parts = {**PARTS, **({"Library": api} if api else {})}
    nav: list[Any] = [{"Burstwise": "index.md"}]
    nav += [
        {part: [{title: page} for title, page in those.items()]} for part, those in parts.items()
    ]
    plugins: list[Any] = ["search"]
    if api:
        handler = {
            "paths": [str(ROOT / ".package")],
            "options": {
                "docstring_style": "numpy", "show_submodules": True, "show_source": False,
                "docstring_options": {"warnings": False}, "filters": ["!^_"],
                "show_root_heading": False, "heading_level": 2, "show_if_no_docstring": False,
            },
        }  # fmt: skip
        plugins.append({"mkdocstrings": {"handlers": {"python": handler}}})
    return {
        "site_name": "Burstwise",
        "docs_dir": str(pages),
        "site_dir": str(site),
        "use_directory_urls": False,
        "strict": True,
        "theme": {"name": "material", "font": False, "palette": {"primary": "teal"}},
        "markdown_extensions": ["tables", "attr_list", "md_in_html"],
        "plugins": plugins,
        "nav": nav,
    }


def make_site(site: Path, *, api: bool = True) -> None:
    """Build the site.

    Raises
    ------
    Abort
        The generator warned.
    """
    with tempfile.TemporaryDirectory() as place:
        pages = Path(place) / "pages"
        pages.mkdir()
        write_pages(pages)
        library = write_api(pages) if api else {}
        file = Path(place) / "mkdocs.yml"
        # JSON is YAML.
        file.write_text(json.dumps(settings(pages, site, api=library)), encoding="utf-8")
        config = load_config(str(file))
        config.plugins.on_startup(command="build", dirty=False)
        build(config)
        config.plugins.on_shutdown()


def main(argv: list[str]) -> int:
    """Build into a folder; returns the exit status."""
    parser = argparse.ArgumentParser(description="Static site of all pages")
    parser.add_argument("folder", nargs="?", type=Path, default=ROOT / "build" / "site")
    parser.add_argument("--pages", action="store_true", help="without the API reference")
    asked = parser.parse_args(argv)
    logging.basicConfig(level=logging.WARNING, format="%(message)s")
    try:
        make_site(asked.folder.resolve(), api=not asked.pages)
    except Abort as error:
        print(f"not built: {error}", file=sys.stderr)
        return 1
    print(asked.folder)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
