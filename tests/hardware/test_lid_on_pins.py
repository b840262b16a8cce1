"""The lid on real pins: the Pi's backend whole, on mock pins, under the real cycle; levels are read from the pins."""

import pytest

from hardware.ports import CYCLE_S
from hardware.simulated.furnace import Furnace
from hardware.simulated.plant import Bench
from supervisor.cycle import cycle, first_memory
from supervisor.firing import commands as c
from supervisor.firing.presses import Asked
from supervisor.firing.states import State
from supervisor.furnace.file import read_furnace
from supervisor.furnace.proofs import of
from supervisor.furnace.stages import make
from tests.hardware.mock_pi import MockPi
from tests.supervisor.furnace_at_hand import bake

BENCH = read_furnace("bench")


class OnPins:
    """A supervisor on the Pi's backend, everything proved, running."""

    def __init__(self, start_c: float) -> None:
        furnace = Furnace(Bench(seed=1, start_c=start_c), BENCH.wiring, seed=1, limiter_c=BENCH.limiter_c)
        self.pi = MockPi(furnace)
        self.memory = first_memory(BENCH, backend="pi", monotonic_s=self.pi.now_s, next_firing_id=1, left_open=None)
        self.memory.firing.cold_checked = True
        for name, kind in of(BENCH).items():
            make(self.memory.firing.unlocking, name, BENCH, evidence="", who="Ada", witnessed=not kind.stated)

    def turn(self, *commands: c.Command) -> list[c.Answer]:
        sample = self.pi.hardware.sample()
        step = cycle(self.memory, sample, commands, CYCLE_S)
        self.pi.hardware.apply(step.outputs)
        return list(step.answers)

    def wait(self, seconds: float) -> None:
        for _ in range(round(seconds / CYCLE_S)):
            self.turn()

    def start(self) -> None:
        by = c.By("id", "Ada", "page")
        self.wait(1.0)
        self.turn(c.Prepare(by, bake(to_c=480.0), None))
        firing = self.memory.firing
        assert firing.prepared is not None
        profile = firing.prepared.profile
        allowance_wh = firing.prepared_allowance_wh
        assert allowance_wh is not None
        echo = (profile.name, None, profile.top_c, profile.longest_s, allowance_wh, True)
        (answer,) = self.turn(c.Start(by, self.memory.epoch, *echo))
        assert answer.accepted, answer
        while firing.button.question is None or firing.button.question.asked is not Asked.START:
            self.turn()
        self.pi.furnace.press(3.75)
        while firing.state is State.STARTING:
            self.turn()
        assert firing.state is State.RUNNING

    def pin(self, line: str) -> bool:
        return bool(self.pi.pins.pin(getattr(BENCH.wiring, line)).state)


@pytest.mark.parametrize("fault", [None, "relay_stuck_on"])
def test_an_open_lid_takes_relay_and_after_five_seconds_enable_and_permit_keep_the_contactor_out(
    fault: str | None,
) -> None:
    at = OnPins(start_c=430.0)
    at.start()
    while not at.pin("relay"):
        at.turn()
    assert at.pin("enable")
    if fault:
        at.pi.furnace.inject(fault)
    at.pi.furnace.lid(True)
    at.turn()
    assert not at.pin("relay")  # in the same cycle
    assert at.pin("enable")
    at.wait(5.5)
    assert not at.pin("enable")
    assert not at.pi.furnace.interlock.poles_closed  # both poles, whatever the relay does
    at.pi.furnace.lid(False)
    at.wait(20.0)
    assert not at.pin("enable")  # nobody pressed
    assert not at.pi.furnace.interlock.poles_closed


def test_a_furnace_of_real_pins_without_its_proofs_does_not_heat_whatever_is_asked() -> None:
    at = OnPins(start_c=430.0)
    at.memory.firing.unlocking.proved.clear()
    with pytest.raises(AssertionError, match="No heat yet: proofs are missing"):
        at.start()
    at.pi.furnace.press(10.0)
    at.wait(30.0)
    assert not any(edge.level for edge in at.pi.furnace.edges if edge.line in ("relay", "enable", "permit"))
