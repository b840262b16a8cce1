from gpiozero import OutputDevice

from hardware.simulated.pins import Board
from tests.hardware.tiny import WIRING


def test_an_output_that_is_let_go_while_high_falls_by_its_pull_down_and_is_heard() -> None:
    heard: list[tuple[str, bool]] = []
    board = Board(WIRING, lambda line, level: heard.append((line, level)))
    relay = OutputDevice(WIRING.relay, initial_value=False, pin_factory=board.factory)
    relay.on()
    relay.on()
    relay.close()
    assert heard == [("relay", True), ("relay", False)]
    assert board.factory.pin(WIRING.relay).state is False


def test_a_pin_keeps_no_history_however_often_it_moves() -> None:
    board = Board(WIRING, lambda line, level: None)
    permit = OutputDevice(WIRING.permit, initial_value=False, pin_factory=board.factory)
    for _ in range(1000):
        permit.toggle()
        board.pulse_meter()
    assert len(board.factory.pin(WIRING.permit).states) == 1
    assert len(board.factory.pin(WIRING.energy_pulse).states) == 1


def test_inputs_are_open_until_they_are_driven() -> None:
    board = Board(WIRING, lambda line, level: None)
    assert board.factory.pin(WIRING.mirror).state is True
    board.drive((True,) * 12)
    assert board.factory.pin(WIRING.mirror).state is False
