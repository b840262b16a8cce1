"""One upset, one thing to read: which alarm leads, what folds under it, and when the next one leads anew."""

from hypothesis import given, settings
from hypothesis import strategies as st

from supervisor.watches.finding import ADVISE, TRIP, Finding
from tests.supervisor.alarms.told import ADVICE, LIMITER, PEOPLE, POWER, RELAY, SENSOR, SLIP, STUCK, Made, Told


def test_the_earliest_leads_and_what_follows_is_recorded_folded_and_makes_no_sound() -> None:
    told = Told()
    told.speak(SENSOR)
    told.alarms.acknowledge(None, at_furnace=True)
    told.speak(SENSOR, LIMITER, after_s=30.0)
    assert told.first_out() == {"sensor-open"}
    assert told.folded() == {"limiter"}
    assert ("limiter", "raised") in told.steps
    assert told.alarms.standing["limiter"].follows == "sensor-open/1"
    assert told.alarms.sounding(told.now_s) is None
    assert told.alarms.flashing(told.now_s) is None


def test_a_follower_that_is_more_urgent_stays_in_sight_and_sounds() -> None:
    told = Told()
    told.speak(LIMITER)
    told.alarms.acknowledge(None, at_furnace=True)
    told.speak(LIMITER, STUCK)
    assert told.first_out() == {"limiter"}
    assert told.folded() == set()
    call = told.alarms.sounding(told.now_s)
    assert call is not None
    assert call.priority == 1
    told.speak(LIMITER, STUCK, RELAY)  # as urgent as what is heard already
    assert told.folded() == {"power-without-command"}


def test_what_asks_for_more_than_the_leader_leads_anew() -> None:
    told = Told()
    told.speak(ADVICE)
    told.speak(ADVICE, SENSOR)
    assert told.first_out() == {"mass-doubted", "sensor-open"}
    assert told.alarms.speaking(TRIP.then) == ["sensor-open"]


def test_an_advice_that_stands_for_long_hides_nothing_that_comes_later() -> None:
    told = Told()
    late = Made("energy-allowance", ADVISE)
    told.speak(ADVICE)
    told.now_s += 1000.0
    told.alarms.take((late,), [Finding(late.id, ADVISE, "made up")], told.now_s)
    assert told.folded() == set()
    assert told.first_out() == {"mass-doubted", "energy-allowance"}


def test_a_trip_whose_cause_still_stands_leads_for_as_long_as_that() -> None:
    told = Told()
    told.speak(SENSOR)
    told.speak(SENSOR, SLIP, after_s=3000.0)
    assert told.folded() == {"rate-impossible"}


def test_ten_minutes_after_a_cause_that_is_gone_the_next_alarm_is_an_upset_of_its_own() -> None:
    told = Told()
    told.speak(POWER)
    told.alarms.acknowledge(None)
    told.speak()
    told.speak(SLIP, after_s=601.0)
    assert told.first_out() == {"rate-impossible"}
    assert told.folded() == set()


def test_an_alarm_about_people_never_folds_under_the_furnace() -> None:
    told = Told()
    told.speak(SENSOR)
    told.speak(SENSOR, PEOPLE)
    assert told.folded() == set()


def test_after_a_reset_the_next_alarm_leads_again() -> None:
    told = Told()
    told.speak(SENSOR)
    told.speak()
    told.alarms.reset()
    told.speak(LIMITER)
    assert told.first_out() == {"limiter"}


@settings(max_examples=200, deadline=None)
@given(st.permutations([SENSOR, SLIP, LIMITER, STUCK, RELAY, POWER]), st.lists(st.floats(0.0, 80.0), min_size=6))
def test_whatever_speaks_after_one_fault_a_person_is_told_at_most_three_alarms(
    order: list[Made], gaps_s: list[float]
) -> None:
    told = Told()
    speaking: list[Made] = []
    for watch, gap_s in zip(order, gaps_s, strict=False):
        speaking.append(watch)
        told.speak(*speaking, after_s=1.0 + gap_s)
    assert told.alarms.load(0.0).peak_in_10_min <= 3
    assert told.alarms.load(0.0).told + told.alarms.load(0.0).followed == len(order)
