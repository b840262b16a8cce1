"""One melt of the example in virtual time: the real supervisor on the simulated furnace, to an hour after its pour."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from hardware.simulated.furnace import Furnace
from hardware.simulated.in_process import InProcess
from hardware.simulated.plant import Workshop
from hardware.simulated.stand_in import StandIn
from supervisor.cycle import cycle, first_memory
from supervisor.example.person import Player
from supervisor.example.shop import HOT_OHM_AS_NEW, PAPER_MELTS, STORIES, Play, Story
from supervisor.firing.charged import charged
from supervisor.firing.profile import Profile
from supervisor.firing.profile_file import read_profile
from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook.records import Record
from supervisor.metal.charge import Planned
from supervisor.model.learned import Model

ANSWERS_AFTER_S = 8.0
AFTER_POUR_S = 3600.0
AT_MOST_S = 6 * 3600.0
PLANT_SEED = 11  # one furnace for all ten
ROOM_C = 20.0
HOT_C = 200.0
"""From here on a thermocouple that reads too high does so: at room temperature no cold check would pass."""

OFF_WITHIN_S = 300.0
STAYS_OFF = 1e-12
"""K per second: a drift of nothing would put the plant's sensor right again."""


class Fired(NamedTuple):
    """What came of it. Seconds count from the start of the virtual clock, a few seconds before the firing's own."""

    written: Sequence[tuple[float, Sequence[Record]]]  # when, and what the supervisor handed over
    poured_s: float | None
    ended_s: float  # of the heat
    lasted_s: float  # all of it
    cycles: int
    left_standing: bool  # an alarm that nobody has reset


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be fired."""

    heat_number: str
    firing_id: int
    planned: Planned
    furnace: FurnaceDescription
    profile_path: str
    knowing: Model | None = None


def story_of(heat_number: str) -> Story:
    """The story of a heat number of the example."""
    return next(story for story in STORIES if story.heat_number == heat_number)


def fire(order: Order) -> Fired:
    """Fire it. A pure function of the order: the same order gives the same rows."""
    story = story_of(order.heat_number)
    profile = charged(read_profile(order.profile_path, order.furnace), order.planned, order.furnace)
    furnace = _furnace(story, order, profile)
    hardware = InProcess(furnace)
    memory = first_memory(
        order.furnace,
        backend=hardware.name,
        monotonic_s=furnace.time_s,
        next_firing_id=order.firing_id,
        left_open=None,
        knowing=order.knowing,
        commissioning=order.knowing,
    )
    stand_in, mishaps = StandIn(ANSWERS_AFTER_S), Mishaps(story.play)
    player = Player(memory, furnace, stand_in, profile, order.heat_number, play=story.play, planned=order.planned)
    player.plant_alloy = story.alloy
    acts, written, now_s, over_s = player.act(), list[tuple[float, Sequence[Record]]](), 0.0, AT_MOST_S
    while now_s < min(AT_MOST_S, over_s + AFTER_POUR_S):
        sample = hardware.sample()
        dt_s, now_s = sample.monotonic_s - now_s, sample.monotonic_s
        step = cycle(memory, sample, next(acts), dt_s)
        hardware.apply(step.outputs)
        if step.records:
            written.append((now_s, tuple(step.records)))
        stand_in.look(furnace, lamp=step.outputs.lamp, now_s=now_s)
        if not player.done:
            mishaps.come(furnace, memory.belief.last_c or 0.0, now_s)
            over_s = now_s
    hardware.close()
    return Fired(written, player.poured_s, player.ended_s, now_s, memory.cycles, bool(memory.alarms.standing))


@dataclass(slots=True)
class Mishaps:
    """What the story lets happen to the thermocouple, by what it reads."""

    play: Play
    parted: bool = False
    off_from_s: float | None = None
    is_off: bool = False

    def come(self, furnace: Furnace, reading_c: float, now_s: float) -> None:
        """Once a cycle."""
        play = self.play
        if play.opens_at_c is not None and not self.parted and reading_c >= play.opens_at_c:
            self.parted = True
            furnace.inject("sensor_open")
        if play.sensor_off_k and self.off_from_s is None and reading_c >= HOT_C:
            self.off_from_s = now_s
            furnace.plant.disturb("sensor_drift_c_per_s", play.sensor_off_k / OFF_WITHIN_S)
        if self.off_from_s is not None and not self.is_off and now_s >= self.off_from_s + OFF_WITHIN_S:
            self.is_off = True
            furnace.plant.disturb("sensor_drift_c_per_s", STAYS_OFF)


def _furnace(story: Story, order: Order, profile: Profile) -> Furnace:
    furnace = Furnace(
        Workshop(seed=PLANT_SEED),
        order.furnace.wiring,
        seed=order.firing_id - PAPER_MELTS,
        limiter_c=order.furnace.limiter_c,
        pulses_per_kwh=order.furnace.pulses_per_kwh or 1000,
    )
    furnace.plant.disturb("element_resistance_factor", story.ohm / HOT_OHM_AS_NEW)
    furnace.mains_factor = story.play.mains
    if story.play.in_the_pot:
        assert profile.charge is not None
        furnace.add_charge(profile.charge.mass_kg, ROOM_C, story.alloy)
    return furnace
