"""Watches over what is fitted beside the controlling thermocouple: meter, second sensor, tray probe, the computer."""

from dataclasses import dataclass

from hardware.ports import Level, SensorFault
from supervisor.firing.states import HEATED, LIVE, State
from supervisor.furnace.reckoning import METER_FITS
from supervisor.watches.finding import (
    ADVISE,
    CONTROLLED_STOP,
    HOLD_WITHOUT_HEAT,
    TRIP_KEEP_AWAY,
    Finding,
    Reaction,
)
from supervisor.watches.view import View

EVERY_STATE = frozenset(State)


@dataclass(frozen=True, slots=True)
class MeterDisagrees:
    """The meter says what cannot be, beside what was ordered and is usual: nobody uses it, and a person is told."""

    id: str = "meter-disagrees"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (5, 300)  # one alarm for a meter that is wrong now and then
    states: frozenset[State] = HEATED | {State.STARTING}
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """Silent under ordered heat, off by over a quarter down or a third up, or counting without power."""
        if view.furnace.pulses_per_kwh is None:
            return None
        power = view.firing.power
        ratio = power.ratio
        if power.silent is not None:
            return Finding(self.id, self.reaction, power.silent)
        if power.counted_open(view.now_s):
            return Finding(self.id, self.reaction, "pulses came with the contactor proved open")
        if ratio is not None and not power.fits(ratio):
            return Finding(self.id, self.reaction, f"{100 * ratio:.0f} % of what supply and resistance give")
        return None


@dataclass(frozen=True, slots=True)
class MainsLow:
    """Metered power is 16 % short of what is usual here, or 13 % of what it was: mains is low, or the element aged.

    Below three quarters of that nobody believes the meter any more; `MeterDisagrees` says so.
    """

    share: float = 0.84
    of_before: float = 0.87  # a step of 7 % in voltage; 20 pulses tell it to 5 % of power
    overdue: float = 2.5  # pulses; more is no low mains, but none
    id: str = "mains-low"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (20, 600)  # mains that wanders about the limit is said once
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """Metered over ordered power, of the last minutes and of those before."""
        power = view.firing.power
        ratio, fresh, before = power.ratio, power.fresh_ratio, power.ratio_before()
        if view.furnace.pulses_per_kwh is None or power.overdue > self.overdue:
            return None
        if fresh is not None and before is not None and 0.5 <= fresh < self.of_before * before:
            said = f"the element takes {100 * fresh:.0f} % of its power at nominal voltage, {100 * before:.0f} % before"
            return Finding(self.id, self.reaction, said)
        usual = power.usual
        if ratio is None or not METER_FITS[0] <= ratio / usual < self.share:
            return None
        said = f"the element takes {100 * ratio:.0f} % of its power at nominal voltage"
        return Finding(
            self.id, self.reaction, said + ("" if usual == 1.0 else f", {100 * usual:.0f} % in earlier melts")
        )


@dataclass(frozen=True, slots=True)
class ElementShorted:
    """The element takes 18 % more power than before, and more than is usual: turns touch, or mains went up by 9 %.

    The meter alone makes it an advice: mains does that too. Half more than it should is beyond any mains, and with a
    reading that runs ahead of what the ordered power explains heat ends.
    """

    share: float = 1.08  # where mains was low before
    of_before: float = 1.18
    least_before: float = 30.0  # pulses, which tell it to 3 %: at a sixth of full power five minutes
    beyond_mains: float = 1.4
    ahead_k: float = 1.5
    quiet_s: float = 120.0
    id: str = "element-shorted"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (10, 10)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """The last pulses against those before."""
        power = view.firing.power
        fresh, before = power.fresh_ratio, power.ratio_before(self.least_before)
        if view.furnace.pulses_per_kwh is None or fresh is None or before is None:
            return None
        if fresh < self.share * power.usual or fresh < self.of_before * before or power.counted_open(view.now_s):
            return None
        if view.now_s - power.off_pulses_s[1] < self.quiet_s:  # relay or meter: others speak of them
            return None
        ahead_k = None if view.innovations is None else view.innovations.mean_120_k
        agrees = ahead_k is not None and ahead_k >= self.ahead_k
        reaction = CONTROLLED_STOP if fresh > self.beyond_mains and agrees else self.reaction
        return Finding(self.id, reaction, f"{100 * fresh:.0f} % of its power, {100 * before:.0f} % before")


@dataclass(frozen=True, slots=True)
class SensorsDisagree:
    """The second thermocouple does not read, falls away from the first, or in a settled furnace the two move apart.

    On a ramp they are apart by up to 260 K, each as its place is (simulated); settled within 36 K, and that hardly
    moves. So it is the moving that tells: one of them drifts, creeps out, or sits where something has changed.
    """

    moved_k: float = 12.0
    far_k: float = 25.0
    apart_k: float = 60.0
    id: str = "sensors-disagree"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (20, 20)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """The difference of the last minute, and how far it has moved."""
        second, pair = view.second, view.firing.pair
        if second is None:
            return None
        if isinstance(second, SensorFault):
            return Finding(self.id, self.reaction, f"the second thermocouple does not read: {second.reason}")
        if pair.fell_k:
            return Finding(self.id, self.reaction, f"the second fell away by {-pair.fell_k:.0f} K in 20 s")
        moved_k = pair.moved_k
        if moved_k is None:
            return None
        apart_k = pair.minutes_k[-1]
        away_k = min(abs(moved_k), abs(apart_k)) if moved_k * apart_k > 0.0 else 0.0  # what comes together is no fault
        if away_k < self.moved_k and abs(apart_k) < self.apart_k:
            return None
        far = away_k >= self.far_k or abs(apart_k) >= self.apart_k
        said = f"the second reads {apart_k:+.0f} K from the first, {moved_k:+.0f} K further within 20 min"
        return Finding(self.id, HOLD_WITHOUT_HEAT if far else self.reaction, said)


@dataclass(frozen=True, slots=True)
class TrayWet:
    """Something conducts under a hot furnace, for a second: metal may be out."""

    hot_c: float = 60.0
    id: str = "tray-wet"
    reaction: Reaction = TRIP_KEEP_AWAY
    needs: tuple[int, int] = (4, 4)
    states: frozenset[State] = EVERY_STATE
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """The probe; in a furnace at rest that is cold it is only water."""
        if view.inputs.tray_probe is not Level.CLOSED:
            return None
        last_c = view.belief.last_c
        if view.firing.state not in LIVE and last_c is not None and last_c < self.hot_c:
            return None
        return Finding(self.id, self.reaction, "the probe under the furnace conducts")


@dataclass(frozen=True, slots=True)
class SupplyWeak:
    """The computer's own supply has sagged for 10 s: what it decides and remembers is in doubt."""

    id: str = "supply-weak"
    reaction: Reaction = HOLD_WITHOUT_HEAT
    needs: tuple[int, int] = (10, 10)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """What the computer says of its supply."""
        return Finding(self.id, self.reaction, "under-voltage for 10 s") if view.board.under_voltage else None


@dataclass(frozen=True, slots=True)
class ProcessorHot:
    """The computer is too hot, or slows itself down: it may be late soon."""

    most_c: float = 80.0
    id: str = "processor-hot"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (30, 60)
    states: frozenset[State] = LIVE
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """What the computer says of itself."""
        board = view.board
        hot = board.processor_c is not None and board.processor_c > self.most_c
        if not hot and not board.throttled:
            return None
        at_c = board.processor_c
        said = "it slows itself down" if at_c is None else f"the processor is at {at_c:.0f} °C"
        return Finding(self.id, self.reaction, said)


@dataclass(frozen=True, slots=True)
class ClockUntrusted:
    """The computer does not trust its date: hours shown may be wrong. Durations are not touched by it."""

    id: str = "clock-untrusted"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (10, 10)
    states: frozenset[State] = LIVE
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """What the computer says of its clock."""
        if view.board.clock_trusted is not False:
            return None
        return Finding(self.id, self.reaction, "the date was not set since it was switched on")
