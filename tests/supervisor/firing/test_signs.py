"""Signs in whole firings: what a missed one brings, read from the pins, and what is a sign."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from supervisor.firing.presses import Asked
from supervisor.firing.states import HEATED, LIVE, State
from supervisor.watches.person import ABOVE_LIQUIDUS_K
from tests.supervisor.firing.watched import (
    SHORT,
    asked,
    at_the_gate,
    baking,
    due_in_s,
    may_go_away,
    pages_come,
    pages_go,
    stage,
    tap,
)
from tests.supervisor.furnace_at_hand import bake, furnace_at_hand, melt, running


def test_a_sign_that_nobody_gives_brings_lamp_page_sounder_hold_and_the_end_of_heat_in_their_order() -> None:
    hand = running(bake(to_c=500.0, rate_c_per_h=60.0), start_c=300.0)
    hand.run_until(lambda: stage(hand) != "none", 2.0)
    due_s = hand.shown()["attendance"]["due_s"]
    began_s = due_s - 1800.0
    seen: dict[str, float] = {}
    lamp_s = sounder_s = None
    while hand.state in LIVE:
        hand.turn()
        seen.setdefault(stage(hand), hand.now_s - due_s)
        if lamp_s is None and hand.furnace.outputs["lamp"]:
            lamp_s = hand.now_s - due_s
        if hand.now_s >= due_s + 10.0 and sounder_s is None and hand.furnace.outputs["sounder"]:
            sounder_s = hand.now_s - due_s
    assert hand.now_s - began_s == pytest.approx(1800.0 + 900.0, abs=2.0)
    expected = {"asked": -300.0, "due": 0.0, "phone": 30.0, "sounder": 60.0, "second contact": 120.0, "hold": 300.0}
    assert {name: at_s for name, at_s in seen.items() if name in expected} == pytest.approx(expected, abs=1.0)
    assert lamp_s == pytest.approx(-300.0, abs=2.0)
    assert sounder_s == pytest.approx(60.0, abs=3.0)
    (held,) = [e for e in hand.events("state") if e.detail["to"] == "holding"]
    assert held.detail["why"] == "sign-missed"
    assert hand.first_cause == "nobody-there"
    assert hand.alarms() == ["sign-due", "sign-missed", "nobody-there"]
    leaves_out_s = 2.0 * hand.memory.furnace.relay_window_s  # at this duty not every window has a pulse
    for line, earlier_s in (("relay", leaves_out_s), ("enable", 0.0)):
        assert not hand.level(line)
        assert due_s + 898.0 - earlier_s <= hand.last_edge_s(line) <= due_s + 902.0


def test_the_headline_always_says_when_the_next_sign_is_due() -> None:
    hand = furnace_at_hand(start_c=450.0, described=SHORT)
    hand.furnace.add_charge(2.0, 20.0, "6082")
    hand.wait(1.0)
    hand.prepare(melt(rate_c_per_h=400.0))
    hand.send(hand.start_command())
    seen: set[State] = set()
    for number in range(4 * 1500):
        if hand.state in LIVE:
            shown = hand.shown()
            headline, attendance = shown["headline"], shown["attendance"]
            seen.add(hand.state)
            words = " ".join((headline["before"], headline["key"], headline["after"]))
            assert headline["next_sign"] or "{hour}" in words, (hand.state, headline)
            if hand.state in HEATED and attendance["due_s"] is not None:
                hours = (headline["in_s"], headline["next_sign_in_s"])
                assert attendance["due_s"] - hand.now_s in hours or headline["tone"] == "act", headline
        hand.turn()
        if hand.asked is Asked.START:
            hand.furnace.press(3.75)
        if number == 900:
            hand.hold()
        if number == 1000:
            hand.furnace.lid(True)
        if number == 1100:
            hand.furnace.lid(False)
    assert {State.STARTING, State.RUNNING, State.HELD} <= seen


def test_the_start_press_is_a_sign_and_each_answer_at_the_furnace_is_one() -> None:
    hand = at_the_gate()
    hand.wait(250.0)
    assert due_in_s(hand) <= 150.0
    hand.press()
    assert due_in_s(hand) == pytest.approx(200.0, abs=2.0)  # the gate is open now


def test_a_press_that_answers_nothing_is_no_sign() -> None:
    hand = baking()
    hand.wait(60.0)
    due_s = hand.shown()["attendance"]["due_s"]
    hand.press()
    assert hand.shown()["attendance"]["due_s"] == due_s


def test_pages_that_have_gone_start_the_stages_a_minute_later_after_a_tap() -> None:
    hand = asked(baking())
    assert tap(hand).accepted
    hand.wait(30.0)
    pages_go(hand)
    hand.wait(59.0)
    assert stage(hand) == "asked"
    hand.wait(3.0)
    assert stage(hand) == "due"
    assert hand.alarms() == ["signs-lost"]
    pages_come(hand)
    hand.wait(2.0)
    assert stage(hand) == "not due"
    assert hand.state is State.RUNNING


def test_pages_that_have_gone_change_nothing_while_a_press_is_good() -> None:
    hand = baking()
    pages_go(hand)
    hand.wait(150.0)
    assert stage(hand) == "not due"
    assert not hand.alarms()


def test_liquid_metal_that_nobody_looks_after_is_held_no_hotter_than_a_little_above_its_liquidus() -> None:
    hand = running(melt(mass_kg=0.5, word=True), start_c=735.0)
    hand.run_until(lambda: hand.asked is Asked.GATE, 30.0)
    hand.press()
    hand.run_until(lambda: hand.state is State.HELD, 1300.0)
    assert hand.alarms()[:2] == ["sign-due", "sign-missed"]
    run = hand.memory.firing.run
    assert run is not None
    assert run.profile.charge is not None
    assert run.profile.charge.liquidus_c is not None
    ceiling_c = run.profile.charge.liquidus_c + ABOVE_LIQUIDUS_K
    hand.wait(1.0)
    assert hand.shown()["setpoint_c"] == pytest.approx(ceiling_c)
    hand.press()
    hand.wait(2.0)
    assert hand.state is State.HELD
    assert hand.shown()["setpoint_c"] <= ceiling_c  # the cause is gone; going on is for a held press
    assert hand.asked is Asked.RESUME


def test_a_hot_chamber_asks_for_signs_after_its_firing_has_ended_and_a_trip_does_not() -> None:
    hand = may_go_away(running(bake(to_c=720.0), start_c=700.0, described=SHORT))
    hand.stop()
    hand.run_until(lambda: hand.state is State.STOPPED, 10.0)
    assert due_in_s(hand) > 0.0
    hand.run_until(lambda: stage(hand) != "not due", 300.0)
    assert hand.asked is Asked.SIGN
    hand.press()
    assert stage(hand) == "not due"
    hand.run_until(lambda: hand.reading_c < 589.0, 20_000.0)
    hand.wait(1.0)
    assert stage(hand) == "none"
    assert hand.asked is None

    hand = running(bake(to_c=720.0), start_c=700.0, described=SHORT)
    hand.inject("sensor_open")
    hand.run_until(lambda: hand.state is State.ABORTED, 5.0)
    hand.wait(300.0)
    assert stage(hand) == "none"
    assert hand.asked is None


@settings(max_examples=4, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    answers=st.lists(st.sampled_from(["press", "tap", "nothing"]), min_size=4, max_size=4),
    missing=st.sets(st.integers(0, 3), min_size=1),
)
def test_no_answer_only_ever_lowers_heat(answers: list[str], missing: set[int]) -> None:
    """Two furnaces alike, one with fewer answers: in each second its setpoint and what it was given are no higher."""
    hands = [may_go_away(running(bake(to_c=700.0, rate_c_per_h=400.0), start_c=300.0, described=SHORT)) for _ in "ab"]
    at_s = [200.0 * (number + 1) for number in range(4)]
    for second in range(1100):
        for which, hand in enumerate(hands):
            hand.wait(1.0)
            if float(second) in at_s:
                number = at_s.index(float(second))
                silent = which == 1 and number in missing
                if answers[number] == "press" and not silent and hand.asked is Asked.SIGN:
                    hand.furnace.press(0.5)
                elif answers[number] == "tap" and not silent:
                    tap(hand)
        answering, quiet = hands
        setpoints_c = (quiet.memory.firing.setpoint_c, answering.memory.firing.setpoint_c)
        if None not in setpoints_c:
            assert setpoints_c[0] <= setpoints_c[1] + 0.5  # type: ignore[operator]
        assert quiet.relay_on_s <= answering.relay_on_s + 2.0
