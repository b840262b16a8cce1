"""The lid: no heat while it is open, and how heat comes back."""

from dataclasses import dataclass

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hardware.ports import CYCLE_S
from supervisor.firing import commands as c
from supervisor.firing.presses import Asked
from supervisor.firing.states import HEATED, State
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, melt, running


def heating(**made: object) -> FurnaceAtHand:
    """Running, and the relay on in this very moment."""
    hand = running(melt(rate_c_per_h=2000.0), start_c=430.0, **made)
    hand.run_until(lambda: hand.level("relay"), 60.0)
    return hand


def asking_to_go_on() -> FurnaceAtHand:
    """The lid was open for so long that it takes a held press."""
    hand = heating()
    hand.furnace.lid(True)
    hand.wait(8.0)
    hand.furnace.lid(False)
    hand.run_until(lambda: hand.asked is Asked.RESUME, 2.0)
    return hand


def going_in_again() -> FurnaceAtHand:
    """The button is held, and the contactor goes in again after a lid."""
    hand = asking_to_go_on()
    hand.furnace.press(6.0)
    hand.run_until(lambda: hand.level("enable"), 5.0)
    return hand


def with_liquid() -> FurnaceAtHand:
    """Running, hot, the gate opened: metal may be liquid."""
    hand = running(melt(), start_c=640.0)
    hand.run_until(lambda: hand.asked is Asked.GATE, 30.0)
    hand.press()
    hand.run_until(lambda: hand.shown()["may_be_liquid"], 600.0)
    return hand


def test_an_opened_lid_takes_the_relay_low_in_the_same_cycle() -> None:
    hand = heating()
    hand.furnace.lid(True)
    hand.turn()
    assert not hand.level("relay")
    assert hand.level("enable")  # the contactor has five seconds


@pytest.mark.parametrize("fault", [None, "relay_stuck_on"])
def test_a_lid_open_for_longer_opens_the_contactor_within_six_seconds(fault: str | None) -> None:
    hand = heating()
    if fault:
        hand.inject(fault)
    opened_s = hand.furnace.time_s
    hand.furnace.lid(True)
    hand.wait(6.0)
    assert not hand.level("contactor")
    assert not hand.level("element")
    at_s = hand.last_edge_s("contactor")
    assert at_s is not None
    assert at_s - opened_s <= 6.0


def test_a_relay_that_does_not_let_go_under_an_open_lid_trips_within_31_seconds() -> None:
    hand = heating()
    hand.inject("relay_stuck_on")
    opened_s = hand.now_s
    hand.furnace.lid(True)
    hand.run_until(lambda: hand.state is State.ABORTED, 31.0)
    assert hand.now_s - opened_s <= 31.0
    assert hand.first_cause == "power-without-command"


def test_heat_comes_back_by_itself_after_a_short_opening_with_three_seconds_of_warning() -> None:
    hand = running(bake(to_c=700.0, rate_c_per_h=2000.0), start_c=450.0)
    hand.furnace.lid(True)
    hand.wait(3.0)
    hand.furnace.lid(False)
    shut_s = hand.furnace.time_s
    warned = []
    while hand.state is not State.RUNNING:
        hand.turn()
        assert hand.outputs is not None
        if hand.outputs.lamp and hand.outputs.sounder:
            warned.append(hand.now_s)
    back_s = hand.now_s
    assert 5.0 <= back_s - shut_s <= 5.75
    assert len(warned) >= 5
    assert back_s - warned[0] >= 2.75
    hand.run_until(lambda: hand.level("relay"), 30.0)


@pytest.mark.parametrize("also", [0.0, 1.0])
def test_a_fourth_short_opening_is_left_by_a_press(also: float) -> None:
    hand = running(bake(to_c=700.0, rate_c_per_h=1000.0), start_c=450.0)
    for _ in range(3):
        hand.furnace.lid(True)
        hand.wait(1.0 + also)
        hand.furnace.lid(False)
        hand.run_until(lambda: hand.state is State.RUNNING, 8.0)
        hand.wait(2.0)
    hand.furnace.lid(True)
    hand.wait(1.0 + also)
    hand.furnace.lid(False)
    hand.wait(30.0)
    assert hand.state is State.HELD
    assert hand.asked is Asked.RESUME
    hand.hold_button()
    assert hand.shown()["state"] == "running"


# --- lid x note x phase ---------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Case:
    """One way to open the lid and to say something about it."""

    open_s: float
    note: c.NoteKind | None
    when: str  # before, while open, after
    liquid: bool


NOTES = (None, *c.NoteKind)
CASES = [
    Case(open_s, note, when, liquid)
    for open_s in (1.0, 4.5, 5.5)
    for note in NOTES
    for when in (("while open",) if note is None else ("before", "while open", "after"))
    for liquid in (False, True)
]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_heat_returns_as_the_lid_the_note_and_the_metal_allow(case: Case) -> None:
    hand = with_liquid() if case.liquid else heating()
    if case.when == "before":
        _note(hand, case.note)
    if hand.state in HEATED:
        hand.furnace.lid(True)
        hand.wait(case.open_s)
        if case.when == "while open":
            _note(hand, case.note)
        hand.furnace.lid(False)
        hand.wait(0.5)
        if case.when == "after":
            _note(hand, case.note)
    if case.note in (c.NoteKind.POUR, c.NoteKind.MOULD):
        _stays_cold(hand)
        return
    hands_in = case.note in (c.NoteKind.ADDITION, c.NoteKind.SKIM)
    if case.open_s > 5.0 or hands_in or case.liquid:
        hand.wait(20.0)
        assert hand.state is State.HELD
        assert not hand.level("relay")
        assert hand.asked is Asked.RESUME
        hand.hold_button()
        hand.run_until(lambda: hand.state is State.RUNNING, 8.0)
    else:
        hand.run_until(lambda: hand.state is State.RUNNING, 6.0)


def _note(hand: FurnaceAtHand, kind: c.NoteKind | None) -> None:
    if kind is not None:
        more = {"mass_kg": 0.2} if kind is c.NoteKind.ADDITION else {}
        more |= {"temperature_c": 700.0} if kind is c.NoteKind.DIP else {}
        hand.note(kind, **more)


def _stays_cold(hand: FurnaceAtHand) -> None:
    on_s = hand.relay_on_s
    hand.furnace.lid(False)
    hand.wait(10.0)
    hand.hold_button()
    hand.resume()
    hand.wait(10.0)
    assert hand.state is State.COMPLETE
    assert hand.relay_on_s == on_s
    assert not hand.level("contactor")


def test_a_pour_noted_during_a_start_ends_it() -> None:
    hand = running(melt(), start_c=450.0)
    hand.stop()
    hand.run_until(lambda: hand.state is State.STOPPED, 2.0)
    hand.prepare(melt())
    hand.send(hand.start_command())
    assert hand.note(c.NoteKind.POUR).accepted
    hand.wait(30.0)
    assert hand.state is State.STOPPED
    assert not hand.level("enable")


# --- bouncing -------------------------------------------------------------------------------------------------------

bounces = st.lists(st.tuples(st.integers(1, 30), st.integers(1, 30)), min_size=1, max_size=6)


@settings(max_examples=15)
@given(bounces=bounces)
def test_a_bouncing_lid_gives_no_heat_before_five_whole_seconds_shut(bounces: list[tuple[int, int]]) -> None:
    hand = running(bake(to_c=700.0, rate_c_per_h=2000.0), start_c=450.0)
    shut_for = 1000
    span = 0  # cycles since this opening began, bounces included
    needs_press = False
    for open_cycles, shut_cycles in bounces:
        for reads_open, cycles in ((True, open_cycles), (False, shut_cycles)):
            hand.furnace.lid(reads_open)
            for _ in range(cycles):
                hand.turn()
                span = span + 1 if reads_open or shut_for < 20 else 0
                shut_for = 0 if reads_open else shut_for + 1
                needs_press = needs_press or (reads_open and span * CYCLE_S > 5.25)
                if shut_for < 20 or needs_press:
                    assert not hand.level("relay")
                    assert hand.state is not State.RUNNING
                if reads_open and span * CYCLE_S > 6.0:
                    assert not hand.level("enable")


def test_a_lid_opened_while_the_button_is_held_to_go_on_voids_the_press() -> None:
    hand = asking_to_go_on()
    hand.furnace.press(6.0)
    hand.wait(2.0)
    hand.furnace.lid(True)
    hand.wait(0.5)
    hand.furnace.lid(False)
    hand.wait(5.0)
    assert hand.state is State.HELD
    assert not hand.level("enable")


def test_a_lid_opened_while_the_contactor_goes_in_again_takes_it_out() -> None:
    hand = going_in_again()
    hand.furnace.lid(True)
    hand.wait(0.5)
    assert hand.state is State.HELD
    assert not hand.level("enable")
    assert not hand.level("contactor")


def test_a_hold_ordered_while_the_contactor_goes_in_again_takes_it_out() -> None:
    hand = going_in_again()
    assert hand.hold().accepted
    hand.wait(10.0)
    assert hand.state is State.HELD
    assert not hand.level("contactor")
    assert not hand.level("relay")
    assert hand.resume().accepted  # whoever wants to go on says so, and holds the button again
    hand.run_until(lambda: hand.asked is Asked.RESUME, 2.0)
    hand.press(4.0)
    hand.run_until(lambda: hand.state is State.RUNNING, 20.0)


def test_a_hold_ordered_while_the_lid_is_open_outlives_it() -> None:
    hand = running(bake(to_c=700.0, rate_c_per_h=2000.0), start_c=450.0)
    hand.furnace.lid(True)
    hand.wait(2.0)
    assert hand.hold().accepted
    hand.furnace.lid(False)
    hand.wait(30.0)
    assert hand.state is State.HELD
    assert hand.resume().accepted
    hand.run_until(lambda: hand.state is State.RUNNING, 2.0)
