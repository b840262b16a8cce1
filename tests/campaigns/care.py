"""`python -m tests.campaigns.care`: is a lying sensor found, age told from mains, a lining dried as far as it is said?

Melts are fired on simulated furnaces by a plain regulator (`tests.supervisor.model.melts`), lives of elements are drawn
as the signature that a record gives. `--flown N` lets the whole supervisor fly N firings and holds what it wrote into
its log against the plant. Everything is simulated.
"""

import json
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from random import Random
from statistics import mean, stdev
from tempfile import TemporaryDirectory
from typing import Any, NamedTuple

import click

from hardware.simulated.plant import Bench, FurnacePlant, Workshop
from supervisor.care.ageing import melts_left
from supervisor.care.arrest import arrest
from supervisor.care.mains import age_or_mains
from supervisor.care.sensor import MIXED_SD_K, Melting, truth
from supervisor.furnace.file import read_furnace
from supervisor.metal.alloys import charge
from supervisor.model.learn import learn
from supervisor.model.learned import Model
from tests.campaigns.care_drying import Dried, dry_out
from tests.campaigns.care_lives import figure, life
from tests.supervisor.model.melts import melt

KINDS: dict[str, Callable[..., FurnacePlant]] = {"workshop": Workshop, "bench": Bench}
LEARNED = 3
BIAS_K = 10.0
KNOWN = ("6082", "6061", "6060", "5083")
MIXED = ("6082", "6060", "6061", "A356.0", "5083", "6063")


class Sensed(NamedTuple):
    """One furnace: what its sensor's melts said."""

    healthy: list[Melting]
    biased: list[Melting]
    mixed: list[Melting]
    mixed_biased: list[Melting]


class Shop:
    """One simulated furnace, learned from three melts, whose sensor is then watched."""

    def __init__(self, name: str, seed: int) -> None:
        self._name, self._seed, self._random = name, seed, Random(f"{seed} shop")
        self.furnace = read_furnace(name)
        self.model: Model = learn(self.furnace, [self._fire(number, 0.0, "6082") for number in range(1, LEARNED + 1)])
        self._number = LEARNED

    def _fire(self, number: int, bias_k: float, alloy: str, entered: str = "") -> Any:
        random, plant = self._random, KINDS[self._name](seed=self._seed, spread=0.15)
        plant.disturb("sensor_bias_c", bias_k)
        made = melt(
            plant,
            self.furnace,
            mass_kg=self.furnace.crucible.capacity_kg * random.uniform(0.5, 0.9),
            alloy=alloy,
            minutes=75.0,
            boost_k=50.0,
            mains=random.uniform(0.95, 1.05),
            entered=random.uniform(0.97, 1.03),
            lids=((random.uniform(8.0, 60.0), 25.0),),
            firing_id=number,
        ).firing
        if entered and made.charge is not None:
            made = replace(made, charge=charge(made.charge.mass_kg, entered, "off-cuts"))
        return made

    def melting(self, bias_k: float = 0.0, *, mixed: bool = False) -> Melting | None:
        """One more melt, of known metal or of scrap that is not what it is entered as; None: nothing to go by."""
        self._number += 1
        alloy = self._random.choice(MIXED if mixed else KNOWN)
        firing = self._fire(self._number, bias_k, alloy, "6082" if mixed else "")
        found = arrest(firing, self.furnace, self.model)
        if found is None:
            return None
        return Melting(self._number, self._number * 86_400_000, found.offset_k, found.sd_k, found.known)


def sensed(name: str, seed: int, healthy: int, mixed: int) -> Sensed:
    """Melts of one furnace: healthy ones, two with a bias, and the same of mixed scrap."""
    shop = Shop(name, seed)
    sign = 1.0 if seed % 2 else -1.0

    def some(count: int, bias_k: float, *, scrap: bool = False) -> list[Melting]:
        """So many that can be judged: of scrap, those that look like one alloy."""
        found: list[Melting] = []
        for _ in range(4 * count):
            each = shop.melting(bias_k, mixed=scrap)
            if each is not None:
                found.append(each)
            if len([one for one in found if not scrap or one.sd_k <= MIXED_SD_K]) == count:
                break
        return found

    return Sensed(
        some(healthy, 0.0),
        some(2, sign * BIAS_K),
        some(mixed, 0.0, scrap=True),
        some(2 if mixed else 0, sign * BIAS_K, scrap=True),
    )


def false_findings(melts: list[Melting], *, mixed: bool = False) -> int:
    """After how many of the healthy melts a finding stood."""
    return sum(truth(melts[:count], mixed=mixed).found for count in range(1, len(melts) + 1))


def sensors(shops: int, seed: int, say: Callable[[str], None]) -> dict[str, Any]:
    """A 10 K bias, and healthy melts."""
    found = found_in_one = healthy = false = mixed_found = mixed_false = 0
    spread: list[float] = []
    scrap: list[float] = []
    limits: list[float] = []
    for number in range(shops):
        name = tuple(KINDS)[number % 2]
        came = sensed(name, seed + number, 10, 6)
        healthy += len(came.healthy)
        false += false_findings(came.healthy)
        spread.append(stdev(each.offset_k for each in came.healthy if each.counts))
        judged = truth([*came.healthy, *came.biased])
        found += judged.found
        found_in_one += abs(came.biased[0].offset_k - mean(each.offset_k for each in came.healthy)) > judged.within_k
        steady = [each.offset_k for each in came.mixed if each.sd_k <= MIXED_SD_K]
        sd_k = stdev(steady) if len(steady) > 1 else 0.0
        scrap.append(sd_k)
        told = truth([*came.mixed, *came.mixed_biased], mixed=True)
        mixed_false += false_findings(came.mixed, mixed=True)
        limits.append(told.within_k)
        mixed_found += told.found
        say(
            f"  {name:9} {number + 1:2}: healthy melts repeat within {spread[-1]:.1f} K; bias told {judged.bias_k}"
            f" (limit {judged.within_k}); mixed scrap {sd_k:.1f} K, told {told.bias_k} (limit {told.within_k})"
        )
    return {
        "furnaces": shops,
        "bias_k": BIAS_K,
        "bias_found_within_two_melts": found,
        "bias_found_after_one": found_in_one,
        "healthy_melts": healthy,
        "false_findings": false,
        "repeats_known_k": round(mean(spread), 2),
        "repeats_mixed_k": round(mean(scrap), 2),
        "mixed_told_from_k": round(mean(limits), 1),
        "mixed_bias_found": mixed_found,
        "mixed_false_findings": mixed_false,
    }


def ageing(trials: int, seed: int) -> dict[str, Any]:
    """A tenth more resistance, or mains a tenth off, or both: is the cause told?"""
    right = unread_right = 0
    for trial in range(trials):
        random = Random(f"{seed} {trial} age")
        ohm, old = random.uniform(10.0, 40.0), trial % 2 == 0
        mains = random.uniform(0.9, 1.1)
        new = [figure(n, ohm, random.gauss(1.0, 0.02), random, read=True) for n in (1, 2, 3)]
        now = figure(9, ohm * (1.1 if old else 1.0), mains, random, read=True)
        told = age_or_mains(new, now)
        right += told is not None and (told.cause in ("age", "both")) == old
        unread = age_or_mains(new, figure(9, ohm * (1.1 if old else 1.0), mains, random, read=False))
        unread_right += unread is not None and unread.cause in ("unknown", "neither")
    return {"trials": trials, "told_apart": right, "without_a_voltage_it_says_unknown": unread_right}


def lives(count: int, seed: int) -> dict[str, Any]:
    """Does the band hold what was left?"""
    result: dict[str, Any] = {"lives": count}
    for name, share in (("read", 1.0), ("read_in_a_third", 0.33), ("never_read", 0.0)):
        inside = 0
        for number in range(count):
            lived = life(seed * 1000 + number, read_share=share)
            whole = len(lived.grown)
            at = min(whole - 1, max(5, round(whole * Random(f"{seed} {number}").uniform(0.2, 0.95))))
            said = melts_left(lived.figures[:at])
            assert said.low is not None
            assert said.high is not None
            inside += said.low <= whole - at <= said.high
        result[f"band_holds_{name}"] = inside
    return result


def drying(trials: int, seed: int, say: Callable[[str], None]) -> dict[str, Any]:
    """Wet linings and dry ones of the same furnaces."""
    rows: list[tuple[Dried, Dried]] = []
    for trial in range(trials):
        name = tuple(KINDS)[trial % 2]
        water_kg = Random(f"{seed} {trial} water").uniform(0.3, 1.5)
        wet, dry = dry_out(name, seed + trial, water_kg), dry_out(name, seed + trial, 0.0)
        rows.append((wet, dry))
        say(
            f"  {name:9} {trial + 1:2}: {water_kg:.2f} kg of water: held {wet.held_h:.1f} h, {wet.stretches} stretches,"
            f" dry {dry.held_h:.1f} h, {dry.stretches}; {wet.water_kg:.3f} kg left; rises by"
            f" {wet.worst_c_per_h:.0f} of {wet.limit_c_per_h:.0f} °C/h"
        )
    return {
        "linings": trials,
        "wet_held_longer": sum(wet.held_h > dry.held_h for wet, dry in rows),
        "ended_by_themselves": sum(wet.ended and dry.ended for wet, dry in rows),
        "over_the_ramp_limit": sum(max(wet.worst_c_per_h, dry.worst_c_per_h) > wet.limit_c_per_h for wet, dry in rows),
        "most_left_when_said_dry_percent": round(max(100.0 * wet.water_kg / wet.began_kg for wet, _ in rows), 1),
        "mean_hours_held_wet": round(mean(wet.held_h for wet, _ in rows), 1) if rows else None,
        "mean_hours_held_dry": round(mean(dry.held_h for _, dry in rows), 1) if rows else None,
    }


def flown(count: int, seed: int, say: Callable[[str], None]) -> dict[str, Any]:
    """Melts by the whole supervisor: what the log gives of the element, against the plant's own ohms and mains."""
    from tests.campaigns.care_flown import fly  # late: brings the whole supervisor along

    off: list[float] = []
    first: tuple[float, float] | None = None
    with TemporaryDirectory() as place:
        for number, (said_ohm, true_ohm, relay) in enumerate(fly(count, seed, Path(place) / "data"), start=1):
            first = first or (said_ohm, true_ohm)
            said, true = said_ohm / first[0], true_ohm / first[1]
            off.append(said - true)
            say(f"  firing {number}: grown {said - 1.0:+.1%} by its record, {true - 1.0:+.1%} by the plant; {relay}"
                " operations of the relay")  # fmt: skip
    return {"firings": count, "growth_off_worst_percent": round(100.0 * max(map(abs, off)), 2) if off else None}


@click.command()
@click.option("--furnaces", default=10, show_default=True, help="Whose sensors are watched: ten healthy melts each.")
@click.option("--lives", "life_count", default=200, show_default=True, help="Of elements.")
@click.option("--ages", default=400, show_default=True, help="Trials of age against mains.")
@click.option("--linings", default=4, show_default=True, help="Wet linings that are dried, and dry ones beside them.")
@click.option("--flown", "flown_count", default=3, show_default=True, help="Melts by the whole supervisor.")
@click.option("--seed", default=1, show_default=True)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def main(furnaces: int, life_count: int, ages: int, linings: int, flown_count: int, seed: int, as_json: bool) -> None:
    """Print what the furnace's care can tell: sensor, element, drying. Simulated throughout."""
    say: Callable[[str], None] = (lambda _: None) if as_json else click.echo
    found: dict[str, Any] = {"simulated": True, "seed": seed}
    for name, part in _parts(furnaces, life_count, ages, linings, flown_count, seed, say):
        say(f"{name} (simulated)")
        found[name] = part()
        for key, value in found[name].items():
            say(f"  {key.replace('_', ' ')}: {value}")
    if as_json:
        click.echo(json.dumps(found))
    sys.exit(1 if _failed(found) else 0)


def _parts(
    furnaces: int, life_count: int, ages: int, linings: int, flown_count: int, seed: int, say: Callable[[str], None]
) -> Iterator[tuple[str, Callable[[], dict[str, Any]]]]:
    if life_count:
        yield "melts left", lambda: lives(life_count, seed)
    if ages:
        yield "age or mains", lambda: ageing(ages, seed)
    if furnaces:
        yield "sensor", lambda: sensors(furnaces, seed, say)
    if linings:
        yield "drying", lambda: drying(linings, seed, say)
    if flown_count:
        yield "flown by the supervisor", lambda: flown(flown_count, seed, say)


def _failed(found: dict[str, Any]) -> bool:
    """A figure that must hold does not."""
    sensor, age, left, dried = (found.get(name) for name in ("sensor", "age or mains", "melts left", "drying"))
    return bool(
        (sensor and (sensor["bias_found_within_two_melts"] < sensor["furnaces"] or sensor["false_findings"]))
        or (age and age["told_apart"] < 0.95 * age["trials"])
        or (left and left["band_holds_read"] < 0.9 * left["lives"])
        or (dried and (dried["wet_held_longer"] < dried["linings"] or dried["over_the_ramp_limit"]))
    )


if __name__ == "__main__":
    main()
