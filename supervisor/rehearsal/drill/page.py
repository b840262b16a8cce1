"""The report of a drill as one HTML file that opens anywhere: no other file, no script, its picture inside."""

from collections.abc import Iterator
from html import escape
from math import log10
from typing import Any

from supervisor.rehearsal.drill.words import COUNTED, headline, health_lines, three, undisturbed_line, verdict

STYLE = """
body{font:16px/1.5 sans-serif;color:#15181b;background:#f6f5f1;max-width:70rem;margin:0 auto;padding:1rem}
table{border-collapse:collapse;width:100%;font-size:.9rem}td,th{border-bottom:1px solid #c8cac6;padding:.3rem .5rem;
text-align:left;vertical-align:top}td.n{text-align:right;white-space:nowrap}.wide{overflow-x:auto}
.note{border-left:.3rem solid #00609c;padding:.2rem .8rem}svg{width:100%;height:auto}
"""
WIDTH, LEFT, RIGHT, LINE, TOP = 900, 250, 20, 22, 34
LEAST_S, MOST_S = 0.1, 3600.0
TICKS = ((0.1, "0.1 s"), (1.0, "1 s"), (10.0, "10 s"), (60.0, "1 min"), (600.0, "10 min"), (3600.0, "1 h"))


def page(report: dict[str, Any], command: str) -> str:
    """The whole file."""
    title = f"Drill of {report['title']}, simulated"
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<title>{escape(title)}</title><style>{STYLE}</style></head><body>\n{''.join(_body(report, title, command))}"
        "</body></html>\n"
    )


def _body(report: dict[str, Any], title: str, command: str) -> Iterator[str]:
    yield f"<h1>{escape(title)}</h1>\n<p>{escape(headline(report))}</p>\n"
    yield (
        '<p class="note">Every figure on this page is of a simulated furnace. A real one has faults that nobody has '
        "thought of. The limiter, the contactor, the emergency stop and you must be enough with everything in this "
        "program assumed wrong.</p>\n"
    )
    if report["faults"]:
        yield f"<h2>Faults</h2>\n<p>{escape(verdict(report))}</p>\n{_picture(report)}\n{_table(report)}"
    if report["healthy"]["firings"]:
        first, *rest = health_lines(report["healthy"])
        items = "".join(f"<li>{escape(line.strip())}</li>" for line in rest)
        yield f"<h2>Healthy hours</h2>\n<p>{escape(first)}</p>\n<ul>{items}</ul>\n"
    if report["undisturbed"]["firings"]:
        yield f"<p>{escape(undisturbed_line(report['undisturbed']))}</p>\n"
    yield "<h2>What no watch can be counted on to notice</h2>\n"
    rows = "".join(
        f"<tr><td>{escape(row['title'])}</td><td>{escape(row['why'])}</td><td>{escape(row['instead'])}</td></tr>"
        for row in report["not_noticeable"]
    )
    yield f"<table><tr><th>fault</th><th>why not</th><th>what stands in for it</th></tr>{rows}</table>\n"
    yield f"<p>Made by <code>{escape(command)}</code>. Simulated.</p>\n"


def _table(report: dict[str, Any]) -> str:
    heads = ("fault", "cases", "missed", "noticed, s", "relay low, s", "contactor open, s", "hot face", "metal")
    rows = []
    for row in report["faults"].values():
        metal_k = row["metal_over_target_worst_k"]
        cells = [
            str(row["cases"]),
            "not counted on" if row["missed"] is None else str(row["missed"]),
            three(row["noticed_s"]),
            three(row["relay_low_s"]),
            three(row["contactor_open_s"]),
            f"{row['hot_face_over_target_worst_k']:+.0f} K",
            "" if metal_k is None else f"{metal_k:+.0f} K",
        ]
        by = ", ".join(f"{watch} {count}" for watch, count in row["noticed_by"].items()) or "nobody"
        numbers = "".join(f'<td class="n">{escape(cell)}</td>' for cell in cells)
        title = f"{row['title']}{COUNTED[row['counted_from']]}"
        rows.append(f"<tr><td>{escape(title)}</td>{numbers}<td>{escape(by)}</td></tr>")
    head = "".join(f"<th>{head}</th>" for head in (*heads, "first to speak"))
    return (
        "<p>Seconds: median / 90 % / worst, read from pins and contacts; a dash: never while it was watched. Hot face "
        "and metal: the worst, over the target.</p>\n"
        f'<div class="wide"><table><tr>{head}</tr>{"".join(rows)}</table></div>\n'
    )


def _picture(report: dict[str, Any]) -> str:
    """From fault to notice: a bar from median to worst, a stroke at 90 %, a mark at the row's limit."""
    rows = [row for row in report["faults"].values() if row["detectable"]]
    height = TOP + LINE * len(rows) + 10
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img" font-family="sans-serif" '
        f'font-size="13" fill="#15181b"><title>Time from fault to notice, simulated</title>'
    ]
    for at_s, words in TICKS:
        parts.append(f'<path d="M{_x(at_s):.1f} {TOP - 8}V{height}" stroke="#c8cac6"/>')
        parts.append(f'<text x="{_x(at_s):.1f}" y="16" text-anchor="middle">{words}</text>')
    for number, row in enumerate(rows):
        parts += _bar(row, TOP + LINE * number + 8)
    parts.append("</svg><p>Bar: median to worst; stroke across it: 90 %; hollow mark: the limit set beforehand.</p>")
    return "".join(parts)


def _bar(row: dict[str, Any], y: float) -> Iterator[str]:
    name = row["title"] if len(row["title"]) <= 34 else f"{row['title'][:33]}…"
    yield f'<text x="{LEFT - 10}" y="{y + 4}" text-anchor="end">{escape(name)}</text>'
    noticed = row["noticed_s"]
    if noticed["median"] is not None:
        worst_s = MOST_S if noticed["worst"] is None else noticed["worst"]
        p90_s = MOST_S if noticed["p90"] is None else noticed["p90"]
        x, end = _x(noticed["median"]), max(_x(worst_s), _x(noticed["median"]) + 3.0)
        yield f'<rect x="{x:.1f}" y="{y - 4}" width="{end - x:.1f}" height="8" fill="#00609c"/>'
        yield f'<path d="M{_x(p90_s):.1f} {y - 8}V{y + 8}" stroke="#15181b" stroke-width="2"/>'
    yield f'<circle cx="{_x(row["limit_s"]):.1f}" cy="{y}" r="5" fill="none" stroke="#15181b" stroke-width="2"/>'


def _x(seconds: float) -> float:
    """Logarithmic."""
    share = (log10(min(max(seconds, LEAST_S), MOST_S)) - log10(LEAST_S)) / (log10(MOST_S) - log10(LEAST_S))
    return LEFT + (WIDTH - LEFT - RIGHT) * share
