"""Group `control`: what control, the learned model and the melt estimate reach on simulated furnaces.

For each seed a furnace is drawn and three ordinary melts are flown on it without a model. The product's own learner
learns from them, and the standard firings are flown: with the model, by the plain controller, and by the bound.
Everything is simulated.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import nullcontext
from functools import partial
from inspect import signature
from random import Random
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hardware.ports import Plant
from hardware.simulated.furnace import Furnace
from hardware.simulated.in_process import InProcess
from supervisor.cycle import first_memory
from supervisor.firing.adviser import Adviser
from supervisor.firing.control import tuning
from supervisor.firing.governor import RULE, BoostLimits
from supervisor.firing.profile import Profile
from supervisor.furnace.file import read_furnace
from supervisor.model.learn import learn
from supervisor.model.learned import Model
from supervisor.model.reduced import Reduced
from supervisor.model.series import Dip, Row, Series, series
from supervisor.model.simulate import simulate
from supervisor.rehearsal.asked import plant_named
from tests.benchmarks.bare import Bare
from tests.benchmarks.bound import bound
from tests.benchmarks.control_figures import Told, told
from tests.benchmarks.control_rows import rows
from tests.benchmarks.figure import Figure
from tests.benchmarks.flight import LONGEST_FAULTY_S, Flight, Flown
from tests.benchmarks.standard_firings import (
    FAULTY,
    LEARNED_FROM,
    STANDARD,
    Drawn,
    Kind,
    Setting,
    drawn,
    make_ready,
    ordinary_melt,
    profile,
)
from tests.plants.roof import RoofableBench

SPREAD = 0.2
DEFAULT_ALLOY = "6061"
BENCH = "hardware.simulated.plant:Bench"
LONGEST_S = 13 * 3600.0
DIP_SD_K = 2.0  # of a probe held by hand (our choice)

FIRST_SEED = 2001
"""Bands, factors and gains are chosen on furnaces of lower seeds, never on those that figures are taken on."""

UNLIMITED_K = 110.0
UNLIMITED = BoostLimits(
    above_target_k=UNLIMITED_K,
    warm_above_target_k=UNLIMITED_K,
    near_target_k=-1e4,
    dip_near_k=-1e4,
    energy_factor=1e9,
    minutes_factor=1e9,
    duty_share=-1.0,
    warm_duty_share=-1.0,
)
"""No limits but the furnace's own top and the limiter: only to see what the rule costs."""


class Task(NamedTuple):
    """One furnace, to be flown in a process of its own."""

    plant: str
    seed: int
    standard: tuple[Kind, ...]
    faulty: tuple[Kind, ...]
    unlimited: bool


class Silent(Adviser):
    """Plain regulation asks no estimate: a firing without it takes a third of the time."""

    def second(self, reading_c: float | None, power_w: float, dt_s: float, *, lid_open: bool, over: bool) -> bool:
        """Take nothing."""
        return False


def figures(
    *,
    seeds: int = 2,
    first_seed: int = FIRST_SEED,
    plant: str = BENCH,
    workers: int = 1,
    standard: tuple[Kind, ...] = STANDARD,
    faulty: tuple[Kind, ...] = FAULTY,
    unlimited: bool = True,
    tell: Callable[[str], None] | None = None,
) -> list[Figure]:
    """Fly so many furnaces: the same for the same seeds, whatever the number of workers. tell: of each one done."""
    found: list[Told] = []
    tasks = [Task(plant, seed, standard, faulty, unlimited) for seed in range(first_seed, first_seed + seeds)]
    with ProcessPoolExecutor(workers) if workers > 1 else nullcontext() as pool:
        for number, firings in enumerate(pool.map(fly, tasks) if pool else map(fly, tasks), start=1):
            found += firings
            if tell is not None:
                tell(f"{number} of {seeds} furnaces, {len(firings)} firings each")
    plain = tuning(setting_of(plant).described)
    note = "of the plain controller, by the SIMC rule from the furnace file's step test; output 0 to 1"
    return [
        *rows(found),
        Figure("plain_gain_per_k", plain.gain_per_k, "1/K", None, note),
        Figure("plain_integral_s", plain.integral_s, "s", None, "and its integral time; no derivative"),
    ]


def setting_of(plant: str) -> Setting:
    """The furnace that a plant class is, with the spread of constants if it knows one."""
    made: Callable[..., Plant] = plant_named(plant)
    described = read_furnace(made(seed=1).furnace_file)
    make = partial(made, spread=SPREAD) if "spread" in signature(made).parameters else made
    return Setting(make, described, getattr(made, "alloy", DEFAULT_ALLOY))


def fly(task: Task) -> list[Told]:
    """Learn one furnace, then fly everything on it."""
    setting = setting_of(task.plant)
    with_dips = task.seed % 2 == 0
    model = learned(setting, task.seed, with_dips=with_dips)
    found: list[Told] = []
    for kind in task.standard:
        for controller in ("model", "plain"):
            found.append(_judged(setting, task.seed, kind, controller, model))
        if task.unlimited and kind.share:
            found.append(_judged(setting, task.seed, kind, "unlimited", model))
    for kind in task.faulty:
        make = setting.make
        if kind.fault == "roof" and task.plant == BENCH:
            make = partial(RoofableBench, spread=SPREAD)
        found.append(_judged(setting._replace(make=make), task.seed, kind, "model", model))
    for firing in found:
        firing.dips_learned = with_dips
    return found


def learned(setting: Setting, seed: int, *, with_dips: bool) -> Model:
    """What the product learns of this furnace from three ordinary melts with power metered."""
    melts = []
    for number in range(len(LEARNED_FROM)):
        kind, plan = ordinary_melt(setting, number)
        true = drawn(kind, seed)
        flown = flight(setting, seed, kind, plan, true, None, "plain", at_most_s=6 * 3600.0).flown
        dips = (_dip(flown, Random(f"{seed} {number} dip")),) if with_dips else ()
        melts.append(series_of(flown, setting, plan, dips, number + 1))
    return learn(setting.described, melts)


def _dip(flown: Flown, random: Random) -> Dip:
    at = next((s for s in flown.seconds if flown.ready_s is not None and s.t_s >= flown.ready_s), flown.seconds[-1])
    return Dip(at.t_s, at.true.metal_mean_c + random.gauss(0.0, DIP_SD_K))


def series_of(flown: Flown, setting: Setting, plan: Profile, dips: Sequence[Dip] = (), number: int = 9) -> Series:
    """A flight as the learner reads it from the log."""
    until_s = float("inf") if flown.added_s is None else flown.added_s - 60.0
    at = [s for s in flown.seconds if s.t_s <= until_s]
    logged = [Row(s.t_s, s.reading_c, s.ordered, s.metered_wh, s.lid_open) for s in at]
    return series(
        logged,
        furnace=setting.described,
        charge=plan.charge,
        dips=dips,
        metered=True,
        firing_id=number,
        started_utc_ms=number * 86_400_000,
        outcome="poured",
    )


def flight(
    setting: Setting,
    seed: int,
    kind: Kind,
    plan: Profile,
    true: Drawn,
    model: Model | None,
    controller: str,
    *,
    limits: BoostLimits = RULE,
    at_most_s: float = LONGEST_S,
    whole: bool = False,
) -> Flight:
    """Make furnace and supervisor and fly one firing. whole: through bus, driver and pins too."""
    described = setting.described
    furnace = Furnace(
        setting.make(seed=seed),
        described.wiring,
        seed=seed,
        limiter_c=described.limiter_c,
        pulses_per_kwh=described.pulses_per_kwh or 1000,
    )
    make_ready(furnace, setting, kind, plan.charge.mass_kg * true.mass_factor if plan.charge else 0.0)
    hardware = InProcess(furnace) if whole else Bare(furnace)
    memory = first_memory(
        described,
        backend=hardware.name,
        monotonic_s=furnace.time_s,
        next_firing_id=10,
        left_open=None,
        knowing=model,
        controller="plain" if controller == "plain" else "model",
        drained=True,
    )
    memory.limits = limits
    if controller == "plain":
        memory.firing.adviser = Silent(described, model, plain=True)
    memory.firing.cold_checked = True  # this morning, when it was cold
    flown = Flight(hardware, memory, plan, kind, true)
    flown.fly(at_most_s)
    return flown


def _judged(setting: Setting, seed: int, kind: Kind, controller: str, model: Model) -> Told:
    limits = UNLIMITED if controller == "unlimited" else RULE
    plan = profile(setting, kind, cap_over_target_k=limits.above_target_k)
    true = drawn(kind, seed)
    longest_s = LONGEST_FAULTY_S if kind in FAULTY else LONGEST_S
    done = flight(setting, seed, kind, plan, true, model, controller, limits=limits, at_most_s=longest_s)
    flown, target_c = done.flown, setting.target_c
    cap_c = min(target_c + limits.above_target_k, setting.described.limiter_c - limits.below_limiter_k, plan.top_c)
    found = told(flown, plan, kind, seed, controller, target_c, cap_c)
    before = flown.at_addition if kind.on_the_way == "addition" else flown.at_start
    if plan.charge is not None and before is not None and kind not in FAULTY:
        falls = kind.on_the_way == "mains"
        found.bound = bound(before, cap_c=cap_c, pour_c=setting.pour_c, mains_factor=true.mains_factor, falls=falls)
    if controller == "model" and plan.charge is not None and kind not in FAULTY:
        _foretold(found, done, model, setting, plan)
    return found


def _foretold(found: Told, done: Flight, model: Model, setting: Setting, plan: Profile) -> None:
    """What was forecast before the start, and what the model makes of the power that then flowed."""
    forecast = done.memory.adviser.forecast
    if forecast is not None and done.kind.on_the_way != "addition":
        found.forecast_min = None if forecast.minutes is None else forecast.minutes.likely
        found.forecast_kwh = forecast.kwh
    if done.kind.warm:
        return
    flown = done.flown
    seen = series_of(flown, setting, plan)
    factors = np.repeat(np.array(model.log_factors)[:, None], 2, axis=1)
    masses = np.array([done.true.mass_factor, 1.0])  # as it was, and as it was entered
    course = simulate(Reduced(setting.described), seen, factors, mass_factor=masses, every=1, together=1)
    errors_k = seen.reading_c[:, None] - course.reading_c
    found.open_loop_k, found.open_loop_entered_k = np.sqrt(np.nanmean(errors_k**2, axis=0)).tolist()
    true_s = next((s.t_s for s in flown.seconds if s.true.share_molten >= 0.999), None)
    if true_s is not None:
        ends_s = [_first_s(seen.t_s, course.share_molten[:, column] >= 0.999) for column in (0, 1)]
        found.molten_error_min, found.molten_error_entered_min = [(end_s - true_s) / 60.0 for end_s in ends_s]


def _first_s(t_s: NDArray[np.float64], there: NDArray[np.bool_]) -> float:
    """When it is first there; the end where it never is."""
    return float(t_s[np.argmax(there)] if there.any() else t_s[-1])
