"""`python -m tests.campaigns.mutants`: is every watch the first to speak somewhere, and is it missed when it is gone?

For each watch one fault is put into a melt twice at the same moment: with all watches, and with this one taken out of
the table. With all of them it must be the first to speak; without it the fault must be noticed later, or not at all.
Everything is simulated.
"""

import json
import sys
from collections.abc import Iterator
from functools import partial
from typing import Any, NamedTuple

import click

import supervisor.cycle
from supervisor.furnace.file import read_furnace
from supervisor.rehearsal.copied import in_a_copy
from supervisor.rehearsal.drill.cases import TARGETS, Case
from supervisor.rehearsal.drill.draws import drilled
from supervisor.rehearsal.drill.firings import at_their_moments
from supervisor.rehearsal.drill.hit import Hit, hit
from supervisor.rehearsal.drill.subject import learn, subject
from supervisor.rehearsal.drill.trial import Trial
from supervisor.watches.row import Fitted, Moment

FURNACE_SEED, FIRING_SEED = 3001, 3002


class Shown(NamedTuple):
    """Which fault shows the watch, and when. share: of the moment's usual length."""

    label: str
    when: Moment
    share: float = 0.5


NONE: tuple[Fitted, ...] = ()
METER: tuple[Fitted, ...] = ("meter",)
CURRENT: tuple[Fitted, ...] = ("current",)
MORE: tuple[Fitted, ...] = ("meter", "second-sensor", "tray-probe")

FIRST: dict[tuple[Fitted, ...], dict[str, Shown]] = {
    METER: {
        "sensor-open": Shown("sensor_open", "ramp"),
        "sensor-shorted": Shown("sensor_short_to_ground", "arrest"),
        "sensor-silent": Shown("bus_silent", "gate"),
        "sensor-corrupt": Shown("bus_half_frame", "hold"),
        "reading-frozen": Shown("sensor_frozen", "ramp"),
        "rate-impossible": Shown("too_hot", "hold"),
        "sensor-noisy": Shown("sensor_noisy", "ramp"),
        "cold-junction-hot": Shown("board_warm", "ramp"),
        "needs-more-power": Shown("sensor_drift_2", "hold"),
        "lid-unseen": Shown("lid_unseen", "hold"),
        "power-when-off": Shown("relay_stuck_on", "hold"),
        "meter-disagrees": Shown("meter_stuck", "ramp", 0.8),
        "mains-low": Shown("mains_low", "ramp", 0.8),
        "element-shorted": Shown("element_shorted", "ramp", 0.6),
        "supply-weak": Shown("supply_weak", "ramp"),
        "processor-hot": Shown("processor_hot", "arrest"),
        "clock-untrusted": Shown("clock_untrusted", "hold"),
        "supply-lost": Shown("mains_lost", "arrest"),
        "emergency-stop": Shown("emergency_stop", "ramp"),
        "limiter": Shown("limiter_trip", "hold"),
        "key-off": Shown("key_off", "gate"),
        "contactor-chatters": Shown("contactor_drops", "hold"),
        "contactor-stuck": Shown("contactor_welded", "arrest"),
        "lid": Shown("lid_open", "hold"),
        "button-stuck": Shown("button_stuck", "ramp"),
        "sign-due": Shown("nobody_there", "hold", 0.2),
    },
    NONE: {
        "warmer-than-power": Shown("relay_stuck_on", "hold"),
        "colder-than-power": Shown("element_broken", "hold"),
    },
    CURRENT: {
        "current-when-off": Shown("relay_stuck_on", "hold"),
        "no-current": Shown("element_broken", "hold"),
    },
    MORE: {
        "sensors-disagree": Shown("second_sensor_open", "ramp"),
        "tray-wet": Shown("metal_escapes", "hold"),
    },
}
"""By what is fitted: watch to the case that it speaks first in."""

FIRST_UNLEARNED: dict[tuple[Fitted, ...], dict[str, Shown]] = {
    METER: {"sensor-reversed": Shown("sensor_reversed", "start")},
}
"""The same where nothing is learned: on a learned furnace the reading falls away from what power explains first."""

ELSEWHERE = {
    "no-reading": "one bad frame is no alarm",
    "reading-old": "behind those that name what is wrong with the sensor",
    "sample-repeated": "a hardware that hands out the same sample twice",
    "samples-stale": "a hardware that hands out old samples",
    "heat-without-command": "the plain rule behind the learned model",
    "heat-without-rise": "the plain rule behind the learned model",
    "over-setpoint": "behind the reading that runs above what the power explains",
    "hard-cap": "behind what speaks of the reading before",
    "pulse-when-off": "one pulse is no alarm",
    "breaks-away": "it keeps heat back and is no alarm",
    "power-without-command": "behind the contactor that lets go first",
    "power-at-rest": "needs a welded contactor as well",
    "no-power": "behind the meter that disagrees",
    "relay-proof": "needs a relay that fails only while it is proved",
    "relay-undecided": "an advice after two proofs that say nothing",
    "chain-lost": "behind those that name the contact",
    "loop-late": "a loop that is stopped",
    "start-test": "proofs of the start",
    "lid-not-cooling": "needs a relay that fails under an open lid",
    "lid-cools-little": "needs a relay that fails under an open lid",
    "lid-left-open": "ten minutes of an open lid",
    "signs-lost": "a link that breaks",
    "sign-missed": "behind the sign that is due",
    "nobody-there": "behind the sign that is missed",
    "mass-doubted": "a charge that was weighed wrong",
    "quarantined-metal": "it is told by the book",
    "metal-missing": "a charge that hangs up, or was weighed wrong",
    "longest-duration": "a firing that takes too long",
    "energy-allowance": "a firing that takes too much",
    "log-behind": "a disk that does not answer",
    "log-lost": "a disk that fails",
    "log-space-low": "a disk that fills up",
    "messages-fail": "a message that does not arrive",
}
"""Watches that no single fault of a drill makes the first to speak, and why; their own tests show them."""


class Mutant(NamedTuple):
    """One watch, there and gone."""

    watch: str
    fitted: tuple[Fitted, ...]
    label: str
    whole: Hit
    without: Hit

    @property
    def speaks_first(self) -> bool:
        """With all watches it is the first."""
        return self.whole.first == self.watch

    @property
    def missed_when_gone(self) -> bool:
        """Without it the fault is missed, or first told later, or wrongly."""
        before, after = self.whole.first_s, self.without.first_s
        later = after is None or (before is not None and after > before)
        return self.without.missed or later or not self.without.right

    def as_object(self) -> dict[str, Any]:
        """For a report."""
        return {
            "watch": self.watch,
            "fault": self.label,
            "fitted": list(self.fitted),
            "first": self.whole.first,
            "first_s": self.whole.first_s,
            "first_without": self.without.first,
            "first_without_s": self.without.first_s,
            "missed_without": self.without.missed,
            "speaks_first": self.speaks_first,
            "missed_when_gone": self.missed_when_gone,
        }


def mutants(furnace: str, melts: int, only: tuple[str, ...] = ()) -> Iterator[Mutant]:
    """Every watch of the table above, or these only."""
    tables = [(melts, fitted, table) for fitted, table in FIRST.items()]
    tables += [(0, fitted, table) for fitted, table in FIRST_UNLEARNED.items()]
    for learned, fitted, table in tables:
        wanted = {watch: shown for watch, shown in table.items() if not only or watch in only}
        if not wanted:
            continue
        of = subject(read_furnace(furnace), None, fitted, learned)
        known = learn(of, FURNACE_SEED)
        trial = Trial(drilled(of, FURNACE_SEED, FIRING_SEED, known))
        cases = [Case(number, s.label, s.when, s.share) for number, s in enumerate(wanted.values())]
        watches = list(wanted)
        for case in at_their_moments(trial, list(cases)):
            watch, row = watches[case.number], TARGETS[case.label].row
            limit_s = row.limit_s(fitted, learned=known.adopted is not None)
            hits = [in_a_copy(partial(_hit, trial, case, limit_s, without)) for without in ("", watch)]
            yield Mutant(watch, fitted, case.label, *hits)


def _hit(trial: Trial, case: Case, limit_s: float | None, without: str) -> Hit:
    """In a copy of the process: take the watch out of the cycle's tables, then put the fault in."""
    for table in (supervisor.cycle.ASKED, supervisor.cycle.ASKED_BETWEEN):
        for state, watches in table.items():
            table[state] = tuple(watch for watch in watches if watch.id != without)
    return hit(trial, case, FURNACE_SEED, limit_s)


@click.command()
@click.option("--furnace", default="bench", show_default=True)
@click.option("--learned", "melts", type=click.IntRange(0, 12), default=3, show_default=True)
@click.option("--watch", "only", multiple=True, help="These only.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def main(furnace: str, melts: int, only: tuple[str, ...], as_json: bool) -> None:
    """Take each watch out once and see whether anybody misses it."""
    found = []
    for mutant in mutants(furnace, melts, only):
        row = mutant.as_object()
        found.append(row)
        if as_json:
            continue
        word = "ok" if row["speaks_first"] and row["missed_when_gone"] else "NOT SHOWN"
        click.echo(
            f"{row['watch']:20} {row['fault']:22} first: {row['first']} {row['first_s']}; without it: "
            f"{row['first_without']} {row['first_without_s']}, missed {row['missed_without']}: {word}"
        )
    if as_json:
        click.echo(json.dumps({"simulated": True, "mutants": found}))
        return
    sys.exit(not all(row["speaks_first"] and row["missed_when_gone"] for row in found))


if __name__ == "__main__":
    main()
