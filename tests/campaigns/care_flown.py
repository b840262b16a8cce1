"""Firings by the whole supervisor on an element that grows old, on mains that differ, and what its log says of them."""

from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from random import Random

from hardware.ports import Plant, PlantState
from hardware.simulated.plant import Workshop
from supervisor.book.writing import open_book
from supervisor.care.keeping import all_figures, enter, reckon_missing
from supervisor.firing.profile_file import read_profile
from supervisor.furnace.file import read_furnace
from supervisor.logbook.reading import open_log
from supervisor.rehearsal.rehearse import DAY_MS, Wish, rehearse

EXAMPLES = Path(__file__).resolve().parents[2] / "docs" / "examples"
NOMINAL_V, COLD_OHM = 230.0, 21.2


class Aged(Workshop):
    """The workshop's furnace with so much more resistance, on mains of so many volts over nominal."""

    def __init__(self, seed: int, grown: float, mains: float) -> None:
        super().__init__(seed=seed)
        self._mains_level = mains
        self.disturb("element_resistance_factor", 1.0 + grown)

    def step(self, dt_s: float, *, element_on: bool, lid_open: bool, mains_factor: float) -> PlantState:
        """As ever, on its own mains."""
        return super().step(
            dt_s, element_on=element_on, lid_open=lid_open, mains_factor=mains_factor * self._mains_level
        )


def fly(count: int, seed: int, data: Path) -> Iterator[tuple[float, float, int | None]]:
    """For each melt: ohms by the record with the voltage read once, ohms by the plant, relay operations."""
    furnace = read_furnace("workshop")
    profile = read_profile(EXAMPLES / "dry-moulds.toml", furnace)
    random = Random(f"{seed} flown")
    truth: list[float] = []
    for number in range(1, count + 1):
        grown, mains = 0.1 * (number - 1) / max(1, count - 1), random.uniform(0.9, 1.1)
        make: Callable[..., Plant] = partial(Aged, grown=grown, mains=mains)
        rehearse(Wish(profile, furnace, make, seed=seed + number, plant_seed=seed, answer_after_s=5.0), data)
        truth.append(COLD_OHM * (1.0 + grown))
        with (
            open_log(data) as log,
            open_book(data / "book.db", who="campaign", sent_from="campaign", utc_ms=number * DAY_MS) as book,
        ):
            volts = NOMINAL_V * mains * random.gauss(1.0, 0.004)
            enter(book, "mains voltage", value=volts, firing_id=number, detail={"t_s": 1200.0})
            reckon_missing(log, book, furnace)
            (figures,) = [each for each in all_figures(log, book) if each.firing_id == number]
        assert figures.element_ohm is not None
        yield figures.element_ohm, truth[-1], figures.relay_operations
