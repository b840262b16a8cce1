"""The start test on permit circuits that are not as they should be: what it must find before the contactor goes in.

Made-up relays on the cycle's own grid, and no furnace behind them: the circuits that let go too soon, too late, on one
side alone or not at all cannot be had from the simulated one. Its drop-outs are 1.0 to 2.1 s (simulated, not built).
"""

from collections.abc import Sequence

import pytest

from hardware.ports import CYCLE_S, Inputs, Level, Permit
from supervisor.firing import start
from supervisor.firing.start import StartTest, Step
from tests.supervisor.furnace_at_hand import BENCH

CLOSED, OPEN = Level.CLOSED, Level.OPEN
AT_REST = Inputs(CLOSED, CLOSED, CLOSED, OPEN, OPEN, OPEN, CLOSED, CLOSED, OPEN, OPEN, CLOSED, OPEN)
NEVER_S = 1e9


class Relay:
    """A permit relay: it pulls in so long after the first toggle, and drops so long after the last."""

    def __init__(self, pulls_in_s: float, drops_s: dict[Permit, float]) -> None:
        self._pulls_in_s, self._drops_s = pulls_in_s, drops_s
        self._since_s, self._before = 0.0, Permit.STILL

    def level(self, permit: Permit, now_s: float) -> Level:
        if permit is not self._before:
            self._since_s, self._before = now_s - CYCLE_S, permit  # ordered at the end of the cycle before
        here_s = now_s - self._since_s
        if permit is Permit.TOGGLE:
            return CLOSED if here_s >= self._pulls_in_s else OPEN
        return CLOSED if here_s < self._drops_s.get(permit, 0.0) else OPEN


class Flickers(Relay):
    """It is welded, and its line reads open in one single look."""

    def level(self, permit: Permit, now_s: float) -> Level:
        super().level(permit, now_s)
        if permit is Permit.TOGGLE:
            return CLOSED
        return OPEN if now_s - self._since_s == 1.5 else CLOSED


def tried(relays: Sequence[Relay | None], at_rest: Inputs = AT_REST) -> StartTest:
    """The start test up to the press, or until it has failed."""
    test, now_s = StartTest(), 0.0
    while test.failed is None and test.step is not Step.ASKING:
        now_s += CYCLE_S
        one, two = (Level.NOT_FITTED if each is None else each.level(test.permit, now_s) for each in relays)
        inputs = at_rest._replace(permit_relay_1=one, permit_relay_2=two) if test.step is not Step.AT_REST else at_rest
        start.turn(test, inputs, 0, 20.0, now_s, BENCH, meter=False)
        assert not test.enable
        assert now_s < 60.0
    return test


def relay(pulls_in_s: float = 0.0, high_s: float = 1.5, low_s: float = 1.5) -> Relay:
    return Relay(pulls_in_s, {Permit.HIGH: high_s, Permit.LOW: low_s})


@pytest.mark.parametrize("drops_s", [1.0, 1.5, 2.1])
def test_a_sound_circuit_comes_to_the_press(drops_s: float) -> None:
    for second in (relay(high_s=drops_s, low_s=drops_s), None):
        test = tried((relay(high_s=drops_s, low_s=drops_s), second))
        assert (test.failed, test.step) == (None, Step.ASKING)


@pytest.mark.parametrize(
    ("wrong", "step", "why"),
    [
        (relay(high_s=0.5), Step.STUCK_HIGH, "let go after 0.50 s"),  # its capacitor has lost most of itself
        (relay(low_s=0.25), Step.STUCK_LOW, "let go after 0.25 s"),
        (relay(high_s=4.8), Step.STUCK_HIGH, "still held 2.50 s"),  # the circuit without its one mandatory resistor
        (relay(high_s=NEVER_S), Step.STUCK_HIGH, "still held"),  # a shorted capacitor: stuck high alone shows it
        (relay(low_s=2.5), Step.STUCK_LOW, "still held"),
        (relay(pulls_in_s=1.0), Step.FIRST_TOGGLE, "did not close within 0.5 s"),
        (relay(pulls_in_s=NEVER_S), Step.FIRST_TOGGLE, "did not close"),
    ],
)
@pytest.mark.parametrize("which", [0, 1])
def test_a_circuit_that_cannot_be_trusted_fails_where_it_shows(wrong: Relay, step: Step, why: str, which: int) -> None:
    wrong = relay(wrong._pulls_in_s, wrong._drops_s[Permit.HIGH], wrong._drops_s[Permit.LOW])  # a fresh one each time
    test = tried((wrong, relay()) if which == 0 else (relay(), wrong))
    assert test.step is step
    assert test.failed is not None
    assert why in test.failed


@pytest.mark.parametrize("which", [0, 1])
@pytest.mark.parametrize("other_s", [1.0, 1.5, 2.0])  # the other one lets go before, with and after the flicker
def test_a_welded_relay_whose_line_flickers_has_not_let_go(which: int, other_s: float) -> None:
    wrong, other = Flickers(0.0, {}), relay(high_s=other_s, low_s=other_s)
    test = tried((wrong, other) if which == 0 else (other, wrong))
    assert test.step is Step.STUCK_HIGH
    assert test.failed is not None
    assert "still held" in test.failed


@pytest.mark.parametrize(
    ("line", "level", "why"),
    [
        ("permit_relay_1", CLOSED, "closed with the permit still"),
        ("permit_relay_2", CLOSED, "closed with the permit still"),
        ("mirror", OPEN, "not proved open"),
        ("mirror", Level.NOT_FITTED, "not proved open"),
        ("load_current", CLOSED, "current flows with everything off"),
    ],
)
def test_what_is_not_at_rest_fails_before_the_permit_is_moved(line: str, level: Level, why: str) -> None:
    test = tried((relay(), relay()), AT_REST._replace(**{line: level}))
    assert test.failed is not None
    assert why in test.failed
    assert (test.step, test.permit) == (Step.AT_REST, Permit.STILL)
