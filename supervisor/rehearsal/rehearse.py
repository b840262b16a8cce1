"""Run one profile through the real supervisor on a simulated furnace, in virtual time, log and all."""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from hardware.clock import monotonic_s
from hardware.ports import Plant
from hardware.simulated.furnace import Furnace
from hardware.simulated.in_process import InProcess
from hardware.simulated.stand_in import StandIn
from supervisor.cycle import Memory, cycle, first_memory
from supervisor.firing.profile import Profile
from supervisor.firing.turn import results
from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook.directory import open_directory
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import AlarmRow
from supervisor.logbook.scribe import Scribe
from supervisor.model.forecast import Forecast
from supervisor.model.learned import Model
from supervisor.rehearsal.person import Person
from supervisor.rehearsal.truth import Truth

BEGINS_UTC_MS = 1_767_225_600_000
"""Virtual time begins at the start of 2026, so that the same seed gives the same log; each further firing of a log is a
day later."""
DAY_MS = 86_400_000


@dataclass(frozen=True, slots=True)
class Wish:
    """What is to be rehearsed. absent: (from, to) in seconds; faults: (name, second).

    knowing: the model of this furnace, if one was learned. plant_seed: of the plant alone, where another seed would be
    another furnace; None: the seed of the rest.
    """

    profile: Profile
    furnace: FurnaceDescription
    plant: Callable[..., Plant]
    seed: int = 1
    answer_after_s: float = 5.0
    absent: tuple[tuple[float, float], ...] = ()
    faults: tuple[tuple[str, float], ...] = ()
    heat_number: str | None = None
    controller: Literal["model", "plain"] = "model"
    knowing: Model | None = None
    commissioning: Model | None = None
    plant_seed: int | None = None
    at_most_s: float = 13 * 3600.0


@dataclass(slots=True)
class Outcome:
    """What came of it. The temperatures of the metal are the plant's truth: simulated."""

    wish: Wish
    state: str = ""
    cycles: int = 0
    wall_s: float = 0.0
    simulated_s: float = 0.0
    bus_reads: int = 0
    first_cause: str | None = None
    results: dict[str, Any] = field(default_factory=dict)
    alarms: list[dict[str, Any]] = field(default_factory=list)
    truth: Truth = field(default_factory=Truth)
    after_fault_s: dict[str, float | None] = field(default_factory=dict)
    permit_edges: int = 0
    forecast: Forecast | None = None  # frozen at the start
    boost: str = ""  # how the boost ended, or why there was none


def rehearse(wish: Wish, directory: Path, tell: Callable[[float, float | None], None] | None = None) -> Outcome:
    """Rehearse, with the log in directory. tell: called every simulated minute with (seconds, reading).

    Raises:
        InputRefused: the directory belongs to another furnace, or is in use.
    """
    with open_directory(directory, backend="simulated", furnace=wish.furnace.name) as data:
        now = [0.0]
        with open_log(data.path) as log:
            firing_id = log.next_firing_id()
        begins_ms = BEGINS_UTC_MS + DAY_MS * (firing_id - 1)
        scribe = Scribe(data, boot_id="rehearsal", utc_ms=lambda: begins_ms + round(now[0] * 1000), threaded=False)
        try:
            return _run(wish, scribe, firing_id, now, tell)
        finally:
            scribe.close()


def _run(
    wish: Wish,
    scribe: Scribe,
    firing_id: int,
    now: list[float],
    tell: Callable[[float, float | None], None] | None,
) -> Outcome:
    plant = wish.plant(seed=wish.seed if wish.plant_seed is None else wish.plant_seed)
    furnace = Furnace(
        plant,
        wish.furnace.wiring,
        seed=wish.seed,
        limiter_c=wish.furnace.limiter_c,
        pulses_per_kwh=wish.furnace.pulses_per_kwh or 1000,
    )
    hardware = InProcess(furnace)
    memory = first_memory(
        wish.furnace,
        backend=hardware.name,
        monotonic_s=furnace.time_s,
        next_firing_id=firing_id,
        left_open=None,
        knowing=wish.knowing,
        commissioning=wish.commissioning,
        controller=wish.controller,
    )
    stand_in = StandIn(wish.answer_after_s, wish.absent)
    person = Person(memory, furnace, stand_in, wish.profile, wish.heat_number)
    acts = person.act()
    outcome, pending = Outcome(wish), sorted(wish.faults, key=lambda fault: fault[1])
    began = monotonic_s()
    while True:
        while pending and furnace.time_s >= pending[0][1]:
            furnace.inject(pending.pop(0)[0])
        sample = hardware.sample()
        dt_s, now[0] = sample.monotonic_s - now[0], sample.monotonic_s
        step = cycle(memory, sample, next(acts), dt_s)
        hardware.apply(step.outputs)
        scribe.put(step.records)
        outcome.alarms += [row._asdict() for row in step.records if isinstance(row, AlarmRow)]
        stand_in.look(furnace, lamp=step.outputs.lamp, now_s=now[0])
        outcome.cycles += 1
        if outcome.cycles % 4 == 0:
            outcome.truth.see(memory, furnace.state)
            if tell is not None and outcome.cycles % 240 == 0:
                tell(now[0], memory.belief.last_c)
        run = memory.firing.run
        if (run is not None and run.closed and person.done) or now[0] >= wish.at_most_s:
            break
    outcome.wall_s = monotonic_s() - began
    outcome.simulated_s = now[0]
    outcome.bus_reads = hardware.buses[0].reads
    _conclude(outcome, memory, furnace)
    hardware.close()
    return outcome


def _conclude(outcome: Outcome, memory: Memory, furnace: Furnace) -> None:
    run = memory.firing.run
    outcome.state = memory.firing.state.value
    outcome.permit_edges = sum(edge.line == "permit" for edge in furnace.edges)
    if run is not None:
        outcome.first_cause, outcome.results = run.first_cause, results(run, memory.alarms)
        outcome.forecast, outcome.boost = memory.adviser.forecast, run.boost.why_off
    if outcome.wish.faults:
        outcome.after_fault_s = _after(furnace, outcome.wish.faults[0][1])


def _after(furnace: Furnace, fault_s: float) -> dict[str, float | None]:
    """From the fault to what the pins and contacts then did, s; 0 where it was so already, None where it never was."""
    found: dict[str, float | None] = {}
    for line in ("relay", "enable", "contactor", "element"):
        level, at_s = False, 0.0
        for edge in furnace.edges:
            if edge.line != line:
                continue
            if edge.time_s <= fault_s or (level and not edge.level):
                level, at_s = edge.level, edge.time_s
            elif edge.level:
                level = True
        found[line] = None if level else max(0.0, at_s - fault_s)
    return found
