"""Use a bundle in a bare Debian without Python and without a network, and time each step.

Usage: python tests/end2end/check_bundle.py BUNDLE [--base FOLDER]

BUNDLE is what docs/make_bundle.py made: the folder, or the Debian package. It is brought into a
fresh Debian that has beside it only the libraries that a desktop has; there it is started twice on
a virtual screen, the supply is dragged, and a sheet is saved by keys. Ends with a table, and with
status 1 where the way from the copy to the first sheet took longer than a minute. FOLDER is a tree
of debootstrap to copy, where one is at hand. Not collected by pytest; needs root, debootstrap, Xvfb
and xdotool.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Final

from bare_system import HOME, BareSystem, CheckError, Steps, needed, start_twice, virtual_screen

ROOT: Final = Path(__file__).parents[2]
LIMIT: Final = 60.0
FOLDER: Final = f"{HOME}/Spulen für alle"
"""Where the folder is copied to: with blanks and an umlaut, as people name theirs."""


def desktop_libraries() -> list[str]:
    """Debian's packages that the bundle leaves to the system, needed and recommended."""
    sys.path.insert(0, str(ROOT / "docs" / "bundle"))
    from debian import NEEDS, RECOMMENDS

    return [*NEEDS, *RECOMMENDS]


def bring(system: BareSystem, made: Path) -> str:
    """Copy the folder, or install the package, without a network; the program's path."""
    if made.is_dir():
        place = system.root / FOLDER.lstrip("/")
        place.mkdir()
        subprocess.run(["cp", "-a", made, place], check=True)
        return f"{FOLDER}/{made.name}/burstwise"
    subprocess.run(["cp", made, system.root / "tmp" / made.name], check=True)
    system.do("dpkg", "-i", f"/tmp/{made.name}")
    return "/usr/bin/burstwise"


def check(made: Path, base: Path | None, work: Path) -> int:
    """Everything, in a folder of its own; the exit status."""
    system = BareSystem(work / "debian", base)
    steps = Steps(system)
    with steps.step("libraries of a desktop, from Debian", counts=False):
        system.install(*desktop_libraries())
    if system.do("sh", "-c", "ls /usr/bin /usr/local/bin | grep -i python || true").strip():
        raise CheckError("the bare system has a Python")
    with virtual_screen(work) as screen:
        with steps.step("bundle brought there"):
            program = bring(system, made)
        start_twice(steps, system, screen, lambda _: system.start(program, screen=screen))
    return steps.judge(LIMIT)


def main() -> int:
    parser = argparse.ArgumentParser(description="Use a bundle in a bare Debian")
    parser.add_argument("bundle", type=Path)
    parser.add_argument("--base", type=Path, help="a tree of debootstrap to copy")
    asked = parser.parse_args()
    needed("debootstrap", "unshare", "Xvfb", "xdotool")
    with tempfile.TemporaryDirectory(prefix="bare") as name:
        work = Path(name)
        work.chmod(0o755)
        try:
            return check(asked.bundle.resolve(), asked.base, work)
        except CheckError as problem:
            print(f"FAILED: {problem}", file=sys.stderr)
            return 2


if __name__ == "__main__":
    sys.exit(main())
