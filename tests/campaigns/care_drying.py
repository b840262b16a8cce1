"""A wet lining dried in stretches: the profile's walk and the drying rule of the supervisor, with a plain regulator."""

from typing import NamedTuple

from hardware.simulated.plant import Bench, FurnacePlant, Workshop
from supervisor.care.drying import next_stretch, schedule
from supervisor.firing.drying import DriedAt, Drying, left, see
from supervisor.firing.feed_forward import FeedForward
from supervisor.firing.profile import Hold
from supervisor.firing.profile_file import profile_from_text
from supervisor.firing.setpoint import advance, begin
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace

STEP_S = 2.0
HOURS = 10.0
MOST_STRETCHES = 8
OVER_S = 1800


class Dried(NamedTuple):
    """What came of it."""

    held_h: float  # in holds that end when the lining is dry
    stretches: int
    ended: bool  # it was said to be dry
    began_kg: float
    water_kg: float  # left in the plant when it was said
    limit_c_per_h: float
    worst_c_per_h: float  # of the reading, over half an hour
    over_k: float  # the reading over the setpoint, on ramps


def dry_out(name: str, seed: int, water_kg: float, materials: tuple[str, ...] = ("firebrick",)) -> Dried:
    """Stretch after stretch, each from cold, until the record says dry."""
    furnace = read_furnace(name)
    of = schedule(materials, 13.0, furnace.top_c)
    firings: list[list[DriedAt]] = []
    held_s, worst, over_k, wet_kg = 0.0, 0.0, 0.0, water_kg
    while len(firings) < MOST_STRETCHES:
        stretch = next_stretch(of, firings, HOURS, "Dry-out")
        if stretch is None:
            break
        plant: FurnacePlant = {"workshop": Workshop, "bench": Bench}[name](seed=seed, spread=0.15)
        if wet_kg:
            plant.disturb("wet_lining_kg", wet_kg)
        flight = _Flight(furnace, plant)
        firings.append(flight.fly(stretch.toml))
        wet_kg, held_s = plant.water_kg, held_s + flight.held_s
        worst, over_k = max(worst, flight.worst_c_per_h), max(over_k, flight.over_k)
    ended = next_stretch(of, firings, HOURS, "Dry-out") is None
    return Dried(held_s / 3600.0, len(firings), ended, water_kg, wet_kg, of.limit_c_per_h, worst, over_k)


class _Flight:
    """One stretch with a plain regulator."""

    def __init__(self, furnace: FurnaceDescription, plant: FurnacePlant) -> None:
        self._furnace, self._plant = furnace, plant
        self._expected = FeedForward(furnace, None)
        self._trim = self._owed = 0.0
        self.held_s, self.worst_c_per_h, self.over_k = 0.0, 0.0, 0.0

    def fly(self, toml: str) -> list[DriedAt]:
        """Until it is over, by itself or by its time; the holds that ended because the power said so."""
        profile = profile_from_text(toml, "stretch", self._furnace)
        walk, drying, at_s = begin(profile, 20.0), Drying(), 0.0
        read: list[float] = []
        dry, duty = False, 0.0
        while not walk.done and at_s < profile.longest_s:
            reading_c, at_c, before_c = self._plant.state.hot_junction_c, walk.target_c, walk.setpoint_c
            self._expected.follow(reading_c, STEP_S)
            if isinstance(segment := profile.segments[walk.segment], Hold) and segment.until_dry:
                self.held_s += STEP_S
                dry = see(drying, walk, reading_c, duty, self._expected.duty(at_c, 0.0), STEP_S)
            advance(walk, STEP_S, reading_c, 2000.0, dry=dry)
            left(drying, walk, at_c)
            ramp = max(0.0, walk.setpoint_c - before_c) / STEP_S
            duty = self._regulate(walk.setpoint_c, ramp, reading_c)
            self._look(read, reading_c, walk.setpoint_c, at_s)
            at_s += STEP_S
        return drying.holds

    def _regulate(self, setpoint_c: float, ramp_c_per_s: float, reading_c: float) -> float:
        gap_k = setpoint_c - reading_c
        self._trim = min(0.6, max(-0.3, self._trim + 2e-5 * gap_k * STEP_S))
        duty = min(1.0, max(0.0, self._expected.duty(setpoint_c, ramp_c_per_s) + 0.01 * gap_k + self._trim))
        self._owed += duty
        on = self._owed >= 1.0
        self._owed -= on
        self._plant.step(STEP_S, element_on=on, lid_open=False, mains_factor=1.0)
        return duty

    def _look(self, read: list[float], reading_c: float, setpoint_c: float, at_s: float) -> None:
        if at_s % 60.0 == 0.0:
            read.append(reading_c)
            back = OVER_S // 60
            if len(read) > back:
                self.worst_c_per_h = max(self.worst_c_per_h, (read[-1] - read[-1 - back]) * 3600.0 / OVER_S)
        if at_s > 1800.0:
            self.over_k = max(self.over_k, reading_c - setpoint_c)
