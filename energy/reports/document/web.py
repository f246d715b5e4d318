"""The document as one HTML file that asks for nothing else: no script, no font, no picture from elsewhere."""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from html import escape

from energy.reports.document import charts
from energy.reports.document.records import (
    Block,
    Bullets,
    Chart,
    Document,
    Figures,
    Paragraph,
    Section,
    Signatures,
    Table,
)

LONG = 30  # rows from which a table on screen scrolls within itself
POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
STYLE = """
:root{--ink:#0b3c5d;--pale:#eef3f7}
*{box-sizing:border-box}
body{font:16px/1.5 Georgia,'Times New Roman',serif;color:#111;background:#fff;max-width:62rem;margin:0 auto;padding:1.5rem;overflow-wrap:anywhere}
h1,h2,h3{color:var(--ink);line-height:1.25;break-after:avoid}
h1{font-size:1.7rem;margin:.2rem 0 .8rem}h2{font-size:1.3rem;margin:2.2rem 0 .6rem}h3{font-size:1.05rem;margin:1.3rem 0 .4rem}
dl.facts{display:grid;grid-template-columns:max-content 1fr;gap:.1rem 1rem;margin:0}dl.facts dt{color:#444}dl.facts dd{margin:0}
.lead{background:var(--pale);padding:.8rem 1rem;font-size:1.1rem}
.note,footer{font-size:.87rem;color:#444}
.warning{border-left:4px solid #D55E00;padding-left:.8rem}
.figures{display:grid;grid-template-columns:repeat(auto-fit,minmax(16rem,1fr));gap:.6rem;margin:1rem 0;padding:0;list-style:none}
.figures li{background:var(--pale);padding:.7rem .9rem}.figures strong{display:block;font-size:1.4rem;color:var(--ink)}
.figures span{font-size:.9rem}
.table{overflow-x:auto;margin:1.2rem 0}
table{border-collapse:collapse;width:100%;font-size:.9rem;border-top:2px solid #111;border-bottom:2px solid #111}
caption{text-align:left;font-weight:bold;padding:.3rem 0}
th,td{padding:.25rem .5rem;vertical-align:top;text-align:left;overflow-wrap:normal}
th[scope=row]{min-width:9rem}
thead th{border-bottom:1px solid #111;vertical-align:bottom}tbody th{font-weight:normal}
tbody tr:nth-child(even){background:#f6f6f6}.strong>*{font-weight:bold}
nav.contents{display:flex;flex-wrap:wrap;gap:.2rem 1.1rem;margin:1rem 0;font-size:.9rem}nav.contents a{color:var(--ink)}
.r{text-align:right;font-variant-numeric:tabular-nums}td.r{white-space:nowrap}
figure{margin:1.2rem 0;break-inside:avoid;overflow-x:auto}figure img{width:100%;min-width:32rem;height:auto}figcaption{font-weight:bold}
.sign td{height:2.4rem;border:1px solid #888}.sign th{border:1px solid #888}
@media(max-width:40rem){body{padding:1rem}h1{font-size:1.4rem}td{min-width:9rem}
td:first-child:not(.sign td),td.r{min-width:0}.figures{grid-template-columns:1fr 1fr}.figures strong{font-size:1.15rem}}
@media screen{.table.long{max-height:34rem;overflow-y:auto}.long thead th{position:sticky;top:0;background:#fff}}
@media print{nav.contents{display:none}body{font-size:10pt;padding:0;max-width:none}.table{overflow:visible}tr{break-inside:avoid}}
@page{margin:18mm}
"""


def render(document: Document) -> bytes:
    """The document as the bytes of an HTML page."""
    body = "\n".join(section_markup(section, place) for place, section in enumerate(document.sections, start=1))
    page = f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{POLICY}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{_t(document.title)}</title>
<style>{STYLE}</style>
</head>
<body>
<main>
{head_markup(document.title, document.facts)}
{contents_markup([section.title for section in document.sections])}
{body}
</main>
<footer>{_t(document.foot)}</footer>
</body>
</html>
"""
    return page.encode("utf-8", "replace")


def head_markup(title: str, facts: Mapping[str, str], tag: str = "h1") -> str:
    """Title, and whose document it is in two columns."""
    listed = "".join(f"<dt>{_t(name)}</dt><dd>{_t(value)}</dd>" for name, value in facts.items())
    return f'<{tag} class="title">{_t(title)}</{tag}><dl class="facts">{listed}</dl>'


def contents_markup(titles: Sequence[str]) -> str:
    """Links to the sections of a document on screen; paper goes without."""
    links = "".join(f'<a href="#s{place}">{place} {_t(title)}</a>' for place, title in enumerate(titles, start=1))
    return f'<nav class="contents" aria-label="Sections">{links}</nav>'


def section_markup(section: Section, place: int) -> str:
    """One section, numbered."""
    inside = "\n".join(_block(block) for block in section.blocks)
    return f'<section aria-labelledby="s{place}"><h2 id="s{place}">{place} {_t(section.title)}</h2>\n{inside}</section>'


def _t(text: str) -> str:
    """Text that is only text; control characters go."""
    return escape("".join(c if c == "\n" or c.isprintable() else " " for c in text), quote=True)


def _block(block: Block) -> str:
    if isinstance(block, Paragraph):
        if block.style == "heading":
            return f"<h3>{_t(block.text)}</h3>"
        kind = "" if block.style == "normal" else f' class="{block.style}"'
        topic = f"<strong>{_t(block.topic)}</strong> " if block.topic else ""
        return f"<p{kind}>{topic}{_t(block.text)}</p>"
    if isinstance(block, Bullets):
        return f"<ul>{''.join(f'<li>{_t(item)}</li>' for item in block.items)}</ul>"
    if isinstance(block, Figures):
        items = "".join(f"<li>{_t(a)} <strong>{_t(b)}</strong> <span>{_t(c)}</span></li>" for a, b, c in block.items)
        return f'<ul class="figures">{items}</ul>'
    if isinstance(block, Chart):
        data = base64.b64encode(charts.draw(block.drawing).encode()).decode()
        return (
            f"<figure><figcaption>{_t(block.title)}</figcaption>"
            f'<img src="data:image/svg+xml;base64,{data}" alt="{_t(block.alt)}"></figure>'
        )
    if isinstance(block, Signatures):
        head = "".join(f'<th scope="col">{name}</th>' for name in ("Role", "Name", "Signature", "Date"))
        rows = "".join(f'<tr><th scope="row">{_t(role)}</th><td></td><td></td><td></td></tr>' for role in block.roles)
        return (
            '<div class="table" tabindex="0" role="region" aria-label="Approvals"><table class="sign">'
            f"<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>"
        )
    return _table(block)


def _table(table: Table) -> str:
    if not table.rows:
        return ""
    first = 1 if table.head[0] == "" else 0  # a column without a heading numbers the rows
    kinds = [' class="r"' if table.alignment(i) == "r" else "" for i in range(len(table.head))]
    head = "".join(
        f'<th scope="col"{kind}>{_t(name)}</th>' if name else "<td></td>"
        for name, kind in zip(table.head, kinds, strict=True)
    )
    rows = []
    for i, row in enumerate(table.rows):
        cells = "".join(
            f'<th scope="row"{kind}>{_t(cell)}</th>' if j == first else f"<td{kind}>{_t(cell)}</td>"
            for j, (cell, kind) in enumerate(zip(row, kinds, strict=True))
        )
        rows.append(f'<tr class="strong">{cells}</tr>' if i in table.strong else f"<tr>{cells}</tr>")
    note = f'<p class="note">{_t(table.note)}</p>' if table.note else ""
    kind = "table long" if len(table.rows) > LONG else "table"
    return (
        f'<div class="{kind}" tabindex="0" role="region" aria-label="{_t(table.title)}"><table><caption>{_t(table.title)}</caption>'
        f"<thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table></div>{note}"
    )
