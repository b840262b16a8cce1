"""The simulated furnace in the process, through the real driver and the real devices."""

import math

import pytest

from hardware.ports import OFF, Inputs, Level, Outputs, Permit, Reading, SensorFault
from hardware.simulated.faults import FAULTS
from hardware.simulated.furnace import Edge, Furnace
from hardware.simulated.in_process import InProcess
from tests.hardware.tiny import HEAT, POWER_W, WIRING, TinyPlant, run, start

IDLE = Inputs(
    emergency_stop=Level.CLOSED,
    limiter=Level.CLOSED,
    key=Level.CLOSED,
    chain=Level.OPEN,
    permit_relay_1=Level.OPEN,
    permit_relay_2=Level.OPEN,
    mirror=Level.CLOSED,
    lid=Level.CLOSED,
    reset_button=Level.OPEN,
    load_current=Level.OPEN,
    mains=Level.CLOSED,
    tray_probe=Level.OPEN,
)


@pytest.fixture
def plant() -> TinyPlant:
    return TinyPlant(hot_c=700.0)


@pytest.fixture
def hardware(plant: TinyPlant) -> InProcess:
    return InProcess(Furnace(plant, WIRING, seed=1, limiter_c=900.0))


def test_samples_lie_on_the_grid_and_each_is_one_step_and_one_transaction(
    hardware: InProcess, plant: TinyPlant
) -> None:
    times_s = [hardware.sample().monotonic_s for _ in range(100)]
    assert times_s == [0.25 * number for number in range(1, 101)]
    assert len(plant.steps) == 100
    assert {step[0] for step in plant.steps} == {0.25}
    assert hardware.buses[0].reads == 100


def test_an_idle_furnace_reads_as_it_is(hardware: InProcess) -> None:
    sample = hardware.sample()
    assert hardware.name == "simulated"
    assert sample.inputs == IDLE
    assert sample.energy_pulses == 0
    (reading,) = sample.sensors
    assert isinstance(reading, Reading)
    assert reading.hot_junction_c == pytest.approx(700.0, abs=0.2)
    assert reading.cold_junction_c == 25.0


def test_a_running_furnace_reads_as_it_is(hardware: InProcess) -> None:
    start(hardware)
    run(hardware, 1.0, HEAT)
    assert hardware.sample().inputs == IDLE._replace(
        chain=Level.CLOSED,
        permit_relay_1=Level.CLOSED,
        permit_relay_2=Level.CLOSED,
        mirror=Level.OPEN,
        load_current=Level.CLOSED,
    )


def test_two_sensors_are_two_chips(plant: TinyPlant) -> None:
    hardware = InProcess(Furnace(plant, WIRING._replace(sensors=(0, 1)), seed=1, limiter_c=900.0))
    hardware.furnace.inject("sensor_open")
    first, second = hardware.sample().sensors
    assert isinstance(first, SensorFault)
    assert isinstance(second, Reading)


def test_lines_that_are_not_fitted(plant: TinyPlant) -> None:
    wiring = WIRING._replace(lid=None, load_current=None, mains=None, tray_probe=None, energy_pulse=None)
    hardware = InProcess(Furnace(plant, wiring, seed=1, limiter_c=900.0))
    start(hardware)
    run(hardware, 10.0, HEAT)
    sample = hardware.sample()
    assert sample.inputs.lid is sample.inputs.load_current is Level.NOT_FITTED
    assert sample.energy_pulses == 0


@pytest.mark.parametrize(
    ("break_it", "opened"),
    [
        (lambda furnace: furnace.emergency_stop(True), {"emergency_stop", "limiter"}),
        (lambda furnace: furnace.trip_limiter(), {"limiter"}),
        (lambda furnace: furnace.key(False), {"key"}),
        (lambda furnace: furnace.lid(True), {"lid"}),
        (lambda furnace: furnace.mains(False), {"emergency_stop", "limiter", "key", "mirror", "lid", "mains"}),
    ],
)
def test_taps_in_series_fall_together(hardware: InProcess, break_it, opened: set[str]) -> None:  # type: ignore[no-untyped-def]
    break_it(hardware.furnace)
    assert hardware.sample().inputs == IDLE._replace(**dict.fromkeys(opened, Level.OPEN))


def test_a_press_is_seen_for_as_long_as_it_lasts(hardware: InProcess) -> None:
    hardware.furnace.press(1.1)
    seen = [hardware.sample().inputs.reset_button is Level.CLOSED for _ in range(6)]
    assert seen == [True, True, True, True, False, False]
    hardware.furnace.press(math.inf)
    run(hardware, 100.0, OFF)
    assert hardware.sample().inputs.reset_button is Level.CLOSED
    hardware.furnace.release()
    assert hardware.sample().inputs.reset_button is Level.OPEN


def test_the_meter_gives_its_pulses_per_kwh(hardware: InProcess, plant: TinyPlant) -> None:
    plant.hot_c = 20.0
    start(hardware)
    run(hardware, 180.0, HEAT)
    assert plant.supplied_j == pytest.approx(180.0 * POWER_W)
    assert hardware.sample().energy_pulses == 100
    hardware.furnace.inject("meter_stuck")
    run(hardware, 60.0, HEAT)
    hardware.furnace.mend("meter_stuck")
    assert hardware.sample().energy_pulses == 100
    run(hardware, 18.0, HEAT)
    assert hardware.sample().energy_pulses in (109, 110)


def test_a_step_cut_by_the_contactor_carries_its_share_of_the_energy(hardware: InProcess, plant: TinyPlant) -> None:
    start(hardware)
    run(hardware, 1.0, HEAT)
    before_j = plant.supplied_j
    hardware.furnace.emergency_stop(True)
    run(hardware, 1.0, HEAT)
    assert plant.supplied_j == before_j  # the relay's drive went with the chain, before the poles
    hardware.furnace.emergency_stop(False)
    hardware.furnace.inject("relay_stuck_on")
    hardware.furnace.press(0.5)
    run(hardware, 0.25, HEAT)
    assert plant.supplied_j - before_j == pytest.approx(POWER_W * (0.25 - 0.025))


def test_a_bus_that_blocks_costs_the_grid_points_it_slept_through(hardware: InProcess) -> None:
    hardware.sample()
    hardware.furnace.inject("bus_blocks")
    late = hardware.sample()
    assert late.sensors[0].reason == "answer came too late"  # type: ignore[union-attr]  # the test fails if it is not
    assert hardware.sample().monotonic_s - late.monotonic_s == 0.5


@pytest.mark.parametrize(
    ("fault", "reason"),
    [
        ("sensor_open", "open circuit"),
        ("sensor_short_to_ground", "short circuit to ground"),
        ("sensor_short_to_supply", "short circuit to supply"),
        ("bus_all_zeros", "no answer"),
        ("bus_all_ones", "no answer"),
        ("bus_silent", "no answer"),
        ("bus_half_frame", "damaged frame"),
        ("bus_error", "bus error"),
    ],
)
def test_faults_of_sensor_and_bus_come_and_go(hardware: InProcess, fault: str, reason: str) -> None:
    healthy = hardware.sample().sensors[0]
    hardware.furnace.inject(fault)
    for _ in range(5):
        (sick,) = hardware.sample().sensors
        assert isinstance(sick, SensorFault)
        assert sick.reason.startswith(reason)
    hardware.furnace.mend(fault)
    assert hardware.sample().sensors[0] == healthy


def test_a_frozen_sensor_repeats_its_frame(hardware: InProcess, plant: TinyPlant) -> None:
    first = hardware.sample().sensors[0]
    hardware.furnace.inject("sensor_frozen")
    plant.hot_c += 100
    assert {hardware.sample().sensors[0] for _ in range(10)} == {first}
    hardware.furnace.mend("sensor_frozen")
    assert hardware.sample().sensors[0] != first


def test_a_corrupt_sensor_spoils_its_share_of_the_frames_the_same_for_the_same_seed(plant: TinyPlant) -> None:
    def words() -> list[int]:
        hardware = InProcess(Furnace(TinyPlant(700.0), WIRING, seed=7, limiter_c=900.0))
        hardware.furnace.inject("sensor_corrupt", 0.3)
        return [hardware.sample().sensors[0].word for _ in range(1000)]

    seen = words()
    (whole,) = [word for word in set(seen) if seen.count(word) > 500]
    assert 250 < sum(word != whole for word in seen) < 350
    assert words() == seen


@pytest.mark.parametrize(
    ("fault", "value", "disturbance"),
    [
        ("sensor_slip", 0.7, ("sensor_slip", 0.7)),
        ("sensor_creep", 20.0, ("sensor_slip_per_s", pytest.approx(1 / 1200))),
        ("sensor_slips", 15.0, ("sensor_slip_per_s", pytest.approx(1 / 15))),
        ("element_shorted", 0.8, ("element_resistance_factor", 0.8)),
        ("sensor_drift", -3.0, ("sensor_drift_c_per_s", pytest.approx(-0.05))),
        ("element_aged", 1.2, ("element_resistance_factor", 1.2)),
        ("leak", 0.4, ("leak_w_per_k", 0.4)),
        ("wet_lining", 1.0, ("wet_lining_kg", 1.0)),
    ],
)
def test_faults_of_the_plant_reach_the_plant(
    hardware: InProcess, plant: TinyPlant, fault: str, value: float, disturbance: tuple[str, float]
) -> None:
    hardware.furnace.inject(fault, value)
    assert plant.disturbed == [disturbance]


@pytest.mark.parametrize("name", FAULTS)
def test_every_fault_can_be_injected_into_a_running_furnace_and_taken_away(hardware: InProcess, name: str) -> None:
    start(hardware)
    healthy = hardware.sample()
    hardware.furnace.inject(name)
    run(hardware, 1.0, HEAT)
    hardware.furnace.mend(name)
    run(hardware, 1.0, OFF)
    run(hardware, 3.0, OFF)
    mended = hardware.sample()
    assert mended.inputs == IDLE
    assert isinstance(mended.sensors[0], Reading)
    assert mended.board == healthy.board
    assert FAULTS[name].sentence.endswith(".")


def test_an_unknown_fault_is_refused(hardware: InProcess) -> None:
    with pytest.raises(KeyError, match="sensor_melted"):
        hardware.furnace.inject("sensor_melted")


@pytest.mark.parametrize(
    ("fault", "value"),
    [
        ("sensor_corrupt", 1.5),
        ("sensor_corrupt", math.nan),
        ("sensor_slips", math.nan),
        ("second_sensor_slip", -0.1),
        ("board_warm", math.nan),
        ("permit_relay_welded", 3),
        ("mains_low", 2.0),
    ],
)
def test_a_value_out_of_range_is_refused(hardware: InProcess, fault: str, value: float) -> None:
    with pytest.raises(ValueError, match=rf"{fault} is .*; allowed: "):
        hardware.furnace.inject(fault, value)


def test_charge_and_pour_reach_the_plant(hardware: InProcess) -> None:
    hardware.furnace.add_charge(2.5, 20.0, "6082")
    assert hardware.furnace.state.metal_kg == 2.5
    assert hardware.furnace.pour() == 2.5
    assert hardware.furnace.state.metal_kg == 0


def test_close_leaves_every_output_low_in_the_record(hardware: InProcess) -> None:
    start(hardware)
    hardware.apply(Outputs(True, True, Permit.HIGH, True, True))
    hardware.sample()
    hardware.close()
    final = {edge.line: edge.level for edge in hardware.furnace.edges}
    outputs = ("relay", "enable", "permit", "lamp", "sounder")
    assert [final[line] for line in outputs] == [False] * 5
    run_s = hardware.furnace.time_s
    hardware.furnace.step()
    assert hardware.furnace.time_s == run_s + 0.25
    assert not hardware.furnace.interlock.poles_closed


def test_the_same_seed_gives_the_same_firing() -> None:
    def record() -> list[Edge]:
        hardware = InProcess(Furnace(TinyPlant(), WIRING, seed=3, limiter_c=900.0))
        start(hardware)
        run(hardware, 20.0, HEAT)
        run(hardware, 5.0, OFF)
        start(hardware)
        return list(hardware.furnace.edges)

    assert record() == record()
