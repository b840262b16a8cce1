"""What is drilled: a furnace, its physics, what is fitted to it, and what was learned of it."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import partial
from inspect import signature
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import NamedTuple

from hardware.ports import Plant, Wiring
from supervisor.firing.profile import Profile
from supervisor.furnace.description import FurnaceDescription
from supervisor.model.learned import Model
from supervisor.refusal import InputRefused
from supervisor.rehearsal.asked import plant_named
from supervisor.rehearsal.drill.profiles import ALLOYS, ordinary_melt
from supervisor.rehearsal.rehearse import Wish
from supervisor.rehearsal.teach import teach
from supervisor.watches.row import Fitted

SPREAD = 0.2
"""How far a drilled furnace may differ from its description, as a share of each constant."""

PLANTS = {"bench": "hardware.simulated.plant:Bench", "workshop": "hardware.simulated.plant:Workshop"}
FREE_PINS = tuple(range(4, 28))  # 2 and 3 have pull-ups of their own
CHIP_PINS = {7, 8, 9, 10, 11}  # the sensor bus


class Subject(NamedTuple):
    """One furnace as its owner describes it. melts: so many are learned from before it is drilled."""

    furnace: FurnaceDescription
    plant: str  # MODULE:CLASS
    fitted: tuple[Fitted, ...]
    melts: int
    alloys: tuple[str, ...]  # those that its physics can melt

    def make(self, seed: int) -> Plant:
        """The furnace of this seed: within 20 % of its description, where its physics know how to differ."""
        return self.maker()(seed=seed)

    def maker(self) -> Callable[..., Plant]:
        """The class, with the spread of its constants."""
        made = plant_named(self.plant)
        knows_spread = "spread" in signature(made).parameters
        return partial(made, spread=SPREAD) if knows_spread else made


class Known(NamedTuple):
    """What was learned of one furnace; None: nothing, or too little."""

    adopted: Model | None
    commissioning: Model | None


NOTHING_KNOWN = Known(None, None)


def subject(furnace: FurnaceDescription, plant: str | None, fitted: Iterable[Fitted] | None, melts: int) -> Subject:
    """A furnace with this fitted and nothing else that is optional; fitted None: as it is described.

    Raises:
        InputRefused: no such plant, or it can be charged with none of the alloys that are drawn.
    """
    parts = tuple(sorted(fitted_of(furnace) if fitted is None else set(fitted)))
    described = fit(furnace, parts)
    physics = plant or PLANTS.get(furnace.name, PLANTS["workshop"])
    return Subject(described, physics, parts, melts, _alloys(physics))


def _alloys(plant: str) -> tuple[str, ...]:
    found = []
    for name in ALLOYS:
        try:
            plant_named(plant)(seed=1).add_charge(0.1, 20.0, name)
        except KeyError:
            continue
        found.append(name)
    if not found:
        raise InputRefused(f"--plant is {plant}; allowed: one that can be charged with one of {', '.join(ALLOYS)}.")
    return tuple(found)


def fitted_of(furnace: FurnaceDescription) -> set[Fitted]:
    """What of the optional evidence is described."""
    wiring = furnace.wiring
    there: dict[Fitted, bool] = {
        "meter": furnace.pulses_per_kwh is not None and wiring.energy_pulse is not None,
        "current": wiring.load_current is not None,
        "second-sensor": len(wiring.sensors) > 1,
        "tray-probe": wiring.tray_probe is not None,
        "mains-presence": wiring.mains is not None,
    }
    return {name for name, is_there in there.items() if is_there}


def fit(furnace: FurnaceDescription, parts: Iterable[Fitted]) -> FurnaceDescription:
    """The description with these parts and no others of their kind; what is new goes to free pins."""
    wiring, there = furnace.wiring, set(parts)
    used = {pin for name, pin in wiring._asdict().items() if isinstance(pin, int) and name != "sensors"} | CHIP_PINS
    free = iter([pin for pin in FREE_PINS if pin not in used])

    def pin(line: str, wanted: bool) -> int | None:
        before: int | None = getattr(wiring, line)
        return (next(free) if before is None else before) if wanted else None

    new = wiring._replace(
        load_current=pin("load_current", "current" in there),
        mains=pin("mains", "mains-presence" in there),
        tray_probe=pin("tray_probe", "tray-probe" in there),
        energy_pulse=pin("energy_pulse", "meter" in there),
        sensors=_sensors(wiring, "second-sensor" in there),
    )
    per_kwh = furnace.pulses_per_kwh or 1000 if "meter" in there else None
    return replace(furnace, wiring=new, pulses_per_kwh=per_kwh)


def _sensors(wiring: Wiring, second: bool) -> tuple[int, ...]:
    if not second:
        return wiring.sensors[:1]
    return wiring.sensors if len(wiring.sensors) > 1 else (wiring.sensors[0], 1 - wiring.sensors[0])


def learn(of: Subject, seed: int) -> Known:
    """Rehearse ordinary melts on the furnace of this seed and learn from them, as its owner would. Takes seconds."""
    if not of.melts:
        return NOTHING_KNOWN
    profile: Profile = ordinary_melt(Random(f"{seed} learned from"), of.furnace, of.alloys[0])
    wish = Wish(profile, of.furnace, of.maker(), seed=1000 * seed, plant_seed=seed)
    with TemporaryDirectory(prefix="meltkeeper-") as directory:
        taught = teach(wish, Path(directory), of.melts, meter=of.furnace.pulses_per_kwh is not None)
    return Known(taught.known.adopted, taught.known.commissioning)
