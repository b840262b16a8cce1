"""Whole firings of a drill: one into which faults are put, each in a copy of the process, and a healthy one."""

import gc
from collections.abc import Iterator, Sequence
from functools import partial
from random import Random
from typing import NamedTuple

from supervisor.firing.profile import Ramp
from supervisor.firing.states import State
from supervisor.rehearsal.copied import in_a_copy
from supervisor.rehearsal.drill.cases import TARGETS, USUALLY_S, Case
from supervisor.rehearsal.drill.draws import drilled, healthy
from supervisor.rehearsal.drill.hit import Hit, hit
from supervisor.rehearsal.drill.subject import Known, Subject
from supervisor.rehearsal.drill.trial import AT_REST, Said, Trial
from supervisor.watches.row import Moment

LONGEST_S = 13 * 3600.0
IDLE_S = 900.0
"""So long a firing into which faults are put is watched after its end."""
GATE_S = (25.0, 240.0)
"""So long nobody answers the gate in such a firing."""
FASTEST_SHARE = 0.7
"""Of what the empty furnace is reckoned to need for a fastest ramp: by then a charge still is solid (our choice)."""
ON_S = 300.0  # a healthy furnace is watched for so long after its end


class Faulty(NamedTuple):
    """One firing with its cases. left: those whose moment never came. undisturbed: the firing itself, so far."""

    hits: list[Hit]
    left: list[Case]
    undisturbed: "Healthy"


class Healthy(NamedTuple):
    """What one healthy firing came to. Nothing is wrong in it, so each alarm is false."""

    furnace_seed: int
    seed: int
    profile: str
    melt: bool
    hours: float
    ended: str
    why: str
    said: list[Said]
    happenings: list[str]
    heated_s: int
    suppressed_s: int


def faulty(of: Subject, furnace_seed: int, seed: int, known: Known, cases: Sequence[Case]) -> Faulty:
    """One melt; each case is put in at its moment, in a copy of this process made then."""
    trial = Trial(drilled(of, furnace_seed, seed, known))
    waiting, hits = list(cases), []
    for case in at_their_moments(trial, waiting):
        limit_s = TARGETS[case.label].row.limit_s(of.fitted, learned=known.adopted is not None)
        hits.append(in_a_copy(partial(hit, trial, case, furnace_seed, limit_s)))
    trial.hardware.close()
    return Faulty(hits, waiting, _healthy(trial, furnace_seed))


def at_their_moments(trial: Trial, waiting: list[Case]) -> Iterator[Case]:
    """Go through the firing; each case comes when the trial stands at its moment. What stays in waiting never came."""
    dice = Random(f"{trial.setting.seed} gate")
    usually_s = {**USUALLY_S, "ramp": _ramp_s(trial)}
    prompt_s, over_s = trial.stand_in.answer_after_s, 0.0
    gc.collect()
    gc.freeze()  # what is there already need not be copied because its counters are looked at
    while waiting and trial.time_s < LONGEST_S and over_s < IDLE_S:
        trial.turn()
        if trial.memory.cycles % 4:
            continue
        over_s += trial.over
        if trial.moment == "gate" and trial.stand_in.answer_after_s == prompt_s:
            trial.stand_in.answer_after_s = dice.uniform(*GATE_S)
        elif trial.moment != "gate":
            trial.stand_in.answer_after_s = prompt_s
        for case in [case for case in waiting if _due(trial, case, usually_s)]:
            waiting.remove(case)
            yield case
    gc.unfreeze()


def _ramp_s(trial: Trial) -> float:
    """Roughly how long the first ramp takes to where metal begins to melt."""
    ramp = trial.setting.profile.segments[0]
    if isinstance(ramp, Ramp) and ramp.fastest and ramp.duration_s:
        return FASTEST_SHARE * ramp.duration_s
    rate_c_per_h = ramp.rate_c_per_h if isinstance(ramp, Ramp) and ramp.rate_c_per_h else 600.0
    return 480.0 / rate_c_per_h * 3600.0


def _due(trial: Trial, case: Case, usually_s: dict[Moment, float]) -> bool:
    if trial.moment != case.when:
        return False
    row = TARGETS[case.label].row
    if (row.calm and trial.suppressed) or (row.above_c and (trial.memory.belief.last_c or 0.0) < row.above_c):
        return False  # nobody looks for it just then: the report says for how long
    if row.above_c and case.when == "ramp":
        return True  # hot ramps are short
    return trial.seen.in_moment_s.get(case.when, 0) >= case.share * usually_s[case.when]


def without_fault(of: Subject, furnace_seed: int, seed: int, known: Known, *, quick: bool = False) -> Healthy:
    """One healthy firing, to its end and a little on."""
    drawn = healthy(of, furnace_seed, seed, known, quick=quick)
    trial = Trial(drawn)
    until_s = LONGEST_S
    while trial.time_s < until_s:
        trial.turn()
        if until_s == LONGEST_S and (trial.over or (trial.state in AT_REST and trial.time_s > 60.0)):
            until_s = trial.time_s + ON_S
    trial.hardware.close()
    return _healthy(trial, furnace_seed)


def _healthy(trial: Trial, furnace_seed: int) -> Healthy:
    """What a trial without a fault has come to."""
    setting, seen = trial.setting, trial.seen
    return Healthy(
        furnace_seed,
        setting.seed,
        setting.profile.name,
        setting.profile.charge is not None,
        trial.time_s / 3600.0,
        trial.state.value,
        seen.whys[-1] if seen.whys else "",
        list(trial.alarms),
        [f"{happening.name}@{happening.after_s / 60.0:.0f}" for happening in setting.happenings],
        seen.heated_s,
        seen.suppressed_s,
    )


ENDED_WELL = State.COMPLETE.value
