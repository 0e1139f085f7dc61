"""Build the wheel, install it into a bare environment outside the checkout, and use it there.

Usage: python tests/end2end/check_wheel.py [CONSTRAINTS] [--python INTERPRETER] [--by TOOL]

Needs a package index; the window is started where xvfb-run and xdotool are. Not collected by
pytest. CONSTRAINTS is a file as pip takes it, e.g. tests/tested_versions.txt. INTERPRETER is
another Python than this one; TOOL is pip in a virtual environment, or pipx or uv, which make their
own.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import zipfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "scripting.md"
EXAMPLE = ROOT / "resources" / "examples" / "classroom-gated-interrupted.burstwise"
DOCS = ROOT / "docs"
HELP = r"""
import re
from burstwise.app.help.pages import guide_pages, target_of
pages = guide_pages()
assert pages[0].name == "index", pages
picture = re.compile(r"!\[.*?\]\((.+?)\)")
pictures = [page.folder / name for page in pages for name in picture.findall(page.text)]
assert pictures and all(file.is_file() for file in pictures), pictures
links = [(page, link) for page in pages for link in re.findall(r"\]\(([^)\s]+)\)", page.text)]
dead = [link for page, link in links if "://" not in link and target_of(page, link) is None]
assert len(links) > 100 and not dead, dead
print(len(pages), "pages", len(links), "links", len(pictures), "pictures")
"""
SETTINGS = ("PYTHONPATH", "OPENBLAS_NUM_THREADS", "DISPLAY", "VIRTUAL_ENV")


def run(*command: object, where: Path, **settings: str) -> str:
    """Standard output of a command that must succeed, without this checkout's settings."""
    clean = {name: value for name, value in os.environ.items() if name not in SETTINGS}
    began = time.monotonic()
    done = subprocess.run(
        [str(word) for word in command],
        cwd=where, env=clean | {"PYTHONIOENCODING": "utf-8", "MPLBACKEND": "agg"} | settings,
        capture_output=True, encoding="utf-8", check=False,
    )  # fmt: skip
    words = " ".join(Path(str(word)).name.split("\n")[0] for word in command[:4])
    print(f"{time.monotonic() - began:6.1f} s  {words}", flush=True)
    if done.returncode:
        raise SystemExit(f"status {done.returncode}\n{done.stdout[-2000:]}\n{done.stderr[-4000:]}")
    return done.stdout


def wheel_in(folder: Path) -> Path:
    """The wheel, and what it holds: one package, all of it, and nothing beside it."""
    run(sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", folder, ROOT, where=folder)
    (wheel,) = folder.glob("*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    tops = {name.split("/")[0] for name in names if ".dist-info/" not in name}
    if tops != {"burstwise"}:
        raise SystemExit(f"the wheel holds {sorted(tops)}")
    wanted = {
        f"burstwise/{file.relative_to(ROOT).as_posix()}"
        for folder_name in ("core", "app", "resources")
        for file in (ROOT / folder_name).rglob("*")
        if file.is_file() and "__pycache__" not in file.parts
    }
    pages = [DOCS / "design.schema.json"]
    pages += [file for ending in ("md", "png", "svg") for file in DOCS.rglob(f"*.{ending}")]
    wanted |= {f"burstwise/{file.relative_to(ROOT).as_posix()}" for file in pages}
    wanted |= {f"burstwise/{file.name}" for file in (ROOT / ".package" / "burstwise").glob("*.*")}
    held = {name for name in names if ".dist-info/" not in name}
    if held != wanted:
        raise SystemExit(f"lacks {sorted(wanted - held)}, has besides {sorted(held - wanted)}")
    print(
        f"{wheel.name}: {wheel.stat().st_size / 1e6:.1f} MB, {len(names)} files, all in burstwise/"
    )
    return wheel


def installed(wheel: Path, folder: Path, python: str, by: str, constraints: Path | None) -> Path:
    """Install the wheel by a tool; the folder with its programs."""
    places = "Scripts" if os.name == "nt" else "bin"
    if by == "pip":
        run(python, "-m", "venv", folder / "bare", where=folder)
        own = folder / "bare" / places
        limits = ["-c", constraints] if constraints else []
        run(own / "python", "-m", "pip", "install", "-q", *limits, wheel, where=folder)
        return own
    if constraints:
        raise SystemExit("constraints are pip's")
    home = folder / by
    if by == "pipx":
        settings = {"PIPX_HOME": str(home), "PIPX_BIN_DIR": str(home / "there")}
        run("pipx", "install", "--python", python, wheel, where=folder, **settings)
        return home / "venvs" / "burstwise" / places
    settings = {"UV_TOOL_DIR": str(home), "UV_TOOL_BIN_DIR": str(home / "there")}
    run("uv", "tool", "install", "--python", python, wheel, where=folder, **settings)
    return home / "burstwise" / places


def page_examples(python: Path, folder: Path, constraints: Path | None) -> None:
    """Run what the page for scripts shows; a warning ends it."""
    limits = ["-c", constraints] if constraints else []
    for each in re.findall(r"```python\n(.*?)```", PAGE.read_text("utf-8"), re.DOTALL):
        if "matplotlib" in each:
            run(python, "-m", "pip", "install", "-q", *limits, "matplotlib", where=folder)
        run(python, "-W", "error", "-c", each, where=folder)


def main() -> int:
    parser = argparse.ArgumentParser(description="Use the wheel outside the checkout")
    parser.add_argument("constraints", nargs="?", type=Path)
    parser.add_argument("--python", default=sys.executable, help="interpreter to install for")
    parser.add_argument("--by", choices=("pip", "pipx", "uv"), default="pip")
    asked = parser.parse_args()
    constraints = asked.constraints.resolve() if asked.constraints else None
    with tempfile.TemporaryDirectory(prefix="wheel with blanks ") as name:
        folder = Path(name)
        wheel = wheel_in(folder)
        places = installed(wheel, folder, asked.python, asked.by, constraints)
        python, program = places / "python", places / "burstwise"
        print(run(python, "--version", where=folder).strip(), "by", asked.by)
        told = [run(program, "evaluate", EXAMPLE, "--json", where=folder) for _ in range(2)]
        if told[0] != told[1] or not json.loads(told[0])["carrier"]["oscillates"]:
            raise SystemExit("two evaluations differ, or do not oscillate")
        if asked.by == "pip":  # the others' environments have no pip
            page_examples(python, folder, constraints)
        print(run(python, "-c", HELP, where=folder).strip())
        run(python, "-m", "burstwise", "sheet", EXAMPLE, "-o", folder / "a.html", where=folder)
        if shutil.which("xvfb-run") and shutil.which("xdotool"):
            start = Path(__file__).with_name("start_on_screen.py")
            run("xvfb-run", "-a", python, start, where=folder)
    print("the wheel works outside the checkout")
    return 0


if __name__ == "__main__":
    sys.exit(main())
