"""Bundle that needs no Python: `python docs/make_bundle.py [FOLDER] [--deb]`.

Wants an environment with the program's dependencies, PyInstaller and setuptools, and a C compiler:
`pip install -c tests/tested_versions.txt pyinstaller setuptools .`. The engine is compiled ahead
for several levels of processor, so that the bundle has no compiler in it and none of its start-up.
FOLDER (build/bundle unless given) gets the folder `burstwise`, and with --deb a Debian package of
it with menu entry, icon and file type.

Tried on Linux, x86-64. On Windows and macOS the same steps are known to exist, none was tried
here: one level of processor, no stripping, no package around the folder.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import runpy
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Final

DOCS: Final = Path(__file__).parent
ROOT: Final = DOCS.parent
TOOLS: Final = DOCS / "bundle"
LEVELS: Final = {
    "x86_64": {
        "engine_v4": ("skylake-avx512", ["X86_V4"]),
        "engine_v3": ("haswell", ["X86_V3"]),
        "engine_v2": ("nehalem", []),
    },
}
"""By machine and library: processor as LLVM names it, and features as NumPy names them."""
TOLERANCE: Final = 1e-5
"""What another order of sums makes of a figure that is looked for to a millionth."""

SEARCH: Final = (
    "--maximise", "carrier.top_voltage_peak_V", "--free", "supply.voltage=12:60",
    "--keep", "margin=20%", "--evaluations", "4",
)  # fmt: skip


def run(*words: object, **settings: str) -> str:
    """Standard output of a command that must succeed."""
    done = subprocess.run(
        [str(word) for word in words],
        env=os.environ | settings, cwd=ROOT, stdout=subprocess.PIPE, encoding="utf-8", check=False,
    )  # fmt: skip
    if done.returncode:
        raise SystemExit(f"{' '.join(map(str, words[:4]))}: status {done.returncode}")
    return done.stdout


def megabytes(place: Path) -> float:
    """Size of a file, or of all files of a folder, links not followed."""
    files = [place] if place.is_file() else place.rglob("*")
    return sum(file.lstat().st_size for file in files if not file.is_dir()) / 1e6


def unpacked_wheel(work: Path) -> Path:
    """Folder with the package as a wheel installs it."""
    shutil.rmtree(ROOT / "build" / "lib", ignore_errors=True)  # else files that are gone come along
    run(sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", work, ROOT)
    (wheel,) = work.glob("burstwise-*.whl")
    package = work / "package"
    zipfile.ZipFile(wheel).extractall(package)
    return package


def compiled_engine(package: Path, work: Path, names: list[str] | None) -> Path:
    """Folder with the engine's libraries, of all levels or some, and what their functions take."""
    engine = work / "engine"
    engine.mkdir()
    known_levels = LEVELS.get(platform.machine(), {"engine_any": ("generic", [])})
    levels = {name: each for name, each in known_levels.items() if not names or name in names}
    for name, (processor, _) in levels.items():
        run(
            sys.executable, TOOLS / "compile_ahead.py", package, engine, name,
            NUMBA_CPU_NAME=processor, NUMBA_CPU_FEATURES="", NUMBA_CACHE_DIR=str(work / name),
            PYTHONDONTWRITEBYTECODE="1",
        )  # fmt: skip
    files = [engine / f"{name}.json" for name in levels]
    known = [json.loads(file.read_text("utf-8")) for file in files]
    if any(each != known[0] for each in known):
        raise SystemExit("the levels' functions differ")
    table = {"levels": [[name, needs] for name, (_, needs) in levels.items()]}
    words = json.dumps(table | {"functions": known[0]}, indent=1)
    (engine / "signatures.json").write_text(words, encoding="utf-8")
    for file in files:
        file.unlink()
    return engine


def strip(folder: Path) -> None:
    """Drop the symbols of libraries; those whose bundled names were patched in are left alone."""
    for file in folder.rglob("*.so*"):
        if not file.is_symlink() and not any("_libs" in p or ".libs" in p for p in file.parts):
            subprocess.run(["strip", "--strip-unneeded", file], check=False, capture_output=True)


def told(*words: object, **settings: str) -> str:
    """Standard output of a command of the program; a word beside it ends the build.

    What a compiled module lacks may be told there and nowhere else.
    """
    done = subprocess.run(
        [str(word) for word in words],
        env=os.environ | settings, cwd=ROOT, capture_output=True, encoding="utf-8", check=False,
    )  # fmt: skip
    if done.stderr or done.returncode not in (0, 1):  # 1: the design has a stop
        raise SystemExit(f"{words[1]}: status {done.returncode}\n{done.stderr}")
    return done.stdout


def agree(package: Path, program: Path) -> None:
    """Hold the bundle's figures against those of the package that it was made from."""
    examples = sorted((package / "burstwise" / "resources" / "examples").glob("*.burstwise"))
    for file in examples:
        ours = json.loads(told(program, "evaluate", file, "--json"))
        theirs = json.loads(
            told(sys.executable, "-m", "burstwise", "evaluate", file, "--json",
                PYTHONPATH=str(package))
        )  # fmt: skip
        apart = max(differences(ours, theirs), default=0.0)
        print(f"{file.stem}: figures of bundle and package differ by {apart:.1e} at most")
        if apart > TOLERANCE:
            raise SystemExit("the bundle computes something else")
    # Further processes, random builds and drawings, which an evaluation has none of.
    one = next(file for file in examples if file.stem == "classroom-gated-interrupted")
    told(program, "search", one, *SEARCH)
    told(program, "sheet", one, "-o", program.with_name("sheet.html"))
    program.with_name("sheet.html").unlink()


def differences(one: object, two: object) -> list[float]:
    """Relative differences of all numbers of two JSON objects; anything else must be equal.

    Examples
    --------
    >>> differences({"a": [1.0, 2]}, {"a": [1.0, 4]})
    [0.0, 0.5]
    """
    if isinstance(one, dict) and isinstance(two, dict) and one.keys() == two.keys():
        return [each for key in one for each in differences(one[key], two[key])]
    if isinstance(one, list) and isinstance(two, list) and len(one) == len(two):
        return [each for a, b in zip(one, two, strict=True) for each in differences(a, b)]
    if type(one) in (int, float) and type(two) in (int, float):
        return [abs(one - two) / max(abs(one), abs(two), 1e-300)]
    return [0.0 if type(one) is type(two) and one == two else float("inf")]


def bundle(folder: Path, levels: list[str] | None = None) -> Path:
    """Make the folder that needs no Python."""
    work = folder / "work"
    shutil.rmtree(folder, ignore_errors=True)
    work.mkdir(parents=True)
    package = unpacked_wheel(work)
    engine = compiled_engine(package, work, levels)
    run(
        sys.executable, "-m", "PyInstaller", "--noconfirm", "--log-level=WARN",
        f"--distpath={folder}", f"--workpath={work}", TOOLS / "burstwise.spec",
        BURSTWISE_PACKAGE=str(package), BURSTWISE_ENGINE=str(engine),
    )  # fmt: skip
    made = folder / "burstwise"
    if sys.platform == "linux":
        strip(made)
    shutil.copy(ROOT / "LICENSE", made)
    agree(package, made / "burstwise")
    shutil.rmtree(work)
    return made


def tell_size(made: Path) -> None:
    """Print the size and the largest parts."""
    inner = made / "_internal"
    parts = sorted(((megabytes(part), part.name) for part in inner.iterdir()), reverse=True)
    print(f"{made}: {megabytes(made):.0f} MB")
    for size, name in parts[:12]:
        print(f"{size:8.1f}  {name}")


def main(argv: list[str]) -> int:
    """Make the bundle, and a package of it where asked; returns the exit status."""
    parser = argparse.ArgumentParser(description="Bundle that needs no Python")
    parser.add_argument("folder", nargs="?", type=Path, default=ROOT / "build" / "bundle")
    parser.add_argument("--deb", action="store_true", help="a Debian package too")
    parser.add_argument("--levels", nargs="+", metavar="NAME", help="these levels only, to try it")
    asked = parser.parse_args(argv)
    made = bundle(asked.folder.resolve(), asked.levels)
    tell_size(made)
    if asked.deb:
        sys.path.insert(0, str(TOOLS))
        from debian import package

        version = runpy.run_path(str(ROOT / "core" / "version.py"))["VERSION"]
        icon = ROOT / "resources" / "icons" / "burstwise.svg"
        file = package(made, version, made.parent, icon=icon, licence=ROOT / "LICENSE")
        print(f"{file}: {megabytes(file):.0f} MB")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
