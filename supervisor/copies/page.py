"""The record of a melt as one page that opens anywhere: no other file, no script; its curve and all its rows inside."""

from collections.abc import Iterator, Sequence
from html import escape
from typing import Any, NamedTuple

from supervisor.copies.importing import EMBEDDED
from supervisor.copies.record import Record, as_json

STYLE = """
body{font:16px/1.5 sans-serif;color:#15181b;background:#f6f5f1;max-width:60rem;margin:0 auto;padding:1rem}
table{border-collapse:collapse;width:100%}td,th{border-bottom:1px solid #c8cac6;padding:.3rem .5rem;text-align:left;
vertical-align:top;overflow-wrap:anywhere}.wide{overflow-x:auto}.mark{border:.2rem solid;padding:.2rem .8rem;
font-weight:700}.note{border-left:.3rem solid #00609c;padding:.2rem .8rem}svg,img{max-width:100%;height:auto}
p{overflow-wrap:anywhere}.time td:first-child{white-space:nowrap}.wide svg{min-width:36rem}
pre{white-space:pre-wrap;overflow-wrap:anywhere;font-size:.75rem}
@media print{details{display:none}body{background:#fff}}
"""

LEAST_PCT = 0.05
NOT_TESTED = "Every composition is estimated, not tested. Ingots are not for lifting, pressure or vehicles."
GUARD = (
    "Whoever owns a record can make it anew with another digest: only a digest that was kept elsewhere shows that it is"
    " the one of that day."
)


class Shown(NamedTuple):
    """What stands on the page beside the rows."""

    title: str
    facts: Sequence[tuple[str, str]]
    metal: Sequence[str]  # sentences
    happened: Sequence[tuple[str, str, str]]  # time, what, said
    picture: str  # SVG; empty: there is no curve


def page(of: Record, shown: Shown) -> str:
    """The whole file."""
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<title>{escape(shown.title)}</title><style>{STYLE}</style></head><body>\n{''.join(_body(of, shown))}"
        "</body></html>\n"
    )


def marks(of: Record) -> list[str]:
    """What must not be overlooked, in capitals: invented, simulated, from paper."""
    firing = of.log.get("firing")
    backend = firing.rows[0][firing.columns.index("backend")] if firing is not None else ""
    said = ["INVENTED: no such shop, furnace or metal."] if of.invented else []
    if backend == "paper":
        said.append("FROM PAPER: entered afterwards, as somebody wrote it down; there is no curve.")
    elif of.kind == "simulated":
        said.append("SIMULATED: no furnace was heated and no metal melted.")
    return said


def _body(of: Record, shown: Shown) -> Iterator[str]:
    yield f"<h1>{escape(shown.title)}</h1>\n"
    yield "".join(f'<p class="mark">{escape(mark)}</p>\n' for mark in marks(of))
    yield from _table(("", ""), shown.facts)
    if shown.picture:
        yield f'<h2>Temperature</h2>\n<div class="wide">{shown.picture}</div>\n'
    if shown.metal:
        yield "<h2>Metal</h2>\n" + "".join(f"<p>{escape(line)}</p>\n" for line in (*shown.metal, *_likely(of)))
        yield f'<p class="note">{NOT_TESTED}</p>\n'
    for name, content in of.files.items():
        kind = "png" if name.endswith(".png") else "webp" if name.endswith(".webp") else "jpeg"
        yield f'<p><img alt="Photograph {escape(name)}" src="data:image/{kind};base64,{content}"></p>\n'
    if shown.happened:
        yield "<h2>What happened</h2>\n"
        yield f'<div class="time">{"".join(_table(("Time", "What", "Said"), shown.happened))}</div>'
    yield "<h2>This file</h2>\n" + "".join(f"<p>{escape(line)}</p>\n" for line in _about(of))
    yield (
        "<details><summary>All rows, as they were recorded</summary>\n"
        f'<pre id="{EMBEDDED}">{escape(as_json(of), quote=False)}</pre></details>\n'
    )


def _likely(of: Record) -> Iterator[str]:
    """Of the elements that are likely in it, or may be as far as anybody knows."""
    told = [
        f"{element} {'' if likely is None else f'{likely:.2f} '}({low:.2f} to {high:.2f})"
        for element, (likely, low, high) in of.composition.items()
        if element != "Al" and (high or 0.0) >= LEAST_PCT
    ]
    if told:
        yield f"Likely in it, in %: {', '.join(told)}."


def _about(of: Record) -> list[str]:
    rows = sum(len(table.rows) for tables in (of.log, of.book) for table in tables.values())
    told = "Names of people are in it." if of.names == "kept" else "Names of people that the records know are replaced."
    name = of.heat_number or of.firing
    return [
        f"Exported {of.exported_utc} by meltkeeper {of.software}. {told}",
        f"It holds {rows} rows as plain text below, names and units in the columns; `meltkeeper melts import` reads it"
        f" back. Digest of melt {name}: {of.digest}. {GUARD}",
    ]


def _table(heads: Sequence[str], rows: Sequence[Sequence[Any]]) -> Iterator[str]:
    head = "".join(f"<th>{escape(each)}</th>" for each in heads) if any(heads) else ""
    body = "".join("<tr>" + "".join(f"<td>{escape(str(cell))}</td>" for cell in row) + "</tr>" for row in rows)
    yield f'<div class="wide"><table>{f"<tr>{head}</tr>" if head else ""}{body}</table></div>\n'
