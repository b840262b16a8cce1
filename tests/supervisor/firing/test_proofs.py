"""Proofs that the relay lets go: proved, failed or undecided, at the start, in off-times, and by one pulse."""

from collections.abc import Callable
from typing import Any

import pytest

from supervisor.firing.presses import Asked
from supervisor.firing.proofs import Proof, Result
from supervisor.firing.start import Step
from supervisor.firing.states import State
from supervisor.watches.finding import Then
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake, furnace_at_hand, melt
from tests.supervisor.watches.equipped import CURRENT_ALONE, WITH_CURRENT, WITHOUT_METER, started


def starting(
    described: object, *, start_c: float = 20.0, fault: str | None = None, before_s: float = 1.0
) -> FurnaceAtHand:
    """The contactor is in, and the relay is being proved."""
    hand = furnace_at_hand(described=described, start_c=start_c)  # type: ignore[arg-type]
    hand.wait(before_s)
    hand.prepare(bake(to_c=600.0))
    hand.send(hand.start_command())
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    if fault is not None:
        hand.inject(fault)
    hand.furnace.press(4.0)
    hand.run_until(lambda: step(hand) is Step.PROVING_RELAY or hand.state is not State.STARTING, 6.0)
    return hand


def step(hand: FurnaceAtHand) -> Step | None:
    test = hand.memory.firing.test
    return None if test is None else test.step


def came(hand: FurnaceAtHand) -> Result | None:
    last = hand.memory.firing.proofs.last
    return None if last is None else last.result


def until_decided(hand: FurnaceAtHand) -> float:
    return hand.run_until(lambda: hand.state is not State.STARTING, 200.0)


# -- at the start ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("start_c", [20.0, 450.0])
def test_a_sound_relay_is_proved_in_a_minute_and_a_half_by_the_reading_alone(start_c: float) -> None:
    hand = starting(WITHOUT_METER, start_c=start_c)
    assert until_decided(hand) == pytest.approx(90.0, abs=1.5)
    assert hand.state is State.RUNNING
    assert came(hand) is Result.PROVED


@pytest.mark.parametrize("fault", ["relay_stuck_on", "relay_half_wave"])
@pytest.mark.parametrize("start_c", [20.0, 450.0])
def test_by_the_reading_alone_a_relay_that_conducts_is_never_proved(fault: str, start_c: float) -> None:
    hand = starting(WITHOUT_METER, start_c=start_c, fault=fault)
    until_decided(hand)
    assert hand.state is not State.RUNNING
    hand.wait(3.0)
    assert not hand.level("contactor")
    assert came(hand) is not Result.PROVED
    assert hand.state is State.STOPPED or hand.first_cause == "start-test"


@pytest.mark.parametrize(("described", "within_s"), [(BENCH, 5.5), (WITH_CURRENT, 2.5), (CURRENT_ALONE, 2.5)])
def test_meter_and_current_input_prove_it_within_seconds(described: object, within_s: float) -> None:
    hand = starting(described)
    assert until_decided(hand) <= within_s
    assert came(hand) is Result.PROVED


@pytest.mark.parametrize("fault", ["relay_stuck_on", "relay_half_wave"])
@pytest.mark.parametrize("described", [BENCH, WITH_CURRENT, CURRENT_ALONE])
def test_meter_and_current_input_find_it_within_seconds(described: object, fault: str) -> None:
    hand = starting(described, fault=fault)
    assert until_decided(hand) <= 6.0
    assert hand.first_cause == "start-test"
    assert came(hand) is Result.FAILED


def test_undecided_is_tried_once_more_then_given_up_and_a_start_is_barred_until_it_has_settled() -> None:
    """The reading comes back after a lid: nobody can tell by how much."""
    hand = furnace_at_hand(described=WITHOUT_METER, start_c=500.0)
    hand.furnace.lid(True)
    hand.wait(60.0)
    hand.furnace.lid(False)
    hand.wait(30.0)
    step_c = hand.furnace.plant.step
    state = {"lift_c": 0.0}

    def lifting(dt_s: float, **levels: object) -> object:
        state["lift_c"] += 0.06 * dt_s
        return step_c(dt_s, **levels)._replace(hot_junction_c=450.0 + state["lift_c"])  # type: ignore[arg-type]

    hand.furnace.plant.step = lifting  # type: ignore[assignment,method-assign]
    hand.wait(1.0)
    hand.prepare(bake(to_c=600.0))
    hand.send(hand.start_command())
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.furnace.press(4.0)
    took_s = hand.run_until(lambda: hand.state is State.STOPPED, 220.0)
    assert took_s > 180.0
    assert came(hand) is Result.UNDECIDED
    assert hand.alarms() == []
    hand.prepare(bake(to_c=600.0))
    refused = hand.send(hand.start_command())
    assert not refused.accepted
    assert "relay" in refused.sentence
    hand.wait(601.0)
    assert hand.send(hand.start_command()).accepted


def test_a_failed_proof_bars_the_next_start_until_the_reset_at_the_furnace() -> None:
    hand = starting(WITHOUT_METER, fault="relay_stuck_on")
    until_decided(hand)
    hand.wait(3.0)
    assert hand.state is State.ABORTED
    assert hand.memory.firing.proofs.bars is not None
    hand.furnace.mend("relay_stuck_on")
    unmet = [row["name"] for row in hand.shown()["permissives"] if not row["met"]]
    assert "relay lets go" in unmet


# -- in off-times ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("described", "how"), [(BENCH, "meter"), (WITH_CURRENT, "current input")])
def test_off_times_prove_it_again_without_costing_anything(described: object, how: str) -> None:
    hand = started(described, bake(to_c=460.0))  # type: ignore[arg-type]
    hand.run_until(lambda: (last := hand.memory.firing.proofs.last) is not None and last.how == how, 900.0)
    first = hand.memory.firing.proofs.last
    assert first is not None
    hand.run_until(lambda: hand.memory.firing.proofs.last is not first, 400.0)
    assert came(hand) is Result.PROVED
    proofs = hand.events("relay proof")
    assert [row.detail["result"] for row in proofs] == ["proved"] * len(proofs)
    assert len(proofs) <= 4  # no flood of them


def test_a_meter_that_stands_still_proves_nothing_and_what_it_proved_is_taken_back() -> None:
    hand = furnace_at_hand(start_c=450.0)
    hand.inject("meter_stuck")
    hand.start(bake(to_c=600.0))
    assert came(hand) is Result.PROVED
    hand.run_until(lambda: "meter-disagrees" in hand.alarms(), 200.0)
    assert came(hand) is Result.UNDECIDED


def test_a_current_input_that_is_stuck_off_proves_nothing() -> None:
    hand = started(WITH_CURRENT, bake(to_c=600.0))
    hand.inject("current_input_stuck_off")
    hand.wait(20.0)
    last = hand.memory.firing.proofs.last
    assert last is None or last.how != "current input"


# -- the pulse -------------------------------------------------------------------------------------------------------


def at_the_gate(fault: str | None, **made: Any) -> FurnaceAtHand:
    """A pulse runs: nothing else could prove the relay since heat began. The fault comes with it."""
    hand = started(WITHOUT_METER, melt(rate_c_per_h=3000.0, mass_kg=1.5), really_kg=1.5, start_c=20.0, **made)
    hand.run_until(lambda: hand.memory.firing.proofs.proving, 1500.0)
    if fault is not None:
        hand.inject(fault)
    return hand


def test_one_pulse_is_paid_for_before_the_gate_where_nothing_else_can_prove_it() -> None:
    hand = at_the_gate(None)
    before = hand.relay_on_s
    hand.run_until(lambda: not hand.memory.firing.proofs.proving, 31.0)
    assert hand.relay_on_s - before <= 0.5
    last = hand.memory.firing.proofs.last
    assert last is not None
    assert last.how == "pulse"
    assert last.result is Result.PROVED
    hand.answer_everything()
    hand.run_until(lambda: hand.reading_c > 640.0, 1500.0)
    begun = [row for row in hand.events("relay proof") if "begun" in row.detail]
    assert len(begun) == 1
    assert hand.alarms() == []


def waiting(fault: str | None, **made: Any) -> FurnaceAtHand:
    """It waits at the gate for a press that does not come, and a free pulse runs. The relay broke when it got there."""
    hand = at_the_gate(None, **made)
    hand.run_until(lambda: not hand.memory.firing.proofs.proving, 31.0)
    hand.wait(120.0)
    if fault is not None:
        hand.inject(fault)
    last = hand.memory.firing.proofs.last
    assert last is not None
    hand.memory.firing.proofs.last = last._replace(at_s=hand.now_s - 1000.0)
    hand.run_until(lambda: hand.memory.firing.proofs.proving or hand.state is not State.RUNNING, 1500.0)
    return hand


def test_waiting_at_the_gate_a_free_minute_without_heat_proves_it_again() -> None:
    hand = waiting(None)
    assert hand.memory.firing.proofs.pulse_s == 60
    hand.run_until(lambda: not hand.memory.firing.proofs.proving, 61.0)
    assert came(hand) is Result.PROVED
    hand.wait(600.0)
    assert len([row for row in hand.events("relay proof") if row.detail.get("begun")]) == 2
    assert hand.alarms() == []


@pytest.mark.parametrize("fault", ["relay_stuck_on", "relay_half_wave"])
def test_waiting_at_the_gate_a_relay_that_conducts_is_never_proved(fault: str) -> None:
    hand = waiting(fault)
    for _ in range(300):
        hand.wait(1.0)
        last = hand.memory.firing.proofs.last
        assert last is not None
        assert last.result is not Result.PROVED or last.at_s < hand.now_s - 900.0


def test_a_stuck_relay_fails_the_pulse_and_trips() -> None:
    hand = at_the_gate("relay_stuck_on")
    hand.run_until(lambda: hand.state in (State.ABORTING, State.ABORTED), 35.0)
    assert hand.first_cause in ("relay-proof", "warmer-than-power")


def test_a_half_wave_is_never_proved_by_a_pulse() -> None:
    hand = at_the_gate("relay_half_wave")
    hand.run_until(lambda: not hand.memory.firing.proofs.proving, 31.0)
    last = hand.memory.firing.proofs.last
    assert last is None or last.how != "pulse" or last.result is not Result.PROVED
    assert hand.first_cause == "warmer-than-power"  # before the pulse is over: it is broken off, and proves nothing


def test_watches_stay_in_force_while_a_pulse_runs_and_an_opened_lid_breaks_it_off() -> None:
    hand = at_the_gate(None)
    hand.furnace.lid(True)
    hand.wait(1.0)
    assert not hand.memory.firing.proofs.proving
    assert came(hand) is not Result.FAILED
    other = at_the_gate(None)
    other.inject("sensor_open")
    other.run_until(lambda: other.memory.alarms.reaction.then is Then.ABORT, 2.0)
    assert other.first_cause == "sensor-open"


@pytest.mark.parametrize("described", [BENCH, WITH_CURRENT])
def test_no_pulse_is_paid_for_with_a_meter_or_a_current_input(described: object) -> None:
    hand = started(described, melt(rate_c_per_h=3000.0, mass_kg=1.5), start_c=20.0)  # type: ignore[arg-type]
    hand.run_until(lambda: hand.asked is Asked.GATE, 1500.0)
    hand.wait(60.0)
    assert not [row for row in hand.events("relay proof") if "begun" in row.detail]


@pytest.mark.parametrize("fault", ["relay_stuck_on", "relay_half_wave"])
def test_in_the_arrest_a_relay_that_conducts_is_never_called_proved(fault: str) -> None:
    hand = started(WITHOUT_METER, melt(rate_c_per_h=3000.0, mass_kg=1.5), really_kg=1.5, start_c=500.0)
    hand.answer_everything()
    hand.run_until(lambda: 0.2 < hand.furnace.state.share_molten < 0.8, 3000.0)
    hand.inject(fault)
    begun_s = hand.now_s
    for _ in range(600):
        hand.wait(1.0)
        last = hand.memory.firing.proofs.last
        assert last is None or last.result is not Result.PROVED or last.at_s < begun_s
        if hand.state is not State.RUNNING:
            break


# -- what they leave -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("result", "watch"), [(Result.FAILED, "relay-proof"), (Result.UNDECIDED, "relay-undecided"), (Result.PROVED, None)]
)
def test_what_a_proof_comes_to_is_written_down_with_its_evidence(result: Result, watch: str | None) -> None:
    hand = started(BENCH)
    keeps: Callable[[], object] = lambda: hand.memory.firing.proofs.last  # noqa: E731 - one word for the three lines below
    assert isinstance(keeps(), Proof)
    (event, *_) = hand.events("relay proof")
    assert set(event.detail) == {"result", "how", "evidence"}
    hand.memory.firing.proofs.last = Proof(result, hand.now_s, "pulse", "for a test")
    if result is Result.UNDECIDED:
        hand.memory.firing.proofs.doubt = "undecided twice"
    hand.wait(2.0)
    assert [row["watch"] for row in hand.shown()["alarms"]] == ([watch] if watch else [])
