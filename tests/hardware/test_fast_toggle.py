"""The circuit's answer to a racing line, tried by the program that may do so; the relays are simulated."""

import json
import subprocess
import sys

import pytest

from hardware.fast_toggle import fast_toggle, permit_only
from hardware.ports import OutputFault, Wiring
from hardware.simulated.bench import act
from hardware.simulated.furnace import Furnace
from tests.hardware.mock_pi import MockPi
from tests.hardware.tiny import WIRING, TinyPlant

TOGGLED = permit_only(WIRING)


@pytest.fixture
def pi() -> MockPi:
    """Nobody supervises: what the Pi's backend had open is let go."""
    pi = MockPi(Furnace(TinyPlant(), WIRING, seed=1, limiter_c=900.0))
    pi.hardware.close()
    pi.furnace.key(False)
    pi.wait(0.25)
    return pi


def tried(pi: MockPi, wiring: Wiring = TOGGLED) -> tuple[str, bool]:
    seen = fast_toggle(wiring, pi.pins, now_s=lambda: pi.now_s, sleep_until_s=pi.sleep_until)
    return seen.refused, seen.passed


def test_a_window_circuit_lets_go_of_a_racing_line(pi: MockPi) -> None:
    seen = fast_toggle(TOGGLED, pi.pins, now_s=lambda: pi.now_s, sleep_until_s=pi.sleep_until)
    assert seen.passed
    assert seen.opened_1_s is not None
    assert 1.0 <= seen.opened_1_s <= 2.1  # its first edge was a good one
    edges = [edge for edge in pi.furnace.edges if edge.line in ("relay", "enable", "permit", "contactor")]
    assert {edge.line for edge in edges} == {"permit"}
    assert len(edges) == 100
    assert pi.furnace.outputs["permit"] is False


def test_a_relay_that_stays_in_is_told(pi: MockPi) -> None:
    def weld_at_the_first_edge(line: str, level: bool) -> None:
        set_output(line, level)
        pi.furnace.inject("permit_relay_welded", 2)

    set_output = pi.furnace.set_output
    pi.pins.pin(17).changed = lambda level: weld_at_the_first_edge("permit", level)
    assert tried(pi) == ("", False)


def test_with_the_key_on_nothing_is_toggled(pi: MockPi) -> None:
    pi.furnace.key(True)
    pi.wait(0.25)
    refused, passed = tried(pi)
    assert refused.startswith("The key reads on")
    assert not passed
    assert not [edge for edge in pi.furnace.edges if edge.line == "permit"]


@pytest.mark.parametrize(
    ("fault", "says"), [("permit_relay_welded", "A permit relay"), ("mains_off", "The contactor is not proved open")]
)
def test_what_is_not_proved_open_refuses_it(pi: MockPi, fault: str, says: str) -> None:
    pi.furnace.inject(fault)
    pi.wait(0.25)
    refused, passed = tried(pi)
    assert refused.startswith(says)
    assert not passed


def test_lost_inputs_end_it_with_the_permit_low(pi: MockPi) -> None:
    looks = iter([False] * 6)
    pin = pi.pins.pin(20)
    pin._get_state = lambda: not next(looks)
    with pytest.raises(OutputFault):
        tried(pi)
    assert pi.furnace.outputs["permit"] is False


def test_it_opens_the_permit_and_no_other_output() -> None:
    opened = {line: pin for line, pin in TOGGLED._asdict().items() if pin is not None and line != "sensors"}
    assert set(opened) == {"permit", "key", "mirror", "permit_relay_1", "permit_relay_2"}


def test_the_bench_of_a_simulated_furnace_runs_the_same_test(pi: MockPi) -> None:
    answer = act(pi.furnace, {"bench": "race_permit"})
    assert answer["ok"]
    assert answer["passed"]
    pi.furnace.key(True)
    assert act(pi.furnace, {"bench": "race_permit"})["refused"].startswith("The key reads on")


@pytest.mark.processes
@pytest.mark.parametrize("asked", [json.dumps({"permit": 17}), "no JSON", json.dumps(TOGGLED._asdict())])
def test_the_program_refuses_with_a_sentence(asked: str) -> None:
    ended = subprocess.run(
        [sys.executable, "-m", "hardware.fast_toggle"], input=asked, capture_output=True, text=True, timeout=60
    )
    assert ended.returncode == 2
    assert json.loads(ended.stdout)["refused"]
    assert ended.stderr == ""
