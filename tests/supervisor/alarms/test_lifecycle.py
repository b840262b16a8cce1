"""The life of an alarm, step by step, with its shelf and its silence, and what no act of a person takes from it.

States and transitions after ANSI/ISA-18.2-2016 (IEC 62682:2014), Management of alarm systems for the process
industries: normal, unacknowledged, acknowledged, returned unacknowledged, latched, shelved, suppressed by design.
From memory.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from supervisor.alarms.lifecycle import Alarms
from supervisor.alarms.shelf import Shelf
from supervisor.alarms.standing import AlarmState
from supervisor.alarms.texts import TEXTS
from supervisor.watches import WATCHES
from supervisor.watches.finding import HOLD_WITHOUT_HEAT, NOTHING, TRIP, Finding
from tests.supervisor.alarms.told import ADVICE, ALL, HOLD, POWER, SENSOR, STUCK, Made, Told

# --- one alarm ------------------------------------------------------------------------------------------------------


def test_an_alarm_that_does_not_latch_goes_by_acknowledgement_and_return_in_either_order() -> None:
    told = Told()
    assert told.state(HOLD) is AlarmState.NORMAL
    told.speak(HOLD)
    assert told.state(HOLD) is AlarmState.UNACKNOWLEDGED
    told.alarms.acknowledge(None)
    assert told.state(HOLD) is AlarmState.ACKNOWLEDGED
    told.speak()
    assert told.state(HOLD) is AlarmState.NORMAL
    told.speak(HOLD)
    told.speak()
    assert told.state(HOLD) is AlarmState.RETURNED
    told.speak(HOLD)
    assert told.state(HOLD) is AlarmState.UNACKNOWLEDGED
    told.speak()
    told.alarms.acknowledge("log-behind")
    assert told.state(HOLD) is AlarmState.NORMAL


def test_a_latched_alarm_stands_until_its_reset_and_an_acknowledgement_is_none() -> None:
    told = Told()
    told.speak(SENSOR)
    told.speak()
    assert told.state(SENSOR) is AlarmState.LATCHED_UNACKNOWLEDGED
    told.alarms.acknowledge(None)
    assert told.state(SENSOR) is AlarmState.LATCHED
    assert told.alarms.reaction == TRIP
    told.alarms.reset()
    assert told.state(SENSOR) is AlarmState.NORMAL
    assert told.alarms.reaction == NOTHING


def test_a_reset_does_not_let_go_what_still_stands() -> None:
    told = Told()
    told.speak(SENSOR)
    told.alarms.reset()
    assert told.alarms.latched
    assert told.alarms.reaction == TRIP
    told.speak()
    assert told.state(SENSOR) is AlarmState.LATCHED
    told.alarms.reset()
    assert not told.alarms.latched


def test_it_stands_only_when_it_was_found_so_often_of_so_many_and_returns_when_none_is_left() -> None:
    twice = Made("sensor-silent", TRIP, (3, 5))
    alarms = Alarms()
    found = [Finding(twice.id, TRIP, "made up")]
    for number, speaks in enumerate((True, True, False, False, False, True, False, True)):
        alarms.take((twice,), found if speaks else [], float(number))
        assert not alarms.latched
    alarms.take((twice,), found, 9.0)
    assert alarms.latched


def test_where_a_watch_is_not_asked_its_alarm_is_suppressed_by_design_and_a_trip_stays_latched() -> None:
    told = Told()
    told.speak(SENSOR, HOLD)
    told.alarms.acknowledge(None)
    told.alarms.forget_unasked((), told.now_s)
    assert told.alarms.state_of("log-behind", asked=False) is AlarmState.SUPPRESSED
    assert told.alarms.state_of("sensor-open", asked=False) is AlarmState.LATCHED


# --- coming and going -----------------------------------------------------------------------------------------------


def test_an_alarm_that_comes_and_goes_is_told_only_when_it_lasts_and_one_advice_says_so() -> None:
    told = Told()
    for _ in range(12):
        told.speak(HOLD, after_s=2.0)
        told.speak(after_s=2.0)
    raised = [watch for watch, step in told.steps if step == "raised"]
    assert raised.count("log-behind") == 4  # three re-alarms a minute are told, the next ones not
    assert raised.count("alarm-chatters") == 1
    assert "Log can be written" in told.alarms.standing["alarm-chatters"].evidence
    for _ in range(4):
        told.speak(HOLD)
    assert [watch for watch, step in told.steps if step == "raised"].count("log-behind") == 5


def test_what_chatters_still_asks_the_furnace_for_all_of_it_each_time() -> None:
    told = Told()
    for _ in range(12):
        told.speak(HOLD, after_s=2.0)
        assert told.alarms.reaction == HOLD_WITHOUT_HEAT
        told.speak(after_s=2.0)
        assert told.alarms.reaction == NOTHING


def test_a_trip_that_chatters_is_told_and_latched_at_its_first_word() -> None:
    told = Told()
    for _ in range(6):
        told.speak(STUCK)
        told.speak()
    assert told.alarms.chatters(STUCK.id)
    told.alarms.reset()
    assert not told.alarms.latched
    told.speak(STUCK)
    told.speak()
    assert told.alarms.latched
    assert told.alarms.reaction.keep_away
    assert told.state(STUCK) is AlarmState.LATCHED_UNACKNOWLEDGED


def test_ten_quiet_minutes_end_the_chatter() -> None:
    told = Told()
    for _ in range(12):
        told.speak(HOLD)
        told.speak()
    assert told.alarms.chatters("log-behind")
    told.speak(after_s=601.0)
    assert not told.alarms.chatters("log-behind")
    assert ("alarm-chatters", "returned") in told.steps


# --- shelves and silence --------------------------------------------------------------------------------------------


def test_a_shelved_alarm_makes_no_sound_and_keeps_its_reaction_whole() -> None:
    told = Told()
    told.speak(HOLD)
    told.alarms.shelve("log-behind", Shelf(told.now_s + 600.0, "card on its way", "Ada"))
    assert told.state(HOLD) is AlarmState.SHELVED
    assert told.alarms.sounding(told.now_s) is None
    assert told.alarms.flashing(told.now_s) is None
    assert told.alarms.reaction == HOLD_WITHOUT_HEAT
    told.speak()
    told.speak(HOLD)
    assert told.alarms.sounding(told.now_s) is None
    assert told.alarms.reaction == HOLD_WITHOUT_HEAT
    assert told.alarms.load(0.0).told == 1


def test_a_shelf_ends_by_itself_and_what_still_stands_is_told_anew() -> None:
    told = Told()
    told.speak(HOLD)
    told.alarms.acknowledge(None)
    told.alarms.shelve("log-behind", Shelf(told.now_s + 60.0, "known", "Ada"))
    told.speak(HOLD, after_s=59.0)
    assert told.state(HOLD) is AlarmState.SHELVED
    told.speak(HOLD)
    assert ("log-behind", "unshelved") in told.steps
    assert told.state(HOLD) is AlarmState.UNACKNOWLEDGED
    assert told.alarms.sounding(told.now_s) is not None


def test_a_silence_is_for_what_sounds_then_and_for_two_minutes_alone() -> None:
    told = Told()
    told.speak(HOLD)
    told.alarms.silence(told.now_s)
    told.speak(HOLD)
    assert told.alarms.sounding(told.now_s) is None
    assert told.alarms.flashing(told.now_s) is not None
    told.speak(HOLD, ADVICE)
    for at_furnace in (True, False):
        call = told.alarms.sounding(told.now_s, at_furnace=at_furnace)
        assert call is not None
        assert call.priority == 3
    told.speak(HOLD, ADVICE, after_s=120.0)
    call = told.alarms.sounding(told.now_s)
    assert call is not None
    assert call.priority == 2


def test_every_shelf_that_ends_is_a_step_also_when_its_alarm_is_long_gone() -> None:
    told = Told()
    told.speak(HOLD)
    told.alarms.shelve("log-behind", Shelf(told.now_s + 60.0, "known", "Ada"))
    told.alarms.acknowledge(None)
    told.speak()
    told.speak(after_s=60.0)
    assert told.steps[-1] == ("log-behind", "unshelved")
    assert told.state(HOLD) is AlarmState.NORMAL


# --- what no act of a person can do ---------------------------------------------------------------------------------

ACTS = st.lists(
    st.one_of(
        st.tuples(st.just("speak"), st.sets(st.sampled_from(range(len(ALL))))),
        st.tuples(
            st.sampled_from(["acknowledge", "silence", "shelve", "unshelve", "press"]), st.sets(st.integers(0, 0))
        ),
    ),
    max_size=30,
)


@settings(max_examples=300, deadline=None)
@given(ACTS)
def test_nothing_that_people_do_short_of_a_reset_weakens_what_is_asked_of_the_furnace(
    acts: list[tuple[str, set[int]]],
) -> None:
    touched, left_alone = Told(), Told()
    for act, which in acts:
        if act == "speak":
            watches = [ALL[number] for number in sorted(which)]
            touched.speak(*watches)
            left_alone.speak(*watches)
        elif act == "acknowledge":
            touched.alarms.acknowledge(None)
        elif act == "press":
            touched.alarms.acknowledge(None, at_furnace=True)
        elif act == "silence":
            touched.alarms.silence(touched.now_s)
        elif act == "shelve":
            for watch in list(touched.alarms.standing):
                touched.alarms.shelve(watch, Shelf(touched.now_s + 5.0, "x", "Ada"))
        else:
            touched.alarms.unshelve(touched.now_s)
        assert touched.alarms.reaction == left_alone.alarms.reaction
        assert touched.alarms.latched == left_alone.alarms.latched


def test_every_watch_can_be_placed() -> None:
    assert all(TEXTS[watch.id].about for watch in WATCHES)


@pytest.mark.parametrize("steps", [1, 5])
def test_the_load_counts_the_worst_ten_minutes(steps: int) -> None:
    told = Told()
    for _ in range(steps):
        told.speak(POWER, after_s=700.0)
        told.speak()
        told.alarms.acknowledge(None)
    load = told.alarms.load(0.0)
    assert (load.told, load.peak_in_10_min) == (steps, 1)
    assert told.alarms.load(told.now_s + 1.0).told == 0
