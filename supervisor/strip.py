"""The strip of a firing as SVG: chamber, setpoint, and the times that matter. Hand-written, no library."""

from collections.abc import Sequence
from html import escape
from typing import Any, NamedTuple

from supervisor.logbook.reading import Log

WIDTH, HEIGHT = 760, 400
LEFT, RIGHT, TOP, BOTTOM = 56, 16, 40, 44
SIGN = 7.0
"""Width of one sign of text, generously."""


class Point(NamedTuple):
    """One bucket of the log: minutes since the start, chamber and setpoint in °C, None where nothing was read."""

    minutes: float
    hot_c: float | None
    setpoint_c: float | None


class Mark(NamedTuple):
    """Something that happened."""

    minutes: float
    words: str


def svg(title: str, points: Sequence[Point], marks: Sequence[Mark], *, caption: str) -> str:
    """The picture. Thick line: read. Dashed line: setpoint, or what the model makes of it. Gaps stay gaps."""
    known = [value for point in points for value in (point.hot_c, point.setpoint_c) if value is not None]
    top_c = 100.0 * (int(max(known, default=100.0) / 100.0) + 1)
    last = max((point.minutes for point in points), default=1.0) or 1.0

    def x(minutes: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * minutes / last

    def y(celsius: float) -> float:
        return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * celsius / top_c

    hot = _path([(x(p.minutes), None if p.hot_c is None else y(p.hot_c)) for p in points])
    setpoint = _path([(x(p.minutes), None if p.setpoint_c is None else y(p.setpoint_c)) for p in points])
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" font-family="sans-serif"'
        f' font-size="13" fill="#15181b"><title>{escape(title)}</title>',
        '<rect width="100%" height="100%" fill="#f6f5f1"/>',
        f'<text x="{LEFT}" y="24" font-weight="700">{escape(title)}</text>',
    ]
    for celsius in range(0, int(top_c) + 1, 100):
        parts.append(f'<path d="M{LEFT} {y(celsius):.1f}H{WIDTH - RIGHT}" stroke="#c8cac6"/>')
        parts.append(f'<text x="{LEFT - 8}" y="{y(celsius) + 4:.1f}" text-anchor="end">{celsius}</text>')
    for minutes in range(0, int(last) + 1, _grid(last)):
        parts.append(f'<text x="{x(minutes):.1f}" y="{HEIGHT - 22}" text-anchor="middle">{minutes}</text>')
    parts.append(f'<text x="{WIDTH - RIGHT}" y="{HEIGHT - 6}" text-anchor="end">{escape(caption)}</text>')
    parts.append(f'<path d="{setpoint}" fill="none" stroke="#00609c" stroke-width="2" stroke-dasharray="14 4 2 4"/>')
    parts.append(f'<path d="{hot}" fill="none" stroke="#15181b" stroke-width="3"/>')
    lanes: list[list[tuple[float, float]]] = []
    for mark in marks:
        at = x(mark.minutes)
        parts.append(f'<path d="M{at:.1f} {TOP}V{HEIGHT - BOTTOM}" stroke="#51585e" stroke-dasharray="2 4"/>')
        start = at + 4 if at < WIDTH / 2 else at - 4 - SIGN * len(mark.words)
        lane = _lane(lanes, start, start + SIGN * len(mark.words))
        parts.append(f'<text x="{start:.1f}" y="{TOP + 14 + 16 * lane}">{escape(mark.words)}</text>')
    return "\n".join([*parts, "</svg>", ""])


def _lane(lanes: list[list[tuple[float, float]]], start: float, end: float) -> int:
    """The first line of text in which these words meet no others."""
    for number, taken in enumerate(lanes):
        if all(end < other_start or start > other_end for other_start, other_end in taken):
            taken.append((start, end))
            return number
    lanes.append([(start, end)])
    return len(lanes) - 1


def _grid(last: float) -> int:
    return next((step for step in (5, 10, 15, 30, 60) if last / step <= 12), 120)


def _path(points: Sequence[tuple[float, float | None]]) -> str:
    words, pen = [], "M"
    for x, y in points:
        if y is None:
            pen = "M"
            continue
        words.append(f"{pen}{x:.1f} {y:.1f}")
        pen = "L"
    return "".join(words) or "M0 0"


def strip(log: Log, firing_id: int, title: str, *, caption: str) -> str:
    """The strip of a firing in the log; empty: it has no curve."""
    points = [Point(each.t_s / 60.0, each.hot_junction_mean_c, each.setpoint_c) for each in log.strip(firing_id)]
    told = [(event["t_ms"], _words(event)) for event in log.events(firing_id)]
    marks = [Mark(t_ms / 60_000.0, words) for t_ms, words in told if words]
    return svg(title, points, marks, caption=caption) if points else ""


def _words(event: dict[str, Any]) -> str:
    detail = event["detail"]
    if event["kind"] == "state":
        return str(detail["to"]) if detail.get("to") in ("running", "complete", "stopped", "aborted") else ""
    if event["kind"] == "press":
        return f"press: {detail.get('answers', '')}"
    if event["kind"] == "note":
        return str(detail.get("kind", ""))
    return ""
