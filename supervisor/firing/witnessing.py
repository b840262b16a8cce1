"""Proofs that the supervisor itself witnesses: inputs that somebody moves at rest, and what a firing shows by the way.

A proof is written when it is missing or due, and at no other time. What an input can witness comes in here and nowhere
else.
"""

from hardware.ports import Level
from supervisor.firing.drying import is_dry
from supervisor.firing.power import FRESH
from supervisor.firing.proofs import Result
from supervisor.firing.states import LIVE, State
from supervisor.firing.turn import Turn
from supervisor.firing.witness import GIVEN_UP_AFTER_S
from supervisor.furnace.proofs import DRY_OUT_C, DRY_OUT_S, FIRST_HEAT_C
from supervisor.furnace.stages import make
from supervisor.logbook.records import ProofRow

FIRING = "firing"
RISES_K = 10.0
"""With heat on the reading has gone up by so much: its wires are not swapped (our choice)."""
TRIPS_HOT_C = (120.0, 260.0)
"""A limiter that trips outside of this is no trial of it (our choice)."""


def prove(turn: Turn, name: str, evidence: str, *, who: str, where: str, witnessed: bool) -> None:
    """A proof is made: it counts, and goes into the log. What a firing witnessed is of that firing."""
    run = turn.firing.run if where == FIRING else None
    done = make(turn.firing.unlocking, name, turn.furnace, evidence=evidence, who=who, witnessed=witnessed)
    turn.firing.change()
    turn.records.append(ProofRow(done, None if run is None else run.firing_id, where))


def see_inputs(turn: Turn) -> None:
    """Every cycle: the input that somebody moves on purpose."""
    witness, moved = turn.firing.witness, turn.firing.witness.moved
    if moved is None:
        return
    if turn.firing.state in LIVE or turn.now_s - witness.since_s > GIVEN_UP_AFTER_S:
        witness.end()
        turn.firing.change()
        return
    before = (moved.seen_rest, moved.seen_away)
    if moved.see(turn.sample.inputs):
        prove(turn, witness.proof, "seen both ways", who=witness.who, where=witness.where, witnessed=True)
        witness.end()
    elif before != (moved.seen_rest, moved.seen_away):
        turn.firing.change()


def see_heat(turn: Turn) -> None:
    """Once a second: what this firing shows of the furnace."""
    firing, run, unlocking = turn.firing, turn.firing.run, turn.firing.unlocking
    if not unlocking.counted or run is None:
        return
    found: dict[str, str] = {}
    reading_c, power, last = turn.belief.last_c, firing.power, firing.proofs.last
    if firing.state is State.RUNNING and reading_c is not None:
        if run.ordered_wh > 0.0 and reading_c >= run.began_c + RISES_K:
            found["direction"] = f"from {run.began_c:.0f} to {reading_c:.0f} °C with heat on"
        if last is not None and last.result is Result.PROVED:
            found["relay-off"] = f"{last.how}: {last.evidence}"
        if power.expected >= FRESH and power.fair >= 0.75 * power.expected and power.trusted(turn.now_s):
            found["meter"] = f"{power.fair} pulses, {power.expected:.0f} expected"
        if power.current_seen and turn.sample.inputs.load_current is Level.OPEN:
            found["current"] = "seen on and off"
    found.update(_limiter(turn))
    for name, evidence in found.items():
        if unlocking.wanted(name, turn.furnace):
            prove(turn, name, evidence, who="supervisor", where=FIRING, witnessed=True)


def _limiter(turn: Turn) -> dict[str, str]:
    """It tripped in a trial, as warm as one is, and the contactor opened."""
    firing, inputs, reading_c = turn.firing, turn.sample.inputs, turn.belief.last_c
    if firing.state not in (State.ABORTING, State.ABORTED) or firing.run is None or reading_c is None:
        return {}
    low_c, high_c = TRIPS_HOT_C
    hot = firing.run.first_cause == "limiter" and low_c <= reading_c <= high_c
    if not hot or inputs.mirror is not Level.CLOSED or inputs.limiter is not Level.OPEN:
        return {}
    return {"limiter-trip": f"tripped at a reading of {reading_c:.0f} °C, and the contactor opened"}


def see_end(turn: Turn) -> None:
    """A firing has come to its end by itself: what it was good for."""
    firing, run, unlocking = turn.firing, turn.firing.run, turn.firing.unlocking
    if not unlocking.counted or run is None or firing.state is not State.COMPLETE or run.profile.charge is not None:
        return
    lasted_s = turn.now_s - run.began_s
    said = f"{run.name}: {lasted_s / 3600.0:.1f} h, to {run.peak_c:.0f} °C, without metal"
    dried = is_dry(run.drying.holds) if run.profile.dries else True  # by the clock alone, where nobody asked the power
    long_enough = run.peak_c >= DRY_OUT_C and lasted_s >= DRY_OUT_S
    if dried and long_enough and unlocking.wanted("dry-out", turn.furnace):
        prove(turn, "dry-out", said, who="supervisor", where=FIRING, witnessed=True)
    if run.peak_c >= min(FIRST_HEAT_C, turn.furnace.top_c - 50.0) and unlocking.wanted("first-heat", turn.furnace):
        prove(turn, "first-heat", said, who="supervisor", where=FIRING, witnessed=True)
