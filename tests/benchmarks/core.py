"""Group `core`: how fast a firing is rehearsed, and where the time of a turn goes.

The firing is docs/examples/dry-out-6h.toml on the bench furnace, with its log on disk. `rehearsal_speed` is simulated
over wall seconds from the first to the last cycle, of the quickest of several runs: what else the machine did slows the
others. Beside it stands the same by the process's own time, which is fair on a busy machine.
"""

import tempfile
from pathlib import Path
from time import process_time
from typing import NamedTuple

from hardware.simulated.plant import Bench
from supervisor.firing.profile_file import read_profile
from supervisor.furnace.file import read_furnace
from supervisor.rehearsal.rehearse import Outcome, Wish, rehearse
from tests.benchmarks.figure import Figure
from tests.benchmarks.sections import OF_THE_CORE, Times, timed, turns_timed

PROFILE = Path(__file__).resolve().parents[2] / "docs" / "examples" / "dry-out-6h.toml"
WANTED_SPEED = 2000.0
WANTED_CORE_US = 50.0
WANTED_CYCLE_OVER_PLANT = 10.0

PIECES = (
    ("sample_us", ("sample",), "furnace, frame, driver, inputs; without the plant"),
    ("believe_us", ("believe", "_turn", "use_energy", "notice"), "sample to belief, button, lid, gate, energy"),
    ("judge_us", ("judge",), "all watches and the life of alarms"),
    ("decide_and_act_us", ("decide", "regulate", "act"), "state, setpoint, duty, outputs"),
    ("record_us", ("remember",), "rows and what is left to the next cycle"),
    ("apply_us", ("apply",), "outputs to pins, read back, permit edge"),
    ("log_us", ("log",), "rows to the scribe and, batch by batch, to disk"),
)


class _Run(NamedTuple):
    outcome: Outcome
    process_s: float
    turns_ns: list[int]


def figures(*, runs: int = 3, at_most_s: float = 13 * 3600.0) -> list[Figure]:
    """Measure. at_most_s ends the firing earlier: for a trial of the benchmark itself."""
    measured = [_plain(at_most_s) for _ in range(runs)]
    best = min(measured, key=lambda run: run.outcome.wall_s)
    with timed() as times:
        _rehearse(at_most_s)
    cycles, turns = best.outcome.cycles, Times(turns_ns=best.turns_ns)
    cycle_us = best.outcome.wall_s / cycles * 1e6
    process_us = min(run.process_s for run in measured) / cycles * 1e6
    plant_us = times.us_a_turn("plant")
    all_us = sum(times.turns_ns) / len(times.turns_ns) / 1000.0
    core_us = sum(times.us_a_turn(piece) for piece in OF_THE_CORE)
    speed, fair_speed = (best.outcome.simulated_s / cycles * 1e6 / us for us in (cycle_us, process_us))
    return [
        Figure("rehearsal_speed", speed, "x real time", WANTED_SPEED, f"best of {runs} runs; baseline: wanted"),
        Figure("rehearsal_speed_process", fair_speed, "x real time", WANTED_SPEED, "by the process's own time"),
        Figure("cycle_us", cycle_us, "µs", plant_us, "one whole turn, mean of the best run; baseline: plant_us"),
        Figure("cycle_us_process", process_us, "µs", plant_us, "the same by the process's own time"),
        Figure("cycle_us_p99", turns.turn_us(0.99), "µs", cycle_us, "over single turns; baseline: cycle_us"),
        Figure("cycle_us_quiet", turns.quiet_us(), "µs", plant_us, "mean of the quickest tenth of all minutes"),
        Figure("cycle_us_worst_run", max(r.outcome.wall_s for r in measured) / cycles * 1e6, "µs", cycle_us),
        Figure("plant_us", plant_us, "µs", all_us, "from here on a run with timers; baseline: its whole turn"),
        Figure("core_us", core_us, "µs", WANTED_CORE_US, "believe to record; baseline: wanted at most"),
        *_where(times, all_us),
    ]


def _where(times: Times, all_us: float) -> list[Figure]:
    found = []
    for name, pieces, note in PIECES:
        value = sum(times.us_a_turn(piece) for piece in pieces)
        if name == "sample_us":
            value -= times.us_a_turn("plant")
        found.append(Figure(name, value, "µs", all_us, note))
    rest = all_us - times.us_a_turn("plant") - sum(figure.value for figure in found)
    return [*found, Figure("rest_us", rest, "µs", all_us, "the loop, the stand-in, the timers' own calls")]


def _plain(at_most_s: float) -> _Run:
    with turns_timed() as turns_ns:
        began_s = process_time()
        outcome = _rehearse(at_most_s)
        return _Run(outcome, process_time() - began_s, turns_ns)


def _rehearse(at_most_s: float) -> Outcome:
    furnace = read_furnace("bench")
    wish = Wish(read_profile(PROFILE, furnace), furnace, Bench, at_most_s=at_most_s)
    with tempfile.TemporaryDirectory(prefix="meltkeeper-") as directory:
        return rehearse(wish, Path(directory))
