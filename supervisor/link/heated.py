"""The headline while a firing runs or is held: what the furnace does, what it asks, what is known of the metal."""

from typing import Any

from supervisor.alarms.texts import TEXTS
from supervisor.cycle import Memory
from supervisor.firing.attendance import Stage
from supervisor.firing.firing import PRESS_AFTER_HELD_S, YOU, MassDoubt, Run
from supervisor.firing.holds import leaving
from supervisor.firing.presses import Asked
from supervisor.firing.profile import top_hold_c
from supervisor.firing.turn import Turn
from supervisor.link.awaited import be_back, gate_missed
from supervisor.link.metal import metal
from supervisor.link.pour import said as of_pour
from supervisor.link.saying import Headline, minutes, proved_off, temperature
from supervisor.link.signs import sign_asked, sign_missed, sign_overdue
from supervisor.watches.finding import Leave


def running(memory: Memory, run: Run | None, asked: Asked | None) -> Headline:
    """A firing that goes on. asked: what the furnace asks now."""
    now_s = memory.belief.monotonic_s
    if run is None or memory.belief.reading is None:
        return Headline("No", "reading", "in this moment: no heat is ordered.", "stay")
    if memory.firing.proofs.proving:
        return Headline(
            "Proving the", "relay:", "no heat is ordered, and it may be live all the same. Hands away.", "stay"
        )
    overdue = sign_overdue(memory)
    if overdue is not None:
        return overdue
    if asked is Asked.MASS and run.mass_doubt is not None:
        return _mass_doubted(run.mass_doubt)
    if asked is Asked.GATE:
        return Headline("The gate asks: go and", "press.", "Until then nothing melts.", "wanted")
    if asked is Asked.SIGN or (asked is None and memory.firing.attendance.stage(now_s) >= Stage.ASKED):
        return sign_asked(memory)
    if asked is Asked.ALLOWANCE:
        return Headline(
            "Its energy allowance is used:", "press", "to add a tenth. Lid shut, pot whole, probe in place?", "wanted"
        )
    known = metal(memory)
    waits = run.walk.waits_for == "your word"
    told = of_pour(memory, known, " Then say go on." if waits else "")
    if told is not None:
        return told
    if waits:
        return _waits_for_word(memory, run, known)
    if run.walk.waits_for == "the lining to dry":
        return Headline(
            "Stay. Water leaves the lining at", temperature(memory), "The profile waits until it is dry.", "stay"
        )
    if run.gate.limit_c is None:
        return Headline("Heating, no metal. Chamber", temperature(memory), _stay(memory), "stay")
    if run.gate.shut and not run.gate.may_be_liquid:
        return gate_missed(memory, run) if run.gate.asks else be_back(memory)
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
    at = f"Metal about {known['about_c']} °C, {known['words']}."
    return Headline("The profile waits for your", "word", f"to go on. {at}{stay}", "wanted")


def _followed(memory: Memory, run: Run, known: dict[str, Any]) -> Headline:
    """The gate is open, and the metal is estimated or in doubt."""
    liquid, left = run.gate.may_be_liquid, known["minutes"]
    if known["doubt"]:
        if liquid:
            return Headline("Stay here. Metal", "unknown:", known["doubt"], "stay")
        return Headline("Heating, all solid, gate open. Chamber", temperature(memory), _stay(memory), "stay")
    what = known["words"][0].upper() + known["words"][1:]
    if left is None:
        return Headline(f"Stay here. {what}, metal about", f"{known['about_c']} °C.", "Only presses count.", "stay")
    stay = "Stay here." if liquid else _stay(memory)
    if known["pour_in_s"] is None:
        return Headline(f"{what}:", "nearly", f"there. {stay}".strip(), "stay")
    give = f"give or take {left['give_min']} minute{'s' * (left['give_min'] > 1)}. {stay} {_on_purpose(memory, run)}"
    give = " ".join(give.split())
    return Headline(f"{what}, pour likely from", "{hour}", give, "stay", known["pour_in_s"])


def _on_purpose(memory: Memory, run: Run) -> str:
    """The chamber is hotter than the metal is to become: nobody shall take that for a runaway."""
    reading = memory.belief.reading
    hotter = reading is not None and reading.hot_junction_c > top_hold_c(run.profile)
    return f"Chamber boosted to {run.boost.cap_c:.0f} °C." if run.boost.on and hotter else ""


def _stay(memory: Memory) -> str:
    return "Stay: nothing is learned of this furnace yet." if memory.adviser.model is None else ""


def _perhaps_liquid(memory: Memory, run: Run) -> Headline:
    since_s = run.at_target_since_s
    if since_s is None:
        return Headline("Stay here: metal may be liquid. Chamber", temperature(memory), "Only presses count.", "stay")
    for_so_long = minutes(memory.belief.monotonic_s - since_s)
    return Headline(
        "Stay here. Chamber at temperature for", for_so_long, "Metal is not estimated; only presses count.", "stay"
    )


def held(memory: Memory, turn: Turn) -> Headline:
    """A firing that is held, by a person or a watch."""
    firing, run = memory.firing, memory.firing.run
    if firing.test is not None:
        return Headline("The contactor goes", "in.", "Hands away from the chamber.", "stay")
    if firing.lid.opened_s is not None:
        told = of_pour(memory, metal(memory)) if proved_off(memory) else None
        if told is not None:
            return told
        if proved_off(memory):
            return Headline(
                "Lid open. Contactor", "open,", "proved. Heat comes back by the button alone, lid shut.", "stay"
            )
        return Headline("The", "lid", "is open: no heat is ordered; the contactor opens after 5 s.", "stay")
    if "lid" in firing.held and set(firing.held) <= {"lid", YOU}:
        by_itself = leaving(turn) is Leave.BY_ITSELF
        what = "Heat comes back by itself: hands away." if by_itself else "Nothing heats until somebody goes on."
        return Headline("The", "lid", f"is shut again. {what}", "stay")
    overdue = sign_overdue(memory)
    if overdue is not None:
        return overdue
    if "sign-missed" in firing.held:
        return sign_missed(memory)
    others = [name for name in firing.held if name not in (YOU, "lid")]
    if others:
        return _by_watch(memory, others[0], by_press=leaving(turn) is Leave.BY_A_PRESS)
    if firing.attendance.stage(memory.belief.monotonic_s) >= Stage.ASKED:
        return sign_asked(memory)
    return _by_you(memory, run, by_press=leaving(turn) is Leave.BY_A_PRESS)


def _by_watch(memory: Memory, name: str, *, by_press: bool) -> Headline:
    for_so_long = minutes(memory.belief.monotonic_s - memory.firing.held[name].since_s)
    then = "Going on needs the button." if by_press else ""
    return Headline("Held by a watch", f"{for_so_long}:", f"{TEXTS[name].sentence} {then}".strip(), "wanted")


def _by_you(memory: Memory, run: Run | None, *, by_press: bool) -> Headline:
    solid = ", all solid" if run is not None and not run.gate.may_be_liquid and run.gate.limit_c is not None else ""
    known, held = metal(memory), memory.firing.held.get(YOU)
    at = f"Metal about {known['about_c']} °C, {known['words']}." if known is not None and not known["doubt"] else ""
    in_s, then = None, "Going on needs the button." if by_press else ""
    if not by_press and held is not None:
        in_s = max(0.0, held.since_s + PRESS_AFTER_HELD_S - memory.belief.monotonic_s)
        then = "From {hour} only the button goes on."
    return Headline(f"Held by you{solid}. Chamber", temperature(memory), f"{at} {then}".strip(), "calm", in_s)
