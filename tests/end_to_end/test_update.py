"""Another version is started in the middle of a firing: it watches and records, and changes the log when it is cold."""

import contextlib
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from supervisor.logbook import database
from tests.end_to_end.site import Site

pytestmark = pytest.mark.processes

OLDER = 4
WARM_C = 75.0


def as_the_version_before_left_it(data: Path) -> None:
    """Take the last step back: what it added, the note that it was taken, the number."""
    with contextlib.closing(sqlite3.connect(data / "furnace.db", isolation_level=None)) as connection:
        for kind, name in connection.execute(
            "SELECT type, name FROM sqlite_master WHERE name IN ('seal', 'event_notes')"
        ).fetchall():
            connection.execute(f"DROP {kind} {name}")
        connection.execute("DELETE FROM _sqlite_migrations WHERE name LIKE 'm005%'")
        connection.execute(f"PRAGMA user_version = {OLDER}")


def ask(data: Path, question: str) -> list[Any]:
    with contextlib.closing(sqlite3.connect(f"{(data / 'furnace.db').as_uri()}?mode=ro", uri=True)) as connection:
        return connection.execute(question).fetchall()


def layout(site: Site) -> int:
    return int(ask(site.data, "PRAGMA user_version")[0][0])


def reading_c(site: Site) -> float:
    return float(site.link.snapshot()["hot_junction"]["c"])


def unmet(site: Site) -> set[str]:
    return {row["name"] for row in site.link.snapshot()["permissives"] if not row["met"]}


def test_version_swapped_in_a_firing_watches_keeps_the_latch_and_migrates_only_when_cold(tmp_path: Path) -> None:
    with Site(tmp_path, times_real=30.0, rate_c_per_h=2200.0) as site:
        site.start()
        site.fire()
        site.until("it is warm", lambda: reading_c(site) > WARM_C)
        site.kill()
        as_the_version_before_left_it(site.data)
        events = len(ask(site.data, "SELECT 1 FROM event"))

        site.start()
        shown = site.link.snapshot()
        assert shown["state"] == "stopped"
        assert shown["left_open"] is not None
        assert shown["hot_junction"]["c"] > 60.0
        assert {"log up to date", "earlier firing looked at"} <= unmet(site)
        site.until("it records", lambda: len(ask(site.data, "SELECT 1 FROM event")) > events)
        assert layout(site) == OLDER
        site.prepare()
        assert site.refused(**site.start_message()) is not None
        site.send(command="stop")

        site.send(command="reset", found="the program was updated in the middle of a firing")
        site.wait_for_question()
        site.press(4.0)
        site.until("the reset", lambda: site.link.snapshot()["left_open"] is None)
        site.let_pass(70.0)
        assert reading_c(site) > 60.0, "it was heated enough for this test"
        assert layout(site) == OLDER, "not while it is warm"

        site.until("the log is brought up to date", lambda: layout(site) == database.LAYOUT, within_s=240.0)
        assert (site.data / f"furnace-layout-{OLDER}.db").exists(), "a copy was kept before"
        site.until("the supervisor answers again", lambda: site.state() == "stopped")
        assert reading_c(site) < 60.0
        assert "log up to date" not in unmet(site)
        assert site.firings() == ["interrupted"]
