"""What can be wrong with relay, meter, current input, second sensor and contacts, as it shows at pins and frames."""

import pytest

from hardware.ports import OFF, Inputs, Level, Reading, SensorFault
from hardware.simulated.furnace import Furnace
from hardware.simulated.in_process import InProcess
from tests.hardware.tiny import HEAT, POWER_W, TOGGLE, WIRING, TinyPlant, run, start

TWO = WIRING._replace(sensors=(0, 1))


@pytest.fixture
def hardware() -> InProcess:
    made = InProcess(Furnace(TinyPlant(700.0), TWO, seed=1, limiter_c=900.0))
    start(made)
    return made


def supplied(hardware: InProcess, seconds: float, told_on: bool) -> float:
    """Share of full power that the element took."""
    run(hardware, 0.5, HEAT if told_on else TOGGLE)
    plant = hardware.furnace.plant
    before_j = plant.supplied_j  # type: ignore[attr-defined]  # a plant that a test can look into
    run(hardware, seconds, HEAT if told_on else TOGGLE)
    return (plant.supplied_j - before_j) / (POWER_W * seconds)  # type: ignore[attr-defined,no-any-return]


@pytest.mark.parametrize(
    ("fault", "when_on", "when_off"),
    [
        (None, 1.0, 0.0),
        ("relay_half_wave", 1.0, 0.5),
        ("relay_half_power", 0.5, 0.0),
        ("relay_stuck_on", 1.0, 1.0),
        ("relay_stuck_off", 0.0, 0.0),
        ("element_broken", 0.0, 0.0),
    ],
)
def test_what_a_broken_relay_lets_through(
    hardware: InProcess, fault: str | None, when_on: float, when_off: float
) -> None:
    if fault is not None:
        hardware.furnace.inject(fault)
    assert supplied(hardware, 20.0, True) == pytest.approx(when_on)
    assert (hardware.sample().inputs.load_current is Level.CLOSED) == (when_on > 0.0)
    assert supplied(hardware, 20.0, False) == pytest.approx(when_off)
    assert (hardware.sample().inputs.load_current is Level.CLOSED) == (when_off > 0.0)


def test_a_relay_that_leaks_is_without_power_when_the_contactor_is_out(hardware: InProcess) -> None:
    hardware.furnace.inject("relay_half_wave")
    run(hardware, 3.0, OFF)
    assert supplied(hardware, 10.0, False) == 0.0
    assert hardware.sample().inputs.mirror is Level.CLOSED
    assert hardware.sample().inputs.load_current is Level.OPEN


@pytest.mark.parametrize(("fault", "says"), [("current_input_stuck_on", True), ("current_input_stuck_off", False)])
@pytest.mark.parametrize("outputs", [HEAT, TOGGLE])
def test_a_stuck_current_input_says_the_same_whatever_flows(
    hardware: InProcess, fault: str, says: bool, outputs: object
) -> None:
    hardware.furnace.inject(fault)
    for _ in range(40):
        hardware.apply(outputs)  # type: ignore[arg-type]
        assert (hardware.sample().inputs.load_current is Level.CLOSED) == says


def test_swapped_wires_mirror_the_reading_about_the_cold_junction(hardware: InProcess) -> None:
    hardware.furnace.plant.hot_c = 60.0  # type: ignore[attr-defined]
    hardware.furnace.inject("sensor_reversed")
    hardware.sample()
    reading = hardware.sample().sensors[0]
    assert isinstance(reading, Reading)
    assert reading.hot_junction_c == pytest.approx(25.0 - (60.0 - 25.0), abs=2.0)


def test_noise_has_the_size_that_was_asked_for(hardware: InProcess) -> None:
    hardware.furnace.inject("sensor_noisy", 6.0)
    seen = [s.hot_junction_c for s in (hardware.sample().sensors[0] for _ in range(2000)) if isinstance(s, Reading)]
    mean = sum(seen) / len(seen)
    assert (sum((c - mean) ** 2 for c in seen) / len(seen)) ** 0.5 == pytest.approx(6.0, rel=0.1)


def test_a_loose_contact_is_flagged_in_its_share_of_frames(hardware: InProcess) -> None:
    hardware.furnace.inject("sensor_intermittent", 0.2)
    bad = [s for s in (hardware.sample().sensors[0] for _ in range(2000)) if isinstance(s, SensorFault)]
    assert 300 < len(bad) < 500
    assert {fault.reason for fault in bad} == {"open circuit"}


def test_a_warm_box_shows_at_both_cold_junctions_and_leaves_the_hot_ones_right(hardware: InProcess) -> None:
    hardware.furnace.inject("board_warm", 6.0)
    run(hardware, 60.0, OFF)
    for sensor in hardware.sample().sensors:
        assert isinstance(sensor, Reading)
        assert sensor.cold_junction_c == pytest.approx(31.0, abs=0.3)
        assert sensor.hot_junction_c == pytest.approx(700.0, abs=3.0)
    hardware.furnace.mend("board_warm")
    first = hardware.sample().sensors[0]
    assert isinstance(first, Reading)
    assert first.cold_junction_c == 25.0


def test_the_second_sensor_breaks_and_slips_alone(hardware: InProcess) -> None:
    hardware.furnace.inject("second_sensor_slip", 0.5)
    run(hardware, 150.0, OFF)
    first, second = hardware.sample().sensors
    assert isinstance(first, Reading)
    assert isinstance(second, Reading)
    assert first.hot_junction_c - second.hot_junction_c > 250.0
    hardware.furnace.inject("second_sensor_open")
    first, second = hardware.sample().sensors
    assert isinstance(first, Reading)
    assert isinstance(second, SensorFault)


def test_without_a_second_sensor_there_is_nothing_of_it_to_break() -> None:
    alone = InProcess(Furnace(TinyPlant(700.0), WIRING, seed=1, limiter_c=900.0))
    alone.furnace.inject("second_sensor_open")
    (reading,) = alone.sample().sensors
    assert isinstance(reading, Reading)


def test_a_bouncing_lid_switch_reads_open_in_its_share_and_takes_the_relays_drive_with_it(hardware: InProcess) -> None:
    hardware.furnace.inject("lid_switch_bounces", 0.25)
    seen = []
    for _ in range(1000):
        hardware.apply(HEAT)
        inputs = hardware.sample().inputs
        assert (inputs.lid is Level.CLOSED) == (inputs.load_current is Level.CLOSED)
        seen.append(inputs.lid is Level.OPEN)
    assert 200 < sum(seen) < 300


def test_a_bouncing_meter_counts_what_nobody_used(hardware: InProcess) -> None:
    hardware.furnace.inject("meter_bounces", 30.0)
    before = hardware.sample().energy_pulses
    run(hardware, 600.0, TOGGLE)
    assert 230 < hardware.sample().energy_pulses - before < 370


def test_a_fluttering_contactor_parts_for_single_moments(hardware: InProcess) -> None:
    hardware.furnace.plant.hot_c = 20.0  # type: ignore[attr-defined]
    hardware.furnace.inject("contactor_chatters", 20.0)
    seen = []
    for _ in range(2400):
        hardware.apply(HEAT)
        seen.append(hardware.sample().inputs.mirror is Level.CLOSED)
    assert 120 < sum(seen) < 280
    assert hardware.furnace.interlock.poles_closed


@pytest.mark.parametrize(("fault", "mains"), [("mains_off", Level.OPEN), ("chain_supply_lost", Level.CLOSED)])
def test_mains_presence_tells_a_blown_fuse_from_lost_mains(hardware: InProcess, fault: str, mains: Level) -> None:
    hardware.furnace.inject(fault)
    run(hardware, 1.0, HEAT)
    inputs = hardware.sample().inputs
    assert inputs.mains is mains
    others = [level for line, level in zip(Inputs._fields, inputs, strict=True) if line != "mains"]
    assert set(others) == {Level.OPEN}


def test_low_mains_and_a_step_multiply(hardware: InProcess) -> None:
    hardware.furnace.inject("mains_low", 0.9)
    hardware.furnace.inject("mains_step", 0.9)
    assert supplied(hardware, 20.0, True) == pytest.approx(0.9**4)


def test_faults_of_the_computer_stand_side_by_side(hardware: InProcess) -> None:
    hardware.furnace.inject("supply_weak")
    hardware.furnace.inject("clock_untrusted")
    board = hardware.sample().board
    assert board.under_voltage is True
    assert board.clock_trusted is False
    hardware.furnace.mend("supply_weak")
    board = hardware.sample().board
    assert board.under_voltage is False
    assert board.clock_trusted is False
