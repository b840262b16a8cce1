"""The furnace that a melt is planned for, as the command line finds it: description, profiles, log, forecast."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from supervisor.book.charging import Furnace
from supervisor.cli.web import examples
from supervisor.firing.charged import charged
from supervisor.firing.profile import Profile, top_hold_c
from supervisor.firing.profile_file import profile_from_text
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent
from supervisor.logbook import database
from supervisor.logbook.reading import open_log
from supervisor.metal.charge import Planned
from supervisor.metal.cost import Cost
from supervisor.metal.fit import Pot
from supervisor.metal.plan import Heating, Plan
from supervisor.refusal import InputRefused
from supervisor.toml_input import read_text

if TYPE_CHECKING:  # numpy is imported when a forecast is made
    from supervisor.model.forecast import Forecast
    from supervisor.model.learned import Model


class AtHand(NamedTuple):
    """The furnace, for the book and for reckoning. reading_c None: no supervisor answers."""

    furnace: Furnace
    description: FurnaceDescription
    reading_c: float | None


class Chosen(NamedTuple):
    """A profile file."""

    key: str  # 'own/NAME' or 'example/NAME', as the pages know it too
    text: str
    profile: Profile

    @property
    def heating(self) -> Heating:
        """What a plan needs of it."""
        return Heating(self.profile.name, top_hold_c(self.profile), self.profile.pour_c)


def at_hand(furnace: str, data: Path) -> AtHand:
    """The furnace of that name or file, and what its supervisor reads now.

    Raises:
        InputRefused: there is no such furnace, or the supervisor of this data directory watches another.
    """
    description = read_furnace(furnace)
    backend, reading_c = "simulated" if description.invented else "real", None
    try:
        snapshot = Link(data / SOCKET_NAME).snapshot()
    except LinkSilent:
        snapshot = None
    if snapshot is not None:
        told = snapshot["furnace"]
        if told["name"] != description.name:
            raise InputRefused(f"--furnace is {furnace!r}; the supervisor of {data} watches {told['name']!r}.")
        backend, reading_c = told["backend"], snapshot["hot_junction"]["c"]
        backend = "simulated" if backend == "simulated" else "real"
    crucible = description.crucible
    pot = Pot(crucible.capacity_kg, crucible.bore_mm, crucible.depth_mm)
    return AtHand(Furnace(description.name, description.letter, backend, pot), description, reading_c)


def chosen_profile(asked: str, data: Path, here: AtHand) -> Chosen:
    """A profile by its key, or by a file of the folder profiles.

    Raises:
        InputRefused: there is none, or this furnace cannot do it.
    """
    files = _files(data)
    by_path = {str(path.resolve()): key for key, path in files.items()}
    key = asked if asked in files else by_path.get(str(Path(asked).resolve()), "")
    if not key:
        allowed = ", ".join(files) or "none yet"
        raise InputRefused(f"--profile is {asked!r}; allowed: {allowed}; own files lie in {data / 'profiles'}")
    return _read(key, files[key], here)


def usual_profile(data: Path, here: AtHand) -> Chosen | None:
    """The first profile with metal that this furnace can do, one's own before the examples; None: there is none."""
    for key, path in _files(data).items():
        try:
            found = _read(key, path, here)
        except InputRefused:
            continue
        if found.profile.charge is not None:
            return found
    return None


def _files(data: Path) -> dict[str, Path]:
    files = {f"own/{path.stem}": path for path in sorted((data / "profiles").glob("*.toml"))}
    return files | {f"example/{path.stem}": path for path in sorted(examples())}


def _read(key: str, path: Path, here: AtHand) -> Chosen:
    text = read_text(path)
    return Chosen(key, text, profile_from_text(text, str(path), here.description))


def used_numbers(data: Path) -> list[str]:
    """Every heat number of the furnace's log."""
    if not (data / database.FILE_NAME).is_file():
        return []
    with open_log(data) as log:
        rows = log.rows("SELECT heat_number FROM firing WHERE heat_number IS NOT NULL")
    return [str(row["heat_number"]) for row in rows]


def forecast_of(here: AtHand, chosen: Chosen | None, planned: Plan, data: Path) -> "Forecast | None":
    """What the melt would take, begun now; None: no profile, or this charge does not go with it."""
    from supervisor.model.forecast import forecast

    if chosen is None:
        return None
    frozen = planned.frozen
    try:
        profile = charged(chosen.profile, Planned(frozen.charge, frozen.pour_c), here.description)
    except InputRefused:
        return None
    model, cap_c = None, None
    if (data / database.FILE_NAME).is_file():
        model, cap_c = _learned(here.description, profile, data)
    reading = {} if here.reading_c is None else {"reading_c": here.reading_c}
    return forecast(here.description, model, profile, cap_c=cap_c, tariff=here.description.tariff, **reading)


def cost_of(planned: Plan, forecast: Mapping[str, Any] | None, here: AtHand) -> Cost | None:
    """What a melt will cost by the prices of the furnace file; None: it has none, or there is no forecast."""
    tariff = here.description.tariff
    return planned.cost(forecast, None if tariff is None else tariff._asdict())


def _learned(furnace: FurnaceDescription, profile: Profile, data: Path) -> "tuple[Model | None, float | None]":
    """The model in use, and how hot it lets the chamber be for cold metal."""
    from supervisor.firing.governor import highest_c
    from supervisor.logbook.learning import models
    from supervisor.model.learned import usable_for_boost

    with open_log(data) as log:
        model = models(log, furnace).adopted
    if model is None or usable_for_boost(model, furnace) is not None:
        return model, None
    target_c = top_hold_c(profile)
    highest = highest_c(target_c, min(profile.top_c, furnace.top_c), furnace.limiter_c)
    return model, highest if highest > target_c else None
