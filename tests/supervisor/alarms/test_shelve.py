"""Shelving at the furnace: what may be put aside, for how long, and that heat knows nothing of it."""

import pytest

from supervisor.alarms.shelf import shelvable
from supervisor.cli.status import lines
from supervisor.firing import commands as c
from supervisor.firing.states import State
from supervisor.logbook.records import CommandRow, FiringClosed
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, names, running


def held_by_log() -> FurnaceAtHand:
    hand = running(bake(to_c=600.0), start_c=450.0)
    hand.memory = hand.memory.with_log(9.0, None)
    hand.run_until(lambda: hand.state is State.HELD, 5.0)
    return hand


def shelve(hand: FurnaceAtHand, alarm: str = "log-behind", minutes: float = 10.0, reason: str = "known") -> c.Answer:
    return hand.send(c.Shelve(hand.by(), alarm, minutes, reason))


def test_a_shelved_alarm_is_off_the_list_and_on_the_shelf_and_the_hold_goes_on_without_heat() -> None:
    hand = held_by_log()
    assert shelve(hand).accepted
    for _ in range(120):
        hand.wait(1.0)
        assert hand.state is State.HELD
        assert not hand.furnace.outputs["relay"]
        assert not hand.furnace.outputs["sounder"]
    shown = hand.shown()
    assert names(shown["alarms"]) == []
    (shelf,) = shown["shelved"]
    assert (shelf["watch"], shelf["reason"], shelf["stands"]) == ("log-behind", "known", True)
    assert 470.0 < shelf["left_s"] <= 480.0
    assert shown["sound"] is None
    from_the_loop = {"age_s": 0.0, "utc_ms": 1_789_000_000_000, "firing": {**shown["firing"], "started_utc_ms": None}}
    assert "Shelved for 8 min more: The log cannot be written." in lines({**shown, **from_the_loop})


def test_a_shelf_ends_by_itself_and_the_furnace_calls_again() -> None:
    hand = held_by_log()
    assert shelve(hand, minutes=1.0).accepted
    hand.wait(58.0)
    assert names(hand.shown()["alarms"]) == []
    hand.wait(3.0)
    assert names(hand.shown()["alarms"]) == ["log-behind"]
    assert hand.shown()["alarms"][0]["state"] == "unacknowledged"
    assert [event.detail["step"] for event in hand.events("shelf")] == ["shelved", "unshelved"]


def test_it_is_written_down_who_shelved_what_why_and_for_how_long() -> None:
    hand = held_by_log()
    shelve(hand, "log-behind/1", 30.0, "a new card is on its way")
    asked = [row for row in hand.records if isinstance(row, CommandRow)][-1]
    assert (asked.kind, asked.who, asked.accepted) == ("shelve", "Ada's phone", True)
    assert asked.detail == {"alarm": "log-behind/1", "minutes": 30.0, "reason": "a new card is on its way"}
    (event,) = hand.events("shelf")
    assert event.who == "Ada's phone"
    assert event.detail["for_min"] == 30.0


def test_nothing_stays_on_the_shelf_beyond_its_firing() -> None:
    hand = held_by_log()
    assert shelve(hand, minutes=30.0).accepted
    hand.memory = hand.memory.with_log(0.0, None)
    hand.stop()
    hand.run_until(lambda: hand.state is State.STOPPED, 5.0)
    assert hand.shown()["shelved"] == []


def test_it_can_be_taken_back_and_is_told_anew() -> None:
    hand = held_by_log()
    shelve(hand)
    assert hand.send(c.Unshelve(hand.by(), "log-behind/1")).accepted
    hand.wait(1.0)
    assert names(hand.shown()["alarms"]) == ["log-behind"]
    assert not hand.send(c.Unshelve(hand.by(), "log-behind")).accepted


@pytest.mark.parametrize(
    ("alarm", "minutes", "reason", "says"),
    [
        ("log-behind", 31.0, "x", "minutes is 31.0; allowed: more than 0, up to 30 min."),
        ("log-behind", 0.0, "x", "minutes is 0.0; allowed"),
        ("log-behind", float("nan"), "x", "minutes is nan; allowed"),
        ("log-behind", 5.0, "  ", "Say why"),
        ("log-behind/7", 5.0, "x", "alarm is 'log-behind/7'; allowed: one that stands."),
        ("limiter", 5.0, "x", "alarm is 'limiter'; allowed: one that stands."),
        ("nonsense", 5.0, "x", "alarm is 'nonsense'; allowed: one that stands."),
    ],
)
def test_what_is_no_shelf_is_refused_by_name(alarm: str, minutes: float, reason: str, says: str) -> None:
    hand = held_by_log()
    answer = shelve(hand, alarm, minutes, reason)
    assert not answer.accepted
    assert says in answer.sentence
    assert hand.memory.alarms.shelves == {}


@pytest.mark.parametrize("fault", ["sensor_open", "emergency_stop", "limiter_trip"])
def test_no_trip_and_no_limiter_is_ever_shelved(fault: str) -> None:
    hand = running(bake(to_c=600.0), start_c=450.0)
    hand.inject(fault)
    hand.run_until(lambda: bool(hand.alarms()), 3.0)
    assert list(shelvable(hand.memory.alarms)) == []
    assert not next(row for row in hand.shown()["commands"] if row["name"] == "shelve")["allowed"]
    answer = shelve(hand, hand.alarms()[0])
    assert not answer.accepted


def test_a_firing_keeps_how_many_alarms_people_were_told() -> None:
    hand = running(bake(to_c=600.0), start_c=450.0)
    hand.inject("sensor_open")
    hand.run_until(lambda: hand.state is State.ABORTED, 5.0)
    (closed,) = [row for row in hand.records if isinstance(row, FiringClosed)]
    assert closed.results["alarms"] == 1
    assert closed.results["alarms_in_10_min"] == 1
    assert closed.results["alarms_that_followed"] == 0


def test_a_healthy_firing_keeps_that_nobody_was_told_anything() -> None:
    hand = running(bake(to_c=455.0, hold_s=10.0), start_c=450.0)
    hand.answer_everything()
    hand.run_until(lambda: hand.state is State.COMPLETE, 1200.0)
    (closed,) = [row for row in hand.records if isinstance(row, FiringClosed)]
    assert closed.results["alarms"] == 0
