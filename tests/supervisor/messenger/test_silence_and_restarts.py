"""What people outside are told of a supervisor that is silent or began again, also by a messenger that did."""

import pytest

from supervisor.messenger.decide import AGAIN_S, STEADY_S
from tests.supervisor.messenger.saying import COLD, FIRING, TRIPPED, Supervisor, alarm, at_work, to

SILENT = [("first", 1, "the supervisor is silent"), ("second", 1, "the supervisor is silent")]
FAILED = [("first", 1, "the supervisor failed"), ("second", 1, "the supervisor failed")]
BACK = [("first", 2, "the supervisor answers again"), ("second", 2, "the supervisor answers again")]


def test_silence_over_a_firing_is_told_to_both_after_ten_seconds_once() -> None:
    supervisor = at_work()
    assert supervisor.be_silent(9.0) == []
    told = supervisor.be_silent(1.0)
    assert to(told) == SILENT
    assert "Whether heat is off is not known." in told[0].body
    assert "Last known: chamber 612 °C, running, A-097." in told[0].body
    assert "Heat is off" not in told[0].body
    assert supervisor.be_silent(3600.0) == []


def test_silence_over_a_hot_furnace_without_a_firing_is_told() -> None:
    supervisor = Supervisor()
    supervisor.say(COLD, hot_junction={"c": 60.0, "age_s": 0.0, "fault": None})
    assert to(supervisor.be_silent(10.0)) == SILENT


def test_silence_over_a_cold_furnace_is_nobodys_alarm() -> None:
    supervisor = Supervisor()
    supervisor.say(COLD, hot_junction={"c": 59.9, "age_s": 0.0, "fault": None})
    assert supervisor.be_silent(3600.0) == []


def test_a_supervisor_that_speaks_again_is_told_when_it_has_lasted() -> None:
    supervisor = at_work()
    supervisor.be_silent(20.0)
    assert supervisor.say(FIRING, STEADY_S - 2.0) == []
    assert to(supervisor.say(FIRING, 5.0)) == BACK
    assert to(supervisor.be_silent(10.0)) == SILENT


def test_a_restart_in_a_firing_is_told_after_ten_seconds_with_what_it_says_of_heat() -> None:
    supervisor = at_work()
    left = "A-097 ended without its closing record."
    aftermath = {"metal": {"sentence": "Metal may be liquid inside, for another 40 min at the latest."}}
    told = supervisor.say(COLD, 12.0, run="r2", left_open=left, aftermath=aftermath)
    assert to(told) == FAILED
    assert "failed and was started again once since" in told[0].body
    assert COLD["heat"]["sentence"] in told[0].body
    assert left in told[0].body
    assert "Metal may be liquid inside" in told[0].body
    assert to(supervisor.say(COLD, STEADY_S, run="r2")) == BACK
    assert supervisor.say(COLD, 3600.0, run="r2") == []


@pytest.mark.parametrize("after_s", [1.0, 15.0, 45.0])
def test_a_supervisor_that_falls_silent_after_a_restart_that_was_told_is_told_once_more(after_s: float) -> None:
    supervisor = at_work()
    assert to(supervisor.say(COLD, 12.0, run="r2")) == FAILED
    assert supervisor.say(FIRING, after_s, run="r2") == []
    assert to(supervisor.be_silent(3600.0)) == SILENT


def test_a_restart_of_the_whole_computer_is_called_so() -> None:
    told = at_work().say(COLD, 12.0, run="r2", boot="b2")
    assert "computer was started anew; its supply may have failed" in told[0].body


def test_a_restart_of_a_cold_furnaces_supervisor_is_nobodys_alarm() -> None:
    supervisor = Supervisor()
    supervisor.say(COLD, 5.0)
    assert supervisor.say(COLD, 300.0, run="r2") == []


def test_what_a_supervisor_says_as_it_begins_again_is_in_the_message_of_its_failure() -> None:
    supervisor = at_work()
    cut = [alarm("cut-short", number=3)]
    assert to(supervisor.say(COLD, 200.0, run="r2", alarms=cut)) == FAILED + BACK
    assert supervisor.say(COLD, 200.0, run="r2", alarms=cut) == []


def test_a_crash_loop_is_one_alarm_whose_count_is_told_again_every_ten_minutes() -> None:
    supervisor = at_work()
    told = []
    for number in range(300):
        told += supervisor.be_silent(2.0)
        told += supervisor.say(COLD, 3.0, run=f"run {number}")
    first = [message for message in told if message.order == "first"]
    assert len(first) == 1 + int(300 * 5.0 // AGAIN_S)
    assert "started again 3 times" in first[0].body
    assert "goes on failing: it was started again 123 times" in first[1].body


def test_a_trip_told_in_one_run_is_not_told_again_in_the_next() -> None:
    supervisor = at_work()
    supervisor.say(TRIPPED, 10.0)
    assert to(supervisor.say(TRIPPED, 100.0, run="r2", state="stopped")) == FAILED + BACK


def test_the_messenger_knows_after_its_own_restart_what_it_told() -> None:
    supervisor = at_work()
    supervisor.say(TRIPPED, 10.0)
    supervisor.messenger_starts_again()
    assert supervisor.say(TRIPPED, 60.0) == []


def test_the_messenger_knows_after_its_own_restart_that_the_furnace_was_hot() -> None:
    supervisor = at_work()
    supervisor.messenger_starts_again()
    assert supervisor.be_silent(9.0) == []
    assert to(supervisor.be_silent(1.0)) == SILENT
    supervisor.messenger_starts_again()
    assert supervisor.be_silent(600.0) == []


def test_a_restart_that_was_not_told_yet_is_told_by_the_next_messenger() -> None:
    supervisor = at_work()
    assert supervisor.say(COLD, 5.0, run="r2") == []
    supervisor.messenger_starts_again()
    assert to(supervisor.say(COLD, 12.0, run="r2")) == FAILED


def test_a_messenger_that_never_heard_of_a_furnace_says_nothing() -> None:
    assert Supervisor().be_silent(3600.0) == []
