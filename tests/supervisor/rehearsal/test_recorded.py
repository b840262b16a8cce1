"""Each version judges the same recorded firings again: what it would say otherwise is a change that somebody must want.

They are simulated, and made by `record_firings.py` beside this.
"""

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from supervisor.furnace.file import read_furnace
from supervisor.logbook.database import FILE_NAME
from supervisor.logbook.reading import open_log
from supervisor.rehearsal.judge import Judgement, judge_again
from tests.supervisor.rehearsal.record_firings import RECORDED, recorded

BENCH = read_furnace("bench")

ALARMS: dict[str, set[str]] = {
    "clean": set(),
    "relay_stuck_on": {"power-when-off", "warmer-than-power"},
}
"""Of each, as they were said when it was recorded."""


def unpack(name: str, where: Path) -> Path:
    """The log of a recorded firing, as a data directory."""
    with closing(sqlite3.connect(where / FILE_NAME)) as log:
        log.executescript(recorded(name))
        kept = log.execute('SELECT kind, furnace, "key", openings FROM identity').fetchone()
    identity = dict(zip(("kind", "furnace", "key", "openings"), kept, strict=True))
    (where / "identity.json").write_text(json.dumps(identity), encoding="utf-8")
    return where


def judged(where: Path) -> Judgement:
    with open_log(where) as log:
        return judge_again(log, 1, BENCH)


@pytest.mark.parametrize("name", RECORDED)
def test_this_version_says_of_a_recorded_firing_what_was_said_then(name: str, tmp_path: Path) -> None:
    judgement = judged(unpack(name, tmp_path))
    assert judgement.firing.backend == "simulated"
    assert judgement.firing.name.startswith("Simulated: ")
    quiet = {"lid", "no-reading", "pulse-when-off", "breaks-away"}
    assert {said.watch for said in judgement.said} - quiet == ALARMS[name]
    assert not judgement.differs, judgement.said
    assert not judgement.remarks


def test_a_log_of_an_older_layout_is_judged_too(tmp_path: Path) -> None:
    """Without the middle and the quarters of each second what came first is heard some seconds earlier or later."""
    home = unpack("relay_stuck_on", tmp_path)
    with closing(sqlite3.connect(home / FILE_NAME)) as log:
        log.executescript(
            "DROP VIEW samples; ALTER TABLE sample DROP COLUMN mean_c; ALTER TABLE sample DROP COLUMN second_word;"
            "ALTER TABLE sample DROP COLUMN quarters;"
            "PRAGMA user_version = 2;"
        )
    first, *_ = (said for said in judged(home).said if said.watch not in ("pulse-when-off", "breaks-away"))
    assert first.watch in ALARMS["relay_stuck_on"]
    assert first.then_s is not None
    assert first.today_s == pytest.approx(first.then_s, abs=10.0)
