"""Watches over what people do at the furnace: button, signs of presence. The lid has its own: `lid`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from supervisor.firing.attendance import Stage
from supervisor.firing.presses import STUCK_AFTER_S
from supervisor.firing.states import HEATED, State
from supervisor.watches.finding import ADVISE, HOLD_WITHOUT_HEAT, Finding, Leave, Reaction
from supervisor.watches.view import View

if TYPE_CHECKING:  # a firing knows reactions, which live beside this: at run time the import would be a circle
    from supervisor.firing.firing import Run

BY_A_PRESS = Reaction(leave=Leave.BY_A_PRESS)
ATTENDED = frozenset(State) - {State.ABORTING, State.ABORTED}
"""Where a sign may be wanted: while heat is allowed, and after it in a hot chamber. A trip has its own alarm."""
ABOVE_LIQUIDUS_K = 30.0
PURE_LIQUIDUS_C = 660.3
"""Pure aluminium (ITS-90): the alloys of aluminium in common use are liquid below it."""


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
class SignDue:
    """A sign that somebody is there is due: lamp and page ask for it, then phone, sounder and second contact."""

    id: str = "sign-due"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = ATTENDED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """How long it is overdue by its period, or by hands at the furnace."""
        attendance = view.firing.attendance
        overdue_s = attendance.overdue_s(view.now_s)
        if overdue_s < 0.0 or attendance.alone(view.now_s):
            return None
        return Finding(self.id, self.reaction, f"due for {overdue_s:.0f} s, last one {_last(view)}")


@dataclass(frozen=True, slots=True)
class SignsLost:
    """The last sign came from a phone, and for a minute no page has followed the furnace: nobody watches any more."""

    id: str = "signs-lost"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = ATTENDED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """How long no page has followed."""
        gone_s = view.firing.readers_gone_s
        if gone_s is None or not view.firing.attendance.alone(view.now_s):
            return None
        return Finding(self.id, self.reaction, f"no page has followed for {view.now_s - gone_s:.0f} s")


@dataclass(frozen=True, slots=True)
class SignMissed:
    """Nobody gave a sign when it was due: first it is held, ten minutes later heat ends.

    Liquid metal is held no more than a little above its liquidus: it must neither freeze in the pot nor get hotter with
    nobody there.
    """

    id: str
    stage: Stage
    reaction: Reaction
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """How long the sign is overdue."""
        firing = view.firing
        if firing.attendance.stage(view.now_s) < self.stage:
            return None
        reaction, run = self.reaction, firing.run
        if run is not None and run.gate.may_be_liquid:
            reaction = reaction | Reaction(setpoint_ceiling_c=_liquidus_c(run) + ABOVE_LIQUIDUS_K)
        minutes = firing.attendance.overdue_s(view.now_s) / 60.0
        return Finding(self.id, reaction, f"no sign for {minutes:.0f} min after it was due, last one {_last(view)}")


def _last(view: View) -> str:
    attendance = view.firing.attendance
    return f"{(view.now_s - attendance.signed_s) / 60.0:.0f} min ago{' from a phone' if attendance.by_phone else ''}"


def _liquidus_c(run: Run) -> float:
    charge = run.profile.charge
    return PURE_LIQUIDUS_C if charge is None or charge.liquidus_c is None else charge.liquidus_c
