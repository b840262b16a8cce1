"""Watches over the chain: emergency stop, limiter, key, contactor, and the loop itself."""

from dataclasses import dataclass

from hardware.ports import Inputs, Level
from supervisor.firing.start import Step
from supervisor.firing.states import HEATED, LIVE, State
from supervisor.watches.finding import CONTROLLED_STOP, TRIP, TRIP_KEEP_AWAY, Finding, Reaction
from supervisor.watches.view import View

EVERY_STATE = frozenset(State)

_MAINS = {
    Level.CLOSED: "mains is there: its own supply or fuse",
    Level.OPEN: "mains is gone",
    Level.NOT_FITTED: "whether mains is there is not wired",
}


def supply_lost(inputs: Inputs) -> bool:
    """No line of the chain reads closed: all are energised when healthy, so the 24 V they share are gone.

    Mains presence hangs on the mains itself, and says which of the two it is.
    """
    return inputs.count(Level.CLOSED) == (inputs.mains is Level.CLOSED)


@dataclass(frozen=True, slots=True)
class SupplyLost:
    """The chain's 24 V are gone, with the mains or alone. The contactor has let go: a lost chain is never a pause."""

    id: str = "supply-lost"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = LIVE
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """All inputs at once, and whether mains is there where that is wired."""
        if not supply_lost(view.inputs):
            return None
        return Finding(self.id, self.reaction, f"every line of the chain reads open; {_MAINS[view.inputs.mains]}")


@dataclass(frozen=True, slots=True)
class EmergencyStop:
    """Somebody pressed it, or its wire is broken."""

    id: str = "emergency-stop"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = LIVE
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """The first tap of the chain."""
        if view.inputs.emergency_stop is not Level.OPEN or supply_lost(view.inputs):
            return None
        return Finding(self.id, self.reaction, "its line reads open")


@dataclass(frozen=True, slots=True)
class LimiterTripped:
    """The independent limiter opened. Believe it."""

    id: str = "limiter"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = LIVE
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """The second tap, which says something of the limiter only while the first is made."""
        if view.inputs.emergency_stop is not Level.CLOSED or view.inputs.limiter is not Level.OPEN:
            return None
        return Finding(self.id, self.reaction, "its line reads open with the emergency stop released")


@dataclass(frozen=True, slots=True)
class KeyOff:
    """The key says: no heat for anybody."""

    id: str = "key-off"
    reaction: Reaction = CONTROLLED_STOP
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = LIVE
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """The key's line, while the taps before it are made."""
        inputs = view.inputs
        if inputs.emergency_stop is Level.OPEN or inputs.limiter is Level.OPEN or inputs.key is not Level.OPEN:
            return None
        return Finding(self.id, self.reaction, "the key reads off")


@dataclass(frozen=True, slots=True)
class ChainLost:
    """Enable is given and the contactor has let go, or the chain in front of it opened: never a pause."""

    id: str = "chain-lost"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (2, 2)
    states: frozenset[State] = LIVE
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """Chain and mirror against what was ordered."""
        firing, inputs = view.firing, view.inputs
        if not firing.enable or (firing.test is not None and firing.test.step is Step.PULLING_IN):
            return None
        if inputs.chain is Level.OPEN:
            return Finding(self.id, self.reaction, "the chain reads open while enable is given")
        if inputs.mirror is Level.CLOSED:
            return Finding(self.id, self.reaction, "the contactor reads open while enable is given")
        return None


@dataclass(frozen=True, slots=True)
class ContactorChatters:
    """Enable is given, and the contactor reads open for single moments, three times in a minute.

    Two looks in a row are a contactor that has let go (`ChainLost`); a flutter is shorter, and burns the poles.
    """

    id: str = "contactor-chatters"
    reaction: Reaction = CONTROLLED_STOP
    needs: tuple[int, int] = (3, 240)
    states: frozenset[State] = HEATED
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """The mirror while enable is given."""
        firing = view.firing
        if not firing.enable or firing.enable_off_s is not None or firing.test is not None:
            return None
        if view.inputs.mirror is not Level.CLOSED:
            return None
        return Finding(self.id, self.reaction, "the contactor read open for a moment while enable is given")


@dataclass(frozen=True, slots=True)
class ContactorStuck:
    """Enable is off, and the contactor is not proved open."""

    limit_s: float = 0.5  # 0.3 s, seen on the grid
    id: str = "contactor-stuck"
    reaction: Reaction = TRIP_KEEP_AWAY
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = EVERY_STATE
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """The mirror, from half a second after enable went off."""
        off_s = view.firing.enable_off_s
        if off_s is None or view.inputs.mirror is not Level.OPEN or supply_lost(view.inputs):
            return None  # with the 24 V gone nothing is proved, and nothing is stuck
        if view.now_s - off_s < self.limit_s:
            return None
        return Finding(self.id, self.reaction, f"enable off for {view.now_s - off_s:.2f} s, contactor not proved open")


@dataclass(frozen=True, slots=True)
class LoopLate:
    """The permit's rising edges came too far apart: this loop was stopped or starved, and heat with it."""

    limit_s: float = 0.9
    id: str = "loop-late"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = LIVE
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """The gap since the last rising edge."""
        if view.rising_gap_s <= self.limit_s:
            return None
        gap_s = view.rising_gap_s
        return Finding(self.id, self.reaction, f"{gap_s:.2f} s since the last rising edge, allowed {self.limit_s}")


@dataclass(frozen=True, slots=True)
class StartTestFailed:
    """A proof of the start, or of going on, did not come out."""

    id: str = "start-test"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = LIVE
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """What the start test says."""
        test = view.firing.test
        if test is None or test.failed is None:
            return None
        return Finding(self.id, self.reaction, test.failed)
