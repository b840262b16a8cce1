"""The gate: nothing melts with nobody there."""

import pytest

from hardware.ports import Reading
from supervisor.firing import commands as c
from supervisor.firing.gate import Gate, limit_of
from supervisor.firing.presses import Asked
from supervisor.firing.states import State
from supervisor.metal.alloys import charge
from tests.campaigns.gate import unattended
from tests.supervisor.furnace_at_hand import bake, furnace_at_hand, melt, running


@pytest.mark.parametrize(
    ("furnace", "start_c", "seed"), [("bench", 20.0, 1), ("bench", 500.0, 2), ("workshop", 500.0, 3)]
)
def test_with_the_start_press_alone_nothing_melts_and_the_firing_ends_by_itself(
    furnace: str, start_c: float, seed: int
) -> None:
    trial = unattended(furnace, seed=seed, start_c=start_c, spread=0.2, longest_h=0.4 if start_c > 400.0 else 0.8)
    assert trial.share_molten == 0.0
    assert trial.ended == "stopped"
    assert trial.why in ("longest-duration", "nobody-there")
    assert trial.reached_gate  # else nothing was shown


def test_the_limit_lies_thirty_kelvin_below_the_solidus_and_at_450_for_unknown_metal() -> None:
    known = charge(2.0, "6082", "off-cuts")
    assert known.solidus_c is not None
    assert limit_of(known) == known.solidus_c - 30.0
    assert limit_of(charge(2.0, "unknown", "off-cuts")) == 450.0
    assert limit_of(None) is None


def test_the_question_is_put_fifty_kelvin_below_the_limit() -> None:
    hand = running(melt(), start_c=450.0)
    hand.run_until(lambda: hand.asked is Asked.GATE, 600.0)
    run = hand.memory.firing.run
    assert run is not None
    assert run.gate.limit_c is not None
    assert run.gate.limit_c - 52.0 <= hand.reading_c <= run.gate.limit_c - 45.0


def test_the_question_is_put_at_once_in_a_chamber_that_is_hotter_already() -> None:
    hand = running(melt(), start_c=560.0)
    hand.run_until(lambda: hand.asked is Asked.GATE, 2.0)


def test_waiting_at_the_gate_the_state_stays_running_and_the_profiles_clock_waits() -> None:
    hand = running(melt(), start_c=520.0)
    hand.wait(600.0)
    run = hand.memory.firing.run
    assert run is not None
    assert run.gate.limit_c is not None
    assert hand.state is State.RUNNING
    assert run.walk.waits_for in ("the limit", "the reading")
    assert hand.reading_c < run.gate.limit_c + 10.0
    assert hand.shown()["setpoint_c"] <= run.gate.limit_c


def test_nothing_that_a_phone_can_send_opens_the_gate() -> None:
    hand = running(melt(), start_c=540.0)
    hand.run_until(lambda: hand.asked is Asked.GATE, 300.0)
    commands: tuple[c.Command, ...] = (
        c.Resume(hand.by(), hand.epoch),
        c.Acknowledge(hand.by(), None),
        *(c.Attend(hand.by(), number, choice) for number in (0, 1, 2) for choice in (0, 1, 2)),
        c.Raise(hand.by(), hand.epoch, 10.0),
        c.Reset(hand.by(), "me"),
        *(c.Note(hand.by(), kind, hand.epoch, 0.1, 20.0, "here") for kind in c.NoteKind if kind.value != "pour"),
    )
    for command in commands:
        hand.send(command)
        run = hand.memory.firing.run
        assert run is not None
        assert run.gate.shut


def test_an_answer_lapses_after_fifteen_minutes_while_all_is_solid() -> None:
    hand = running(melt(rate_c_per_h=60.0), start_c=520.0)
    hand.run_until(lambda: hand.asked is Asked.GATE, 600.0)
    hand.press()
    run = hand.memory.firing.run
    assert run is not None
    assert not run.gate.shut
    hand.wait(600.0)
    assert hand.asked is Asked.SIGN  # ten minutes on, it asks
    hand.wait(301.0)
    assert run.gate.shut
    hand.run_until(lambda: hand.asked is Asked.GATE, 61.0)
    assert not run.gate.may_be_liquid


def test_each_sign_is_good_for_fifteen_minutes_more() -> None:
    gate = Gate(540.0)
    gate.sign(100.0)
    gate.sign(700.0)
    gate.see(500.0, 1599.0)
    assert not gate.shut
    gate.see(500.0, 1600.0)
    assert gate.shut


def test_with_liquid_metal_and_no_sign_it_is_held_after_five_minutes_and_ends_after_fifteen() -> None:
    hand = running(melt(), start_c=640.0)
    hand.run_until(lambda: hand.asked is Asked.GATE, 30.0)
    hand.press()
    began_s = hand.now_s
    hand.run_until(lambda: hand.state is State.HELD, 1300.0)
    assert hand.now_s - began_s == pytest.approx(1200.0, abs=3.0)
    assert hand.alarms() == ["sign-due", "sign-missed"]
    hand.run_until(lambda: hand.state is State.STOPPED, 700.0)
    assert hand.now_s - began_s == pytest.approx(1800.0, abs=3.0)
    assert hand.first_cause == "nobody-there"


def test_a_missed_sign_is_made_good_by_a_press_and_left_by_a_held_one() -> None:
    hand = running(melt(), start_c=640.0)
    hand.run_until(lambda: hand.asked is Asked.GATE, 30.0)
    hand.press()
    hand.run_until(lambda: hand.state is State.HELD, 1300.0)
    assert hand.asked is Asked.SIGN
    hand.press()
    hand.run_until(lambda: hand.asked is Asked.RESUME, 3.0)
    hand.hold_button()
    assert hand.state is State.RUNNING


def test_one_damaged_frame_does_not_make_it_believe_in_liquid_metal() -> None:
    hand = running(melt(), start_c=450.0)
    sample = hand.hardware.sample()
    first = sample.sensors[0]
    assert isinstance(first, Reading)
    reading = first._replace(hot_junction_c=1000.0)
    hand.turn(sample=sample._replace(sensors=(reading,)))
    hand.wait(2.0)
    assert not hand.shown()["may_be_liquid"]


def test_an_addition_of_metal_nobody_described_lowers_the_limit() -> None:
    hand = running(melt(mass_kg=1.0), start_c=400.0)
    assert hand.note(c.NoteKind.ADDITION, mass_kg=0.3).accepted
    run = hand.memory.firing.run
    assert run is not None
    assert run.gate.limit_c == 450.0


def test_metal_added_to_a_firing_without_metal_gets_a_gate() -> None:
    hand = running(bake(to_c=700.0), start_c=400.0)
    assert hand.note(c.NoteKind.ADDITION, mass_kg=0.3).accepted
    hand.furnace.add_charge(0.3, 20.0, "6082")
    hand.run_until(lambda: hand.asked is Asked.GATE, 600.0)
    hand.wait(300.0)
    assert hand.furnace.state.metal_hottest_c < 480.0


def test_a_firing_without_metal_has_no_gate_to_ask_for() -> None:
    hand = furnace_at_hand(start_c=450.0)
    hand.start(bake(to_c=600.0, rate_c_per_h=900.0, hold_s=300.0))
    hand.run_until(lambda: hand.state is State.COMPLETE, 2400.0)
    assert [event.detail["asked"] for event in hand.events("question")] == ["start"]
