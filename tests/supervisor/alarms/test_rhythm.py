"""What lamp and sounder say, read from the pins of the simulated furnace over virtual time."""

from itertools import groupby, pairwise
from typing import NamedTuple

import pytest

from hardware.ports import CYCLE_S
from supervisor.alarms.rhythm import BURSTS, sounds
from supervisor.firing import commands as c
from supervisor.firing.presses import Asked
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, furnace_at_hand, melt, running


class Pulse(NamedTuple):
    """One stretch with the pin high."""

    begin_s: float
    lasts_s: float


def pulses(hand: FurnaceAtHand, line: str, seconds: float) -> list[Pulse]:
    """The stretches in which a pin was high, while time passes."""
    levels = []
    for _ in range(round(seconds / CYCLE_S)):
        hand.turn()
        levels.append(hand.furnace.outputs[line])
    found, at = [], 0
    for level, stretch in groupby(levels):
        length = len(list(stretch))
        if level:
            found.append(Pulse(at * CYCLE_S, length * CYCLE_S))
        at += length
    return found


def bursts(found: list[Pulse], apart_s: float = 1.5) -> list[list[Pulse]]:
    """Pulses with less than so much between them belong together."""
    groups: list[list[Pulse]] = []
    for pulse in found:
        last = groups[-1][-1] if groups else None
        if last is not None and pulse.begin_s - (last.begin_s + last.lasts_s) < apart_s:
            groups[-1].append(pulse)
        else:
            groups.append([pulse])
    return groups


def hot() -> FurnaceAtHand:
    return running(bake(to_c=600.0), start_c=450.0)


def tripped() -> FurnaceAtHand:
    hand = hot()
    hand.inject("sensor_open")
    hand.run_until(lambda: bool(hand.alarms()), 3.0)
    return hand


def log_behind() -> FurnaceAtHand:
    hand = hot()
    hand.memory = hand.memory.with_log(9.0, None)
    hand.run_until(lambda: bool(hand.alarms()), 3.0)
    return hand


def key_turned() -> FurnaceAtHand:
    hand = hot()
    hand.furnace.key(False)
    hand.run_until(lambda: bool(hand.alarms()), 3.0)
    return hand


# IEC 60601-1-8:2006+A1:2012+A2:2020, Medical electrical equipment, general requirements for alarm systems, clause 6.3.3
# and its table of burst characteristics: high priority ten pulses, medium three, low one or two; the high burst comes
# again soonest, the low one late or not at all. The structure is the standard's, the numbers are from memory.


def test_an_alarm_of_first_priority_is_ten_pulses_and_comes_again_within_ten_seconds() -> None:
    found = bursts(pulses(tripped(), "sounder", 60.0))
    assert {len(burst) for burst in found[1:-1]} == {10}
    begins = [burst[0].begin_s for burst in found[1:]]
    assert begins == sorted(begins)
    assert max(after - before for before, after in pairwise(begins)) <= 10.0


def test_an_alarm_of_second_priority_is_three_pulses_and_comes_again_within_thirty_seconds() -> None:
    found = bursts(pulses(log_behind(), "sounder", 100.0))
    assert {len(burst) for burst in found[1:-1]} == {3}
    begins = [burst[0].begin_s for burst in found[1:]]
    assert max(after - before for before, after in pairwise(begins)) <= 30.0


def test_an_alarm_of_third_priority_is_two_pulses_once() -> None:
    hand = hot()
    hand.furnace.key(False)
    found = bursts(pulses(hand, "sounder", 120.0))
    assert [len(burst) for burst in found] == [2]


@pytest.mark.parametrize("priority", BURSTS)
def test_all_pulses_of_a_burst_are_alike_and_evenly_spaced_so_that_none_is_a_melody(priority: int) -> None:
    heard = [sounds(priority, 0.0, beat / 4.0) for beat in range(36)]
    lengths = [(level, len(list(stretch))) for level, stretch in groupby(heard)]
    inside = lengths[:-1]
    assert len({length for level, length in inside if level}) == 1
    assert len({length for level, length in inside[1:] if not level}) == 1


def test_the_lamp_tells_the_three_apart_without_a_sound() -> None:
    fast = pulses(tripped(), "lamp", 20.0)
    slow = pulses(log_behind(), "lamp", 20.0)
    steady = pulses(key_turned(), "lamp", 20.0)
    assert len(fast) >= 38
    assert 9 <= len(slow) <= 11
    assert len(steady) == 1
    assert steady[0].lasts_s >= 19.0


def test_a_question_is_short_ticks_and_long_light_and_an_alarm_long_pulses() -> None:
    hand = running(melt(), start_c=530.0)
    hand.run_until(lambda: hand.asked is Asked.GATE, 60.0)
    asked = pulses(hand, "sounder", 12.0)
    assert {pulse.lasts_s for pulse in asked} == {0.25}
    assert min(after.begin_s - before.begin_s for before, after in pairwise(asked)) == 2.0
    assert all(pulse.lasts_s == 0.5 for pulse in pulses(tripped(), "sounder", 30.0)[1:-1])
    lit = pulses(hand, "lamp", 12.0)[1:-1]
    assert {pulse.lasts_s for pulse in lit} == {1.5}


def test_a_held_press_ticks_faster_than_any_question_under_a_steady_lamp() -> None:
    hand = furnace_at_hand(start_c=450.0)
    hand.wait(1.0)
    hand.prepare(bake(to_c=500.0))
    hand.send(hand.start_command())
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.furnace.press(5.0)
    hand.wait(0.5)
    ticks = pulses(hand, "sounder", 2.0)
    assert {pulse.lasts_s for pulse in ticks} == {0.25}
    assert len(ticks) == 4
    assert hand.furnace.outputs["lamp"]


def test_while_a_question_and_an_alarm_stand_the_lamp_asks_and_the_sounder_alarms() -> None:
    hand = tripped()
    hand.wait(2.0)
    hand.send(c.Reset(hand.by(), "the plug was pulled"))
    hand.wait(1.0)
    assert hand.asked is Asked.RESET
    assert {pulse.lasts_s for pulse in pulses(hand, "sounder", 20.0)[1:-1]} == {0.5}
    hand = tripped()
    hand.wait(2.0)
    hand.send(c.Reset(hand.by(), "the plug was pulled"))
    hand.wait(1.0)
    assert {pulse.lasts_s for pulse in pulses(hand, "lamp", 20.0)[1:-1]} == {1.5}


# --- who can quiet it ------------------------------------------------------------------------------------------------


def loud(hand: FurnaceAtHand, seconds: float = 12.0) -> bool:
    return bool(pulses(hand, "sounder", seconds))


@pytest.mark.parametrize("act", ["acknowledge", "silence", "both"])
def test_from_elsewhere_nobody_quiets_a_trip_at_the_furnace_before_two_minutes(act: str) -> None:
    hand = tripped()
    if act != "silence":
        assert hand.send(c.Acknowledge(hand.by(), None)).accepted
    if act != "acknowledge":
        assert hand.send(c.Silence(hand.by())).accepted
    for _ in range(9):
        assert loud(hand)
    assert hand.shown()["sound"] is None  # pages are quiet


def test_a_press_at_the_furnace_quiets_a_trip_at_once_and_is_written_down_as_made_there() -> None:
    hand = tripped()
    hand.press()
    assert not loud(hand, 30.0)
    seen = [row for row in hand.records if getattr(row, "step", "") == "acknowledged"]
    assert [row.who for row in seen] == ["at the furnace"]  # type: ignore[union-attr]
    assert hand.memory.alarms.latched  # seen is not reset


def test_a_press_that_answers_a_question_is_not_spent_on_the_alarm() -> None:
    hand = running(melt(), start_c=530.0)
    hand.run_until(lambda: hand.asked is Asked.GATE, 60.0)
    hand.memory = hand.memory.with_log(2.5, None)
    hand.run_until(lambda: "log-behind" in hand.alarms(), 3.0)
    hand.memory = hand.memory.with_log(0.0, None)
    hand.wait(1.0)
    if hand.asked is None:
        hand.run_until(lambda: hand.asked is not None, 30.0)
    hand.press()
    assert hand.alarms("acknowledged") == []
    hand.press()
    assert hand.alarms("acknowledged") == ["log-behind"]


def test_a_silence_ends_after_two_minutes_and_acknowledges_nothing() -> None:
    hand = log_behind()
    assert hand.send(c.Silence(hand.by())).accepted
    assert hand.alarms("acknowledged") == []
    assert not loud(hand, 115.0)
    assert loud(hand, 30.0)


def test_what_comes_during_a_silence_sounds() -> None:
    hand = log_behind()
    assert hand.send(c.Silence(hand.by())).accepted
    assert not loud(hand, 10.0)
    hand.inject("sensor_open")
    hand.wait(2.0)
    assert loud(hand)


def test_when_nothing_sounds_a_silence_is_refused() -> None:
    hand = hot()
    answer = hand.send(c.Silence(hand.by()))
    assert not answer.accepted
    assert answer.sentence == "Nothing sounds."
