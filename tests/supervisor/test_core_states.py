"""What the furnace says of itself, by words, lamp and sounder, in states that people rarely see."""

from itertools import pairwise

import pytest

from hardware.ports import Reading
from supervisor.alarms.lifecycle import SOUNDS_FOR_S
from supervisor.firing import commands as c
from supervisor.firing.presses import Asked
from supervisor.firing.states import HEATED, State
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, furnace_at_hand, melt, names, running


def hot() -> FurnaceAtHand:
    return running(bake(to_c=600.0), start_c=450.0)


def sentence(hand: FurnaceAtHand) -> str:
    shown = hand.shown()["headline"]
    return f"{shown['before']} {shown['key']} {shown['after']}"


# --- lamp and sounder -----------------------------------------------------------------------------------------------


def silent_for_s(hand: FurnaceAtHand, seconds: float) -> float:
    """The longest time without lamp or sounder."""
    last_s, longest_s = hand.now_s, 0.0
    for _ in range(round(seconds * 4)):
        hand.turn()
        assert hand.outputs is not None
        if hand.outputs.lamp or hand.outputs.sounder:
            last_s = hand.now_s
        longest_s = max(longest_s, hand.now_s - last_s)
    return longest_s


def test_while_a_question_stands_lamp_or_sounder_comes_on_every_two_seconds() -> None:
    hand = running(melt(), start_c=530.0)
    hand.run_until(lambda: hand.asked is Asked.GATE, 60.0)
    assert silent_for_s(hand, 150.0) <= 2.0  # two and a half minutes: the question is put again each minute


def test_while_an_alarm_is_unacknowledged_lamp_and_sounder_come_on_every_two_seconds() -> None:
    hand = hot()
    hand.furnace.key(False)
    hand.wait(2.0)
    assert silent_for_s(hand, 60.0) <= 2.0
    hand.send(c.Acknowledge(hand.by(), None))
    hand.wait(1.0)
    assert silent_for_s(hand, 10.0) >= 9.0


def test_an_acknowledgement_from_elsewhere_does_not_silence_a_trip_at_the_furnace_for_two_minutes() -> None:
    hand = hot()
    hand.inject("sensor_open")
    hand.wait(2.0)
    hand.send(c.Acknowledge(hand.by(), None))
    assert silent_for_s(hand, SOUNDS_FOR_S - 5.0) <= 2.0
    hand.wait(10.0)
    assert silent_for_s(hand, 10.0) >= 9.0


def test_the_sounder_ticks_while_the_button_is_held() -> None:
    hand = furnace_at_hand(start_c=450.0)
    hand.wait(1.0)
    hand.prepare(bake(to_c=500.0))
    hand.send(hand.start_command())
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.furnace.press(5.0)
    hand.turn()
    ticks = []
    while hand.asked is Asked.START:
        hand.turn()
        assert hand.outputs is not None
        ticks.append(hand.outputs.sounder)
    changes = sum(before != after for before, after in pairwise(ticks))
    assert changes >= 8


# --- alarms ---------------------------------------------------------------------------------------------------------


def test_an_earlier_advice_is_not_the_first_cause_of_a_later_trip() -> None:
    hand = hot()
    run = hand.memory.firing.run
    assert run is not None
    run.allowance_wh = run.energy_wh + 1.0
    hand.run_until(lambda: "energy-allowance" in hand.alarms(), 60.0)
    hand.inject("sensor_open")
    hand.run_until(lambda: hand.state is State.ABORTED, 5.0)
    assert hand.first_cause == "sensor-open"
    first = [alarm["watch"] for alarm in hand.shown()["alarms"] if alarm["first_out"]]
    assert "sensor-open" in first


def test_what_follows_a_trip_is_not_first_out() -> None:
    hand = hot()
    hand.inject("contactor_welded")
    hand.furnace.emergency_stop(True)
    hand.wait(5.0)
    shown = hand.shown()["alarms"]
    assert set(names(shown)) == {"emergency-stop", "contactor-stuck"}
    assert [alarm["watch"] for alarm in shown if alarm["first_out"]] == ["emergency-stop"]
    assert hand.shown()["headline"]["key"] == "away."


def test_a_contactor_that_closes_at_rest_trips_and_keeps_people_away() -> None:
    hand = furnace_at_hand()
    hand.wait(5.0)
    interlock = hand.furnace.interlock
    interlock.contactor_welds = interlock.poles_closed = interlock.coil = True
    interlock.settle()
    hand.run_until(lambda: hand.state is State.ABORTING, 2.0)
    assert hand.alarms() == ["contactor-stuck"]
    assert hand.shown()["headline"]["key"] == "away."
    assert hand.shown()["heat"]["sentence"].endswith("switch off at the breaker.")


def test_power_at_rest_is_said_whatever_the_contactor_reads() -> None:
    hand = furnace_at_hand()
    hand.wait(10.0)
    for _ in range(30):
        hand.furnace.energy_pulses += 1
        hand.wait(1.0)
    assert "power-at-rest" in hand.alarms()
    assert hand.state is State.ABORTED


def test_with_the_supply_gone_nothing_is_said_to_be_off_and_nothing_to_be_stuck() -> None:
    hand = hot()
    hand.furnace.mains(False)
    hand.wait(10.0)
    assert hand.alarms() == ["supply-lost"]
    assert hand.shown()["state"] == "aborting"
    assert hand.shown()["heat"]["off"] == "ordered"
    assert hand.shown()["headline"]["key"] == "ordered"
    hand.furnace.mains(True)
    hand.wait(2.0)
    assert hand.state is State.ABORTED
    assert hand.shown()["heat"]["off"] == "proved"


def test_a_held_emergency_stop_is_no_stuck_contactor() -> None:
    hand = hot()
    hand.furnace.emergency_stop(True)
    hand.wait(30.0)
    assert hand.alarms() == ["emergency-stop"]
    assert hand.state is State.ABORTED


def test_a_reset_lets_nothing_stand_that_is_still_there() -> None:
    hand = hot()
    hand.inject("contactor_welded")
    hand.stop()
    hand.run_until(lambda: "contactor-stuck" in hand.alarms(), 3.0)
    assert not hand.send(c.Reset(hand.by(), "nothing")).accepted  # aborting still: not proved open
    hand.hold_button()
    assert hand.state is State.ABORTING
    assert hand.memory.alarms.latched


def test_an_earlier_firing_that_was_cut_short_is_said_as_it_is_and_reset_at_the_furnace() -> None:
    hand = furnace_at_hand(left_open="A-096 ended without its closing record.")
    hand.wait(1.0)
    assert sentence(hand).startswith("A-096 ended without its closing record. Heat is off")
    hand.prepare(bake())
    refused = hand.send(hand.start_command())
    assert not refused.accepted
    assert refused.sentence.startswith("A-096 ended without its closing record.")
    assert hand.send(c.Reset(hand.by(), "the plug was pulled")).accepted
    hand.wait(0.5)
    hand.hold_button()
    assert hand.shown()["left_open"] is None
    assert hand.state is State.IDLE
    assert hand.send(hand.start_command()).accepted


# --- words ----------------------------------------------------------------------------------------------------------


def test_a_pot_that_may_hold_liquid_is_said_whatever_a_sudden_reading_says() -> None:
    hand = running(melt(), start_c=620.0)
    hand.run_until(lambda: hand.asked is Asked.GATE, 60.0)
    hand.press()
    hand.run_until(lambda: hand.shown()["may_be_liquid"], 1200.0)
    hand.stop()
    hand.wait(2.0)
    assert "liquid" in sentence(hand)
    hand.prepare(bake())
    assert hand.shown()["may_be_liquid"]
    assert "liquid" in sentence(hand)
    for _ in range(15 * 4):  # a probe that slips out reads so in a moment: it is no chamber that has cooled
        sample = hand.hardware.sample()
        reading = sample.sensors[0]
        assert isinstance(reading, Reading)
        hand.turn(sample=sample._replace(sensors=(reading._replace(hot_junction_c=50.0),)))
    assert hand.memory.firing.liquid_left
    assert hand.shown()["may_be_liquid"]
    assert hand.memory.firing.cooling.doubted


def test_a_pot_that_was_poured_is_not_said_to_hold_liquid() -> None:
    hand = running(melt(), start_c=620.0)
    hand.run_until(lambda: hand.asked is Asked.GATE, 60.0)
    hand.press()
    hand.run_until(lambda: hand.shown()["may_be_liquid"], 1200.0)
    hand.note(c.NoteKind.POUR)
    hand.wait(2.0)
    assert hand.state is State.COMPLETE
    assert not hand.shown()["may_be_liquid"]


def test_a_hold_while_the_profile_waits_for_a_word_is_left_and_it_waits_again() -> None:
    hand = running(bake(to_c=455.0, rate_c_per_h=600.0, hold_s=5.0), start_c=450.0)
    run = hand.memory.firing.run
    assert run is not None
    hand.stop()
    hand = running(melt(to_c=470.0, alloy="6082"), start_c=455.0)
    run = hand.memory.firing.run
    assert run is not None
    hand.run_until(lambda: run.walk.waits_for == "your word", 1500.0)
    assert kinds(hand)["go on"]
    assert hand.hold().accepted
    assert not kinds(hand)["go on"]
    assert not hand.note(c.NoteKind.WORD).accepted
    assert hand.resume().accepted
    hand.run_until(lambda: hand.state in HEATED and run.walk.waits_for == "your word", 300.0)
    assert hand.note(c.NoteKind.WORD).accepted
    hand.wait(2.0)
    assert run.walk.segment == 2


def kinds(hand: FurnaceAtHand) -> dict[str, bool]:
    return {note["kind"]: note["allowed"] for note in hand.shown()["notes"]}


def test_the_question_of_the_allowance_is_put_every_six_minutes_at_most() -> None:
    hand = hot()
    run = hand.memory.firing.run
    assert run is not None
    run.allowance_wh = run.energy_wh
    hand.wait(1200.0)
    asked = [event for event in hand.events("question") if event.detail["asked"] == "allowance"]
    assert 3 <= len(asked) <= 4


def test_what_was_raised_again_comes_back_at_the_segments_rate() -> None:
    hand = running(bake(to_c=460.0, rate_c_per_h=360.0), start_c=450.0)
    hand.wait(200.0)
    hand.send(c.Lower(hand.by(), 40.0))
    hand.wait(2.0)
    lowered_c = hand.shown()["setpoint_c"]
    assert lowered_c == pytest.approx(420.0, abs=1.0)
    assert hand.send(c.Raise(hand.by(), hand.epoch, 40.0)).accepted
    hand.wait(0.5)
    hand.hold_button()
    hand.wait(10.0)
    assert lowered_c < hand.shown()["setpoint_c"] <= lowered_c + 2.0
    hand.wait(420.0)
    assert hand.shown()["setpoint_c"] == pytest.approx(460.0)


def test_the_snapshot_says_when_the_gate_will_ask() -> None:
    hand = running(melt(rate_c_per_h=600.0), start_c=350.0)
    hand.wait(120.0)
    in_s = hand.shown()["gate"]["in_s"]
    assert in_s is not None
    took_s = hand.run_until(lambda: hand.asked is Asked.GATE, 2000.0)
    assert took_s == pytest.approx(in_s, abs=240.0)
    assert hand.shown()["gate"]["state"] == "asked"
    assert hand.shown()["gate"]["in_s"] is None


def test_a_profile_below_the_chamber_is_a_condition_and_not_a_trip() -> None:
    hand = furnace_at_hand(start_c=450.0)
    hand.wait(1.0)
    hand.prepare(bake(to_c=200.0))
    refused = hand.send(hand.start_command())
    assert not refused.accepted
    assert "hotter" in refused.sentence
    assert "1 condition missing" in sentence(hand)


def test_a_stop_at_rest_says_what_is_proved() -> None:
    hand = furnace_at_hand()
    hand.wait(1.0)
    assert "proved open" in hand.stop().sentence
    hand.furnace.mains(False)
    hand.wait(5.0)
    assert "breaker" in hand.stop().sentence
