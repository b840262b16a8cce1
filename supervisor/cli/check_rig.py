"""The furnace in the hands of `check`: one turn each 250 ms, and the relay is never ordered on: there is no way to."""

from collections.abc import Callable
from typing import NamedTuple, Protocol

from hardware.ports import FurnaceHardware, Level, Outputs, Permit, Reading, Sample
from supervisor.cli.check_going import Answer
from supervisor.firing import start
from supervisor.firing.presses import Asked, Button
from supervisor.furnace.description import FurnaceDescription

RISES_K = 8.0
"""The reading has risen by so much while no heat was ordered: the relay does not let go."""
BLIND_TURNS = 4
"""Turns in a row without a reading, contactor in: then nobody could tell that a relay conducts (our choice)."""
RUNS_OUT_S = 3.0
SEEN_WITHIN_S = 0.5
"""The contactor opens within 0.1 s; seen on the grid (our choice)."""


class NotProved(Exception):
    """The step came to nothing: nobody did it, or it cannot be told. Nothing is known then."""


class Failed(NotProved):
    """The furnace did what it must not do."""


class Person(Protocol):
    """Who stands at the furnace."""

    def tell(self, sentence: str) -> None:
        """Say what to do, or what was seen."""
        ...

    def ask(self, question: str) -> str:
        """Put a question and wait for the answer; nothing is ordered on meanwhile."""
        ...

    def ready(self) -> Answer:
        """Whether to go on with the step that was named."""
        ...


class Given(NamedTuple):
    """What the furnace is told in one turn: everything but the relay."""

    enable: bool = False
    permit: Permit = Permit.STILL
    lamp: bool = False
    sounder: bool = False


NOTHING = Given()


class Rig:
    """One furnace, opened by `check` while no supervisor runs."""

    def __init__(self, hardware: FurnaceHardware, furnace: FurnaceDescription) -> None:
        self._hardware, self.furnace = hardware, furnace
        self.sample: Sample = hardware.sample()
        self._began_c: float | None = None
        self._blind = 0  # turns in a row without a reading

    @property
    def now_s(self) -> float:
        """Of the last sample."""
        return self.sample.monotonic_s

    @property
    def reading(self) -> Reading | None:
        """The controlling thermocouple's, if it reads."""
        first = self.sample.sensors[0]
        return first if isinstance(first, Reading) else None

    def turn(self, given: Given = NOTHING) -> Sample:
        """Tell the furnace this much, and see what it says next.

        Raises:
            Failed: with the contactor in it grows warm, and no heat is ordered.
            NotProved: with the contactor in the sensor does not read, so that nobody could tell.
        """
        self._hardware.apply(Outputs(False, *given))
        self.sample = self._hardware.sample()
        self._watch_the_relay(given.enable)
        return self.sample

    def _watch_the_relay(self, enable: bool) -> None:
        reading = self.reading
        self._blind = 0 if reading is not None else self._blind + 1
        if not enable:
            self._began_c = None
        elif reading is None:
            if self._blind >= BLIND_TURNS:
                self.rest()
                raise NotProved("the sensor does not read: with the contactor in nobody could tell that it heats")
        elif self._began_c is None:
            self._began_c = reading.hot_junction_c
        elif reading.hot_junction_c > self._began_c + RISES_K:
            self.rest()
            raise Failed(
                f"the reading rose from {self._began_c:.0f} to {reading.hot_junction_c:.0f} °C with no heat ordered:"
                " the relay does not let go. Switch off at the breaker"
            )

    def at_rest_within(self, seconds: float) -> bool:
        """Key off and permit relays open, before so long: nothing is told to the furnace meanwhile."""
        began_s = self.now_s
        while True:
            inputs = self.sample.inputs
            relays = (inputs.permit_relay_1, inputs.permit_relay_2)
            if inputs.key is Level.OPEN and Level.CLOSED not in relays:
                return True
            if self.now_s - began_s > seconds:
                return False
            self.sample = self._hardware.sample()

    def rest(self) -> None:
        """Everything off."""
        self._hardware.apply(Outputs(False, False, Permit.STILL, False, False))

    def wait_for(self, seen: Callable[[Sample], bool], within_s: float, given: Given = NOTHING) -> float | None:
        """Turn until something is seen; how long it took, or None: it did not come."""
        began_s = self.now_s
        while self.now_s - began_s < within_s:
            if seen(self.turn(given)):
                return self.now_s - began_s
        return None


def permit_runs_out(rig: Rig) -> dict[str, float]:
    """The start test up to the press: the permit given, stuck high, given, stuck low. The times of each relay, s.

    Raises:
        Failed: it is not as it must be.
    """
    _settle(rig)
    test = start.StartTest(since_s=rig.now_s)
    try:
        while test.step is not start.Step.ASKING:
            _turn_test(rig, test)
    finally:
        rig.rest()
    return test.times


def contactor_in(rig: Rig, person: Person, *, prove_relay: bool) -> start.StartTest:
    """Have the contactor in by the start test and a held press. It stays in while permit and enable are given.

    prove_relay: prove that the relay lets go, too, by what is fitted: 2 s to 3 min.

    Raises:
        Failed: it is not as it must be; everything is off.
        NotProved: nobody held the button; everything is off.
    """
    _settle(rig)
    test, button, told = start.StartTest(since_s=rig.now_s, proves_relay=prove_relay), Button(), False
    try:
        while test.step is not start.Step.DONE:
            _turn_test(rig, test, lamp=test.step is start.Step.ASKING)
            pressed = button.see(rig.sample.inputs.reset_button, rig.now_s)
            if test.let_go:
                raise NotProved("the button was let go before the contactor was in")
            if test.undecided is not None:
                raise NotProved(f"it could not be told whether the relay lets go: {test.undecided}")
            if test.step is not start.Step.ASKING:
                continue
            if pressed is Asked.START:
                test.enable = True
                test.enter(start.Step.PULLING_IN, rig.now_s)
            elif button.question is None and not told:
                told = button.put(Asked.START, rig.now_s)
                if told:
                    person.tell("Hold the button at the furnace for 3 s: the contactor goes in. No heat is ordered.")
                elif rig.now_s - test.since_s > 10.0:
                    raise NotProved("the button does not read released")
            elif button.expired(rig.now_s):
                raise NotProved("nobody held the button within 60 s")
    except NotProved:
        rig.rest()
        raise
    return test


def _settle(rig: Rig) -> None:
    """The permit of the step before runs out first. A relay that stays in is the test's to say."""
    rig.wait_for(
        lambda sample: Level.CLOSED not in (sample.inputs.permit_relay_1, sample.inputs.permit_relay_2), RUNS_OUT_S
    )


def _turn_test(rig: Rig, test: start.StartTest, *, lamp: bool = False) -> None:
    sample = rig.turn(Given(test.enable, test.permit, lamp))
    reading_c = 0.0 if rig.reading is None else rig.reading.hot_junction_c
    start.turn(test, sample.inputs, sample.energy_pulses, reading_c, rig.now_s, rig.furnace, True)
    if test.failed is not None:
        rig.rest()
        raise Failed(test.failed)


def opens(rig: Rig) -> float | None:
    """Everything off now; how long until the contactor is proved open, s. None: it was not within SEEN_WITHIN_S."""
    return rig.wait_for(lambda sample: sample.inputs.mirror is Level.CLOSED, SEEN_WITHIN_S)
