"""What a friend may be sent to help: what the program and the furnace said, without anything that is nobody's business.

Two nets. What goes in is chosen field by field; nothing is copied whole. And of the text that comes of it everything
is struck out that is known to be a secret or a name here, or that looks like an address or a token.
"""

import re
import sqlite3
import tomllib
from collections.abc import Iterable, Mapping
from contextlib import closing
from pathlib import Path
from typing import Any

OUT = "(left out)"

# What may be said of the snapshot, the log's events and their details: names of fields whose words are the program's.
SNAPSHOT = (
    "state",
    "held",
    "heat",
    "hot_junction",
    "cold_junction_c",
    "setpoint_c",
    "duty",
    "doing",
    "relay",
    "inputs",
)
SNAPSHOT_MORE = ("restarts", "age_s", "may_be_liquid", "board", "version")
EVENTS = ("state", "start test", "exception", "clock jumped", "contactor", "lid", "gate", "began", "found open")
DETAIL = ("from", "to", "why", "passed", "step", "times_s", "by_s", "ordered", "open", "after", "what", "restarts")
OURS = {"supervisor", "log", "loop", "furnace", "system", "page", "rehearsal", "simulated", "pi", "paper", "root"}
OURS |= {"localhost", "meltkeeper", "you", "at", "the", "command", "line", "stand-in", "nobody:", "is", "invented"}
OURS |= {"user", "phone"}
"""Words that stand where a name may stand and are none."""

_LOOKS_SECRET = tuple(
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        r"[a-z][a-z0-9+.-]{1,20}://[^\s\"'<>]+",  # an address of any service
        r"[\w.+-]+@[\w-]+(\.[\w-]+)+",  # mail
        r"(?<![\d.])\d{1,3}(\.\d{1,3}){3}(:\d+)?(?![\d.])",  # IPv4
        r"(?<![\w:])(?:[0-9a-f]{0,4}:){3,7}[0-9a-f]{0,4}(?![\w:])",  # IPv6, and the address of a network card
        r"/(home|root|Users)(/[^\s\"',;:)]+)+",  # a person's own folder
        r"\b(?=[\w-]*\d)(?=[\w-]*[a-z])[\w-]{20,}\b",  # a token: long, letters and digits
        r"(?<![\d.])(\+\d|0\d{1,5}[ /-]\d)[\d ()/-]{4,}\d",  # a telephone
        r"\b[\w-]+\.(local|lan|home|fritz\.box)\b",  # a machine of the house
    )
)


def without_secrets(text: str, known: Iterable[str]) -> str:
    """Strike out what is known to be secret here, whole words in any case, and what looks like address or token."""
    for pattern in _LOOKS_SECRET:
        text = pattern.sub(OUT, text)
    for secret in sorted({each.strip() for each in known}, key=len, reverse=True):
        if len(secret) > 1 and secret.lower() not in OURS:
            text = re.sub(rf"(?<!\w){re.escape(secret)}(?!\w)", OUT, text, flags=re.IGNORECASE)
    return text


def known_secrets(data: Path, snapshot: Mapping[str, Any] | None, machine: Iterable[str]) -> set[str]:
    """Every name and address that this data directory knows, and of the machine: its own and its users' names."""
    known = {*machine, *_in_contacts(data / "alerts.toml"), *_in_database(data / "furnace.db", _LOG_NAMES)}
    known |= _in_database(data / "book.db", _BOOK_NAMES)
    if snapshot is not None:
        known.add(str(snapshot["furnace"]["title"]))
        known |= {str(contact["name"]) for contact in snapshot["reach"]["contacts"]}
    return {part for each in known for part in (each, *each.split()) if len(part) > 1}


_LOG_NAMES = (
    ("event", "who"), ("command", "who"), ("alarm", "who"), ("firing", "name"), ("firing", "profile"),
    ("firing", "heat_number"), ("identity", "furnace"), ("part", "who"), ("proof", "who"),
)  # fmt: skip
_BOOK_NAMES = (("phone", "name"), ("access_event", "who"), ("access_event", "address"), ("address", "address"))


def _in_contacts(file: Path) -> set[str]:
    """Every text in the contacts' file; in one that cannot be read as such, everything between quotes."""
    try:
        text = file.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return set()
    try:
        return set(_texts(tomllib.loads(text)))
    except ValueError:
        return set(re.findall(r"[\"']([^\"'\n]+)[\"']", text))


def _texts(value: Any) -> list[str]:
    if isinstance(value, str):
        return [value]
    if isinstance(value, dict):
        value = list(value.values())
    return [text for each in value for text in _texts(each)] if isinstance(value, list) else []


def _in_database(file: Path, columns: Iterable[tuple[str, str]]) -> set[str]:
    """All values of the columns that hold names; a table that is not there holds none."""
    found: set[str] = set()
    if not file.exists():
        return found
    with closing(sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True)) as connection:
        for table, column in columns:
            try:
                rows = connection.execute(f'SELECT DISTINCT "{column}" FROM "{table}"').fetchall()  # names of ours
            except sqlite3.Error:
                continue
            found |= {str(value) for (value,) in rows if value}
    return found


def of_snapshot(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    """What may be said of the moment."""
    said = {name: snapshot.get(name) for name in (*SNAPSHOT, *SNAPSHOT_MORE)}
    said["backend"] = snapshot["furnace"]["backend"]
    said["alarms"] = [
        {name: alarm[name] for name in ("watch", "state", "priority", "evidence")} for alarm in snapshot["alarms"]
    ]
    said["unmet"] = [row["name"] for row in snapshot["permissives"] if not row["met"]]
    return said


def of_event(row: Mapping[str, Any]) -> dict[str, Any] | None:
    """What may be said of one event; None: nothing of its kind."""
    if row["kind"] not in EVENTS:
        return None
    detail = row["detail"] if isinstance(row["detail"], dict) else {}
    said = {name: detail[name] for name in DETAIL if name in detail}
    if str(said.get("why", "")).startswith("prepared "):  # the name of a profile is somebody's own words
        said["why"] = "prepared"
    return {"t_s": row.get("t_s"), "kind": row["kind"], **said}
