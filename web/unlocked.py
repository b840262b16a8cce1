"""How far a furnace is unlocked, as the page Equipment shows it: the supervisor's own answers, and dates of the log."""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from supervisor.logbook.commissioning import changes, worn
from supervisor.logbook.last import last_events
from supervisor.logbook.reading import open_log

STAGES = {1: "Before any heat", 2: "By attended trials of up to 200 °C", 3: "By firings without metal"}
"""What is proved where: the stage that each proof opens."""


class Row(NamedTuple):
    """One proof as it stands."""

    title: str
    holds: bool
    utc_ms: int | None
    how: str  # witnessed, or stated by whom; empty: it was never proved
    words: str  # what was seen, or why it does not hold
    shows_not: str
    due: str
    opens: int
    do: str  # what is done for it


class Unlocked(NamedTuple):
    """The stage, its proofs by what they open, and the exact thing to do next."""

    number: int
    allows: str
    counted: bool
    groups: list[tuple[str, list[Row]]]
    missing: int
    due: int
    next: str
    command: str  # empty: a firing does it


def unlocked(fitted: Mapping[str, Any], snapshot: Mapping[str, Any]) -> Unlocked | None:
    """What the supervisor says of stage and proofs; None where it is of a version that says nothing."""
    stage = snapshot.get("stage")
    if stage is None:
        return None
    kinds = {kind["name"]: kind for kind in fitted.get("proofs", ())}
    rows = {each["name"]: _row(kinds[each["name"]], each) for each in stage["proofs"] if each["name"] in kinds}
    groups = [(words, [row for row in rows.values() if row.opens == opens]) for opens, words in STAGES.items()]
    following = kinds.get(stage["next"] or "")
    return Unlocked(
        stage["number"],
        stage["allows"],
        stage["counted"],
        [group for group in groups if group[1]],
        sum(not row.holds for row in rows.values()),
        len(stage["due"]),
        "" if following is None else following["title"],
        "" if following is None or following["opens"] > 1 else f"meltkeeper check {following['name']}",
    )


def _row(kind: Mapping[str, Any], each: Mapping[str, Any]) -> Row:
    how = ""
    if each["witnessed"] is not None:
        how = "witnessed" if each["witnessed"] else f"stated by {each['who']}"
    words = each["evidence"] if each["holds"] else each["why"].rstrip(".")
    days = each["due_in_days"]
    due = "" if days is None else "due now" if days <= 0 else f"due in {days:.0f} days"
    return Row(
        kind["title"],
        each["holds"],
        each["utc_ms"],
        how,
        words or "",
        kind["shows_not"],
        due,
        kind["opens"],
        kind["how"],
    )


class Part(NamedTuple):
    """One part with what it has been through."""

    title: str
    name: str
    since_utc_ms: int | None
    words: str
    note: str
    before: tuple[Any, ...]  # earlier changes of it, the newest first


class Practised(NamedTuple):
    """The last cold practice that came to its end."""

    utc_ms: int
    minutes: float
    moves: int


def parts_worn(data: Path, titles: Mapping[str, str]) -> list[Part]:
    """Every part with hours, melts and peak since it was fitted; nothing where there is no log yet.

    Raises:
        InputRefused: there is a log that cannot be read.
    """
    if not (data / "furnace.db").is_file():
        return []
    with open_log(data) as log:
        found, changed = worn(log), changes(log)
    return [
        Part(
            titles[each.part],
            each.part,
            each.since_utc_ms,
            f"{each.firings} firing{'s' * (each.firings != 1)}, {each.melts} with metal, {each.hours:.1f} h"
            + ("" if each.peak_c is None else f", peak {each.peak_c:.0f} °C"),
            f"{each.note} ({each.who})" if each.note else "",
            tuple(one for one in reversed(changed) if one.part == each.part)[1:],
        )
        for each in found
        if each.part in titles
    ]


def practised(data: Path) -> Practised | None:
    """When somebody last went through all of it.

    Raises:
        InputRefused: there is a log that cannot be read.
    """
    if not (data / "furnace.db").is_file():
        return None
    with open_log(data) as log:
        events: Iterable[dict[str, Any]] = last_events(log, "practice")
        for event in events:
            detail = event["detail"]
            if detail.get("over") == "all of it":
                return Practised(int(event["utc_ms"]), detail["in_all_s"] / 60.0, len(detail["took_s"]))
    return None
