"""Watches over what people do at the furnace: button, signs of presence. The lid has its own: `lid`."""

from dataclasses import dataclass

from supervisor.firing.presses import STUCK_AFTER_S
from supervisor.firing.states import HEATED, State
from supervisor.watches.finding import HOLD_WITHOUT_HEAT, Finding, Leave, Reaction
from supervisor.watches.view import View

BY_A_PRESS = Reaction(leave=Leave.BY_A_PRESS)


@dataclass(frozen=True, slots=True)
class ButtonStuck:
    """The button has read pressed for over 10 s: taped, wedged or shorted, it proves nobody's presence."""

    id: str = "button-stuck"
    reaction: Reaction = HOLD_WITHOUT_HEAT | BY_A_PRESS
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED | {State.STARTING}
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """How long it has been pressed."""
        held_s = view.firing.button.held_for_s(view.now_s)
        if held_s <= STUCK_AFTER_S:
            return None
        return Finding(self.id, self.reaction, f"pressed for {held_s:.0f} s, allowed {STUCK_AFTER_S:.0f}")


@dataclass(frozen=True, slots=True)
class SignMissed:
    """Metal may be liquid and nobody pressed when asked: first it is held, much later heat ends."""

    id: str
    limit_s: float
    reaction: Reaction
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """How long the sign is overdue."""
        run = view.firing.run
        silent_s = 0.0 if run is None else run.gate.silent_for_s(view.now_s)
        if silent_s < self.limit_s:
            return None
        return Finding(self.id, self.reaction, f"no press for {silent_s / 60:.0f} min after it was due")
