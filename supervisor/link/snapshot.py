"""The snapshot: everything that anybody may know of the furnace now, as plain JSON. docs/link.md describes it."""

from typing import Any

from supervisor.alarms.texts import TEXTS
from supervisor.cycle import Memory
from supervisor.firing.commands import NoteKind, Prepare
from supervisor.firing.firing import YOU, Firing, Held, Run
from supervisor.firing.gate import ASKS_WITHIN_K
from supervisor.firing.orders import NAMES, note_refusal, refusal
from supervisor.firing.permissive import Permissive
from supervisor.firing.permissives import going_on, permissives
from supervisor.firing.presses import Asked
from supervisor.firing.profile import Profile, segment_sentence, top_hold_c
from supervisor.firing.setpoint import ahead
from supervisor.firing.states import HEATED, State
from supervisor.firing.turn import Turn
from supervisor.furnace.description import ONLY_LOOKING
from supervisor.link import aftermath, alarms, board, metal
from supervisor.link.aftermath import GENTLE, perhaps_liquid
from supervisor.link.attendance import attendance
from supervisor.link.back import back
from supervisor.link.headline import headline
from supervisor.link.off import heat
from supervisor.link.reach import reach
from supervisor.link.stage import practice, stage
from supervisor.metal.charge import Charge

ASKS = {
    Asked.START: "Hold the button at the furnace for 3 s: heat starts.",
    Asked.RESUME: "Lid shut, hands away: hold the button at the furnace for 3 s to go on.",
    Asked.RESET: "Hold the button at the furnace for 3 s: the trip is reset.",
    Asked.RAISE: "Hold the button at the furnace for 3 s: the setpoint goes up again.",
    Asked.GATE: "Press the button at the furnace: heat may pass the gate.",
    Asked.SIGN: "Press the button at the furnace: you are there.",
    Asked.ALLOWANCE: "Press the button at the furnace: a tenth more energy.",
    Asked.MASS: "If the mass is as entered: press the button at the furnace.",
    Asked.ADOPT: "Hold the button at the furnace for 3 s: the other model is taken.",
}


def snapshot(memory: Memory) -> dict[str, Any]:
    """One snapshot, without what only the process knows (UTC, boot, version). It shares nothing with the memory."""
    sample = memory.sample
    if sample is None:
        raise ValueError("a snapshot needs one sample first")
    turn = Turn(
        memory.firing,
        memory.alarms,
        memory.furnace,
        sample,
        memory.belief,
        memory.log,
        now_s=memory.belief.monotonic_s,
        second=False,
        backend=memory.backend,
        next_firing_id=memory.next_firing_id,
    )
    inputs = {name: level.value for name, level in sample.inputs._asdict().items()}
    return {
        "v": 1,
        **_now(memory, turn),
        **_firing_and_plan(memory),
        **metal.parts(memory),
        **board.parts(memory),
        **aftermath.parts(memory),
        **_asked_and_said(memory, turn),
        "inputs": inputs,
    }


def _now(memory: Memory, turn: Turn) -> dict[str, Any]:
    firing, belief = memory.firing, memory.belief
    held = None
    if firing.state in (State.HOLDING, State.HELD):
        held = "watch" if any(name != YOU for name in firing.held) else "you"
    return {
        "epoch": firing.epoch,
        "monotonic_s": belief.monotonic_s,
        "furnace": _furnace(memory),
        "state": firing.state.value,
        "held": held,
        "headline": headline(memory, turn)._asdict(),
        "hot_junction": _hot_junction(memory),
        "cold_junction_c": belief.last_cold_c,
        "setpoint_c": firing.setpoint_c,
        "duty": firing.duty if memory.outputs.enable else 0.0,
        "heat": _heat(memory),
        "doing": _doing(memory),
        "relay": _relay(memory),
    }


def _firing_and_plan(memory: Memory) -> dict[str, Any]:
    firing, run, prepared, now_s = memory.firing, memory.firing.run, memory.firing.prepared, memory.belief.monotonic_s
    chosen = run.profile if run is not None else None if prepared is None else prepared.profile
    charge = None if chosen is None else chosen.charge
    number = run.heat_number if run is not None else None if prepared is None else prepared.heat_number
    since_s = None if run is None or run.closed else run.at_target_since_s
    return {
        "profile": None if chosen is None else _profile(chosen, None if memory.furnace.looks_only else run),
        "charge": None if charge is None else _charge(charge, run),
        "heat_number": number,
        "firing": None if run is None else _firing(run, now_s),
        "gate": _gate(None if memory.furnace.looks_only else run, firing.state, now_s),
        "at_temperature_s": None if since_s is None else now_s - since_s,
        "may_be_liquid": perhaps_liquid(memory),
        "prepared": None if prepared is None else _prepared(prepared, firing),
        "left_open": firing.left_open,
    }


def _asked_and_said(memory: Memory, turn: Turn) -> dict[str, Any]:
    return {
        "question": _question(memory),
        "attendance": attendance(memory),
        "be_back": back(memory),
        "permissives": [p._asdict() for p in _conditions(memory, turn)],
        "commands": [
            {"name": name, "allowed": not (why := refusal(name, turn)), "why": why} for name in NAMES.values()
        ],
        "notes": [
            {"kind": kind.value, "allowed": not (why := note_refusal(kind, turn)), "why": why} for kind in NoteKind
        ],
        **alarms.parts(memory),
        "stage": stage(memory),
        "practice": practice(memory),
        "reach": reach(memory.firing.reach),
    }


def _conditions(memory: Memory, turn: Turn) -> tuple[Permissive, ...]:
    """What must hold before heat may begin; in a firing, before it may go on."""
    return going_on(turn.facts) if memory.firing.state in HEATED else permissives(turn.facts)


def _furnace(memory: Memory) -> dict[str, Any]:
    furnace = memory.furnace
    return {
        "name": furnace.name,
        "title": furnace.title,
        "letter": furnace.letter,
        "invented": furnace.invented,
        "backend": memory.backend,
        "top_c": furnace.top_c,
        "limiter_c": furnace.limiter_c,
        "capacity_kg": furnace.crucible.capacity_kg,
        "looks_only": furnace.looks_only,
        "bore_mm": furnace.crucible.bore_mm,
        "depth_mm": furnace.crucible.depth_mm,
    }


def _hot_junction(memory: Memory) -> dict[str, Any]:
    belief = memory.belief
    fault = None if belief.fault is None else belief.fault.reason
    if not belief.time_ok:
        fault = "a sample of another cycle"
    correction = memory.furnace.correction
    told = None if correction is None else correction._asdict()
    return {
        "c": belief.last_c,
        "age_s": round(belief.monotonic_s - belief.good_s, 3),
        "fault": fault,
        "correction": told,  # it is in c already
    }


def _heat(memory: Memory) -> dict[str, Any]:
    known = heat(memory)
    if memory.furnace.looks_only:
        return {"allowed": known.allowed, "off": known.off, "sentence": ONLY_LOOKING}
    return {"allowed": known.allowed, "off": known.off, "sentence": known.sentence}


def _relay(memory: Memory) -> dict[str, Any]:
    """The last proof that the relay lets go, and whether one is under way."""
    proofs = memory.firing.proofs
    last, now_s = proofs.last, memory.belief.monotonic_s
    return {
        "proving": proofs.proving,
        "last": None
        if last is None
        else {"result": last.result.value, "age_s": now_s - last.at_s, "how": last.how, "evidence": last.evidence},
    }


def _doing(memory: Memory) -> str:
    firing, run = memory.firing, memory.firing.run
    if firing.state is State.STARTING and firing.test is not None:
        return f"Start test: {firing.test.step.value}."
    if run is None or firing.state not in HEATED:
        return ""
    if memory.furnace.looks_only:
        return "Another regulator heats. The record runs."
    if firing.held:
        return " ".join(_held_by(name, held) for name, held in firing.held.items())
    if run.walk.done:
        return "The last segment is done."
    sentence = segment_sentence(run.profile.segments[run.walk.segment])
    return sentence if run.walk.waits_for is None else f"{sentence} It waits for {run.walk.waits_for}."


def _held_by(name: str, held: Held) -> str:
    if name == YOU:
        return "Held by you."
    text = TEXTS[name]
    return text.sentence if held.standing else f"{text.title} again: still held."


def _profile(profile: Profile, run: Run | None) -> dict[str, Any]:
    at = -1 if run is None else run.walk.segment
    return {
        "name": profile.name,
        "top_c": profile.top_c,
        "pour_c": profile.pour_c,
        "target_c": top_hold_c(profile),
        "segments": [
            {"sentence": segment_sentence(segment), "done": number < at, "now": number == at}
            for number, segment in enumerate(profile.segments)
        ],
        "segment": None if run is None or run.walk.done else at,
        "waits_for": None if run is None else run.walk.waits_for,
        "ahead": [] if run is None or run.closed else [list(point) for point in ahead(run.walk)],
    }


def _charge(charge: Charge, run: Run | None) -> dict[str, Any]:
    return {
        "mass_kg": charge.mass_kg if run is None else run.charge_kg,
        "alloy": charge.alloy,
        "form": charge.form,
        "solidus_c": charge.solidus_c,
        "liquidus_c": charge.liquidus_c,
    }


def _firing(run: Run, now_s: float) -> dict[str, Any]:
    return {
        "id": run.firing_id,
        "name": run.name,
        "began_s": run.began_s,
        "elapsed_s": now_s - run.began_s,
        "energy_wh": run.energy_wh,
        "allowance_wh": run.allowed_wh,
        "longest_s": run.longest_s,
        "lowered_k": run.lowered_k,
        "ended_as": run.ended_as,
        "first_cause": run.first_cause,
    }


def _gate(run: Run | None, state: State, now_s: float) -> dict[str, Any]:
    found = {"state": "none", "limit_c": None if run is None else run.gate.limit_c, "open_until_s": None, "in_s": None}
    if run is None or run.gate.limit_c is None or state not in HEATED:
        return found
    gate = run.gate
    if not gate.shut:
        return {**found, "state": "open", "open_until_s": gate.open_until_s}
    if gate.wants(now_s):
        return {**found, "state": "asked"}
    in_s = _reaches(run, run.gate.limit_c - ASKS_WITHIN_K) if state is State.RUNNING else None
    return {**found, "state": "shut", "in_s": in_s}


def _reaches(run: Run, at_c: float) -> float | None:
    """When the plan comes to at_c, in seconds from now and waiting not reckoned with; None: never, or it is there."""
    before_s, before_c = 0.0, run.walk.setpoint_c - run.lowered_k
    for after_s, planned_c in ahead(run.walk)[1:]:
        after_c = planned_c - run.lowered_k
        if before_c < at_c <= after_c:
            return before_s + (after_s - before_s) * (at_c - before_c) / (after_c - before_c)
        before_s, before_c = after_s, after_c
    return None


def _question(memory: Memory) -> dict[str, Any] | None:
    question = memory.firing.button.question
    if question is None:
        return None
    return {
        "kind": question.asked.value,
        "press": "hold" if question.held else "short",
        "sentence": ASKS[question.asked],
        "asked_s": question.put_s,
        "until_s": question.until_s,
    }


def _prepared(prepared: Prepare, firing: Firing) -> dict[str, Any]:
    charge = prepared.profile.charge
    return {
        "profile": prepared.profile.name,
        "mass_kg": None if charge is None else charge.mass_kg,
        "top_c": prepared.profile.top_c,
        "longest_s": prepared.profile.longest_s,
        "allowance_wh": firing.prepared_allowance_wh,
        "slow": GENTLE if firing.gentle else "",
    }
