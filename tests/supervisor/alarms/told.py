"""Alarms in the hands of a test: watches that say what they are told to say, and what came of it, step by step."""

from dataclasses import dataclass

from supervisor.alarms.lifecycle import Alarms
from supervisor.alarms.standing import AlarmState
from supervisor.firing.states import State
from supervisor.watches.finding import (
    ADVISE,
    CONTROLLED_STOP,
    HOLD_WITHOUT_HEAT,
    TRIP,
    TRIP_KEEP_AWAY,
    Finding,
    Reaction,
)
from supervisor.watches.view import View


@dataclass(frozen=True)
class Made:
    """A watch that says what it is told to say."""

    id: str
    reaction: Reaction
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = frozenset(State)
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        raise AssertionError("nobody asks it here")


ADVICE = Made("mass-doubted", ADVISE)  # priority 3
HOLD = Made("log-behind", HOLD_WITHOUT_HEAT)  # priority 2
SENSOR = Made("sensor-open", TRIP)
SLIP = Made("rate-impossible", TRIP)
LIMITER = Made("limiter", TRIP)
STUCK = Made("contactor-stuck", TRIP_KEEP_AWAY)
RELAY = Made("power-without-command", TRIP)
POWER = Made("no-power", CONTROLLED_STOP)
PEOPLE = Made("nobody-there", CONTROLLED_STOP)
ALL = (ADVICE, HOLD, SENSOR, SLIP, LIMITER, STUCK, RELAY, POWER, PEOPLE)


class Told:
    """Alarms in the hands of a test: which watches speak, second by second."""

    def __init__(self) -> None:
        self.alarms, self.now_s = Alarms(), 1000.0
        self.steps: list[tuple[str, str]] = []

    def speak(self, *watches: Made, after_s: float = 1.0) -> None:
        """A second later just these have a finding."""
        self.now_s += after_s
        found = [Finding(watch.id, watch.reaction, "made up") for watch in watches]
        steps = self.alarms.take(ALL, found, self.now_s)
        self.steps += [(step.watch, step.step) for step in steps]

    def state(self, watch: Made) -> AlarmState:
        return self.alarms.state_of(watch.id)

    def folded(self) -> set[str]:
        return {watch for watch, standing in self.alarms.standing.items() if standing.folded}

    def first_out(self) -> set[str]:
        return {watch for watch, standing in self.alarms.standing.items() if standing.first_out}
