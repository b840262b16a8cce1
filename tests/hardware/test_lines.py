import math
from collections.abc import Callable
from itertools import pairwise
from threading import Thread

import pytest
from gpiozero.pins.mock import MockFactory, MockPin
from hypothesis import given
from hypothesis import strategies as st

from hardware.lines import INPUT_LINES, OUTPUT_LINES, Lines
from hardware.ports import OFF, Inputs, Level, OutputFault, Outputs, Permit
from tests.hardware.tiny import WIRING

TOGGLE = OFF._replace(permit=Permit.TOGGLE)


class StuckPin(MockPin):  # type: ignore[misc]  # the library ships no types
    """A pin that stays where `stuck` says, whatever is written."""

    stuck: bool | None = None

    def _get_state(self) -> bool:
        return bool(super()._get_state()) if self.stuck is None else self.stuck


@pytest.fixture
def factory() -> MockFactory:
    return MockFactory(pin_class=StuckPin)


@pytest.fixture
def lines(factory: MockFactory) -> Lines:
    for line in INPUT_LINES:
        factory.pin(getattr(WIRING, line)).drive_high()
    factory.pin(WIRING.energy_pulse).drive_high()
    return Lines(WIRING, factory)


def levels(factory: MockFactory) -> dict[str, bool]:
    return {line: bool(factory.pin(getattr(WIRING, line)).state) for line in OUTPUT_LINES}


def history(factory: MockFactory, line: str) -> list[bool]:
    return [bool(state.state) for state in factory.pin(getattr(WIRING, line)).states]


def test_every_output_is_off_from_the_first_moment(lines: Lines, factory: MockFactory) -> None:
    assert levels(factory) == dict.fromkeys(OUTPUT_LINES, False)
    assert [history(factory, line) for line in OUTPUT_LINES] == [[False]] * 5


def test_each_output_reaches_its_own_pin(lines: Lines, factory: MockFactory) -> None:
    for number, line in enumerate(line for line in OUTPUT_LINES if line != "permit"):
        lines.apply(OFF._replace(**{line: True}), float(number))  # type: ignore[arg-type]  # never the permit
        assert levels(factory) == {other: other == line for other in OUTPUT_LINES}


def test_each_input_comes_from_its_own_pin_and_low_is_closed(lines: Lines, factory: MockFactory) -> None:
    for line in INPUT_LINES:
        pin = factory.pin(getattr(WIRING, line))
        pin.drive_low()
        assert lines.read() == Inputs(*[Level.OPEN] * 12)._replace(**{line: Level.CLOSED})
        pin.drive_high()
    assert lines.read() == Inputs(*[Level.OPEN] * 12)


def test_what_is_not_fitted_says_so() -> None:
    lines = Lines(WIRING._replace(lid=None, permit_relay_2=None, energy_pulse=None), MockFactory())
    inputs = lines.read()
    assert inputs.lid is inputs.permit_relay_2 is Level.NOT_FITTED
    assert list(inputs).count(Level.NOT_FITTED) == 2
    assert lines.energy_pulses == 0
    lines.close()


@pytest.mark.parametrize("bad", [1, 0, 0.01, math.nan, -1, "off", None])
@pytest.mark.parametrize("line", ["relay", "enable", "lamp", "sounder"])
def test_only_true_and_false_reach_an_output(lines: Lines, factory: MockFactory, line: str, bad: object) -> None:
    lines.apply(Outputs(True, True, Permit.TOGGLE, True, True), 0.0)
    with pytest.raises(TypeError, match="allowed: True or False"):
        lines.apply(OFF._replace(**{line: bad}), 1.0)  # type: ignore[arg-type]  # the point of the test
    assert levels(factory) == dict.fromkeys(OUTPUT_LINES, False)


def test_an_unknown_permit_switches_everything_off(lines: Lines, factory: MockFactory) -> None:
    lines.apply(Outputs(True, True, Permit.TOGGLE, True, True), 0.0)
    with pytest.raises(TypeError, match="allowed: a Permit"):
        lines.apply(OFF._replace(permit=True), 1.0)  # type: ignore[arg-type]  # the point of the test
    assert levels(factory) == dict.fromkeys(OUTPUT_LINES, False)


@pytest.mark.parametrize("line", ["relay", "enable"])
@pytest.mark.parametrize("stuck", [True, False])
def test_a_stuck_output_leaves_the_permit_still_and_the_other_off(
    lines: Lines, factory: MockFactory, line: str, stuck: bool
) -> None:
    factory.pin(getattr(WIRING, line)).stuck = stuck
    wanted = not stuck
    with pytest.raises(OutputFault, match="did not read back"):
        lines.apply(Outputs(wanted, wanted, Permit.TOGGLE, False, False), 0.0)
    assert history(factory, "permit") == [False]
    other = {"relay": "enable", "enable": "relay"}[line]
    assert levels(factory)[other] is False


def test_the_permit_moves_last(factory: MockFactory, lines: Lines) -> None:
    order: list[str] = []

    def note(line: str, write: Callable[[bool], None]) -> Callable[[bool], None]:
        def noted(value: bool) -> None:
            order.append(line)
            write(value)

        return noted

    for line in OUTPUT_LINES:
        pin = factory.pin(getattr(WIRING, line))
        pin._set_state = note(line, pin._set_state)
    lines.apply(Outputs(True, True, Permit.TOGGLE, True, True), 0.0)
    assert order == ["relay", "enable", "lamp", "sounder", "permit"]


def test_high_and_low_stick_the_permit_and_still_leaves_it(lines: Lines, factory: MockFactory) -> None:
    asked = [Permit.HIGH, Permit.HIGH, Permit.STILL, Permit.LOW, Permit.LOW, Permit.TOGGLE, Permit.STILL, Permit.TOGGLE]
    seen = []
    for cycle, permit in enumerate(asked):
        lines.apply(OFF._replace(permit=permit), cycle * 0.25)
        seen.append(levels(factory)["permit"])
    assert seen == [True, True, True, False, False, True, True, False]


@given(st.lists(st.tuples(st.floats(0.0, 0.6), st.sampled_from(Permit)), max_size=60))
def test_two_edges_of_the_permit_are_never_in_a_hurry(cycles: list[tuple[float, Permit]]) -> None:
    factory = MockFactory()
    lines = Lines(WIRING, factory)
    now_s, edges, level = 100.0, [], False
    for pause_s, permit in cycles:
        now_s += pause_s
        lines.apply(OFF._replace(permit=permit), now_s)
        if levels(factory)["permit"] is not level:
            level = not level
            edges.append(now_s)
    lines.close()
    assert all(later - earlier >= 0.2 for earlier, later in pairwise(edges))


def test_a_time_that_is_no_number_moves_no_permit(lines: Lines, factory: MockFactory) -> None:
    lines.apply(TOGGLE, math.nan)
    assert history(factory, "permit") == [False]


def test_meter_pulses_are_counted_on_the_closing_edge(lines: Lines, factory: MockFactory) -> None:
    pin = factory.pin(WIRING.energy_pulse)
    for _ in range(5):
        pin.drive_low()
        pin.drive_high()
    assert lines.energy_pulses == 5


def test_another_thread_may_not_move_the_outputs(lines: Lines, factory: MockFactory) -> None:
    lines.apply(OFF, 0.0)
    raised: list[Exception] = []

    def meddle() -> None:
        try:
            lines.apply(Outputs(True, True, Permit.TOGGLE, False, False), 1.0)
        except RuntimeError as error:
            raised.append(error)

    thread = Thread(target=meddle)
    thread.start()
    thread.join()
    assert [str(error) for error in raised] == ["the outputs belong to another thread"]
    assert levels(factory) == dict.fromkeys(OUTPUT_LINES, False)


def test_close_switches_off_before_it_lets_go(lines: Lines, factory: MockFactory) -> None:
    lines.apply(Outputs(True, True, Permit.TOGGLE, True, True), 0.0)
    lines.close()
    assert [history(factory, line) for line in OUTPUT_LINES] == [[False, True, False]] * 5
    assert [factory.pin(getattr(WIRING, line)).function for line in OUTPUT_LINES] == ["input"] * 5
    lines.close()


def test_close_says_what_did_not_go_off_and_lets_go_all_the_same(lines: Lines, factory: MockFactory) -> None:
    lines.apply(OFF._replace(relay=True), 0.0)
    factory.pin(WIRING.relay).stuck = True
    with pytest.raises(OutputFault, match="still on after being switched off: relay"):
        lines.close()
    assert factory.pin(WIRING.relay).function == "input"
