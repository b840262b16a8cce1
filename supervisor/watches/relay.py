"""Watches over the relay by meter and current input: power that nobody ordered, and none where it was ordered.

Either input only adds evidence. None of these takes anything from the watches that go by temperature.
"""

from dataclasses import dataclass
from math import inf

from hardware.ports import Level
from supervisor.firing.proofs import Result
from supervisor.firing.states import HEATED, State
from supervisor.watches.finding import (
    ADVISE,
    CONTROLLED_STOP,
    HOLD_WITHOUT_HEAT,
    NO_HEAT,
    TRIP,
    TRIP_KEEP_AWAY,
    Finding,
    Leave,
    Reaction,
)
from supervisor.watches.view import View

_AFTER_START = HEATED | {State.STOPPING, State.COMPLETING}


@dataclass(frozen=True, slots=True)
class CurrentWhenOff:
    """The relay is ordered off and current flows: two looks in a row, the first a quarter second after the order."""

    id: str = "current-when-off"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (2, 2)
    states: frozenset[State] = _AFTER_START
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """The current input while the relay is off."""
        off_s = view.firing.power.off_since_s
        if off_s is None or view.inputs.load_current is not Level.CLOSED:
            return None
        return Finding(self.id, self.reaction, f"current flows, the relay off for {view.now_s - off_s:.2f} s")


@dataclass(frozen=True, slots=True)
class NoCurrent:
    """The relay is ordered on and no current flows: element, fuse, breaker or relay.

    It asks no meter: before one could say that it is the input that is wrong, the heat that may not come would have to
    be ordered for many seconds more. In doubt, off.
    """

    limit_s: float = 0.5
    id: str = "no-current"
    reaction: Reaction = CONTROLLED_STOP
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """How long it has been on without current, off-times left out."""
        power = view.firing.power
        if power.empty_s < self.limit_s:
            return None
        return Finding(self.id, self.reaction, f"no current in the last {power.empty_s:.1f} s of ordered heat")


@dataclass(frozen=True, slots=True)
class PulseWhenOff:
    """One meter pulse came with the relay off: no heat until the next one would have come.

    One pulse may be a stray, and is no alarm. Without heat the second comes a pulse's time later if the relay does not
    let go, also where heat is off for a small part of each window only.
    """

    pulse_times: float = 2.2  # of full power: a half wave takes two
    most_s: float = 10.0
    id: str = "pulse-when-off"
    reaction: Reaction = NO_HEAT
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """The last pulse that no ordered heat stands for, and how long ago it came."""
        power, per_kwh = view.firing.power, view.furnace.pulses_per_kwh
        last_s = power.off_pulses_s[1]
        if per_kwh is None or last_s == -inf or not power.trusted(view.now_s):
            return None
        waits_s = min(self.most_s, self.pulse_times * 3.6e6 / (per_kwh * view.furnace.full_power_w))
        if view.now_s - last_s > waits_s:
            return None
        return Finding(self.id, self.reaction, "a meter pulse with the relay off")


@dataclass(frozen=True, slots=True)
class PowerWhenOff:
    """Meter pulses came with the relay off: the contactor goes out, and tells which of the two is wrong.

    If the meter falls silent with the contactor, it was the relay (`PowerWithoutCommand`); if it goes on counting, it
    is the meter. The first pulse keeps heat off until the second would have come (`PulseWhenOff`): at 1000 pulses per
    kWh and 2.4 kW, where one stands for 1.5 s, the second comes 2.3 to 4 s after the relay was told off.
    """

    within_s: float = 20.0
    stands_s: float = 45.0  # until the contactor has told
    id: str = "power-when-off"
    reaction: Reaction = HOLD_WITHOUT_HEAT | Reaction(drop_contactor=True, leave=Leave.BY_A_PRESS)
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """The last two pulses that no ordered heat stands for."""
        power = view.firing.power
        first_s, last_s = power.off_pulses_s
        if last_s == -inf or last_s - first_s > self.within_s:
            return None
        if view.now_s - last_s > self.stands_s or not power.trusted(view.now_s):
            return None
        return Finding(self.id, self.reaction, f"2 meter pulses in {last_s - first_s:.1f} s with the relay off")


@dataclass(frozen=True, slots=True)
class PowerWithoutCommand:
    """The relay does not let go, by the meter: a pulse under an open lid, or pulses that ended with the contactor."""

    within_s: float = 20.0
    silent_s: float = 30.0
    lid_s: float = 1.0
    id: str = "power-without-command"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """The last pulses with the relay off, against lid and contactor."""
        power = view.firing.power
        first_s, last_s = power.off_pulses_s
        if last_s == -inf or not power.trusted(view.now_s):
            return None
        opened_s, out_s = view.firing.lid.opened_s, power.out_since_s
        if opened_s is not None and last_s - opened_s > self.lid_s:
            return Finding(self.id, self.reaction, f"a meter pulse {last_s - opened_s:.1f} s after the lid was opened")
        if out_s is None or last_s < out_s - self.within_s:
            return None
        if last_s - first_s > self.within_s:
            return None  # one may be a stray
        if view.now_s - out_s < self.silent_s or power.out_pulses_s[1] > out_s:
            return None
        said = f"2 meter pulses in {last_s - first_s:.1f} s with the relay off, none since the contactor is out"
        return Finding(self.id, self.reaction, said)


@dataclass(frozen=True, slots=True)
class PowerAtRest:
    """Everything is told off, and for half a minute the meter counts at 0.4 of full power or more.

    The contactor may read open: a mirror contact that lies and a meter that lies look alike from here, and the
    stricter of the two is taken. A few stray pulses are not enough.
    """

    window_s: int = 30
    share: float = 0.4
    id: str = "power-at-rest"
    reaction: Reaction = TRIP_KEEP_AWAY
    needs: tuple[int, int] = (3, 3)
    states: frozenset[State] = frozenset(State) - HEATED - {State.STARTING, State.STOPPING, State.COMPLETING}
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """Pulses in a window in which nothing was ordered, the last energy before it left out."""
        per_kwh, pulses = view.furnace.pulses_per_kwh, view.history.pulses_in(self.window_s)
        if per_kwh is None or pulses is None or view.history.mean_duty(self.window_s + 1) != 0.0:
            return None
        full = self.window_s * view.furnace.full_power_w / 3.6e6 * per_kwh
        if pulses < self.share * full:
            return None
        return Finding(self.id, self.reaction, f"{pulses} meter pulses in {self.window_s} s with everything off")


@dataclass(frozen=True, slots=True)
class NoPower:
    """Heat ordered, the meter stands still, and the reading agrees: element, fuse, breaker or relay.

    A meter that stands still alone is a meter that stands still: then only `MeterDisagrees` speaks. The reading agrees
    when it runs below what the power explains; without a model when it falls faster than a melting charge can pull it
    (8 K a minute, simulated), or, all solid, when it stays behind its setpoint and does not rise.
    """

    below_k: float = 1.5  # half of what the watch that goes by the model alone needs
    fall_k: float = 8.0
    fall_over_s: int = 45
    behind_k: float = 8.0
    rise_k: float = 0.5
    rise_over_s: int = 60
    least_duty: float = 0.15
    id: str = "no-power"
    reaction: Reaction = CONTROLLED_STOP
    needs: tuple[int, int] = (3, 3)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """Pulses counted against pulses ordered, and what the reading does."""
        if view.furnace.pulses_per_kwh is None:
            return None
        silent = view.firing.power.silent
        if silent is None:
            return None
        ahead = view.innovations
        below_k = None if ahead is None else ahead.mean_30_k
        if below_k is not None and below_k <= -self.below_k:
            return Finding(self.id, self.reaction, f"{silent}, reading {below_k:+.1f} K from what power explains")
        if below_k is not None and ahead is not None and ahead.learned:
            return None  # it accounts for the fall when a fast ramp ends
        rise_k = view.history.rise_c(self.fall_over_s)
        if rise_k is None or not view.lid_calm:
            return None
        if rise_k <= -self.fall_k:
            return Finding(self.id, self.reaction, f"{silent}, and {rise_k:+.1f} K in {self.fall_over_s} s")
        return self._stays_behind(view, silent)

    def _stays_behind(self, view: View, silent: str) -> Finding | None:
        run, setpoint_c, reading_c = view.firing.run, view.firing.setpoint_c, view.reading_c
        rise_k, duty = view.history.rise_c(self.rise_over_s), view.history.mean_duty(self.rise_over_s)
        if run is None or run.gate.may_be_liquid or run.charged_warm:
            return None
        if setpoint_c is None or reading_c is None or rise_k is None or duty is None:
            return None
        behind_k = setpoint_c - reading_c
        if behind_k < self.behind_k or rise_k > self.rise_k or duty < self.least_duty:
            return None
        return Finding(self.id, self.reaction, f"{silent}, {behind_k:.0f} K behind and no rise in {self.rise_over_s} s")


@dataclass(frozen=True, slots=True)
class ProofFailed:
    """A proof of the relay in the firing found that it does not let go. Those of the start are `StartTestFailed`'s."""

    id: str = "relay-proof"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """The last proof of this firing."""
        last = view.firing.proofs.last
        if last is None or last.result is not Result.FAILED:
            return None
        return Finding(self.id, self.reaction, f"{last.how}: {last.evidence}")


@dataclass(frozen=True, slots=True)
class RelayUndecided:
    """The proof that the relay lets go came out undecided twice, or once under an open lid of a warm furnace."""

    id: str = "relay-undecided"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """What the proofs came to."""
        doubt = view.firing.proofs.doubt
        return None if doubt is None else Finding(self.id, self.reaction, doubt)
