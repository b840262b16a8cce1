"""Random lives of a furnace: people, faults and time in any order, down to the pins.

What must hold in every cycle is checked by the furnace at hand; what must hold of answers and at rest is checked here.
"""

from typing import Any

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from hardware.ports import Permit
from supervisor.firing.states import HEATED, LIVE, State
from supervisor.watches.finding import Then
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, furnace_at_hand, melt, running
from tests.supervisor.properties.every_state import ADDS_HEAT, AT_REST, every_command

FAULTS = ("sensor_open", "bus_silent", "sensor_frozen", "relay_stuck_on", "element_broken", "lid_switch_stuck_closed")
LEVERS = ("lid", "key", "emergency_stop", "mains")


class Life(RuleBasedStateMachine):
    """One furnace with its supervisor."""

    hand: FurnaceAtHand
    seen: int = 0

    @initialize(how=st.sampled_from(["cold", "warm", "running", "melting"]))
    def begin(self, how: str) -> None:
        if how == "running":
            self.hand = running(bake(to_c=600.0), start_c=450.0)
        elif how == "melting":
            self.hand = running(melt(), start_c=530.0)
        else:
            self.hand = furnace_at_hand(start_c=20.0 if how == "cold" else 450.0)
            self.hand.wait(1.0)

    @rule(data=st.data())
    def ask(self, data: st.DataObject) -> None:
        """Any command; with an epoch that is over, it is refused."""
        asked = every_command(self.hand.memory)
        name = data.draw(st.sampled_from(sorted(asked)))
        before = self.hand.memory.alarms.reaction.then
        answer = self.hand.send(asked[name])
        if name.endswith(" late"):
            assert not answer.accepted, name
        if name in ADDS_HEAT and answer.accepted:
            assert max(before, self.hand.memory.alarms.reaction.then) < Then.HOLD or before < Then.HOLD, name
        if name == "stop":
            assert answer.accepted
            assert self.hand.state not in HEATED

    @rule(data=st.data())
    def two_at_once(self, data: st.DataObject) -> None:
        """Two clients in one cycle: a stop overtakes whatever else was asked."""
        asked = every_command(self.hand.memory)
        name = data.draw(st.sampled_from(sorted(asked)))
        if name == "prepare":
            return
        was_live = self.hand.state in LIVE
        other, stop = self.hand.turn(asked[name], asked["stop"])
        assert stop.accepted
        if was_live:
            assert self.hand.state not in LIVE or self.hand.state is State.COMPLETING
            if name in ADDS_HEAT:
                assert not other.accepted, name

    @rule(seconds=st.sampled_from([0.25, 1.0, 4.0, 11.0]))
    def press(self, seconds: float) -> None:
        self.hand.press(seconds)

    @rule(lever=st.sampled_from(LEVERS), on=st.booleans())
    def pull(self, lever: str, on: bool) -> None:
        getattr(self.hand.furnace, lever)(on)
        self.hand.turn()

    @rule()
    def trip_the_limiter(self) -> None:
        self.hand.inject("limiter_trip")
        self.hand.turn()

    @rule(fault=st.sampled_from(FAULTS))
    def break_something(self, fault: str) -> None:
        self.hand.inject(fault)
        self.hand.turn()

    @rule(fault=st.sampled_from(FAULTS))
    def mend_something(self, fault: str) -> None:
        self.hand.furnace.mend(fault)
        self.hand.turn()

    @rule(seconds=st.sampled_from([0.25, 0.5, 1.0, 3.0, 20.0, 65.0]))
    def wait(self, seconds: float) -> None:
        self.hand.wait(seconds)

    @precondition(lambda self: hasattr(self, "hand") and self.hand.state in AT_REST)
    @rule()
    def nothing_moves_at_rest(self) -> None:
        edges = self.hand.edges_of_permit
        self.hand.wait(2.0)
        if self.hand.state in AT_REST:
            assert self.hand.edges_of_permit == edges

    @invariant()
    def nothing_is_alive_at_rest(self) -> None:
        if not hasattr(self, "hand") or self.hand.outputs is None:
            return
        if self.hand.state in AT_REST:
            pins: Any = self.hand.furnace.outputs
            assert not pins["relay"]
            assert not pins["enable"]
            assert self.hand.outputs.permit is Permit.STILL


Life.TestCase.settings = settings(max_examples=12, stateful_step_count=25, deadline=None)
TestLives = Life.TestCase
