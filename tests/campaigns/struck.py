"""A firing with something wrong, and when the supervisor takes which step against it. Everything is simulated."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from math import inf
from typing import NamedTuple

from hardware.ports import CYCLE_S, Plant
from hardware.simulated.furnace import Furnace
from hardware.simulated.plant import Bench
from hardware.simulated.stand_in import StandIn
from supervisor.cycle import Memory, cycle, first_memory
from supervisor.firing import commands as c
from supervisor.firing.allowance import BEYOND_ALLOWANCE
from supervisor.firing.governor import RULE
from supervisor.firing.profile import Profile, top_hold_c
from supervisor.firing.states import HEATED, State
from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook.records import AlarmRow
from supervisor.model.learned import Model
from supervisor.rehearsal.person import Cycle, Person
from tests.benchmarks.bare import Bare

LONGEST_S = 3 * 3600.0
AFTERWARDS_S = 900.0
ANSWER_AFTER_S = 5.0
YESTERDAY_WH = 500.0
HEAT_ENDS = "heat ends"


class Strike(NamedTuple):
    """What is wrong. name: a fault of the simulated furnace, put in so long after the start; mass: over the entered."""

    name: str = ""
    value: float | None = None
    after_s: float = 0.0
    mass: float = 1.0
    shows: tuple[str, ...] = ()  # any of these steps against it ends the trial, after a while


STRIKES = {
    "creep": Strike("sensor_creep", 60.0, 1200.0, shows=("allowance binds",)),
    "relay": Strike("relay_stuck_on", None, 1500.0, shows=("power-without-command", "heat-without-command")),
    "element": Strike("element_broken", None, 600.0, shows=("no-power", "heat-without-rise")),
    "leak": Strike("leak", 1.0, 1200.0, shows=("allowance binds",)),
    "half mass": Strike(mass=0.5, shows=("mass doubted",)),
    "double mass": Strike(mass=2.0, shows=("mass doubted",)),
}


@dataclass
class Struck:
    """When each step was taken, s after the strike (after the start where that came first); absent: never."""

    at_s: dict[str, float] = field(default_factory=dict)
    hot_face_c: float = -inf  # the highest, and true


class Limits(NamedTuple):
    """Every limit of one firing that a learned value enters."""

    learned: bool  # the model carries limits
    allowance_wh: float
    beyond_duty: float  # when the allowance is spent
    boost_wh: float  # the boost ends with it; without a boost 0
    boost_min: float

    def in_words(self) -> str:
        """For a line of a table."""
        by = "learned" if self.learned else "data sheets"
        boost = f", boost {self.boost_wh / 1000:.2f} kWh and {self.boost_min:.0f} min" if self.learned else ""
        return f"{by} {self.allowance_wh / 1000:.2f} kWh, then {self.beyond_duty:.3f}{boost}"


class Charges(Person):
    """Charges, starts, answers the lamp, and gives no word: nobody dips."""

    def _word(self) -> Cycle:
        yield []


def limits_of(furnace: FurnaceDescription, profile: Profile, model: Model | None, first: Model | None) -> Limits:
    """What a firing that is prepared on a cold furnace is bound by. first: the model that it was commissioned with."""
    memory = _memory(furnace, model, first, 0.0)
    adviser, firing = memory.adviser, memory.firing
    hardware = Bare(Furnace(Bench(seed=1), furnace.wiring, seed=1, limiter_c=furnace.limiter_c))
    for number in range(8):
        prepare = c.Prepare(c.By("campaign", "campaign", "campaign"), profile, None)
        step = cycle(memory, hardware.sample(), [prepare] if number == 4 else [], CYCLE_S)
        hardware.apply(step.outputs)
    adviser.reckon()
    hardware.apply(cycle(memory, hardware.sample(), [], CYCLE_S).outputs)
    allowance_wh = firing.prepared_allowance_wh
    assert allowance_wh is not None
    return Limits(
        not adviser.no_boost,
        allowance_wh,
        BEYOND_ALLOWANCE * adviser.settled_duty(top_hold_c(profile)),
        RULE.energy_factor * (adviser.boost_wh or 0.0),
        0.0 if adviser.no_boost else RULE.minutes_factor * (adviser.boost_minutes or 0.0),
    )


def _memory(furnace: FurnaceDescription, model: Model | None, first: Model | None, monotonic_s: float) -> Memory:
    return first_memory(
        furnace, backend="simulated", monotonic_s=monotonic_s, next_firing_id=1, left_open=None,
        knowing=model, commissioning=first, drained=True,
    )  # fmt: skip


def strike(
    what: Strike,
    make: Callable[..., Plant],
    furnace: FurnaceDescription,
    profile: Profile,
    known: tuple[Model | None, Model | None],
    seed: int,
    power_yesterday: float = 1.0,
) -> Struck:
    """Fly it. make: the plant, what.mass reckoned in. known: the model, and the one that it was commissioned with.

    power_yesterday: metered over ordered in the firing before, which the supervisor has not forgotten.
    """
    simulated = Furnace(
        make(seed=seed),
        furnace.wiring,
        seed=seed,
        limiter_c=furnace.limiter_c,
        pulses_per_kwh=furnace.pulses_per_kwh or 1000,
    )
    memory = _memory(furnace, *known, simulated.time_s)
    per_kwh = furnace.pulses_per_kwh or 1000
    for share in (0.0, 1.0):
        memory.adviser.meter.see(share * YESTERDAY_WH, round(share * YESTERDAY_WH * power_yesterday * per_kwh / 1000))
    struck, since_s, over_s = Struck(), inf, LONGEST_S
    for raised in _turns(simulated, memory, profile):
        now_s = simulated.time_s
        if since_s == inf and memory.firing.state is State.RUNNING:
            since_s = now_s + what.after_s
        if now_s >= over_s:
            break
        if now_s < since_s:
            continue
        if what.name and what.name not in simulated.injected:
            simulated.inject(what.name, what.value)
        for name in [*raised, *_steps(memory)]:
            struck.at_s.setdefault(name, now_s - since_s)
        struck.hot_face_c = max(struck.hot_face_c, simulated.state.hot_face_c)
        if over_s == LONGEST_S and any(name in struck.at_s for name in what.shows):
            over_s = now_s + AFTERWARDS_S
    return struck


def _turns(simulated: Furnace, memory: Memory, profile: Profile) -> Iterator[list[str]]:
    """Cycle after cycle, until the firing is closed: which watches begin to speak."""
    hardware, stand_in = Bare(simulated), StandIn(ANSWER_AFTER_S)
    acts = Charges(memory, simulated, stand_in, profile, None).act()
    while memory.firing.run is None or not memory.firing.run.closed:
        before_s = simulated.time_s
        sample = hardware.sample()
        step = cycle(memory, sample, next(acts), sample.monotonic_s - before_s)
        hardware.apply(step.outputs)
        stand_in.look(simulated, lamp=step.outputs.lamp, now_s=sample.monotonic_s)
        yield [row.watch for row in step.records if isinstance(row, AlarmRow) and row.step == "raised"]


def _steps(memory: Memory) -> list[str]:
    """What has been taken against it that is no alarm."""
    run = memory.firing.run
    if run is None:
        return []
    taken = {
        HEAT_ENDS: memory.firing.state not in HEATED,
        "allowance binds": run.energy_wh > run.allowed_wh,
        "boost ends": bool(run.boost.ended),
        "mass doubted": run.mass_doubt is not None,
    }
    return [name for name, there in taken.items() if there]
