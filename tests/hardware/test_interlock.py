"""The simulated hardware around the computer, by its own record of edges."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hardware.ports import OFF, Inputs
from hardware.simulated.furnace import Edge, Furnace
from hardware.simulated.in_process import InProcess
from tests.hardware.tiny import HEAT, TOGGLE, WIRING, TinyPlant, run, start


def make(seed: int = 1) -> InProcess:
    return InProcess(Furnace(TinyPlant(), WIRING, seed=seed, limiter_c=900.0))


@pytest.fixture
def hardware() -> InProcess:
    return make()


def edges(furnace: Furnace, line: str) -> list[tuple[float, bool]]:
    return [(edge.time_s, edge.level) for edge in furnace.edges if edge.line == line]


def last(furnace: Furnace, line: str) -> Edge:
    return [edge for edge in furnace.edges if edge.line == line][-1]


def test_permit_relays_pull_in_within_25_ms_of_the_first_edge(hardware: InProcess) -> None:
    hardware.sample()
    run(hardware, 0.5, TOGGLE)
    (rose_s, _), *_ = edges(hardware.furnace, "permit")
    for number in (1, 2):
        ((pulled_s, closed),) = edges(hardware.furnace, f"permit_relay_{number}")
        assert closed
        assert 0 < pulled_s - rose_s <= 0.025


def test_the_contactor_needs_a_press_and_then_holds_itself(hardware: InProcess) -> None:
    hardware.sample()
    run(hardware, 5.0, TOGGLE)
    assert edges(hardware.furnace, "contactor") == []
    pressed_s = hardware.furnace.time_s
    hardware.furnace.press(0.5)
    run(hardware, 10.0, TOGGLE)
    assert edges(hardware.furnace, "contactor") == [(pressed_s + 0.025, True)]
    assert edges(hardware.furnace, "reset_button") == [(pressed_s, True), (pressed_s + 0.5, False)]


def test_a_press_shorter_than_the_pull_in_closes_nothing(hardware: InProcess) -> None:
    hardware.sample()
    run(hardware, 1.0, TOGGLE)
    hardware.furnace.press(0.02)
    run(hardware, 1.0, TOGGLE)
    assert edges(hardware.furnace, "contactor") == []


@pytest.mark.parametrize("seed", range(40))
def test_without_edges_the_contactor_opens_1_0_to_2_1_s_after_the_last_one_and_is_sealed_out(seed: int) -> None:
    hardware = make(seed)
    start(hardware)
    rises = [time_s for time_s, level in edges(hardware.furnace, "permit") if level]
    run(hardware, 3.0, OFF._replace(enable=True))
    opened = last(hardware.furnace, "contactor")
    assert not opened.level
    assert 1.0 <= opened.time_s - rises[-1] <= 2.1
    run(hardware, 3.0, TOGGLE)
    assert last(hardware.furnace, "contactor") == opened
    assert last(hardware.furnace, "permit_relay_1").level


def test_one_furnace_has_its_own_drop_out_time_within_3_percent() -> None:
    means = []
    for seed in range(10):
        hardware, drops = make(seed), []
        for _ in range(5):
            start(hardware)
            last_rise_s = [time_s for time_s, level in edges(hardware.furnace, "permit") if level][-1]
            run(hardware, 3.0, OFF)
            drops.append(last(hardware.furnace, "permit_relay_1").time_s - last_rise_s)
        means.append(sum(drops) / 5)
        assert max(drops) / min(drops) < 1.03 / 0.97
        assert len(set(drops)) == 5
    assert max(means) - min(means) > 0.3


def test_a_rising_gap_of_1_s_holds(hardware: InProcess) -> None:
    start(hardware)
    for _ in range(20):
        run(hardware, 0.25, TOGGLE)
        run(hardware, 0.25, OFF._replace(enable=True))
    assert edges(hardware.furnace, "contactor")[1:] == []


def test_a_racing_line_is_no_permit(hardware: InProcess) -> None:
    start(hardware)
    furnace = hardware.furnace
    for _ in range(12):
        for beat in range(1, 10):
            furnace.advance(furnace.next_grid_s - 0.25 + beat * 0.025)
            furnace.set_output("permit", not furnace.interlock.permit)
        furnace.step()
    assert not furnace.interlock.poles_closed


@pytest.mark.parametrize(
    ("act", "line"),
    [
        (lambda furnace: furnace.emergency_stop(True), "emergency_stop"),
        (lambda furnace: furnace.key(False), "key"),
        (lambda furnace: furnace.trip_limiter(), "limiter"),
        (lambda furnace: furnace.mains(False), "mains"),
    ],
)
def test_whatever_opens_the_chain_opens_the_contactor_in_15_ms_for_good(hardware, act, line) -> None:  # type: ignore[no-untyped-def]
    start(hardware)
    run(hardware, 1.0, HEAT)
    act(hardware.furnace)
    at_s = hardware.furnace.time_s
    run(hardware, 2.0, HEAT)
    assert last(hardware.furnace, line) == Edge(at_s, line, False)
    assert last(hardware.furnace, "contactor") == Edge(at_s + 0.015, "contactor", False)
    assert not last(hardware.furnace, "element").level
    hardware.furnace.emergency_stop(False)
    hardware.furnace.key(True)
    hardware.furnace.limiter_reset()
    hardware.furnace.mains(True)
    run(hardware, 3.0, HEAT)
    assert not hardware.furnace.interlock.poles_closed


def test_enable_off_opens_the_contactor_at_once(hardware: InProcess) -> None:
    start(hardware)
    at_s = hardware.furnace.time_s
    run(hardware, 0.5, TOGGLE._replace(enable=False))
    assert last(hardware.furnace, "contactor") == Edge(at_s + 0.015, "contactor", False)


def test_the_lid_takes_the_relay_and_leaves_the_contactor(hardware: InProcess) -> None:
    start(hardware)
    run(hardware, 1.0, HEAT)
    hardware.furnace.lid(True)
    at_s = hardware.furnace.time_s
    run(hardware, 1.0, HEAT)
    assert last(hardware.furnace, "element") == Edge(at_s, "element", False)
    assert hardware.furnace.interlock.poles_closed
    hardware.furnace.lid(False)
    run(hardware, 0.25, HEAT)
    assert hardware.furnace.interlock.powered


def test_relay_level_heats_nothing_while_the_contactor_is_out(hardware: InProcess) -> None:
    hardware.sample()
    run(hardware, 5.0, HEAT)
    assert edges(hardware.furnace, "element") == []


def test_the_limiter_trips_by_the_hot_face_and_stays_until_it_is_reset_cold(hardware: InProcess) -> None:
    start(hardware)
    plant = hardware.furnace.plant
    assert isinstance(plant, TinyPlant)
    plant.hot_c = 900.0
    run(hardware, 0.5, HEAT)
    assert hardware.furnace.interlock.limiter_tripped
    assert not hardware.furnace.interlock.poles_closed
    assert hardware.furnace.limiter_reset() is False
    plant.hot_c = 899.0
    run(hardware, 0.5, OFF)
    assert hardware.furnace.interlock.limiter_tripped
    assert hardware.furnace.limiter_reset() is True


def test_a_stuck_relay_heats_until_the_contactor_opens(hardware: InProcess) -> None:
    start(hardware)
    hardware.furnace.inject("relay_stuck_on")
    run(hardware, 2.0, TOGGLE)
    assert hardware.furnace.interlock.powered
    run(hardware, 0.5, OFF)
    assert not hardware.furnace.interlock.powered


def test_a_welded_contactor_stays_in_and_its_mirror_says_so(hardware: InProcess) -> None:
    start(hardware)
    hardware.furnace.inject("contactor_welded")
    run(hardware, 5.0, OFF)
    assert hardware.furnace.interlock.poles_closed
    assert hardware.sample().inputs.mirror.value == "open"
    hardware.furnace.mend("contactor_welded")
    run(hardware, 0.5, OFF)
    assert hardware.sample().inputs.mirror.value == "closed"


def test_a_welded_permit_relay_reads_closed_and_the_other_still_opens_the_contactor(hardware: InProcess) -> None:
    start(hardware)
    hardware.furnace.inject("permit_relay_welded", 2)
    run(hardware, 3.0, OFF._replace(enable=True))
    inputs = hardware.sample().inputs
    assert (inputs.permit_relay_1.value, inputs.permit_relay_2.value) == ("open", "closed")
    assert not hardware.furnace.interlock.poles_closed


ACTS = st.sampled_from(
    ["toggle", "heat", "off", "press", "release", "key", "stop", "lid", "mains", "trip", "reset", "sleep"]
)


@given(st.lists(ACTS, max_size=80), st.integers(0, 1000))
def test_the_element_has_power_only_through_a_closed_contactor_and_a_made_chain(acts: list[str], seed: int) -> None:
    hardware = make(seed)
    furnace = hardware.furnace
    levels = {"key": True, "stop": False, "lid": False, "mains": True}
    hardware.sample()
    for act in acts:
        if act in levels:
            levels[act] = not levels[act]
            {"key": furnace.key, "stop": furnace.emergency_stop, "lid": furnace.lid, "mains": furnace.mains}[act](
                levels[act]
            )
        elif act == "press":
            furnace.press(0.6)
        elif act == "release":
            furnace.release()
        elif act == "trip":
            furnace.trip_limiter()
        elif act == "reset":
            furnace.limiter_reset()
        elif act != "sleep":
            hardware.apply({"toggle": TOGGLE, "heat": HEAT, "off": OFF}[act])
        sample = hardware.sample()
        interlock = furnace.interlock
        if interlock.powered:
            assert interlock.poles_closed
            assert interlock.chain_made
            assert furnace.interlock.relay
            assert sample.inputs.mirror.value == "open"
            assert sample.inputs.load_current.value == "closed"
    times_s = [edge.time_s for edge in furnace.edges]
    assert times_s == sorted(times_s)


def test_the_mirror_proves_the_poles_open_and_not_the_coil_off(hardware: InProcess) -> None:
    start(hardware)
    furnace = hardware.furnace
    furnace.emergency_stop(True)
    mirror = Inputs._fields.index("mirror")
    furnace.advance(furnace.time_s + 0.014)
    assert furnace.interlock.inputs()[mirror] is False
    furnace.advance(furnace.time_s + 0.002)
    assert furnace.interlock.inputs()[mirror] is True


def test_the_permit_relays_drop_with_the_mains_and_need_a_new_edge(hardware: InProcess) -> None:
    start(hardware)
    hardware.furnace.mains(False)
    assert not last(hardware.furnace, "permit_relay_1").level
    hardware.sample()
    hardware.furnace.mains(True)
    still = OFF._replace(enable=True)
    run(hardware, 0.5, still)
    assert hardware.sample().inputs.permit_relay_1.value == "open"
    run(hardware, 0.5, TOGGLE)
    assert hardware.sample().inputs.permit_relay_1.value == "closed"
