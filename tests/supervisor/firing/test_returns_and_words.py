"""Own returns of a hold, both ends of a freeze, words from old pages, and what adds heat in one cycle."""

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from supervisor.firing import commands as c
from supervisor.firing.states import LIVE, State
from supervisor.watches.finding import Then
from tests.supervisor.firing.test_orders import EVERY_STATE, command_named, waiting_for_a_word
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, melt, running


def card_full_for_a_moment(hand: FurnaceAtHand) -> None:
    hand.memory = hand.memory.with_log(3.0, None)
    hand.run_until(lambda: hand.state is State.HELD, 5.0)
    hand.memory = hand.memory.with_log(0.0, None)


def test_a_findings_hold_ends_by_itself_three_times_and_then_by_a_person() -> None:
    hand = running(bake(to_c=600.0), start_c=450.0)
    for _ in range(3):
        card_full_for_a_moment(hand)
        hand.run_until(lambda: hand.state is State.RUNNING, 10.0)
    card_full_for_a_moment(hand)
    hand.wait(60.0)
    assert hand.state is State.HELD
    assert hand.resume().accepted
    hand.run_until(lambda: hand.state is State.RUNNING, 2.0)


def test_a_hold_below_the_reading_freezes_at_the_setpoint() -> None:
    hand = running(bake(to_c=600.0), start_c=450.0)
    hand.wait(60.0)
    assert hand.send(c.Lower(hand.by(), 40.0)).accepted
    hand.wait(2.0)
    setpoint_c = hand.memory.firing.setpoint_c
    assert setpoint_c is not None
    assert setpoint_c < hand.reading_c - 20.0
    hand.hold()
    assert hand.memory.firing.hold_setpoint_c == pytest.approx(setpoint_c, abs=0.3)


def test_a_word_from_a_page_that_is_old_is_refused() -> None:
    hand = waiting_for_a_word()
    note = c.Note(hand.by(), c.NoteKind.WORD, hand.epoch - 1, text="")
    assert not hand.send(note).accepted
    assert hand.send(c.Note(hand.by(), c.NoteKind.WORD, hand.epoch, text="")).accepted


@pytest.mark.parametrize("state", EVERY_STATE)
def test_an_open_sensor_ends_every_live_state(state: str) -> None:
    hand = EVERY_STATE[state]()
    was_live = hand.state in LIVE
    hand.inject("sensor_open")
    hand.wait(3.0)
    if was_live:
        assert hand.state in (State.ABORTING, State.ABORTED), hand.describe()


HEATS = ("start", "resume", "raise")
NAMES = st.sampled_from(["hold", "resume", "stop", "lower", "raise", "start", "prepare", "acknowledge"])


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(["idle", "running", "held", "held by the lid"]),
    st.lists(st.tuples(NAMES, st.booleans()), min_size=2, max_size=4),
    st.sampled_from([None, "sensor", "lid", "key", "log", "emergency"]),
)
def test_commands_of_two_phones_in_one_cycle(state: str, named: list[tuple[str, bool]], happens: str | None) -> None:
    hand = EVERY_STATE[state]()
    seen = hand.epoch
    makers: dict[str, Callable[[], object]] = {
        "sensor": lambda: hand.inject("sensor_open"),
        "lid": lambda: hand.furnace.lid(True),
        "key": lambda: hand.furnace.key(False),
        "log": lambda: setattr(hand, "memory", hand.memory.with_log(9.0, None)),
        "emergency": lambda: hand.furnace.emergency_stop(True),
    }
    if happens is not None:
        makers[happens]()
    commands = [command_named(name, hand, seen if fresh else seen - 1) for name, fresh in named]
    answers = hand.turn(*commands)
    stopped = any(name == "stop" for name, _ in named)
    for (name, fresh), answer in zip(named, answers, strict=True):
        if name in ("stop", "lower"):
            assert answer.accepted
        if name in HEATS and answer.accepted:
            assert fresh
            assert not stopped
            assert hand.memory.alarms.reaction.then < Then.HOLD


def test_an_addition_gives_a_spent_allowance_nothing_back() -> None:
    hand = running(melt(mass_kg=1.0), start_c=450.0)
    run = hand.memory.firing.run
    assert run is not None
    run.allowance_wh = run.energy_wh + 20.0
    hand.run_until(lambda: "energy-allowance" in hand.alarms(), 900.0)
    for epoch in (hand.epoch, hand.epoch - 5):
        allowed_wh = run.allowed_wh
        assert hand.send(c.Note(hand.by(), c.NoteKind.ADDITION, epoch, mass_kg=0.25)).accepted
        hand.wait(3.0)
        assert run.allowed_wh == allowed_wh
        assert hand.memory.alarms.reaction.duty_ceiling < 1.0


def test_an_addition_noted_from_an_old_page_is_kept_and_allows_no_more_energy() -> None:
    hand = running(melt(mass_kg=1.0), start_c=450.0)
    run = hand.memory.firing.run
    assert run is not None
    allowed_wh = run.allowed_wh
    assert hand.send(c.Note(hand.by(), c.NoteKind.ADDITION, hand.epoch - 1, mass_kg=0.25)).accepted
    assert (run.charge_kg, run.allowed_wh) == (1.25, allowed_wh)
    assert hand.send(c.Note(hand.by(), c.NoteKind.ADDITION, hand.epoch, mass_kg=0.25)).accepted
    assert run.allowed_wh > allowed_wh


def test_a_hold_above_the_reading_freezes_at_the_reading() -> None:
    hand = running(bake(to_c=600.0, rate_c_per_h=1200.0), start_c=300.0)
    hand.inject("mains_low", 0.6)
    firing = hand.memory.firing
    hand.run_until(lambda: (firing.setpoint_c or 0.0) > hand.reading_c + 8.0, 900.0)
    hand.hold()
    assert firing.hold_setpoint_c == pytest.approx(hand.reading_c, abs=2.0)
