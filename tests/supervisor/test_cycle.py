"""One cycle in doubt: bad buses, repeated samples, what no table knows. In doubt, off, and no permit."""

import copy
import pickle
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hardware.ports import CYCLE_S, Permit
from supervisor import cycle as core
from supervisor.firing import commands as c
from supervisor.firing.control import Aim, Controller, tuning
from supervisor.firing.feed_forward import FeedForward
from supervisor.firing.meter import Meter
from supervisor.firing.presses import Asked
from supervisor.firing.states import HEATED, LIVE, TRANSITIONS, Event, State, next_state
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake, furnace_at_hand, melt, running


def hot() -> FurnaceAtHand:
    return running(bake(to_c=600.0), start_c=450.0)


@pytest.mark.parametrize("fault", ["bus_silent", "bus_half_frame", "bus_error", "bus_all_zeros", "bus_all_ones"])
def test_a_bus_that_gives_no_whole_frame_gives_no_heat_in_that_very_cycle(fault: str) -> None:
    hand = hot()
    hand.run_until(lambda: hand.furnace.outputs["relay"], 60.0)
    hand.inject(fault)
    hand.turn()
    assert not hand.furnace.outputs["relay"]
    assert hand.state is State.RUNNING  # one bad frame is no alarm
    assert hand.alarms() == []
    hand.wait(1.0)
    assert hand.state in (State.ABORTING, State.ABORTED)


def test_a_single_bad_frame_is_forgotten() -> None:
    hand = hot()
    hand.inject("bus_silent")
    hand.turn()
    hand.furnace.mend("bus_silent")
    hand.wait(30.0)
    assert hand.state is State.RUNNING
    assert hand.alarms() == []
    assert hand.relay_on_s > 0.0


def test_a_bus_that_blocks_costs_heat_and_ends_the_firing() -> None:
    hand = hot()
    hand.inject("bus_blocks")
    hand.run_until(lambda: hand.state not in HEATED, 10.0)
    assert hand.alarms()
    assert not hand.furnace.outputs["relay"]


def test_a_sample_that_comes_twice_gives_no_heat_and_no_permit_edge() -> None:
    hand = hot()
    hand.run_until(lambda: hand.furnace.outputs["relay"], 60.0)
    sample = hand.hardware.sample()
    hand.turn(sample=sample)
    edges = hand.edges_of_permit
    hand.turn(sample=sample)
    assert hand.outputs is not None
    assert hand.outputs.permit is Permit.STILL
    assert not hand.outputs.relay
    assert hand.edges_of_permit == edges


@pytest.mark.parametrize("shift_s", [-5.0, -CYCLE_S, 5.0])
def test_a_sample_of_another_moment_gives_no_heat_and_no_permit_edge(shift_s: float) -> None:
    hand = hot()
    sample = hand.hardware.sample()
    step = core.cycle(hand.memory, sample._replace(monotonic_s=sample.monotonic_s + shift_s), (), CYCLE_S)
    assert step.outputs.permit is Permit.STILL
    assert not step.outputs.relay


def test_samples_that_stay_the_same_trip() -> None:
    hand = hot()
    sample = hand.hardware.sample()
    for _ in range(8):
        hand.turn(sample=sample)
    assert hand.state in (State.ABORTING, State.ABORTED)
    assert hand.first_cause in ("samples-stale", "loop-late")


@pytest.mark.parametrize("state", State)
def test_a_trip_aborts_from_every_state(state: State) -> None:
    assert next_state(state, Event.TRIP) in (State.ABORTING, State.ABORTED)


@pytest.mark.parametrize("state", State)
@pytest.mark.parametrize("event", Event)
def test_what_the_table_does_not_know_aborts(state: State, event: Event) -> None:
    if event not in TRANSITIONS[state]:
        assert next_state(state, event) is State.ABORTING


def test_every_live_state_can_be_stopped() -> None:
    for state in LIVE:
        assert next_state(state, Event.STOP) is State.STOPPING


def test_an_exception_in_a_watch_is_passed_up(monkeypatch: pytest.MonkeyPatch) -> None:
    hand = hot()

    def broken(memory: core.Memory, turn: object) -> None:
        raise ZeroDivisionError("a watch of ours")

    monkeypatch.setattr(core, "judge", broken)
    with pytest.raises(ZeroDivisionError, match="a watch of ours"):
        hand.turn()


@pytest.mark.parametrize("reading_c", [float("nan"), float("inf"), float("-inf")])
def test_the_controller_is_never_fed_what_is_not_a_number(reading_c: float) -> None:
    controller, aim = Controller(tuning(BENCH), FeedForward(BENCH, None)), Aim(500.0, 0.0, 500.0)
    with pytest.raises(ValueError, match="reading"):
        controller.duty(aim, reading_c, 0.0, 1.0, 1.0)
    assert 0.0 <= controller.duty(aim, 450.0, 0.0, 1.0, 1.0) <= 1.0  # and it still answers


@pytest.mark.parametrize("quarter_seconds", range(4))
def test_the_cycle_whose_event_adds_heat_gives_none_before_that_is_on_disk(quarter_seconds: int) -> None:
    """Its records are put away after the outputs are written: nothing of this cycle can be on disk yet."""
    hand = furnace_at_hand(start_c=450.0)
    hand.wait(1.0)
    hand.prepare(bake(to_c=600.0))
    hand.wait(quarter_seconds * CYCLE_S)
    assert hand.send(hand.start_command()).accepted
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.furnace.press(3.75)
    hand.run_until(lambda: hand.state is State.RUNNING, 20.0)
    assert hand.memory.heat_waits
    assert not hand.furnace.outputs["relay"]


EVENTS = st.lists(
    st.sampled_from(
        [
            "stop",
            "hold",
            "resume",
            "prepare",
            "start",
            "reset",
            "press",
            "lid",
            "shut",
            "key",
            "estop",
            "sensor",
            "mend",
        ]
    ),
    min_size=1,
    max_size=14,
)


@settings(max_examples=30, deadline=None)
@given(EVENTS, st.integers(0, 12))
def test_whatever_happens_nothing_is_driven_at_rest(events: list[str], quarter_seconds: int) -> None:
    """The furnace at hand checks it in every turn: see its `_holds_always`."""
    hand = hot()
    acts: dict[str, Callable[[], object]] = {
        "stop": hand.stop,
        "hold": hand.hold,
        "resume": hand.resume,
        "prepare": lambda: hand.send(c.Prepare(hand.by(), bake(), None)),
        "start": lambda: hand.memory.firing.prepared and hand.send(hand.start_command()),
        "reset": lambda: hand.send(c.Reset(hand.by(), "found")),
        "press": hand.hold_button,
        "lid": lambda: hand.furnace.lid(True),
        "shut": lambda: hand.furnace.lid(False),
        "key": lambda: hand.furnace.key(False),
        "estop": lambda: hand.furnace.emergency_stop(True),
        "sensor": lambda: hand.inject("sensor_open"),
        "mend": lambda: hand.furnace.mend("sensor_open"),
    }
    for event in events:
        acts[event]()
        hand.wait(quarter_seconds * CYCLE_S)
    if hand.state not in LIVE:
        edges = hand.edges_of_permit
        hand.wait(3.0)
        if hand.state not in LIVE:
            assert hand.edges_of_permit == edges


def test_a_furnace_that_stands_for_months_after_a_melt_takes_no_more_memory() -> None:
    def kept_bytes() -> int:
        return len(pickle.dumps(replace(hand.memory.adviser, meter=Meter())))  # its ring is of ten minutes at most

    hand = running(melt(), start_c=450.0)
    hand.wait(10.0)
    hand.stop()
    hand.wait(10.0)
    before = kept_bytes()
    hand.wait(120.0)
    assert kept_bytes() <= before + 100  # a number may take some more digits


def test_a_copy_of_the_memory_goes_its_own_way() -> None:
    hand = hot()
    before = copy.deepcopy(hand.memory)
    hand.stop()
    assert before.firing.state is State.RUNNING
    assert hand.state is not State.RUNNING
