"""A trip and a firing that was cut stand after every restart until somebody presses at the furnace."""

import shutil
from collections.abc import Callable

import pytest

from supervisor.firing import commands as c
from supervisor.firing.aftermath import Ended
from supervisor.firing.states import State
from supervisor.logbook import database
from supervisor.logbook.directory import IDENTITY_FILE, open_directory
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import AlarmRow, EventRow
from supervisor.refusal import InputRefused
from tests.supervisor.furnace_at_hand import bake, names
from tests.supervisor.restarted import Kept, looked_at, tripped


def lose_the_log(kept: Kept) -> None:
    for file in kept.data.glob("furnace.db*"):
        file.unlink()


def empty_the_log(kept: Kept) -> None:
    for file in kept.data.glob("furnace.db-*"):
        file.unlink()
    (kept.data / database.FILE_NAME).write_bytes(b"")


def lose_the_identity(kept: Kept) -> None:
    (kept.data / IDENTITY_FILE).unlink()


def put_a_backup_back(kept: Kept) -> None:
    for file in kept.data.glob("furnace.db*"):
        file.unlink()
    for file in kept.data.with_name("backup").glob("furnace.db*"):
        shutil.copy(file, kept.data)


def keep(kept: Kept) -> None:
    pass


@pytest.mark.parametrize(
    ("lose", "named"),
    [
        (keep, "nobody has reset: The emergency stop was pressed"),
        (lose_the_log, "The log was missing"),
        (empty_the_log, "The log was missing"),
        (lose_the_identity, "was missing beside the log"),
        (put_a_backup_back, "The log is an older copy"),
    ],
)
def test_no_way_to_restart_forgets_a_trip(kept: Kept, lose: Callable[[Kept], None], named: str) -> None:
    kept.wait(1.0)
    kept.copy(kept.data.with_name("backup"))
    kept.restart()
    tripped(kept)
    lose(kept)
    for _ in range(2):  # and no further restart does
        kept.begin()
        assert kept.state is State.STOPPED
        refused = kept.refused_start(bake())
        assert "A trip waits for its reset at the furnace." in refused
        assert named in str(kept.shown()["left_open"])
        assert {"no trip stands", "earlier firing looked at"} <= set(kept.unmet())
        kept.kill()
    kept.begin()
    kept.wait(1.0)
    looked_at(kept)
    assert kept.shown()["left_open"] is None
    assert not {"no trip stands", "earlier firing looked at"} & set(kept.unmet())
    kept.restart()
    kept.wait(1.0)
    assert kept.shown()["left_open"] is None, "what was reset stays reset"
    assert kept.shown()["alarms"] == []


def test_the_directory_of_another_furnace_and_a_damaged_log_are_refused_by_name(kept: Kept) -> None:
    tripped(kept)
    with (
        pytest.raises(InputRefused, match="belongs to the furnace 'bench', not to 'workshop'"),
        open_directory(kept.data, backend="simulated", furnace="workshop"),
    ):
        pass
    for file in kept.data.glob("furnace.db-*"):
        file.unlink()
    whole = (kept.data / database.FILE_NAME).read_bytes()
    (kept.data / database.FILE_NAME).write_bytes(b"x" * 4096 + whole[4096:])
    with pytest.raises(InputRefused, match="what the furnace did last is unknown"):
        kept.begin()


def test_the_watch_that_tripped_is_still_named_with_its_evidence(kept: Kept) -> None:
    tripped(kept)
    kept.begin()
    kept.wait(1.0)
    (alarm,) = [each for each in kept.shown()["alarms"] if each["watch"] == "emergency-stop"]
    assert alarm["state"] == "latched, unacknowledged"
    assert "its line reads open" in alarm["evidence"]
    assert kept.send(c.Acknowledge(kept.by(), "emergency-stop/1")).accepted
    kept.restart()
    kept.wait(1.0)
    (alarm,) = [each for each in kept.shown()["alarms"] if each["watch"] == "emergency-stop"]
    assert alarm["state"] == "latched, acknowledged", "seen is seen, and resets nothing"
    assert "no trip stands" in kept.unmet()


def test_a_trip_that_was_closed_properly_stands_however_much_happened_since(kept: Kept) -> None:
    kept.start(bake())
    kept.furnace.emergency_stop(True)
    kept.run_until(lambda: kept.state is State.ABORTED, 5.0)
    kept.furnace.emergency_stop(False)
    for _ in range(60):  # more than any list of latest events
        kept.send(c.Acknowledge(kept.by(), None))
    for _ in range(10):
        assert kept.send(c.Reset(kept.by(), "nothing yet")).accepted  # asked, never pressed
        kept.wait(62.0)
    kept.restart()
    kept.wait(1.0)
    assert "trip" in str(kept.shown()["left_open"])
    assert "emergency-stop" in names(kept.shown()["alarms"])
    assert kept.memory.firing.aftermath is not None
    assert kept.memory.firing.aftermath.ended is Ended.TRIP


def test_a_reset_that_leaves_something_latched_clears_nothing_across_a_restart(kept: Kept) -> None:
    kept.start(bake())
    kept.inject("contactor_welded")
    kept.stop()
    kept.run_until(lambda: "contactor-stuck" in kept.alarms(), 5.0)
    kept.restart()
    kept.wait(1.0)
    assert kept.state in (State.ABORTING, State.ABORTED)
    assert kept.memory.alarms.latched
    kept.restart()
    kept.wait(1.0)
    assert "contactor-stuck" in names(kept.shown()["alarms"])
    assert "no trip stands" in kept.unmet()


def test_an_old_alarm_by_a_watch_that_did_not_trip_then_is_no_trip_now(kept: Kept) -> None:
    """As a log of an earlier version may hold it: told, returned, never latched, and no abort with it."""
    for step in ("raised", "acknowledged", "returned"):
        kept.log_row(AlarmRow(None, 1000, "sensor-open/7", "sensor-open", step, 1, "open circuit", True, "supervisor"))
    kept.restart()
    kept.wait(1.0)
    assert kept.shown()["left_open"] is None
    assert kept.shown()["alarms"] == []


def test_a_trip_by_a_watch_that_is_not_known_here_any_more_stands_until_the_reset(kept: Kept) -> None:
    kept.log_row(AlarmRow(None, 1000, "of-old/2", "of-old", "raised", 1, "it glowed", True, "supervisor"))
    kept.log_row(EventRow(None, 1000, "state", "supervisor", "supervisor", {"to": "aborting", "why": "of-old"}))
    for _ in range(2):
        kept.restart()
        kept.wait(1.0)
        assert "trip that nobody has reset" in str(kept.shown()["left_open"])
        (alarm,) = kept.shown()["alarms"]
        assert (alarm["watch"], alarm["evidence"]) == ("trip-left", "of-old: it glowed")
    looked_at(kept)
    kept.restart()
    kept.wait(1.0)
    assert kept.shown()["left_open"] is None
    assert kept.shown()["alarms"] == []


def test_a_firing_that_was_cut_is_closed_as_interrupted_by_the_press_alone(kept: Kept) -> None:
    kept.start(bake())
    kept.restart()
    kept.wait(1.0)
    assert names(kept.shown()["alarms"]) == ["cut-short"]
    with open_log(kept.data) as log:
        assert [firing.firing_id for firing in log.left_open()] == [1]
    looked_at(kept)
    with open_log(kept.data) as log:
        assert log.left_open() == []
        assert log.firing(1).state == "interrupted"


# --- again and again ------------------------------------------------------------------------------------------------


def test_a_supervisor_that_was_begun_too_often_stays_stopped_until_a_press(kept: Kept) -> None:
    kept.restarts, kept.too_often = 4, True
    kept.restart()
    kept.restarts, kept.too_often = 0, False
    for _ in range(2):
        kept.wait(1.0)
        assert "begun 5 times within 10 min" in str(kept.shown()["left_open"])
        assert "stays stopped" in str(kept.shown()["left_open"])
        assert "A trip waits for its reset" in kept.refused_start(bake())
        kept.restart()  # it stands, though this one was not too soon
    kept.wait(1.0)
    looked_at(kept)
    assert kept.shown()["left_open"] is None
