"""The headline: one sentence that says what the furnace does and what it wants, with one word of it huge.

`before key after`; the key is what reads across the shed. Clock times are the reader's: the page makes them. 'Off' is
said only while the contactor is proved open.
"""

from supervisor.alarms.texts import TEXTS
from supervisor.cycle import Memory
from supervisor.firing.permissives import Facts, permissives, unmet
from supervisor.firing.presses import Asked
from supervisor.firing.start import Step
from supervisor.firing.states import State
from supervisor.firing.turn import Turn
from supervisor.link.aftermath import perhaps_liquid
from supervisor.link.heated import held, running
from supervisor.link.metal import metal
from supervisor.link.pour import said as of_pour
from supervisor.link.resting import at_rest, came_back, hot, unlocked_so_far
from supervisor.link.saying import Headline, off, proved_off, temperature
from supervisor.link.signs import with_next_sign
from supervisor.watches.finding import Then

HOT_C = 60.0
GAVE_UP_SAID_S = 900.0
"""So long it is said why a start came to nothing: who stood at the furnace comes back to the phone (our choice)."""
HELD_FOR = {
    Asked.START: "start",
    Asked.RESUME: "go on",
    Asked.RESET: "reset",
    Asked.RAISE: "raise",
    Asked.ADOPT: "take the other model",
}


def headline(memory: Memory, turn: Turn) -> Headline:
    """The one sentence for this moment, and when the next sign is due. turn: a working table of this moment."""
    said = _sentence(memory, turn)
    return said if memory.furnace.looks_only else with_next_sign(memory, said)


def _sentence(memory: Memory, turn: Turn) -> Headline:
    firing = memory.firing
    if memory.furnace.looks_only:
        return Headline("Only", "looking:", "another regulator heats; nothing here stops it.", "calm")
    asked = None if firing.button.question is None else firing.button.question.asked
    if asked in HELD_FOR:
        return Headline("At the furnace: hold its button", "3 s", f"to {HELD_FOR[asked]}, within 60 s.", "wanted")
    match firing.state:
        case State.ABORTING | State.ABORTED:
            return _tripped(memory)
        case State.STARTING:
            return _starting(memory)
        case State.RUNNING:
            return running(memory, firing.run, asked)
        case State.HOLDING | State.HELD:
            said = held(memory, turn)
            return said if asked is not Asked.GATE else said._replace(after=f"{said.after} The gate asks for a press.")
        case State.STOPPING | State.COMPLETING:
            return off(memory, "Stopping:" if firing.state is State.STOPPING else "The profile is done:", "")
        case _:
            return _at_rest(memory, turn.facts)


def _tripped(memory: Memory) -> Headline:
    firing = memory.firing
    if memory.alarms.reaction.keep_away and not proved_off(memory):
        return Headline("Keep", "away.", "The contactor did not open: switch off at the breaker.", "act")
    speaking = memory.alarms.speaking(Then.ABORT)
    cause = speaking[0] if speaking else "" if firing.run is None else firing.run.first_cause or ""
    text = TEXTS.get(cause)
    if memory.alarms.reaction.keep_away and text is not None:
        return Headline("Keep", "away.", f"{text.sentence} Heat is off, proved. No water.", "act")
    return off(memory, "Tripped:", text.sentence if text is not None else "Read the alarms below.", "act")


def _starting(memory: Memory) -> Headline:
    test = memory.firing.test
    if test is not None and test.step in (Step.PULLING_IN, Step.PROVING_RELAY):
        return Headline("Proving the", "relay:", "it may be live. Hands away.", "stay")
    if test is not None and test.step is Step.ASKING:
        return Headline("Let go of the", "button", "at the furnace: it reads pressed.", "wanted")
    return Headline(
        "The start test", "runs:", "the heat permit is tried. No heat yet; the button counts when it asks.", "stay"
    )


def _at_rest(memory: Memory, facts: Facts) -> Headline:
    firing, reading = memory.firing, memory.belief.reading
    liquid = " Metal may be liquid inside." if perhaps_liquid(memory) else ""
    too_hot = reading is None or reading.hot_junction_c >= HOT_C
    untouched = f"{_how_hot(memory)} Do not touch.{liquid}"
    if firing.practice is not None:
        step = len(firing.practice.took) + 1
        return Headline(f"Cold practice, move {step}:", "no heat", "is ordered. What to do: page Equipment.", "calm")
    if firing.left_open is not None:
        return came_back(memory, firing.left_open)
    if firing.state is State.IDLE:
        missing = [p for p in permissives(facts) if not p.met]
        if missing:
            named = f": {missing[0].reason}" if len(missing) == 1 else "."
            what = f"condition{'s' * (len(missing) > 1)} missing{named}"
            return Headline("Not yet:", str(len(missing)), f"{what} {untouched}" if too_hot else what + liquid, "calm")
        then = "it here, then hold its button 3 s."
        return Headline("All conditions hold.", "Start", f"{then} {untouched}" if too_hot else then + liquid, "calm")
    ended = {"complete": "Done:", "stopped": "Stopped:", "aborted": "Tripped:"}
    before = ended.get("" if firing.run is None else firing.run.ended_as or "", "At rest:")
    if not proved_off(memory):
        return off(memory, before, "", "act")
    told = of_pour(memory, metal(memory))
    if told is not None:
        return told
    cooling = at_rest(memory, before)
    if cooling is not None:
        return cooling
    if firing.run is not None and firing.run.gave_up and memory.belief.monotonic_s - firing.entered_s < GAVE_UP_SAID_S:
        after = f"came, {firing.run.gave_up}. Prepare it again."
        return Headline("Not started:", "no heat", f"{after} {untouched}" if too_hot else after, "wanted")
    if too_hot:
        return hot(memory, before) or Headline(f"{before} heat is", "off,", f"proved. {untouched}", "stay")
    locked = unlocked_so_far(memory)
    if locked is not None:
        return locked
    first = unmet(permissives(facts))
    after = "Choose a profile." if first is None or first.name == "profile chosen" else first.reason
    what = "stopped" if firing.state is State.STOPPED else "done"
    return Headline(f"The furnace is {what},", temperature(memory) + ".", after, "calm")


def _how_hot(memory: Memory) -> str:
    at = memory.belief.reading
    return "Its temperature is not known." if at is None else f"Hot: {temperature(memory)}."
