"""Commands: stop and lower from anybody, always; what adds heat only for eyes that saw the furnace as it is."""

from collections.abc import Callable
from functools import partial
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from supervisor.alarms.shelf import shelvable
from supervisor.firing import commands as c
from supervisor.firing.orders import NAMES
from supervisor.firing.presses import Asked
from supervisor.firing.states import LIVE, State
from supervisor.logbook.records import CommandRow
from supervisor.rehearsal.copied import in_a_copy
from supervisor.watches.finding import Then
from tests.supervisor.firing.knowing import as_described
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, furnace_at_hand, melt, running


def stopped() -> FurnaceAtHand:
    hand = furnace_at_hand(start_c=450.0)
    hand.wait(1.0)
    return hand


def idle() -> FurnaceAtHand:
    hand = stopped()
    hand.prepare(melt())
    return hand


def starting() -> FurnaceAtHand:
    hand = idle()
    assert hand.send(hand.start_command()).accepted
    return hand


def asking() -> FurnaceAtHand:
    hand = starting()
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    return hand


def held() -> FurnaceAtHand:
    hand = running()
    assert hand.hold().accepted
    hand.wait(1.0)
    return hand


def held_by_lid() -> FurnaceAtHand:
    hand = running()
    hand.furnace.lid(True)
    hand.wait(2.0)
    return hand


def ended() -> FurnaceAtHand:
    hand = running()
    hand.stop()
    hand.wait(2.0)
    return hand


def complete() -> FurnaceAtHand:
    hand = furnace_at_hand(start_c=100.0)
    hand.start(bake(to_c=100.0, hold_s=5.0))
    hand.run_until(lambda: hand.state is State.COMPLETE, 900.0)
    return hand


def aborting() -> FurnaceAtHand:
    hand = running()
    hand.inject("contactor_welded")
    hand.inject("sensor_open")
    hand.wait(2.0)
    return hand


def aborted() -> FurnaceAtHand:
    hand = running()
    hand.inject("sensor_open")
    hand.wait(3.0)
    return hand


def waiting_for_a_word() -> FurnaceAtHand:
    hand = furnace_at_hand(start_c=300.0)
    profile = melt(to_c=310.0)
    hand.start(profile)
    run = hand.memory.firing.run
    assert run is not None
    hand.run_until(lambda: run.walk.waits_for == "your word", 1800.0)
    return hand


EVERY_STATE: dict[str, Callable[[], FurnaceAtHand]] = {
    "stopped": stopped,
    "idle": idle,
    "starting": starting,
    "starting, asking": asking,
    "running": running,
    "running, waiting for a word": waiting_for_a_word,
    "held": held,
    "held by the lid": held_by_lid,
    "stopped, after a firing": ended,
    "complete": complete,
    "aborting": aborting,
    "aborted": aborted,
}


def command_named(name: str, hand: FurnaceAtHand, epoch: int) -> c.Command:
    by = hand.by()
    prepared = hand.memory.firing.prepared
    start: dict[str, Any] = {"by": by, "epoch": epoch}
    makers: dict[str, Callable[[], c.Command]] = {
        "prepare": lambda: c.Prepare(by, melt(), None),
        "start": lambda: (
            hand.start_command(**start)
            if prepared is not None
            else c.Start(by, epoch, "none", None, 500.0, 60.0, 1.0, True)
        ),
        "hold": lambda: c.Hold(by),
        "resume": lambda: c.Resume(by, epoch),
        "stop": lambda: c.Stop(by),
        "acknowledge": lambda: c.Acknowledge(by, None),
        "silence": lambda: c.Silence(by),
        "shelve": lambda: c.Shelve(by, next(shelvable(hand.memory.alarms), "none"), 5.0, "known"),
        "unshelve": lambda: c.Unshelve(by, next(iter(hand.memory.alarms.shelves), "none")),
        "reset": lambda: c.Reset(by, "found it"),
        "note": lambda: c.Note(by, c.NoteKind.REMARK, epoch, text="seen"),
        "lower": lambda: c.Lower(by, 10.0),
        "raise": lambda: c.Raise(by, epoch, 5.0),
        "adopt": lambda: c.Adopt(by, as_described(hand.memory.furnace), 3, None, (), True, {}, ""),
        "prove": lambda: c.Prove(by, "earth-bond", "0.2 ohm"),
        "practise": lambda: c.Practise(by, c.Practising.BEGIN),
        "part": lambda: c.Change(by, "relay", "a new one"),
        "told": lambda: c.Told(by, c.Telling.CONTACTS),
        "attend": lambda: attend_right(by, hand),
    }
    return makers[name]()


def attend_right(by: c.By, hand: FurnaceAtHand) -> c.Attend:
    task = hand.memory.firing.attendance.task
    return c.Attend(by, 0, 0) if task is None else c.Attend(by, task.number, task.right(hand.reading_c) or 0)


@pytest.mark.parametrize("state", EVERY_STATE)
def test_what_is_offered_is_what_is_accepted(state: str) -> None:
    hand = EVERY_STATE[state]()
    for name in NAMES.values():
        offered = {row["name"]: row for row in hand.shown()["commands"]}[name]
        answer = in_a_copy(partial(hand.send, command_named(name, hand, hand.epoch)))
        assert answer.accepted == offered["allowed"], (name, offered, answer)
        assert offered["allowed"] == (offered["why"] == "")
        if not answer.accepted:
            assert answer.sentence == offered["why"]


@pytest.mark.parametrize("state", EVERY_STATE)
@pytest.mark.parametrize("epoch", [-1, 0, 10**9])
def test_stop_and_lower_are_never_refused(state: str, epoch: int) -> None:
    hand = EVERY_STATE[state]()
    assert hand.send(command_named("lower", hand, epoch)).accepted
    was_live = hand.state in LIVE
    assert hand.stop().accepted
    if was_live:
        assert hand.state in (State.STOPPING, State.STOPPED)
        assert not hand.furnace.outputs["relay"]
    hand.wait(3.0)
    assert hand.state not in LIVE


@pytest.mark.parametrize("name", ["stop", "lower"])
def test_a_flood_of_what_changes_nothing_fills_no_card(name: str) -> None:
    """Both are taken from everybody, unpaired and as often as they come: at rest each turn of them was a row."""
    hand = stopped()
    for _ in range(40):
        assert hand.send(command_named(name, hand, hand.epoch)).accepted
    assert len(commands_of(hand)) == 1
    hand.wait(60.0)
    hand.send(command_named(name, hand, hand.epoch))
    assert len(commands_of(hand)) == 2


def test_a_stop_that_stops_something_is_always_written_down() -> None:
    hand = running(bake(to_c=600.0), start_c=450.0)
    for _ in range(3):
        hand.stop()
    hand.run_until(lambda: hand.state is State.STOPPED, 5.0)
    hand.prepare(bake())
    hand.stop()
    stops = [row.sentence for row in commands_of(hand) if row.kind == "stop"]
    assert stops[0] == "Stopping: heat off is ordered."
    assert len(stops) == 3  # the two that came while it stopped are one, and the one that took back what was prepared


def commands_of(hand: FurnaceAtHand) -> list[CommandRow]:
    """What of commands went into the log."""
    return [row for row in hand.records if isinstance(row, CommandRow)]


@pytest.mark.parametrize("name", ["start", "resume", "raise"])
def test_what_adds_heat_is_refused_for_an_epoch_that_is_over(name: str) -> None:
    hand = {"start": idle, "resume": held, "raise": running}[name]()
    if name == "raise":
        hand.send(c.Lower(hand.by(), 20.0))
    for epoch in (hand.epoch - 1, hand.epoch + 1, 0):
        answer = hand.send(command_named(name, hand, epoch))
        assert not answer.accepted
        assert "Look again" in answer.sentence
    assert hand.send(command_named(name, hand, hand.epoch)).accepted


def test_a_stop_in_the_queue_behind_a_start_is_judged_before_it() -> None:
    hand = idle()
    start, stop = hand.turn(hand.start_command(), c.Stop(hand.by("Ben's phone")))
    assert stop.accepted
    assert not start.accepted
    assert hand.state is State.STOPPED


def test_going_on_in_the_cycle_of_a_trip_is_refused() -> None:
    hand = held()
    resume = c.Resume(hand.by(), hand.epoch)
    hand.furnace.emergency_stop(True)
    assert not hand.turn(resume)[0].accepted
    assert hand.state in (State.ABORTING, State.ABORTED)


Act = tuple[str, int]
ACTS = st.lists(
    st.tuples(
        st.sampled_from(
            ["hold", "resume", "stop", "lower", "raise", "start", "prepare", "lid", "sensor", "press", "wait"]
        ),
        st.integers(0, 3),
    ),
    max_size=12,
)


@settings(max_examples=25, deadline=None)
@given(ACTS)
def test_two_phones_and_the_furnace_at_once_never_heat_for_eyes_that_saw_another_furnace(acts: list[Act]) -> None:
    hand = running(bake(to_c=600.0), start_c=400.0)
    seen = [hand.epoch, hand.epoch]  # what each phone's page shows
    for act, number in acts:
        phone = number % 2
        if number < 2:
            seen[phone] = hand.epoch  # its page is live
        if act == "lid":
            hand.furnace.lid(number % 2 == 0)
            hand.wait(0.5)
        elif act == "sensor":
            hand.inject("sensor_open") if number % 2 == 0 else hand.furnace.mend("sensor_open")
            hand.wait(0.25 * number)
        elif act == "press":
            hand.press(3.75)
        elif act == "wait":
            hand.wait(float(number))
        else:
            before, name = hand.epoch, act
            answer = hand.turn(command_named(name, hand, seen[phone]))[0]
            if name in ("start", "resume", "raise") and answer.accepted:
                assert seen[phone] == before
                assert hand.memory.alarms.reaction.then < Then.HOLD


def test_every_change_of_state_makes_what_people_saw_old() -> None:
    hand = running(bake(to_c=460.0, hold_s=5.0), start_c=450.0)
    epochs = {hand.state: hand.epoch}
    for act in (hand.hold, hand.resume):
        act()
        hand.wait(2.0)
    state, epoch = hand.state, hand.epoch
    while hand.state is not State.COMPLETE:
        hand.turn()
        if hand.state is not state:
            assert hand.epoch > epoch
            state = hand.state
        epoch = hand.epoch
    assert epochs[State.RUNNING] < epoch
    hand.prepare(bake())
    assert hand.epoch > epoch
