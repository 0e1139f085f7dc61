"""Page of the bibliography: `python docs/make_sources.py` writes docs/sources.md."""

from __future__ import annotations

import json
from pathlib import Path

from burstwise.core.explain.sources import bibliography

DOCS = Path(__file__).parent
DATA = DOCS.parent / "resources" / "sources" / "bibliography.json"
HEAD = """# Sources

Every source that formulas, checks and explanations refer to, made by `docs/make_sources.py` from \
`resources/sources/bibliography.json`. Explain and the build sheet name those that a design's own \
figures stand on; the tables in `tests/reference` name theirs in the column `keys`.

"""


def sources_text() -> str:
    """Text of the page."""
    statuses = json.loads(DATA.read_text("utf-8"))["statuses"]
    parts = [HEAD + "| Status | Meaning |\n|---|---|\n"]
    parts += [f"| {status} | {meaning} |\n" for status, meaning in statuses.items()]
    for status in statuses:
        parts.append(f"\n## {status.capitalize()}\n\n| Key | Source | Remark |\n|---|---|---|\n")
        parts += [
            f'| <a id="{key}"></a>`{key}` | {source.entry} | {source.remark} |\n'
            for key, source in bibliography().items()
            if source.status == status
        ]
    return "".join(parts)


if __name__ == "__main__":
    (DOCS / "sources.md").write_text(sources_text(), encoding="utf-8", newline="\n")
    print("docs/sources.md")
