"""'Heat is off' is said only while it is proved: every alarm's text with every combination of proofs."""

from collections.abc import Callable
from dataclasses import replace
from itertools import product

import pytest

from hardware.ports import Level
from supervisor.alarms.proved import Proofs, heat_words
from supervisor.alarms.texts import TEXTS
from supervisor.firing import commands as c
from supervisor.firing.states import State
from tests.supervisor.alarms.test_texts import ALARMS, CLAIMS_OFF
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake, furnace_at_hand, running

PROOFS = [
    Proofs(enable, mirror, off_for_s, none_for_s, flows)
    for enable, mirror, off_for_s, none_for_s, flows in product(
        (False, True), Level, (0.0, 2.9, 3.0, 3.1, 600.0), (None, 0.0, 9.9, 10.0, 600.0), (False, True)
    )
]


def may_be_said(proofs: Proofs) -> bool:
    """The rule, in its own words: the mirror reads open, or the relay is off and nothing has flowed for 10 s."""
    if proofs.enable or proofs.flows:
        return False
    if proofs.mirror is Level.CLOSED:
        return True
    if proofs.mirror is Level.OPEN:
        return False  # stricter than the rule: a contactor that should be open and is not outweighs any meter
    return proofs.none_for_s is not None and proofs.none_for_s >= 10.0


@pytest.mark.parametrize("name", ALARMS)
def test_with_each_alarm_heat_is_said_to_be_off_only_while_that_is_proved(name: str) -> None:
    text = TEXTS[name]
    for proofs in PROOFS:
        known = heat_words(proofs)
        page = [known.sentence, text.sentence, text.consequence, text.act]
        claims = [said for said in page if CLAIMS_OFF.search(said) and "Off was ordered" not in said]
        assert bool(claims) == may_be_said(proofs), (proofs, claims)
        assert (known.off == "proved") == may_be_said(proofs)


@pytest.mark.parametrize("proofs", [p for p in PROOFS if not p.enable and not may_be_said(p)])
def test_what_is_not_proved_is_said_to_be_ordered_and_after_three_seconds_the_breaker_is_named(proofs: Proofs) -> None:
    said = heat_words(proofs, "breaker F3, by the door").sentence
    assert said.startswith("Off was ordered, ")
    assert ("switch off at breaker F3, by the door" in said) == (proofs.off_for_s > 3.0 or proofs.flows)


@pytest.mark.parametrize("flows", [False, True])
def test_an_input_that_is_not_fitted_proves_nothing(flows: bool) -> None:
    assert heat_words(Proofs(False, Level.NOT_FITTED, 600.0, None, flows)).off == "ordered"


# --- at the furnace --------------------------------------------------------------------------------------------------


def tripped(hand: FurnaceAtHand) -> FurnaceAtHand:
    hand.inject("sensor_open")
    hand.run_until(lambda: bool(hand.alarms()), 3.0)
    return hand


def test_a_contactor_that_opens_proves_it_within_a_second() -> None:
    hand = tripped(running(bake(to_c=600.0), start_c=450.0))
    hand.wait(1.0)
    assert hand.shown()["heat"]["sentence"] == "Heat is off: the contactor reads open."


def test_a_welded_contactor_is_never_off_however_quiet_the_meter() -> None:
    hand = running(bake(to_c=600.0), start_c=450.0)
    hand.wait(60.0)
    hand.inject("contactor_welded")
    tripped(hand)
    hand.wait(120.0)
    heat = hand.shown()["heat"]
    assert (heat["off"], heat["sentence"]) == ("ordered", "Off was ordered, not proved: switch off at the breaker.")
    assert hand.shown()["headline"]["key"] == "away."


def test_what_stop_and_lower_answer_over_a_furnace_that_is_not_proved_off_says_no_more_than_is_known() -> None:
    idle = furnace_at_hand()
    idle.wait(1.0)
    idle.prepare(bake())
    idle.inject("chain_supply_lost")  # every line reads open, the contactor's own too
    idle.wait(4.0)
    assert idle.state is State.IDLE
    assert idle.stop().sentence == "Off was ordered, not proved: switch off at the breaker."
    hot = running(bake(to_c=600.0), start_c=450.0)
    hot.inject("contactor_welded")
    hot.inject("relay_stuck_on")
    tripped(hot)
    assert "heating" not in hot.send(c.Lower(hot.by(), 10.0)).sentence


def test_pulses_of_the_moment_before_the_contactor_opened_speak_against_nothing() -> None:
    hand = running(bake(to_c=460.0), start_c=450.0)
    hand.wait(30.0)
    hand.inject("relay_stuck_on")
    hand.run_until(lambda: bool(hand.alarms()), 1200.0)
    hand.wait(1.0)
    assert hand.shown()["heat"]["off"] == "proved", hand.alarms()


def test_current_that_flows_overrules_a_mirror_that_reads_open() -> None:
    hand = furnace_at_hand()
    hand.wait(10.0)
    for _ in range(12):
        hand.furnace.energy_pulses += 1
        hand.wait(0.5)
    assert hand.memory.sample is not None
    assert hand.memory.sample.inputs.mirror is Level.CLOSED
    shown = hand.shown()
    assert shown["heat"]["off"] == "ordered"
    assert shown["heat"]["sentence"].startswith("Off was ordered, but current still flows: switch off")
    assert "off," not in shown["headline"]["key"]
    assert hand.stop().sentence == shown["heat"]["sentence"]


def without_mirror(sees: Callable[[FurnaceAtHand], None]) -> FurnaceAtHand:
    """A firing whose mirror is taken away after the trip: what the other inputs prove then."""
    hand = running(bake(to_c=600.0), start_c=450.0)
    hand.run_until(lambda: hand.memory.firing.power.fair > 3 and hand.furnace.outputs["relay"], 300.0)
    tripped(hand)
    sees(hand)
    return hand


def see_for(hand: FurnaceAtHand, seconds: float) -> None:
    for _ in range(round(seconds * 4)):
        sample = hand.hardware.sample()
        hand.turn(sample=sample._replace(inputs=sample.inputs._replace(mirror=Level.NOT_FITTED)))


def test_where_no_mirror_is_fitted_a_meter_that_has_counted_proves_it_after_ten_seconds() -> None:
    hand = without_mirror(lambda hand: see_for(hand, 8.0))
    assert hand.shown()["heat"]["off"] == "ordered"
    see_for(hand, 4.0)
    assert hand.shown()["heat"]["sentence"] == "Heat is off: no current has flowed for 10 s."


def test_a_meter_that_never_counted_in_this_firing_proves_nothing() -> None:
    described = replace(BENCH, pulses_per_kwh=None, wiring=BENCH.wiring._replace(energy_pulse=None))
    hand = furnace_at_hand(start_c=450.0, described=described)
    hand.wait(12.0)
    see_for(hand, 30.0)
    assert hand.shown()["heat"]["off"] == "ordered"
