"""`python -m tests.campaigns.poison`: can a model be poisoned melt by melt, until nothing trips any more?

A furnace goes slowly wrong while it is learned from: every melt is rehearsed on the real supervisor, log and all, the
real learner fits the log, and what needs a person at the furnace is not adopted. Then faults are put in: with the first
model that carried limits and with the last one, how soon does each watch speak? Everything is simulated.
"""

import json
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, NamedTuple

import click

from hardware.ports import Plant
from hardware.simulated.plant import Bench
from supervisor.firing.profile import Profile
from supervisor.furnace.file import read_furnace
from supervisor.logbook.directory import open_directory
from supervisor.logbook.learning import Models, models
from supervisor.logbook.lesson import Lesson, lesson
from supervisor.logbook.reading import open_log
from supervisor.logbook.scribe import Scribe
from supervisor.model.learned import Model
from supervisor.rehearsal.rehearse import BEGINS_UTC_MS, DAY_MS, Wish, rehearse
from tests.benchmarks.standard_firings import Kind, Setting, profile
from tests.campaigns.struck import HEAT_ENDS, STRIKES, Limits, Struck, limits_of, strike

MOST = 1.2
"""Of what it took on day one: so long may a watch take after the last melt."""

SHARES = (0.6, 0.4, 0.8)
"""Of the pot's fill, in turn: what is melted."""

BENCH = Setting(Bench, read_furnace("bench"), "6061")
CAP_OVER_TARGET_K = 60.0
ANSWER_AFTER_S = 5.0
HOT_FACE = "hot face, °C"
"""The highest that came of it: printed beside the steps, and not compared."""
JUDGED = 0.6
"""Of the pot's fill: the firing that limits and faults are compared in."""


class Poison(NamedTuple):
    """What goes wrong a little more in every melt; shares of one."""

    sentence: str
    slip: float = 0.0  # the sensor reads so much too little, of its way over the room
    resistance: float = 0.0  # the element's, so much more: power falls
    mass: float = 0.0  # so much less is charged than is entered


POISONS = {
    "none": Poison("nothing goes wrong"),
    "sensor": Poison("the sensor reads 0.5 % less in every melt", slip=0.005),
    "power": Poison("the element gives 1 % less in every melt", resistance=0.01),
    "mass": Poison("2 % less is charged in every melt than is entered", mass=0.02),
}


class WornBench(Bench):
    """The bench furnace after so many melts; `share` of what is entered goes into the pot."""

    def __init__(self, seed: int, poison: Poison, melts: int, share: float = 1.0) -> None:
        super().__init__(seed=seed)
        self._share = share * (1.0 - poison.mass) ** melts
        self.disturb("sensor_slip", 1.0 - (1.0 - poison.slip) ** melts)
        self.disturb("element_resistance_factor", (1.0 + poison.resistance) ** melts)

    def add_charge(self, mass_kg: float, temperature_c: float, alloy: str) -> None:
        """Less than it says."""
        super().add_charge(self._share * mass_kg, temperature_c, alloy)


def worn(poison: Poison, melts: int, share: float = 1.0) -> Callable[..., Plant]:
    """The class of that plant."""
    return partial(WornBench, poison=poison, melts=melts, share=share)


@dataclass
class Life:
    """What became of the model in so many melts."""

    first: Model | None = None  # the first that carried limits
    first_after: int = 0
    last: Model | None = None
    told: list[str] = field(default_factory=list)  # one line for each melt
    limits: list[Limits] = field(default_factory=list)  # of the same firing, with the model after each melt
    refused: int = 0


def live(
    poison: Poison,
    melts: int,
    seed: int,
    directory: Path,
    say: Callable[[str], None] = lambda _: None,
    shares: Sequence[float] = SHARES,
) -> Life:
    """Melt so often and learn each time, as the supervisor does by itself."""
    life = Life()
    for melt in range(1, melts + 1):
        known = known_after(directory, melt)
        asked = plan(shares[melt % len(shares)])
        make = worn(poison, melt - 1)
        came = rehearse(
            Wish(
                asked, BENCH.described, make, seed=1000 * seed + melt, plant_seed=seed, answer_after_s=ANSWER_AFTER_S,
                knowing=known.adopted, commissioning=known.commissioning,
            ),
            directory,
        )  # fmt: skip
        why = learn_from(directory, melt)
        known = known_after(directory, melt)
        if known.commissioning is not None and life.first is None:
            life.first, life.first_after = known.commissioning, melt
        life.last = known.adopted
        life.refused += bool(why)
        life.limits.append(limits_of(BENCH.described, plan(JUDGED), known.adopted, known.commissioning))
        alarms = ", ".join(dict.fromkeys(row["watch"] for row in came.alarms if row["step"] == "raised"))
        life.told.append(
            f"  melt {melt:2} {came.state}; {alarms or 'no alarm'}; {life.limits[-1].in_words()}; {why or 'adopted'}"
        )
        say(life.told[-1])
    return life


def plan(share: float) -> Profile:
    """A melt as fast as the furnace can; share: of what the pot holds."""
    return profile(BENCH, Kind("ordinary", share), cap_over_target_k=CAP_OVER_TARGET_K)


def known_after(directory: Path, melt: int) -> Models:
    """What the log holds before this melt."""
    if melt == 1 and not directory.exists():
        return Models(())
    with open_log(directory) as log:
        return models(log, BENCH.described)


def learn_from(directory: Path, melt: int) -> str:
    """Fit the log; keep the model. Why it waits for a person; empty: it is adopted."""
    with open_log(directory) as log:
        learned = lesson(log, BENCH.described)
    if not isinstance(learned, Lesson):
        return "nothing to learn: " + "; ".join(why for _, why in learned.left_out[-1:])
    against = learned.objections
    at_ms = BEGINS_UTC_MS + DAY_MS * melt
    with (
        open_directory(directory, backend="simulated", furnace=BENCH.described.name) as data,
        Scribe(data, boot_id="campaign", utc_ms=lambda: at_ms, threaded=False) as scribe,
    ):
        scribe.put([learned.row(adopted=not against, who="campaign", where="campaign")])
    return f"not adopted: {against[0]}" if against else ""


class Compared(NamedTuple):
    """One step against one fault, and how many seconds it took; None: it was not taken."""

    fault: str
    step: str
    day_one_s: float | None
    first_model_s: float | None  # the furnace of the last melt, with the model of day one
    last_s: float | None  # the furnace of the last melt, with its model
    ended_s: float | None = None  # when heat was over in that last firing, whatever ended it

    @property
    def holds(self) -> bool:
        """It is no slower than on day one, or than the first model makes it on the same furnace, but for a fifth."""
        before_s = [time_s for time_s in (self.day_one_s, self.first_model_s) if time_s is not None]
        if len(before_s) < 2 or self.step == HOT_FACE:  # one of them does without it, or it is no step
            return True
        return any(time_s is not None and time_s <= MOST * max(before_s) for time_s in (self.last_s, self.ended_s))


def compare(poison: Poison, life: Life, melts: int, seed: int, faults: Sequence[str]) -> Iterable[Compared]:
    """Put every fault in with the first model and with the last one."""
    if life.first is None or life.last is None:
        return
    power = (1.0 + poison.resistance) ** -melts
    for name in faults:
        what = STRIKES[name]
        cases = ((life.first_after, life.first), (melts, life.first), (melts, life.last))
        found: list[Struck] = []
        for after, model in cases:
            make = worn(poison, after, what.mass)
            yesterday = power ** (after / melts)
            found.append(strike(what, make, BENCH.described, plan(JUDGED), (model, life.first), seed, yesterday))
        one, first, last = (struck.at_s for struck in found)
        for step in sorted({*one, *first, *last}):
            yield Compared(name, step, one.get(step), first.get(step), last.get(step), last.get(HEAT_ENDS))
        yield Compared(name, HOT_FACE, *(struck.hot_face_c for struck in found))


@click.command()
@click.option("--melts", type=click.IntRange(4), default=20, show_default=True, help="So many are learned from.")
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help="Of the furnace and its firings.")
@click.option("--poison", "only", multiple=True, type=click.Choice(sorted(POISONS)), help="These alone.")
@click.option("--fault", "faults", multiple=True, type=click.Choice(sorted(STRIKES)), help="These alone.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def main(melts: int, seed: int, only: tuple[str, ...], faults: tuple[str, ...], as_json: bool) -> None:
    """Learn from a furnace that goes slowly wrong, and see whether any watch has become slower for it."""
    figures: dict[str, Any] = {"simulated": True, "melts": melts, "seed": seed, "poisons": {}}
    failed = False
    for name in only or tuple(POISONS)[1:]:
        say = (lambda _: None) if as_json else click.echo
        say(f"\n{name}: {POISONS[name].sentence} (simulated).")
        with TemporaryDirectory() as place:
            life = live(POISONS[name], melts, seed, Path(place) / "data", say)
        rows = list(compare(POISONS[name], life, melts, seed, faults or tuple(STRIKES)))
        widened = wider(life)
        failed = failed or bool(widened) or not all(row.holds for row in rows) or not rows
        for line in _lines(life, rows, widened):
            say(line)
        figures["poisons"][name] = {
            "not_adopted": life.refused,
            "limits": [limits._asdict() for limits in life.limits],
            "widened": widened,
            "steps": [{**row._asdict(), "holds": row.holds} for row in rows],
        }
    if as_json:
        click.echo(json.dumps(figures, ensure_ascii=False))
    sys.exit(1 if failed else 0)


def wider(life: Life) -> list[str]:
    """Every limit that was wider after some melt than with the first model that carried limits, in words."""
    learned = [limits for limits in life.limits if limits.learned]
    return [
        f"{name} {worst:.4g} over {getattr(learned[0], name):.4g}"
        for name in ("allowance_wh", "beyond_duty", "boost_wh", "boost_min")
        if learned and (worst := max(getattr(limits, name) for limits in learned)) > getattr(learned[0], name)
    ]


def _lines(life: Life, rows: Sequence[Compared], widened: Sequence[str]) -> Iterable[str]:
    yield f"  not adopted without a person: {life.refused}; limits wider than day one's: {', '.join(widened) or 'none'}"
    yield f"  {'fault':12} {'step':24} {'day one':>9} {'last, day-one model':>20} {'last':>9}   seconds"
    for row in rows:
        times = (row.day_one_s, row.first_model_s, row.last_s)
        day, first, last = ("never" if time_s is None else f"{time_s:.0f}" for time_s in times)
        yield f"  {row.fault:12} {row.step:24} {day:>9} {first:>20} {last:>9}   {'' if row.holds else 'SLOWER'}"


if __name__ == "__main__":
    main()
