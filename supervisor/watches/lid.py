"""Watches over the lid: is it open, and does an open one cool? A switch that lies needs a learned model."""

from dataclasses import dataclass

from supervisor.firing.lid import SHORT_S
from supervisor.firing.states import HEATED, State
from supervisor.watches.finding import ADVISE, CONTROLLED_STOP, HOLD_WITHOUT_HEAT, TRIP, Finding, Leave, Reaction
from supervisor.watches.view import View

_BY_A_PRESS = Reaction(leave=Leave.BY_A_PRESS)


@dataclass(frozen=True, slots=True)
class LidOpen:
    """The lid is open, or shut again and heat is not given back yet. No alarm: people open lids."""

    id: str = "lid"
    reaction: Reaction = HOLD_WITHOUT_HEAT
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """How long it has been open, and how heat may come back."""
        lid = view.firing.lid
        if not lid.bars_heat:
            return None
        reaction = self.reaction
        if lid.needs_press:
            reaction = reaction | _BY_A_PRESS
        if lid.opened_s is None:
            if lid.needs_press:
                return None  # shut: what is left is the press, which the hold itself remembers
            return Finding(self.id, reaction, "shut again")
        open_s = lid.open_for_s(view.now_s)
        if open_s > SHORT_S:
            reaction = reaction | Reaction(drop_contactor=True)
        return Finding(self.id, reaction, f"open for {open_s:.0f} s")


@dataclass(frozen=True, slots=True)
class LidNotCooling:
    """The lid has read open for 45 s, and the hot chamber under it does not cool: something heats, or the switch lies.

    Of the fastest fall that the furnace file gives, an open lid without heat takes off at least 0.27 in the last of
    these quarter minutes, one above an element at full power at most 0.13 (both shipped furnaces within 20 %, from
    620 °C, empty and with 2 kg, simulated). After 30 s, or by 10 K, that cannot be told yet: a chamber that was driven
    hard still rises. The contactor was told to open after 5 s, so what speaks here is a chain that did not obey, or a
    switch that lies; a relay alone that does not let go shows by meter or current input, within seconds.
    """

    open_s: float = 45.0
    window_s: int = 15
    share: float = 0.15
    above_c: float = 600.0
    id: str = "lid-not-cooling"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (2, 2)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """Fall of the reading over the window, against the furnace's own."""
        lid, reading_c = view.firing.lid, view.reading_c
        if lid.opened_s is None or reading_c is None or reading_c < self.above_c:
            return None
        rise_k = view.history.rise_c(self.window_s)
        if view.now_s - lid.opened_s < self.open_s or rise_k is None:
            return None
        if -rise_k >= self.share * view.furnace.response.fastest_fall_c_per_s * self.window_s:
            return None
        return Finding(self.id, self.reaction, f"changed by {rise_k:+.1f} K in {self.window_s} s under an open lid")


@dataclass(frozen=True, slots=True)
class LidCoolsLittle:
    """From 400 to 600 °C under an open lid: less than a third of the furnace's own fall at that heat decides nothing.

    The fall at the top is scaled by what the chamber radiates. Without heat at least 0.38 of it is left, at full power
    at most 0.24 (both shipped furnaces within 20 %, simulated); a sensor that is late by half a minute shows neither
    for a minute and a half.
    """

    after_s: float = 30.0
    window_s: int = 15
    share: float = 0.3
    least_c: float = 400.0
    most_c: float = 600.0
    id: str = "lid-cools-little"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (5, 5)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """Fall of the reading over the window, against the furnace's own at this heat."""
        lid, reading_c, response = view.firing.lid, view.reading_c, view.furnace.response
        if lid.opened_s is None or reading_c is None or not self.least_c <= reading_c < self.most_c:
            return None
        rise_k = view.history.rise_c(self.window_s)
        if view.now_s - lid.opened_s < self.after_s + 2.0 * response.dead_time_s or rise_k is None:
            return None
        glow = radiates(reading_c) / radiates(view.furnace.top_c)
        if -rise_k >= self.share * glow * response.fastest_fall_c_per_s * self.window_s:
            return None
        return Finding(self.id, self.reaction, f"changed by {rise_k:+.1f} K in {self.window_s} s under an open lid")


def radiates(at_c: float) -> float:
    """How much more a chamber at this heat radiates than a room of 20 °C, in kelvin to the fourth."""
    return (at_c + 273.15) ** 4 - 293.15**4


@dataclass(frozen=True, slots=True)
class LidLeftOpen:
    """The lid has been open for ten minutes: this firing is over."""

    limit_s: float = 600.0
    id: str = "lid-left-open"
    reaction: Reaction = CONTROLLED_STOP
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """How long this opening has lasted."""
        open_s = view.firing.lid.open_for_s(view.now_s)
        if open_s < self.limit_s:
            return None
        return Finding(self.id, self.reaction, f"open for {open_s / 60:.0f} min")
