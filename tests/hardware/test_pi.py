"""The Pi's backend on mock pins and a simulated bus: what a real computer does to it, and how it ends."""

import ast
import os
from itertools import pairwise
from pathlib import Path
from threading import Thread

import pytest
from gpiozero.pins.mock import MockFactory

import hardware.pi
from hardware.lines import INPUT_LINES, OUTPUT_LINES
from hardware.machine import NotThisMachine
from hardware.pi import PiBus, PiFurnace, claim, open_pi
from hardware.ports import OFF, Inputs, Level, OutputFault, Outputs, Permit, SensorFault
from hardware.simulated.fault import HEALTHY_BOARD
from hardware.simulated.furnace import Furnace
from hardware.simulated.pins import BoardPin
from tests.hardware.mock_pi import MockPi
from tests.hardware.tiny import HEAT, TOGGLE, WIRING, TinyPlant

ROOT = Path(__file__).parents[2]
ALL_ON = Outputs(True, True, Permit.TOGGLE, True, True)
ALL_OFF = dict.fromkeys(OUTPUT_LINES, False)


@pytest.fixture
def pi() -> MockPi:
    return MockPi(Furnace(TinyPlant(700.0), WIRING, seed=1, limiter_c=900.0))


def turn(pi: MockPi, outputs: Outputs, times: int = 1) -> Inputs:
    for _ in range(times):
        inputs = pi.hardware.sample().inputs
        pi.hardware.apply(outputs)
    return inputs


def heat(pi: MockPi) -> None:
    """Contactor in, element on."""
    turn(pi, TOGGLE, 4)
    pi.furnace.press(0.5)
    turn(pi, HEAT, 4)
    assert pi.furnace.interlock.powered


def opened_after_s(pi: MockPi, since_s: float) -> float:
    """From a moment to the contactor's opening, by the furnace's own record."""
    (edge,) = [edge for edge in pi.furnace.edges if edge.line == "contactor" and not edge.level]
    return edge.time_s - since_s


# --- time --------------------------------------------------------------------------------------------------------


def test_a_late_cycle_is_not_caught_up_and_its_time_is_the_moment_of_reading(pi: MockPi) -> None:
    turn(pi, TOGGLE, 4)
    pi.late_s = 0.6
    late_s = pi.hardware.sample().monotonic_s
    pi.hardware.apply(TOGGLE)
    times_s = []
    for _ in range(4):
        times_s.append(pi.hardware.sample().monotonic_s)
        pi.hardware.apply(TOGGLE)
    assert late_s == pytest.approx(1.25 + 0.6 - 0.02)  # it overslept at the first look before the point
    assert times_s == [2.0, 2.25, 2.5, 2.75]
    permit = [edge.time_s for edge in pi.furnace.edges if edge.line == "permit"]
    assert all(later - earlier >= 0.2 for earlier, later in pairwise(permit))


def test_a_bus_that_blocks_costs_its_points_and_no_number_comes_of_it(pi: MockPi) -> None:
    turn(pi, OFF)
    pi.furnace.inject("bus_blocks")
    for _ in range(5):
        (sick,) = pi.hardware.sample().sensors
        assert isinstance(sick, SensorFault)
        assert sick.reason == "answer came too late"
        pi.hardware.apply(OFF)
    assert pi.now_s >= 5 * 0.3


@pytest.mark.parametrize("stopped_s", [0.95, 30.0])
def test_what_was_decided_before_the_program_was_stopped_drives_nothing_after_it(pi: MockPi, stopped_s: float) -> None:
    """Stopped and continued between reading and switching: no edge may feed the permit, and no relay stays on."""
    heat(pi)
    pi.hardware.sample()
    pi.wait(stopped_s)
    permit = [edge for edge in pi.furnace.edges if edge.line == "permit"]
    pi.hardware.apply(HEAT)
    assert not pi.furnace.outputs["relay"]
    assert not pi.furnace.outputs["enable"]
    pi.wait(0.1)
    assert [edge for edge in pi.furnace.edges if edge.line == "permit"] == permit
    assert not pi.furnace.interlock.powered


def test_a_cycle_that_is_only_slow_goes_on(pi: MockPi) -> None:
    heat(pi)
    pi.hardware.sample()
    pi.wait(0.6)
    pi.hardware.apply(HEAT)
    assert pi.furnace.outputs["relay"]
    assert pi.furnace.interlock.powered


# --- frames ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("bits", range(1, 8))
@pytest.mark.parametrize("any_fault", [0x0001_0000, 0])
@pytest.mark.parametrize("reserved", [0, 0x0002_0000, 0x8])
def test_every_fault_frame_is_a_reason(pi: MockPi, bits: int, any_fault: int, reserved: int) -> None:
    # MAX31855 data sheet (Maxim 19-5793), tables 2 and 3: D16 any fault, D2 SCV, D1 SCG, D0 OC; D17 and D3 reserved, 0.
    # Typed from memory.
    pi.furnace.chips[0].forced_word = 0x2BC0_1900 | any_fault | reserved | bits
    (sick,) = pi.hardware.sample().sensors
    assert isinstance(sick, SensorFault)
    said = {1: "open circuit", 2: "short circuit to ground", 4: "short circuit to supply"}
    if any_fault and not reserved:
        assert sick.reason == " and ".join(reason for bit, reason in said.items() if bits & bit)
    else:
        assert sick.reason.startswith("damaged frame")


# --- inputs ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("line", INPUT_LINES)
def test_a_contact_in_motion_says_what_costs_least(pi: MockPi, line: str) -> None:
    pin = pi.pins.pin(getattr(WIRING, line))
    looks = iter([True, False, True, False, True])
    pin._get_state = lambda: next(looks)
    in_doubt = Level.CLOSED if line in ("load_current", "tray_probe") else Level.OPEN
    assert getattr(pi.hardware.sample().inputs, line) is in_doubt


def test_one_look_of_five_is_enough_for_doubt(pi: MockPi) -> None:
    pin = pi.pins.pin(WIRING.lid)
    looks = iter([False, False, True, False, False])
    pin._get_state = lambda: next(looks)
    assert pi.hardware.sample().inputs.lid is Level.OPEN


def test_an_edge_of_the_meter_is_the_only_callback(pi: MockPi) -> None:
    watched = [
        pin for pin in map(pi.pins.pin, [p for p in WIRING[:-1] if p is not None]) if pin.when_changed is not None
    ]
    assert watched == [pi.pins.pin(WIRING.energy_pulse)]
    source = ast.parse((ROOT / "hardware/lines.py").read_text(encoding="utf-8"))
    (counter,) = [n for n in ast.walk(source) if isinstance(n, ast.FunctionDef) and n.name == "_count_pulse"]
    assert [ast.unparse(statement) for statement in counter.body] == ["self._pulses += 1"]


# --- ends --------------------------------------------------------------------------------------------------------


def test_orderly_end_is_off_before_the_pins_are_let_go(pi: MockPi) -> None:
    heat(pi)
    order: list[str] = []
    pi.hardware.let_go_after(lambda: order.append(f"released with {pi.furnace.outputs}"))
    at_s = pi.now_s
    pi.hardware.close()
    assert order == [f"released with {ALL_OFF}"]
    pi.wait(3.0)
    assert opened_after_s(pi, at_s) < 0.1  # by the enable, at once
    pi.hardware.close()


def test_killed_it_leaves_its_pins_and_the_permit_lets_go(pi: MockPi) -> None:
    heat(pi)
    at_s = pi.now_s
    pi.kill()
    pi.wait(3.0)
    assert pi.furnace.outputs["relay"]
    assert pi.furnace.outputs["enable"]
    assert opened_after_s(pi, at_s) <= 2.1
    assert not pi.furnace.interlock.powered
    pi.restart()
    assert pi.furnace.outputs == ALL_OFF


@pytest.mark.parametrize("line", OUTPUT_LINES)
def test_a_lost_pin_takes_all_others_off(pi: MockPi, line: str) -> None:
    heat(pi)

    def lost(value: bool) -> None:
        raise OSError(19, "No such device")

    pi.pins.pin(getattr(WIRING, line))._set_state = lost
    pi.hardware.sample()
    with pytest.raises(OutputFault, match="cannot be written any more"):
        pi.hardware.apply(ALL_ON)
    assert pi.furnace.outputs == ALL_OFF | {line: pi.furnace.outputs[line]}
    with pytest.raises(OutputFault, match=f"still on after being switched off: {line}"):
        pi.hardware.close()


def test_lost_inputs_end_it(pi: MockPi) -> None:
    def lost() -> bool:
        raise OSError(19, "No such device")

    heat(pi)
    pi.pins.pin(WIRING.lid)._get_state = lost
    with pytest.raises(OutputFault, match="the pins do not answer any more"):
        pi.hardware.sample()
    pi.hardware.close()
    assert pi.furnace.outputs == ALL_OFF


def test_another_thread_may_not_drive_it(pi: MockPi) -> None:
    turn(pi, OFF)
    raised: list[str] = []

    def meddle() -> None:
        try:
            pi.hardware.apply(ALL_ON)
        except RuntimeError as error:
            raised.append(str(error))

    thread = Thread(target=meddle)
    thread.start()
    thread.join()
    assert raised == ["the outputs belong to another thread"]
    assert pi.furnace.outputs == ALL_OFF


# --- one supervisor ----------------------------------------------------------------------------------------------


class BusyPin(BoardPin):
    """A pin that the kernel gives to nobody: another program has it."""

    def _set_function(self, value: str) -> None:
        if value == "output" and self.info.name == "GPIO23":
            raise RuntimeError("'GPIO busy'")
        super()._set_function(value)


def test_pins_of_another_program_are_refused_and_what_was_had_is_let_go() -> None:
    factory = MockFactory(pin_class=BusyPin)
    with pytest.raises(NotThisMachine, match=r"cannot be had \('GPIO busy'\): another program"):
        PiFurnace(WIRING, factory, [], lambda: HEALTHY_BOARD)
    assert [bool(factory.pin(getattr(WIRING, line)).state) for line in OUTPUT_LINES] == [False] * 5
    assert factory.pin(WIRING.relay).function == "input"


def test_a_second_supervisor_is_refused_by_its_sensors_bus(tmp_path: Path) -> None:
    device = tmp_path / "spidev0.0"
    device.touch()
    release = claim(device)
    with pytest.raises(NotThisMachine, match="Another supervisor drives a furnace"):
        claim(device)
    release()
    claim(device)()


def test_a_real_device_node_can_be_claimed() -> None:
    release = claim(Path(os.devnull))
    with pytest.raises(NotThisMachine):
        claim(Path(os.devnull))
    release()


def test_on_this_machine_nothing_real_can_be_opened(tmp_path: Path) -> None:
    with pytest.raises(OSError, match=r"spidev0\.0"):
        open_pi(WIRING, lambda: HEALTHY_BOARD, working=tmp_path)
    with pytest.raises(OSError, match="does not exist"):
        PiBus(0)
    with pytest.raises(NotThisMachine, match=r"GPIO library is missing|pins cannot be opened"):
        hardware.pi.real_pins(tmp_path)
    assert Path.cwd() != tmp_path
