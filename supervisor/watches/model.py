"""Watches that hold the reading against what furnace and power explain. What is judged when: docs/watches.md."""

from dataclasses import dataclass

from supervisor.firing.states import HEATED, State
from supervisor.watches.finding import (
    ADVISE,
    CONTROLLED_STOP,
    HOLD_WITHOUT_HEAT,
    NO_HEAT,
    TRIP,
    Finding,
    Leave,
    Reaction,
)
from supervisor.watches.off import (
    BREAKS_FOR_S,
    BREAKS_K,
    SLIP_SHARE,
    breaks_off,
    fall_share,
    frozen,
    heat_came_back,
    looks_like_a_lid,
    runs_off,
    slips,
    unpaid,
)
from supervisor.watches.view import View


@dataclass(frozen=True, slots=True)
class WarmerThanPower:
    """The reading climbs away from what the ordered power explains: heat comes that nobody ordered."""

    id: str = "warmer-than-power"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (2, 2)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """The innovations upwards."""
        said = runs_off(view, 1.0)
        return Finding(self.id, self.reaction, said) if said else None


@dataclass(frozen=True, slots=True)
class ColderThanPower:
    """The reading falls away from what the ordered power explains: no heat arrives, or the sensor leaves its place.

    Which of the two it is nobody can tell from a slow fall, nor from an open lid while much heat is ordered: all end
    the firing. One that falls faster than any open lid makes it fall is the sensor, and trips.
    """

    id: str = "colder-than-power"
    reaction: Reaction = CONTROLLED_STOP
    needs: tuple[int, int] = (3, 3)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """The innovations downwards, and how fast the reading falls."""
        said = slips(view)
        if said:
            return Finding(self.id, self.reaction | TRIP, said)
        said = runs_off(view, -1.0) or breaks_off(view) or unpaid(view)
        if not said or looks_like_a_lid(view):
            return None
        trips = fall_share(view) > SLIP_SHARE
        return Finding(self.id, self.reaction | TRIP if trips else self.reaction, said)


@dataclass(frozen=True, slots=True)
class BreaksAway:
    """The reading suddenly falls away from what is expected of it: no heat until it is known what that is.

    Nothing healthy does it but a lid that is seen. One that is not, and a sensor on its way out, do it within seconds:
    long before either can be told from the other. It is no alarm: where nothing follows, heat is back after a quarter
    minute. For longer it may not be kept back: heat that does not arrive shows by heat that is ordered.
    """

    id: str = "breaks-away"
    reaction: Reaction = NO_HEAT
    needs: tuple[int, int] = (1, BREAKS_FOR_S)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """The innovations of two seconds against those before."""
        breaks_k = None if view.innovations is None else view.innovations.breaks_k
        if breaks_k is None or breaks_k > -BREAKS_K or frozen(view) or heat_came_back(view):
            return None
        return Finding(self.id, self.reaction, f"the reading has fallen by {-breaks_k:.1f} K more than its own in 8 s")


@dataclass(frozen=True, slots=True)
class LidUnseen:
    """It loses heat as if the lid were open, and the switch says shut: hands may be inside, so no heat at all.

    By now it has been open for longer than an open lid that is seen may be with the contactor in.
    """

    id: str = "lid-unseen"
    reaction: Reaction = HOLD_WITHOUT_HEAT | Reaction(drop_contactor=True, leave=Leave.BY_A_PRESS)
    needs: tuple[int, int] = (3, 3)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """The innovations downwards, and a fall like that under an open lid."""
        said = runs_off(view, -1.0) or breaks_off(view)
        return Finding(self.id, self.reaction, said) if said and looks_like_a_lid(view) else None


@dataclass(frozen=True, slots=True)
class OverSetpoint:
    """The reading has climbed well above a setpoint that was not lowered: the loop has lost it, or heat comes unasked.

    A healthy furnace overshoots by 15 K at most (simulated, with lids and additions). But where somebody holds it in
    the middle of full power, element and wall bring a cold sheath 60 K further: without heat ordered it must still rise
    when that is long over.
    """

    over_k: float = 20.0
    near_k: float = 5.0
    quiet_s: int = 900
    step_s: int = 60
    full: float = 0.9
    brought_s: int = 300
    rises_k: float = 1.0
    id: str = "over-setpoint"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (15, 180)  # one alarm for what wanders about the limit
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """Reading over a setpoint that it was at in the last quarter hour, and that has not come down since."""
        setpoint_c, reading_c = view.firing.setpoint_c, view.reading_c
        if setpoint_c is None or reading_c is None or reading_c <= setpoint_c + self.over_k or not view.lid_calm:
            return None
        if view.history.mean_duty(self.step_s // 4) == 0.0 and not self._rises_unasked(view):
            return None
        for ago_s in range(0, self.quiet_s + 1, self.step_s):
            then_c, was_c = view.history.setpoint_c(ago_s), view.history.hot_c(ago_s)
            if then_c is not None and then_c > setpoint_c + 1.0:
                return None
            if was_c is not None and was_c <= setpoint_c + self.near_k:
                return Finding(self.id, self.reaction, f"{reading_c - setpoint_c:.0f} K above the setpoint")
        return None

    def _rises_unasked(self, view: View) -> bool:
        """It rises, and no full power was given not long ago."""
        duties = [view.history.mean_duty(self.step_s // 2, ago_s) for ago_s in range(0, self.brought_s, 15)]
        brought = any(duty is not None and duty >= self.full for duty in duties)
        return not brought and (view.history.rise_c(self.step_s) or 0.0) > self.rises_k


BY_INNOVATION = frozenset({"warmer-than-power", "colder-than-power", "lid-unseen"})
"""Once one of these stands, the stiff filter learns no more of the furnace in this firing."""
