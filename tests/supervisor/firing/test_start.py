"""The start: what is proved before the contactor may go in, and everything that ends it."""

import pytest

from hardware.ports import Permit
from supervisor.firing.presses import Asked
from supervisor.firing.start import Step
from supervisor.firing.states import State
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, furnace_at_hand, melt


def starting(**made: object) -> FurnaceAtHand:
    """Step one of a start was taken; the start test runs."""
    hand = furnace_at_hand(**made)  # type: ignore[arg-type]
    hand.wait(1.0)
    hand.prepare(melt())
    assert hand.send(hand.start_command()).accepted
    return hand


def step(hand: FurnaceAtHand) -> Step | None:
    test = hand.memory.firing.test
    return None if test is None else test.step


def test_a_start_proves_that_the_permit_can_be_lost_before_the_contactor_goes_in() -> None:
    hand = starting()
    took_s = hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    assert 8.0 < took_s < 13.0  # two seconds of toggling three times, two drop-outs of 1.0 to 2.1 s
    assert hand.last_edge_s("contactor") is None
    hand.hold_button()
    hand.run_until(lambda: hand.state is State.RUNNING, 10.0)
    (passed,) = hand.events("start test")
    times_s = passed.detail["times_s"]
    assert passed.detail["passed"]
    for relay in (1, 2):
        for stuck in ("high", "low"):
            assert 0.9 <= times_s[f"relay {relay}, stuck {stuck}"] <= 2.25
    assert times_s["contactor in"] <= 0.5
    assert hand.level("contactor")


def test_enable_goes_on_only_when_the_button_has_been_held_for_three_seconds() -> None:
    hand = starting()
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.wait(5.0)
    pressed_s = hand.furnace.time_s
    hand.hold_button()
    on_s = hand.last_edge_s("enable")
    assert on_s is not None
    assert 3.0 <= on_s - pressed_s <= 3.5


def test_the_relay_is_proved_off_with_the_contactor_in_before_it_may_heat() -> None:
    hand = starting()
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.hold_button()
    hand.run_until(lambda: step(hand) is Step.PROVING_RELAY, 5.0)
    assert hand.run_until(lambda: hand.state is State.RUNNING, 10.0) >= 4.0


def test_a_relay_that_conducts_fails_its_proof_and_nothing_runs() -> None:
    hand = starting()
    hand.inject("relay_stuck_on")
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.hold_button()
    hand.run_until(lambda: hand.state is State.ABORTED, 10.0)
    assert hand.first_cause == "start-test"
    assert not hand.level("contactor")


@pytest.mark.parametrize(
    ("fault", "value"), [("permit_relay_welded", 1.0), ("permit_relay_welded", 2.0), ("contactor_welded", None)]
)
def test_a_weld_is_found_before_anything_heats(fault: str, value: float | None) -> None:
    hand = furnace_at_hand()
    hand.inject(fault, value)
    hand.wait(1.0)
    hand.prepare(melt())
    refused = hand.send(hand.start_command())
    if not refused.accepted:
        assert "permit relay" in refused.sentence
        return
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.hold_button()
    hand.run_until(lambda: hand.state is State.RUNNING, 20.0)
    hand.stop()
    hand.run_until(lambda: hand.state is State.ABORTING, 2.0)
    assert hand.first_cause == "contactor-stuck"
    assert hand.shown()["headline"]["key"] == "away."


def test_without_a_press_within_a_minute_it_goes_back_to_stopped() -> None:
    hand = starting()
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    assert hand.run_until(lambda: hand.state is State.STOPPED, 70.0) == pytest.approx(60.0, abs=1.0)
    assert not hand.shown()["alarms"]
    assert hand.last_edge_s("enable") is None


def test_the_furnace_sounds_and_blinks_for_as_long_as_a_start_is_waiting() -> None:
    hand = starting()
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    last_s = hand.now_s
    while hand.asked is Asked.START:
        hand.turn()
        if hand.outputs is not None and hand.outputs.sounder:
            assert hand.now_s - last_s <= 2.0
            last_s = hand.now_s
    assert hand.now_s - last_s <= 2.5


def test_letting_go_too_early_ends_the_start_and_latches_nothing() -> None:
    hand = starting()
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.press(3.26)  # enable goes on at 3.25 s, the contactor would need 25 ms
    hand.run_until(lambda: hand.state is State.STOPPED, 2.0)
    assert hand.last_edge_s("enable") is not None
    assert not hand.level("contactor")
    assert not hand.shown()["alarms"]


@pytest.mark.parametrize("seconds", [0.25, 1.0, 2.0, 2.75])
def test_a_press_that_is_too_short_starts_nothing(seconds: float) -> None:
    hand = starting()
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.press(seconds)
    assert hand.state is State.STARTING
    assert hand.asked is Asked.START  # the question stands: it may be pressed again, and longer
    assert hand.last_edge_s("enable") is None


@pytest.mark.parametrize("begins_s", [0.0, 2.0, 5.0, 7.0])
def test_a_press_that_began_before_the_question_starts_nothing(begins_s: float) -> None:
    hand = starting()
    hand.wait(begins_s)
    hand.furnace.press(30.0)
    hand.wait(40.0)
    assert hand.last_edge_s("enable") is None
    assert hand.state is State.STOPPED
    assert "button-stuck" in hand.alarms()


def test_a_taped_button_refuses_the_start_by_name() -> None:
    hand = furnace_at_hand()
    hand.inject("button_stuck")
    hand.wait(1.0)
    hand.prepare(melt())
    refused = hand.send(hand.start_command())
    assert not refused.accepted
    assert "button" in refused.sentence


@pytest.mark.parametrize("wanted", list(Step)[1:])
def test_an_opened_lid_ends_the_start_in_the_same_cycle_at_every_step(wanted: Step) -> None:
    hand = starting()
    _go_to(hand, wanted)
    hand.furnace.lid(True)
    hand.turn()
    assert hand.state in (State.STOPPING, State.STOPPED, State.HELD)
    hand.wait(6.0)
    assert not hand.level("enable")
    assert not hand.level("contactor")


@pytest.mark.parametrize("wanted", list(Step)[1:])
def test_a_stop_ends_the_start_in_the_same_cycle_at_every_step(wanted: Step) -> None:
    hand = starting()
    _go_to(hand, wanted)
    assert hand.stop().accepted
    assert hand.outputs is not None
    assert hand.outputs.permit is Permit.STILL
    assert not hand.outputs.enable
    hand.run_until(lambda: hand.state is State.STOPPED, 1.0)


def test_a_stop_in_the_very_cycle_of_the_held_press_wins() -> None:
    hand = starting()
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.furnace.press(5.0)
    while hand.memory.firing.button.held_for_s(hand.now_s) < 2.75:
        hand.turn()
    assert hand.stop().accepted
    hand.wait(3.0)
    assert hand.state is State.STOPPED
    assert hand.last_edge_s("enable") is None


def test_a_condition_that_fails_while_the_button_is_held_ends_the_start() -> None:
    hand = starting()
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.furnace.press(5.0)
    hand.wait(1.0)
    hand.memory.with_log(0.0, "the card is full")
    hand.wait(4.0)
    assert hand.state is State.STOPPED
    assert hand.last_edge_s("enable") is None


def test_a_contactor_that_does_not_go_in_trips() -> None:
    hand = starting()
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.furnace.press(5.0)
    hand.wait(2.5)
    hand.furnace.interlock.enable = False  # a broken wire of the enable: the pin rises, the relay does not
    hand.furnace.interlock.set_output = lambda line, level: None  # type: ignore[method-assign]
    hand.wait(2.0)
    assert hand.state is State.ABORTED
    assert hand.first_cause == "start-test"


def test_nobody_starts_within_half_an_hour_and_it_is_stopped_again() -> None:
    hand = furnace_at_hand()
    hand.wait(1.0)
    hand.prepare(bake())
    assert hand.run_until(lambda: hand.state is State.STOPPED, 1900.0) == pytest.approx(1800.0, abs=2.0)


@pytest.mark.parametrize(
    "change", [{"profile": "another"}, {"mass_kg": 1.0}, {"top_c": 700.0}, {"longest_s": 60.0}, {"allowance_wh": 1.0}]
)
def test_what_is_read_back_must_be_what_is_prepared(change: dict[str, object]) -> None:
    hand = furnace_at_hand()
    hand.wait(1.0)
    hand.prepare(melt())
    assert not hand.send(hand.start_command(**change)).accepted
    assert hand.state is State.IDLE


def test_unread_cautions_refuse_the_start() -> None:
    hand = furnace_at_hand()
    hand.wait(1.0)
    hand.prepare(melt())
    refused = hand.send(hand.start_command(cautions_read=False))
    assert not refused.accepted
    assert "cautions" in refused.sentence


def test_the_cold_check_is_asked_for_after_a_restart_in_a_hot_furnace() -> None:
    hand = furnace_at_hand(start_c=300.0)
    hand.memory.firing.cold_checked = False  # this supervisor has not seen the furnace cold
    hand.wait(1.0)
    hand.prepare(melt())
    refused = hand.send(hand.start_command())
    assert not refused.accepted
    assert "junction" in refused.sentence


def test_a_sensor_trip_asks_for_a_new_cold_check() -> None:
    hand = furnace_at_hand(start_c=300.0)
    hand.start(melt())
    hand.inject("sensor_open")
    hand.run_until(lambda: hand.state is State.ABORTED, 5.0)
    assert not hand.memory.firing.cold_checked


def _go_to(hand: FurnaceAtHand, wanted: Step) -> None:
    if wanted is Step.DONE:
        hand.run_until(lambda: hand.asked is Asked.START, 20.0)
        hand.hold_button()
        hand.run_until(lambda: hand.state is State.RUNNING, 10.0)
        return
    pressed = False
    for _ in range(200):
        if step(hand) is wanted:
            return
        if hand.asked is Asked.START and not pressed and wanted is not Step.ASKING:
            hand.furnace.press(4.5)
            pressed = True
        hand.turn()
    raise AssertionError(f"{wanted} never came")


def test_a_second_heat_of_the_day_starts_in_a_warm_furnace() -> None:
    hand = furnace_at_hand()
    hand.start(bake(to_c=100.0, rate_c_per_h=900.0))
    hand.run_until(lambda: hand.reading_c > 80.0, 900.0)
    hand.stop()
    hand.wait(5.0)
    assert hand.reading_c > 60.0
    hand.start(bake(to_c=200.0))
    assert hand.state is State.RUNNING
