"""Removal of cached machine code that belongs to older sources."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path
from typing import Final

STAMP: Final = "sources.sha256"


def forget_stale_code(folder: Path) -> None:
    """Remove the compiled code of a package unless all its sources are as they were.

    Numba itself notices a change in the file of the compiled function only, not in those that it
    inlines, and would go on with code of the old ones.
    """
    sources = b"\0".join(file.read_bytes() for file in sorted(folder.glob("*.py")))
    digest = sha256(sources).hexdigest()
    cache = folder / "__pycache__"
    stamp = cache / STAMP
    try:
        if stamp.exists() and stamp.read_text(encoding="ascii") == digest:
            return
        cache.mkdir(exist_ok=True)
        for file in cache.glob("*.nb[ic]"):
            file.unlink(missing_ok=True)
        stamp.write_text(digest, encoding="ascii")
    except OSError:
        # Where nothing can be written the package is replaced as a whole.
        return
