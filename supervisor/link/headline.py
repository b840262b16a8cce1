"""The headline: one sentence that says what the furnace does and what it wants, with one word of it huge.

`before key after`; the key is what reads across the shed. Clock times are the reader's: the page makes them. 'Off' is
said only while the contactor is proved open.
"""

from typing import Any, NamedTuple

from hardware.ports import Level
from supervisor.alarms.texts import TEXTS
from supervisor.cycle import Memory
from supervisor.firing.carry_out import PROVED_WITHIN_S
from supervisor.firing.firing import YOU, MassDoubt, Run
from supervisor.firing.holds import leaving
from supervisor.firing.permissives import Facts, permissives, unmet
from supervisor.firing.presses import Asked
from supervisor.firing.start import Step
from supervisor.firing.states import State
from supervisor.firing.turn import Turn
from supervisor.link.aftermath import perhaps_liquid
from supervisor.link.metal import metal
from supervisor.watches.finding import Leave, Then

HOT_C = 60.0
HELD_FOR = {
    Asked.START: "start",
    Asked.RESUME: "go on",
    Asked.RESET: "reset",
    Asked.RAISE: "raise",
    Asked.ADOPT: "take the other model",
}


class Headline(NamedTuple):
    """What stands on top of every live screen. tone: calm, stay, wanted or act.

    in_s: seconds from now to the hour that stands as {hour} in it; None: it names none.
    """

    before: str
    key: str
    after: str
    tone: str
    in_s: float | None = None


def headline(memory: Memory, turn: Turn) -> Headline:
    """The one sentence for this moment. turn: a working table of this moment, for the conditions."""
    firing = memory.firing
    asked = None if firing.button.question is None else firing.button.question.asked
    if asked in HELD_FOR:
        return Headline("At the furnace: hold its button", "3 s", f"to {HELD_FOR[asked]}, within 60 s.", "wanted")
    match firing.state:
        case State.ABORTING | State.ABORTED:
            return _tripped(memory)
        case State.STARTING:
            return _starting(memory)
        case State.RUNNING:
            return _running(memory, firing.run, asked)
        case State.HOLDING | State.HELD:
            return _held(memory, turn)
        case State.STOPPING | State.COMPLETING:
            return _off(memory, "Stopping:" if firing.state is State.STOPPING else "The profile is done:", "")
        case _:
            return _at_rest(memory, turn.facts)


def proved_off(memory: Memory) -> bool:
    """The contactor reads open, and nothing asks it in."""
    sample = memory.sample
    return sample is not None and sample.inputs.mirror is Level.CLOSED and not memory.outputs.enable


def temperature(memory: Memory) -> str:
    """The chamber in words, for a key."""
    reading = memory.belief.reading
    return "unknown" if reading is None else f"{reading.hot_junction_c:.0f} °C"


def _off(memory: Memory, before: str, why: str, tone: str = "calm") -> Headline:
    sentence = before.endswith(".")
    if proved_off(memory):
        return Headline(f"{before} {'Heat' if sentence else 'heat'} is", "off,", f"proved. {why}".strip(), tone)
    late = memory.belief.monotonic_s - memory.firing.entered_s > PROVED_WITHIN_S
    return Headline(
        f"{before} {'Off' if sentence else 'off'} was",
        "ordered",
        "not proved: switch off at the breaker." if late else "not proved yet.",
        "act" if late else tone,
    )


def _tripped(memory: Memory) -> Headline:
    firing = memory.firing
    if memory.alarms.reaction.keep_away and not proved_off(memory):
        return Headline("Keep", "away.", "The contactor did not open: switch off at the breaker.", "act")
    speaking = memory.alarms.speaking(Then.ABORT)
    cause = speaking[0] if speaking else "" if firing.run is None else firing.run.first_cause or ""
    text = TEXTS.get(cause)
    return _off(memory, "Tripped:", text.sentence if text is not None else "Read the alarms below.", "act")


def _starting(memory: Memory) -> Headline:
    test = memory.firing.test
    if test is not None and test.step in (Step.PULLING_IN, Step.PROVING_RELAY):
        return Headline("Proving the", "relay:", "it may be live. Hands away.", "stay")
    if test is not None and test.step is Step.ASKING:
        return Headline("Let go of the", "button", "at the furnace: it reads pressed.", "wanted")
    return Headline("The start test", "runs:", "the heat permit is tried. No heat yet.", "stay")


def _running(memory: Memory, run: Run | None, asked: Asked | None) -> Headline:
    now_s = memory.belief.monotonic_s
    if run is None or memory.belief.reading is None:
        return Headline("No", "reading", "in this moment: no heat.", "stay")
    if asked is Asked.MASS and run.mass_doubt is not None:
        return _mass_doubted(run.mass_doubt)
    if asked is Asked.GATE:
        return Headline("The gate asks: go and", "press.", "Until then nothing melts.", "wanted")
    if asked is Asked.SIGN:
        attendance = memory.firing.attendance
        left_s = -attendance.overdue_s(now_s)
        if left_s <= 0.0:
            left_s += attendance.periods.hold_after_s
            return Headline("Overdue: go and", "press.", f"Held in {_min(left_s)}.", "act")
        what = "A tap does not count." if run.gate.may_be_liquid else "Else the gate shuts again."
        return Headline("Press the button at the furnace within", _min(left_s), what, "wanted")
    if asked is Asked.ALLOWANCE:
        return Headline(
            "Its energy allowance is used:", "press", "to add a tenth. Lid shut, pot whole, probe in place?", "wanted"
        )
    known = metal(memory)
    if run.walk.waits_for == "your word":
        return _waits_for_word(memory, run, known)
    if run.gate.limit_c is None:
        return Headline("Heating, no metal. Chamber", temperature(memory), _stay(memory), "stay")
    if run.gate.shut and not run.gate.may_be_liquid:
        asks = f"The gate asks near {run.gate.limit_c:.0f} °C."
        return Headline("Heating, all solid. Chamber", temperature(memory), asks, "stay")
    if known is not None:
        return _followed(memory, run, known)
    if run.gate.may_be_liquid:
        return _perhaps_liquid(memory, run)
    return Headline("Heating, all solid, gate open. Chamber", temperature(memory), _stay(memory), "stay")


def _mass_doubted(doubt: MassDoubt) -> Headline:
    if doubt.like_kg is None:
        return Headline(f"Weighed {doubt.weighed_kg:.2f} kg, heats", "otherwise:", "what is in the pot?", "wanted")
    like = f"{doubt.like_kg:.1f} kg."
    return Headline(f"Weighed {doubt.weighed_kg:.2f} kg, heats like", like, "What is in the pot?", "wanted")


def _waits_for_word(memory: Memory, run: Run, known: dict[str, Any] | None) -> Headline:
    stay = " Stay: metal may be liquid." if run.gate.may_be_liquid else ""
    if known is None or known["doubt"]:
        return Headline(f"At {temperature(memory)}, the profile waits for your", "word", f"to go on.{stay}", "wanted")
    if known["ready"]:
        return _likely_ready(memory, " Then say go on.")
    at = f"Metal about {known['about_c']} °C, {known['words']}."
    return Headline("The profile waits for your", "word", f"to go on. {at}{stay}", "wanted")


def _likely_ready(memory: Memory, then: str = "") -> Headline:
    """Nothing here orders hands to the furnace: the contactor is proved open first, and eyes and probe decide."""
    if proved_off(memory):
        return Headline("Heat off, proved. Likely ready:", "look", "and dip, then decide.", "wanted")
    return Headline("Likely ready. Before anybody looks:", "heat off", f"and proved.{then}", "wanted")


def _followed(memory: Memory, run: Run, known: dict[str, Any]) -> Headline:
    """The gate is open, and the metal is estimated or in doubt."""
    liquid, minutes = run.gate.may_be_liquid, known["minutes"]
    if known["doubt"]:
        if liquid:
            return Headline("Stay here. Metal", "unknown:", known["doubt"], "stay")
        return Headline("Heating, all solid, gate open. Chamber", temperature(memory), _stay(memory), "stay")
    if known["ready"]:
        return _likely_ready(memory)
    what = known["words"][0].upper() + known["words"][1:]
    if minutes is None:
        return Headline(f"Stay here. {what}, metal about", f"{known['about_c']} °C.", "Only presses count.", "stay")
    stay = "Stay here." if liquid else _stay(memory)
    if known["pour_in_s"] is None:
        return Headline(f"{what}:", "nearly", f"there. {stay}".strip(), "stay")
    give = f"give or take {minutes['give_min']} minute{'s' * (minutes['give_min'] > 1)}. {stay}".strip()
    return Headline(f"{what}, pour likely from", "{hour}", give, "stay", known["pour_in_s"])


def _stay(memory: Memory) -> str:
    return "Stay: nothing is learned of this furnace yet." if memory.adviser.model is None else ""


def _perhaps_liquid(memory: Memory, run: Run) -> Headline:
    since_s = run.at_target_since_s
    if since_s is None:
        return Headline("Stay here: metal may be liquid. Chamber", temperature(memory), "Only presses count.", "stay")
    minutes = _min(memory.belief.monotonic_s - since_s)
    return Headline(
        "Stay here. Chamber at temperature for", minutes, "Metal is not estimated; only presses count.", "stay"
    )


def _held(memory: Memory, turn: Turn) -> Headline:
    firing, run = memory.firing, memory.firing.run
    if firing.test is not None:
        return Headline("The contactor goes", "in.", "Hands away from the chamber.", "stay")
    if firing.lid.opened_s is not None:
        known = metal(memory)
        if proved_off(memory) and known is not None and known["ready"]:
            return _likely_ready(memory)
        if proved_off(memory):
            return Headline(
                "Lid open. Contactor", "open,", "proved. Heat comes back by the button alone, lid shut.", "stay"
            )
        return Headline("The", "lid", "is open: no heat; the contactor opens after 5 s.", "stay")
    if "lid" in firing.held and set(firing.held) <= {"lid", YOU}:
        by_itself = leaving(turn) is Leave.BY_ITSELF
        what = "Heat comes back by itself: hands away." if by_itself else "Nothing heats until somebody goes on."
        return Headline("The", "lid", f"is shut again. {what}", "stay")
    if "sign-missed" in firing.held and run is not None:
        attendance = firing.attendance
        left_s = attendance.periods.end_after_s - attendance.overdue_s(memory.belief.monotonic_s)
        return Headline("Nobody pressed: held. Heat ends in", _min(left_s), "without a press.", "act")
    others = [name for name in firing.held if name not in (YOU, "lid")]
    if others:
        return Headline("Held by a", "watch:", TEXTS[others[0]].sentence, "wanted")
    solid = ", all solid" if run is not None and not run.gate.may_be_liquid and run.gate.limit_c is not None else ""
    known = metal(memory)
    at = f"Metal about {known['about_c']} °C, {known['words']}." if known is not None and not known["doubt"] else ""
    return Headline(f"Held by you{solid}. Chamber", temperature(memory), at, "calm")


def _at_rest(memory: Memory, facts: Facts) -> Headline:
    firing, reading = memory.firing, memory.belief.reading
    liquid = " Metal may be liquid inside." if perhaps_liquid(memory) else ""
    if firing.left_open is not None:
        return _off(memory, firing.left_open, "Look at the furnace, then say what was found.", "wanted")
    if firing.state is State.IDLE:
        missing = [p for p in permissives(facts) if not p.met]
        if missing:
            what = f"condition{'s' * (len(missing) > 1)} missing.{liquid}"
            return Headline("Not yet:", str(len(missing)), what, "calm")
        return Headline("All conditions hold.", "Start", f"it here, then hold its button 3 s.{liquid}", "calm")
    ended = {"complete": "Done:", "stopped": "Stopped:", "aborted": "Tripped:"}
    before = ended.get("" if firing.run is None else firing.run.ended_as or "", "At rest:")
    if not proved_off(memory):
        return _off(memory, before, "", "act")
    known = metal(memory)
    if known is not None and known["ready"]:
        return _likely_ready(memory)
    if reading is None or reading.hot_junction_c >= HOT_C:
        at = f"Hot: {temperature(memory)}." if reading is not None else "Its temperature is not known."
        return Headline(f"{before} heat is", "off,", f"proved. {at} Do not touch.{liquid}", "stay")
    first = unmet(permissives(facts))
    after = "Choose a profile." if first is None or first.name == "profile chosen" else first.reason
    what = "stopped" if firing.state is State.STOPPED else "done"
    return Headline(f"The furnace is {what},", temperature(memory) + ".", after, "calm")


def _min(seconds: float) -> str:
    seconds = max(0.0, seconds)
    return f"{seconds:.0f} s" if seconds < 90.0 else f"{seconds / 60.0:.0f} min"
