"""The headline: what it says first."""

import re

import pytest

from supervisor.cli.status import lines
from supervisor.firing.presses import Asked
from supervisor.firing.states import State
from supervisor.furnace.stages import Unlocking
from supervisor.model.touch import CoolDown
from tests.supervisor.firing.watched import SHORT, may_go_away
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, furnace_at_hand, melt, running


def said(hand: FurnaceAtHand) -> str:
    shown = hand.shown()["headline"]
    return " ".join((shown["before"], shown["key"], shown["after"]))


def test_while_the_relay_is_proved_nothing_else_is_said_and_nobody_is_called_to_the_furnace() -> None:
    hand = running(melt(), start_c=540.0)
    hand.run_until(lambda: hand.asked is Asked.GATE, 300.0)
    assert said(hand).startswith("The gate asks")
    hand.memory.firing.proofs.pulse_since_s = hand.now_s
    assert said(hand).startswith("Proving the relay:")
    assert "Hands away" in said(hand)


@pytest.mark.parametrize(
    ("stage", "words", "tone"),
    [
        ("asked", "Heating. Are you there? Tap what you see, or press, before {hour}.", "wanted"),
        ("phone", "Nobody answered. Are you there? Tap or press: held from {hour}.", "act"),
        ("hold", "Nobody answered: held. Heat ends {hour} without a press at the furnace.", "act"),
    ],
)
def test_what_a_missed_sign_brings_is_said_with_its_hour(stage: str, words: str, tone: str) -> None:
    hand = may_go_away(running(bake(to_c=500.0, rate_c_per_h=60.0), start_c=300.0, described=SHORT))
    hand.run_until(lambda: hand.shown()["attendance"]["stage"] == stage, 900.0)
    hand.wait(2.0)
    assert said(hand) == words
    shown = hand.shown()
    assert shown["headline"]["tone"] == tone
    when = {"asked": "due_s", "phone": "hold_s", "hold": "end_s"}[stage]
    assert shown["headline"]["in_s"] == pytest.approx(shown["attendance"][when] - hand.now_s)


def test_where_a_tap_does_not_count_the_headline_says_so() -> None:
    hand = running(bake(to_c=500.0, rate_c_per_h=60.0), start_c=300.0, described=SHORT)
    hand.run_until(lambda: hand.shown()["attendance"]["stage"] == "asked", 900.0)
    hand.wait(2.0)
    assert said(hand) == "Press the button at the furnace by {hour} A tap does not count."
    hand.run_until(lambda: hand.shown()["attendance"]["stage"] == "due", 900.0)
    assert said(hand) == "Overdue. Go to the furnace and press: held from {hour}."


def test_once_a_press_has_come_a_hold_for_a_missed_sign_says_how_to_go_on() -> None:
    hand = running(bake(to_c=500.0, rate_c_per_h=60.0), start_c=300.0, described=SHORT)
    hand.run_until(lambda: hand.state is State.HELD, 900.0)
    hand.press()
    hand.wait(2.0)
    assert said(hand) == "At the furnace: hold its button 3 s to go on, within 60 s."
    hand.wait(70.0)
    assert said(hand) == "Held, as nobody answered. Going on needs the button: hold it 3 s as it asks."


def test_the_command_line_says_when_the_next_sign_is_due_too() -> None:
    hand = running(bake(to_c=500.0, rate_c_per_h=60.0), start_c=300.0, described=SHORT)
    hand.wait(2.0)
    shown = {**hand.shown(), "age_s": 0.0, "utc_ms": 0}
    shown["firing"] = {**shown["firing"], "started_utc_ms": None}
    assert re.search(r"Next sign at the furnace by \d\d:\d\d\.$", lines(shown)[0])


def test_a_hot_furnace_at_rest_says_until_when_not_to_touch_it() -> None:
    hand = running(bake(to_c=300.0, rate_c_per_h=600.0), start_c=280.0)
    hand.memory.firing.cooling.down = CoolDown((60.0, 400.0), (0.0, 36_000.0))
    hand.stop()
    hand.wait(30.0)
    shown = hand.shown()["headline"]
    assert said(hand).startswith("Stopped: do not touch before {hour} {day}Pot ")
    assert "off, proved" in shown["after"]
    reading = hand.memory.belief.reading
    assert reading is not None
    left_s = hand.memory.firing.cooling.down.left(reading.hot_junction_c)
    assert left_s <= shown["in_s"] <= left_s + 600.0
    hand.memory.firing.cooling.doubted = True
    assert "Do not touch." in said(hand)


def test_a_dry_out_that_waits_says_for_what() -> None:
    hand = running(bake(to_c=300.0, rate_c_per_h=600.0), start_c=280.0)
    assert hand.memory.firing.run is not None
    hand.memory.firing.run.walk.waits_for = "the lining to dry"
    assert said(hand).startswith("Stay. Water leaves the lining at 2")
    assert said(hand).endswith("The profile waits until it is dry.")


def test_a_furnace_that_is_not_unlocked_says_how_far_it_is() -> None:
    hand = furnace_at_hand()
    hand.wait(1.0)
    hand.memory.firing.unlocking = Unlocking(counted=True)
    assert re.fullmatch(r"Heat is locked: \d+ cold proofs to do first\.", said(hand))
    assert hand.shown()["headline"]["tone"] == "stay"


def test_a_melt_that_was_stopped_before_it_was_poured_leaves_no_drained_pot() -> None:
    hand = running(melt(), start_c=450.0)
    hand.memory.firing.drained = True  # looked into before the start
    assert hand.shown()["pot_drained"]
    hand.stop()
    hand.wait(30.0)
    hand.memory.firing.cooling.down = CoolDown((60.0, 500.0), (0.0, 36_000.0))
    assert not hand.shown()["pot_drained"]
    assert "Pot not known to be drained; off, proved." in said(hand)
