"""Follow README's command in a bare Debian with Python and git, and time each step.

Usage: python tests/end2end/check_readme.py [--base FOLDER]

The checkout as it was last committed is cloned in a fresh Debian; there README's one command makes
the environment, installs, and names the system libraries that a window wants; with these it is
given again. Ends with a
table, and with status 1 where clone to sheet took longer than five minutes. FOLDER is a tree of
debootstrap to copy, where one is at hand. Not collected by pytest; needs root, debootstrap, Xvfb
and xdotool, and the network for Debian's and Python's packages.
"""

from __future__ import annotations

import argparse
import re
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Final

from bare_system import (
    HOME,
    BareSystem,
    CheckError,
    Screen,
    Steps,
    needed,
    start_twice,
    virtual_screen,
)

ROOT: Final = Path(__file__).parents[2]
LIMIT: Final = 300.0
WANTED: Final = ("python3", "python3-venv", "git", "ca-certificates")
"""What README asks for."""
NO_WINDOW: Final = 3
"""Status of the program where libraries of a window are missing."""


def command() -> str:
    """README's command."""
    readme = (ROOT / "README.md").read_text("utf-8")
    found = re.search(r"<!-- run-command -->\n```sh\n(.+)\n```", readme)
    if found is None:
        raise CheckError("README.md shows no command")
    return found[1]


def start(
    system: BareSystem, screen: Screen, *, again: bool = False, errors: int | None = None
) -> subprocess.Popen[str]:
    """Give README's command in the clone; again, start the program that it installed."""
    words = f"cd {HOME}/coil && {command().rpartition('&& ')[2] if again else command()}"
    return system.start("sh", "-c", words, screen=screen, network=True, errors=errors)


def wanted_libraries(running: subprocess.Popen[str]) -> list[str]:
    """Debian's packages that the program asks for as it ends; it has to name some."""
    _, told = running.communicate()
    found = re.search(r"sudo apt install (.+)", told)
    if running.returncode != NO_WINDOW or found is None:
        raise CheckError(f"status {running.returncode} on a bare system\n{told[-2000:]}")
    return found[1].split()


def check(base: Path | None, work: Path) -> int:
    """Everything, in a folder of its own; the exit status."""
    system = BareSystem(work / "debian", base)
    steps = Steps(system)
    with steps.step("Python and git, from Debian", counts=False):
        system.install(*WANTED)
        system.lend_network()
    # A folder of the bare system is all that it sees: the repository is put beside it, bare.
    subprocess.run(
        ["git", "clone", "-q", "--bare", "--no-hardlinks", ROOT, system.root / "srv/there.git"],
        check=True,
    )  # fmt: skip
    system.do("chown", "-R", "builder:", "/srv/there.git")
    with virtual_screen(work) as screen:
        with steps.step("cloned"):
            system.do("git", "clone", "-q", "/srv/there.git", f"{HOME}/coil", user="builder")
        with steps.step("environment made, everything installed, libraries named"):
            named = wanted_libraries(start(system, screen, errors=subprocess.PIPE))
        with steps.step(f"{len(named)} libraries that it named, from Debian", counts=False):
            system.install(*named)
        start_twice(steps, system, screen, lambda again: start(system, screen, again=again))
    return steps.judge(LIMIT)


def main() -> int:
    parser = argparse.ArgumentParser(description="Follow README in a bare Debian")
    parser.add_argument("--base", type=Path, help="a tree of debootstrap to copy")
    asked = parser.parse_args()
    needed("debootstrap", "unshare", "Xvfb", "xdotool", "git")
    with tempfile.TemporaryDirectory(prefix="bare") as name:
        work = Path(name)
        work.chmod(0o755)
        try:
            return check(asked.base, work)
        except CheckError as problem:
            print(f"FAILED: {problem}", file=sys.stderr)
            return 2


if __name__ == "__main__":
    sys.exit(main())
