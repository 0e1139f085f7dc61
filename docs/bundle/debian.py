"""A Debian package around a bundle: program, menu entry, icon, type of the design file."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path
from typing import Final

EXTENSION: Final = ".burstwise"
MIME: Final = "application/x-burstwise"
NEEDS: Final = (
    "libc6", "libegl1", "libgl1", "libfontconfig1", "libfreetype6", "libx11-6", "libx11-xcb1",
    "libxcb1", "libdbus-1-3",
)  # fmt: skip
"""What a desktop has and the bundle leaves to the system."""
RECOMMENDS: Final = (
    "libxcb-cursor0", "libxkbcommon-x11-0", "libwayland-cursor0", "libwayland-egl1", "libcups2",
)  # fmt: skip
"""What it also has, and one of which the window wants on its kind of screen."""
DESKTOP: Final = f"""[Desktop Entry]
Type=Application
Name=Burstwise
GenericName=Resonant coil design
Comment=Design, size and calibrate interrupted solid-state resonant coils
Exec=burstwise %f
Icon=burstwise
Terminal=false
Categories=Science;Engineering;Electronics;
MimeType={MIME};
"""
TYPE: Final = f"""<?xml version="1.0" encoding="UTF-8"?>
<mime-info xmlns="http://www.freedesktop.org/standards/shared-mime-info">
  <mime-type type="{MIME}">
    <comment>Burstwise design</comment>
    <icon name="burstwise"/>
    <sub-class-of type="application/json"/>
    <glob pattern="*{EXTENSION}"/>
  </mime-type>
</mime-info>
"""


def package(bundle: Path, version: str, folder: Path, *, icon: Path, licence: Path) -> Path:
    """Write the package into `folder`.

    Parameters
    ----------
    bundle : Path
        Folder with the program.
    version : str
        Version of the program.
    folder : Path
        Where the package and its tree go.
    icon, licence : Path
        A scalable picture, and the words of the licence.
    """
    tree = folder / "deb"
    shutil.rmtree(tree, ignore_errors=True)
    shutil.copytree(bundle, tree / "usr" / "lib" / "burstwise", symlinks=True)
    share = tree / "usr" / "share"
    architecture = _told("dpkg", "--print-architecture")
    for place, words in {
        share / "applications" / "burstwise.desktop": DESKTOP,
        share / "mime" / "packages" / "burstwise.xml": TYPE,
        share / "doc" / "burstwise" / "copyright": licence.read_text("utf-8"),
        tree / "DEBIAN" / "control": _control(version, architecture, tree),
    }.items():
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(words, encoding="utf-8")
    picture = share / "icons" / "hicolor" / "scalable" / "apps" / "burstwise.svg"
    picture.parent.mkdir(parents=True)
    shutil.copy(icon, picture)
    program = tree / "usr" / "bin" / "burstwise"
    program.parent.mkdir(parents=True)
    program.symlink_to("../lib/burstwise/burstwise")
    for file in tree.rglob("*"):  # whatever the umask was
        if not file.is_symlink():
            runs = file.is_dir() or os.access(file, os.X_OK)
            file.chmod(0o755 if runs else 0o644)
    tree.chmod(0o755)
    made = folder / f"burstwise_{version}_{architecture}.deb"
    subprocess.run(
        ["dpkg-deb", "--root-owner-group", "-Zxz", "--build", tree, made],
        check=True, stdout=subprocess.DEVNULL,
    )  # fmt: skip
    shutil.rmtree(tree)
    return made


def _control(version: str, architecture: str, tree: Path) -> str:
    size = sum(file.lstat().st_size for file in tree.rglob("*") if not file.is_dir()) // 1024
    return f"""Package: burstwise
Version: {version}
Architecture: {architecture}
Maintainer: The Burstwise contributors <burstwise@localhost>
Installed-Size: {size}
Depends: {", ".join(NEEDS)}
Recommends: {", ".join(RECOMMENDS)}
Section: science
Priority: optional
Description: design of interrupted solid-state resonant coils
 Choose and wind the coil, choose device and protection, size the interrupter,
 see which rating breaks first, print what to build, and calibrate the model
 on what was measured. Computed values are estimates, never a permission.
"""


def _told(*words: str) -> str:
    done = subprocess.run(words, check=True, capture_output=True, encoding="utf-8")
    return done.stdout.strip()
