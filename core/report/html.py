"""Build sheet as one HTML page that needs nothing beside it; pictures stand in it as SVG."""

from __future__ import annotations

from html import escape
from typing import Final

from burstwise.core.report.sheet import Block, Paragraph, Picture, Section, Sheet, Table

_STYLE: Final = """
body { font-family: system-ui, "DejaVu Sans", sans-serif; color: #1b2421; max-width: 62rem;
  margin: 2rem auto; padding: 0 1rem; line-height: 1.45; }
h1 { margin-bottom: 0; } h2 { border-bottom: 2px solid #0a6a66; padding-bottom: .15rem;
  margin-top: 2rem; }
.mark { color: #56635e; font-size: .85rem; }
.caution { border-left: 5px solid #8a5700; background: #fbf3e3; padding: .4rem .8rem; }
.head { font-weight: 600; margin-top: 1.2rem; }
.item { margin: .3rem 0 .3rem 1.2rem; display: list-item; }
table { border-collapse: collapse; width: 100%; margin: .8rem 0; font-size: .88rem; }
th, td { border: 1px solid #c3cac4; padding: .25rem .5rem; text-align: left;
  vertical-align: top; }
th { background: #eef0ec; } td { font-variant-numeric: tabular-nums; }
figure { margin: 1rem 0; } figure svg { max-width: 100%; height: auto; }
.real svg { max-width: none; }
figcaption { color: #56635e; font-size: .88rem; }
footer { margin-top: 2rem; border-top: 1px solid #c3cac4; }
@media print { body { max-width: none; margin: 0; font-size: 9pt; }
  h2 { break-after: avoid; } figure, tr { break-inside: avoid; }
  .page { break-before: page; }
  footer { position: fixed; bottom: 0; width: 100%; background: white; } }
"""


def sheet_html(sheet: Sheet) -> str:
    """HTML text of a sheet."""
    body = "\n".join(_section(part) for part in sheet.sections)
    mark = f'<p class="mark">{escape(sheet.mark)}</p>'
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(sheet.title)}: {escape(sheet.subtitle)}</title>"
        f"<style>{_STYLE}</style></head><body>"
        f"<h1>{escape(sheet.title)}</h1><p>{escape(sheet.subtitle)}</p>{mark}\n"
        f"{body}\n<footer>{mark}</footer></body></html>\n"
    )


def _section(section: Section) -> str:
    blocks = "\n".join(_block(block) for block in section.blocks)
    kind = ' class="page"' if section.new_page else ""
    return f"<section{kind}><h2>{escape(section.title)}</h2>\n{blocks}</section>"


def _block(block: Block) -> str:
    if isinstance(block, Paragraph):
        kind = "" if block.kind == "plain" else f' class="{block.kind}"'
        return f"<p{kind}>{escape(block.text)}</p>"
    if isinstance(block, Picture):
        caption = f"<figcaption>{escape(block.caption)}</figcaption>"
        kind = ' class="real"' if block.real else ""
        return f"<figure{kind}>{block.svg}{caption}</figure>"
    return table_html(block)


def table_html(table: Table) -> str:
    """HTML of a table with its column widths in percent."""
    total = sum(table.widths)
    columns = "".join(f'<col style="width:{100 * w / total:.1f}%">' for w in table.widths)
    head = "".join(f"<th>{escape(text)}</th>" for text in table.head)
    rows = "".join(
        "<tr>" + "".join(f"<td>{escape(text)}</td>" for text in row) + "</tr>" for row in table.rows
    )
    return (
        f"<table><colgroup>{columns}</colgroup><thead><tr>{head}</tr></thead>"
        f"<tbody>{rows}</tbody></table>"
    )
