"""What people outside are told, and how often: one message for one cause, and nothing on a quiet evening."""

from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as some

from supervisor.messenger.decide import MOST_KEYS
from supervisor.messenger.words import CAUTION
from tests.supervisor.messenger.saying import (
    ALLOWED,
    COLD,
    FIRING,
    ORDERED,
    PROVED,
    TRIPPED,
    UNPROVED,
    Supervisor,
    alarm,
    at_work,
    to,
)
from tests.web.snapshot_parts import made

SENSOR = [("first", 1, "What sensor-open says.")]


# --- alarms -------------------------------------------------------------------------------------------------------


def test_an_alarm_says_cause_heat_act_furnace_and_time() -> None:
    (message,) = at_work().say(TRIPPED)
    assert message.title == "SIMULATED Furnace A: What sensor-open says."
    assert message.body.splitlines()[:3] == [
        "What sensor-open says.",
        "Heat is off: the contactor reads open.",
        "Do what sensor-open asks.",
    ]
    assert message.body.splitlines()[3].startswith("SIMULATED Furnace A, A-097. Since ")
    assert message.body.endswith(CAUTION)


def test_a_real_furnace_is_not_called_simulated() -> None:
    furnace = {**TRIPPED["furnace"], "backend": "pi"}
    (message,) = at_work().say(TRIPPED, furnace=furnace)
    assert message.title == "Furnace A: What sensor-open says."


def test_an_alarm_is_told_once_for_as_long_as_it_stands() -> None:
    assert to(at_work().say(TRIPPED, 100.0)) == SENSOR


def test_followers_of_one_cause_are_not_told() -> None:
    group = "sensor-open/1"
    followers = [alarm("reading-old", group=group, first_out=False, folded=True), alarm("lid", group=group, priority=2)]
    assert to(at_work().say(TRIPPED, 60.0, alarms=[alarm(), *followers])) == SENSOR


def test_a_follower_that_is_graver_than_what_was_told_is_told() -> None:
    supervisor = at_work()
    first = alarm("no-power", priority=2)
    assert to(supervisor.say(TRIPPED, 5.0, alarms=[first])) == [("first", 2, "What no-power says.")]
    graver = alarm("contactor-stuck", group="no-power/1", first_out=False)
    told = supervisor.say(TRIPPED, 5.0, alarms=[first, graver])
    assert to(told) == [("first", 1, "What contactor-stuck says.")]


def test_a_lesser_follower_is_not_told_either_when_its_cause_has_gone() -> None:
    supervisor = at_work()
    follower = alarm("no-power", group="sensor-open/1", priority=2, first_out=False)
    assert to(supervisor.say(TRIPPED, 10.0, alarms=[alarm(), follower])) == SENSOR
    assert supervisor.say(TRIPPED, 60.0, alarms=[follower]) == []


@pytest.mark.parametrize("priority", [0, 3])
def test_what_is_for_the_person_at_the_furnace_is_not_sent_away(priority: int) -> None:
    assert at_work().say(FIRING, 300.0, alarms=[alarm("mass-doubted", priority=priority, latched=False)]) == []


def test_a_trip_waits_a_moment_for_the_proof_that_heat_is_off() -> None:
    supervisor = at_work()
    assert supervisor.say(TRIPPED, 2.0, heat=ORDERED) == []
    (message,) = supervisor.say(TRIPPED)
    assert PROVED["sentence"] in message.body


def test_a_trip_without_that_proof_says_so_within_five_seconds() -> None:
    supervisor = at_work()
    (message,) = supervisor.say(TRIPPED, 5.0, heat=UNPROVED)
    assert "not proved: switch off at the breaker" in message.body
    assert "Heat is off" not in message.body


def test_heat_that_is_no_longer_proved_off_is_told() -> None:
    supervisor = at_work()
    supervisor.say(TRIPPED, 20.0)
    (message,) = supervisor.say(TRIPPED, 20.0, heat=UNPROVED)
    assert "not proved: switch off at the breaker" in message.body


def test_the_second_contact_is_told_of_a_trip_that_nobody_has_acknowledged_for_two_minutes() -> None:
    supervisor = at_work()
    assert to(supervisor.say(TRIPPED, 119.0)) == SENSOR
    assert to(supervisor.say(TRIPPED, 3.0)) == [("second", 1, "What sensor-open says.")]


def test_the_second_contact_is_not_told_of_a_trip_that_somebody_has_seen() -> None:
    supervisor = at_work()
    supervisor.say(TRIPPED, 60.0)
    assert supervisor.say(TRIPPED, 300.0, alarms=[alarm(acknowledged=True, state="acknowledged")]) == []


def test_years_of_alarms_leave_nothing_behind_but_what_was_told_last() -> None:
    furnace = Supervisor()
    for number in range(400):
        furnace.say(FIRING, alarms=[alarm(number=number)])
    furnace.say(FIRING)
    assert furnace.memory.seen_s == {}
    assert len(furnace.memory.told) <= MOST_KEYS


def test_the_same_trip_again_is_another_message() -> None:
    supervisor = at_work()
    supervisor.say(TRIPPED, 10.0)
    supervisor.say(FIRING, 10.0)
    assert to(supervisor.say(TRIPPED, 10.0, alarms=[alarm(number=2)])) == SENSOR


def test_another_run_of_the_supervisor_counts_its_alarms_anew() -> None:
    supervisor = Supervisor()
    fallen = [alarm("no-power", priority=2)]
    assert len(supervisor.say(FIRING, 5.0, alarms=fallen)) == 1
    supervisor.say(COLD, 60.0)
    supervisor.say(COLD, 5.0, run="r2")
    assert to(supervisor.say(FIRING, 5.0, run="r2", alarms=fallen)) == [("first", 2, "What no-power says.")]


# --- signs of attendance ------------------------------------------------------------------------------------------


def sign(tell: str, number: int = 1) -> dict[str, Any]:
    return {
        "stage": "x",
        "tell": tell,
        "number": number,
        "sentence": "A sign is overdue.",
        "act": "Go and press the button.",
    }


def test_an_overdue_sign_is_told_to_the_first_then_to_the_second_contact_once_each() -> None:
    supervisor = at_work()
    due = [alarm("sign-due", priority=2, latched=False)]
    assert supervisor.say(FIRING, 30.0, attendance=sign(""), alarms=due) == []
    assert to(supervisor.say(FIRING, 90.0, attendance=sign("first"), alarms=due)) == [
        ("first", 2, "A sign is overdue.")
    ]
    second = supervisor.say(FIRING, 90.0, attendance=sign("second"), alarms=due)
    assert to(second) == [("second", 1, "A sign is overdue.")]
    assert "Go and press the button." in second[0].body
    assert ALLOWED["sentence"] in second[0].body


def test_the_next_sign_is_told_anew() -> None:
    supervisor = at_work()
    supervisor.say(FIRING, 90.0, attendance=sign("first"))
    supervisor.say(FIRING, 90.0, attendance=sign("", 2))
    assert len(supervisor.say(FIRING, 90.0, attendance=sign("first", 2))) == 1


# --- news ---------------------------------------------------------------------------------------------------------

READY = {"ready": True, "doubt": ""}


def test_metal_that_is_likely_ready_is_news_once_and_no_order_to_pour() -> None:
    supervisor = at_work()
    (message,) = supervisor.say(FIRING, 600.0, metal=READY)
    assert (message.order, message.priority) == ("first", 3)
    assert message.title == "SIMULATED Furnace A: A-097 is likely ready."
    assert "look and dip, then decide" in message.body


def test_the_end_of_a_firing_is_news_to_whoever_saw_it_run() -> None:
    supervisor = at_work()
    done = made(FIRING, state="complete", heat=PROVED, firing={**FIRING["firing"], "ended_as": "complete"})
    (message,) = supervisor.say(done, 60.0)
    assert (message.order, message.priority) == ("first", 3)
    assert "The firing A-097 is done." in message.body
    assert Supervisor().say(done, 60.0) == []


def test_a_quiet_evening_is_quiet() -> None:
    supervisor = Supervisor()
    for state in ("idle", "starting", "running", "holding", "held", "running", "stopping", "stopped"):
        assert supervisor.say(FIRING, 30.0, state=state) == []
    assert supervisor.say(COLD, 600.0) == []


Steps = some.lists(
    some.tuples(some.sampled_from(["firing", "cold", "trip", "again", "silent", "messenger"]), some.integers(1, 30)),
    max_size=25,
)


@example([("firing", 1), ("again", 1), ("firing", 22), ("trip", 30), ("silent", 10)])  # silent as it counts as back
@given(Steps)
def test_whatever_happens_no_key_is_sent_twice_and_no_message_calls_heat_off_by_itself(
    steps: list[tuple[str, int]],
) -> None:
    supervisor, run = Supervisor(), 0
    for what, seconds in steps:
        if what == "silent":
            for _ in range(seconds):
                for message in supervisor.be_silent(1.0):
                    assert "Heat is off" not in message.body or supervisor.now_s - supervisor.spoke_s < 10.0
        elif what == "messenger":
            supervisor.messenger_starts_again()
        else:
            run += what == "again"
            shown = {"firing": FIRING, "cold": COLD, "trip": TRIPPED, "again": COLD}[what]
            supervisor.say(shown, seconds, run=f"run {run}")
    keys = [message.key for message in supervisor.sent]
    assert len(keys) == len(set(keys))
