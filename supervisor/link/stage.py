"""How far the furnace is unlocked, as the snapshot has it: the stage, every proof, what comes next."""

from typing import Any

from supervisor.cycle import Memory
from supervisor.firing.practice import MOVES
from supervisor.furnace.stages import CAPS, Standing


def stage(memory: Memory) -> dict[str, Any]:
    """Stage and proofs; a simulated furnace that is unlocked from the first day has no list of them."""
    unlocking, furnace = memory.firing.unlocking, memory.furnace
    number = unlocking.stage(furnace)
    found = {
        "number": int(number),
        "allows": CAPS[number].words,
        "counted": unlocking.counted,
        "next": None,
        "due": [],
        "proofs": [],
        "proving": _proving(memory),
    }
    if not unlocking.counted:
        return found
    now = unlocking.reached(furnace)
    following = now.next
    return {
        **found,
        "next": None if following is None else following.name,
        "due": [each.name for each in now.due],
        "proofs": [_proof(each) for each in now.standing if each.asked],
    }


def practice(memory: Memory) -> dict[str, Any] | None:
    """The cold practice that is on: the move now, and how long the ones before it took."""
    on = memory.firing.practice
    if on is None:
        return None
    return {
        "step": len(on.took) + 1,
        "of": len(MOVES),
        "name": on.move.name,
        "sentence": on.move.words,
        "for_s": memory.belief.monotonic_s - on.since_s,
        "took_s": {each.name: each.seconds for each in on.took},
        "who": on.who,
    }


def _proof(each: Standing) -> dict[str, Any]:
    last = each.last
    return {
        "name": each.name,
        "holds": each.holds,
        "why": each.why,
        "witnessed": None if last is None else last.witnessed,
        "who": None if last is None else last.who,
        "utc_ms": None if last is None else last.utc_ms,
        "evidence": None if last is None else last.evidence,
        "due_in_days": None if each.due_in_days is None else round(each.due_in_days, 1),
    }


def _proving(memory: Memory) -> dict[str, Any] | None:
    """The input that somebody moves now, and what is to be done with it."""
    witness = memory.firing.witness
    if witness.moved is None:
        return None
    return {"name": witness.proof, "wants": witness.moved.wants, "who": witness.who}
