"""What must hold before heat: each by name, with its reason and what mends it."""

from math import inf
from typing import NamedTuple

from hardware.ports import Inputs, Level
from supervisor.firing.firing import Firing
from supervisor.firing.metal_planned import of_the_metal
from supervisor.firing.permissive import Permissive, before_the_night, not_leaking, reckoned, room_for_the_log
from supervisor.firing.profile import cap_c
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.stages import CAPS, Reached, Stage
from supervisor.watches.view import Belief, Log

COLD_CHECK_BELOW_C = 40.0
COLD_CHECK_K = 2.5

FOR_A_RECORD = frozenset({"sensor answers", "log can be written", "log up to date", "profile chosen"})
"""What a record asks for where another regulator heats: its heat asks nobody here."""


class Facts(NamedTuple):
    """What the permissives are judged on."""

    inputs: Inputs
    belief: Belief
    firing: Firing
    furnace: FurnaceDescription
    log: Log
    latched: bool


def permissives(facts: Facts) -> tuple[Permissive, ...]:
    """Every condition, met or not, in the order in which a person would go through them."""
    metal = of_the_metal(facts.firing, facts.belief.monotonic_s)
    found = (*_sensor(facts), *_chain(facts), *_person(facts), *_record(facts), *metal, _not_fitted(facts))
    return tuple(p for p in found if p.name in FOR_A_RECORD) if facts.furnace.looks_only else found


def going_on(facts: Facts) -> tuple[Permissive, ...]:
    """The conditions that must hold again before heat returns after a hold."""
    skip = {"button released", "cold check", "contactor proved open", "permit relays open"}
    skip |= {"relay lets go", "profile chosen", "not fitted", "stage reached"}  # the caps of the start go on
    # asked once, before the start
    skip |= {"over before the night", "metal planned", "metal dry", "metal clear", "room for the log"}
    return tuple(p for p in permissives(facts) if p.name not in skip)


def unmet(conditions: tuple[Permissive, ...]) -> Permissive | None:
    """The first one that does not hold."""
    return next((p for p in conditions if not p.met), None)


def cold_check_passes(belief: Belief) -> bool | None:
    """Hot and cold junction agree in a cold furnace; None while it is not cold."""
    reading = belief.reading
    if reading is None or reading.hot_junction_c >= COLD_CHECK_BELOW_C:
        return None
    return abs(reading.hot_junction_c - reading.cold_junction_c) <= COLD_CHECK_K


def _sensor(facts: Facts) -> tuple[Permissive, ...]:
    belief = facts.belief
    sane = belief.reading is not None
    fault = "no reading" if belief.fault is None else belief.fault.reason
    checked = facts.firing.cold_checked
    prepared = facts.firing.prepared
    cool = prepared is None or (belief.last_c or 0.0) <= cap_c(prepared.profile, facts.furnace.top_c)
    return (
        Permissive(
            "sensor answers",
            sane,
            "The sensor reads." if sane else f"The sensor does not read: {fault}.",
            "" if sane else "Supply isolated, look at the probe, its connector and the board.",
        ),
        Permissive(
            "cold check",
            checked,
            "Hot and cold junction agreed while the furnace was cold."
            if checked
            else "Hot and cold junction have not been seen to agree within 2.5 K since it was last below 40 °C.",
            "" if checked else "Let it cool on, lid shut. Look at the sensor only if they differ when all is cold.",
        ),
        Permissive(
            "chamber below the top",
            cool,
            "The chamber is no hotter than this profile allows."
            if cool
            else "The chamber is hotter than this profile allows.",
            "" if cool else "Let it cool with the lid shut, or choose another profile.",
        ),
    )


def _line(name: str, level: Level, good: str, bad: str, mend: str) -> Permissive:
    met = level is Level.CLOSED
    if level is Level.NOT_FITTED:
        return Permissive(name, False, "Not fitted, or not in the furnace file.", "Fit it: no heat without it.")
    return Permissive(name, met, good if met else bad, "" if met else mend)


def _chain(facts: Facts) -> tuple[Permissive, ...]:
    inputs = facts.inputs
    relays = [level for level in (inputs.permit_relay_1, inputs.permit_relay_2) if level is not Level.NOT_FITTED]
    open_ = bool(relays) and Level.CLOSED not in relays
    return (
        _line(
            "emergency stop released",
            inputs.emergency_stop,
            "The emergency stop is released.",
            "The emergency stop is pressed, or there is no 24 V.",
            "Find out who pressed it and why, then release it.",
        ),
        _line(
            "limiter healthy",
            inputs.limiter,
            "The limiter is healthy.",
            "The limiter has tripped, or something before it in the chain is open.",
            "Find the cause, then reset the limiter by hand at the furnace.",
        ),
        _line("key on", inputs.key, "The key is on.", "The key is off: no heat for anybody.", "Turn the key on."),
        Permissive(
            "permit relays open",
            open_,
            "The permit relays read open." if open_ else "A permit relay reads closed with the permit still.",
            "" if open_ else "Supply isolated, look for a welded permit relay.",
        ),
        _relay(facts),
        _line(
            "contactor proved open",
            inputs.mirror,
            "The contactor is proved open.",
            "The contactor is not proved open.",
            "Switch off at the breaker; a licensed person looks at the contactor.",
        ),
    )


_WORDS = {
    "permit_relay_2": "second permit relay",
    "lid": "lid switch",
    "load_current": "current input",
    "mains": "mains presence",
    "tray_probe": "tray probe",
    "energy_pulse": "energy meter",
    "second_sensor": "second thermocouple",
}


def _not_fitted(facts: Facts) -> Permissive:
    """Hinders nothing: it is read out at each start, so that nobody forgets what proves nothing here."""
    said = facts.furnace.not_fitted
    if said is None or not said.lines:
        return Permissive("not fitted", True, "Nothing is signed for as not fitted.", "")
    lines = ", ".join(_WORDS[line] for line in said.lines)
    return Permissive("not fitted", True, f"Without {lines}. Said by {said.said_by}.", "")


def _relay(facts: Facts) -> Permissive:
    proofs = facts.firing.proofs
    bars = proofs.bars if facts.belief.good_s < proofs.barred_s else None
    if bars is None:
        return Permissive("relay lets go", True, "No proof of the relay failed or was undecided twice.", "")
    if proofs.barred_s < inf:
        left_min = max(1, round((proofs.barred_s - facts.belief.good_s) / 60.0))
        return Permissive("relay lets go", False, bars, f"Leave the lid shut for {left_min} min, then start again.")
    mend = "A licensed person looks at the relay. Say what was found, then hold the button 3 s."
    return Permissive("relay lets go", False, bars, mend)


def _person(facts: Facts) -> tuple[Permissive, ...]:
    inputs = facts.inputs
    lid = inputs.lid is not Level.OPEN
    return (
        Permissive(
            "lid shut",
            lid,
            "The lid reads shut."
            if inputs.lid is Level.CLOSED
            else "No lid switch is fitted: look at the lid."
            if lid
            else "The lid is open.",
            "" if lid else "Shut the lid.",
        ),
        _released(inputs.reset_button),
    )


def _released(level: Level) -> Permissive:
    met = level is Level.OPEN
    if level is Level.NOT_FITTED:
        return Permissive("button released", False, "No button is fitted.", "Fit it: no heat without it.")
    reason = "The button at the furnace is released." if met else "The button at the furnace reads pressed."
    return Permissive("button released", met, reason, "" if met else "Let it go, or free it if it is stuck.")


def _record(facts: Facts) -> tuple[Permissive, ...]:
    firing, log = facts.firing, facts.log
    left, written = firing.left_open, log.trouble is None
    return (
        Permissive(
            "no trip stands",
            not facts.latched,
            "No trip waits for its reset." if not facts.latched else "A trip waits for its reset at the furnace.",
            "" if not facts.latched else "Say what was found, then hold the button 3 s.",
        ),
        Permissive(
            "earlier firing looked at",
            left is None,
            "Every earlier firing has its closing record." if left is None else left,
            "" if left is None else "Look at the furnace, say what was found, then hold the button 3 s.",
        ),
        *_to_be_proved(firing),
        Permissive(
            "log can be written",
            written,
            "The log is being written." if written else f"The log cannot be written: {log.trouble}.",
            "" if written else "Make room on the card, or change it.",
        ),
        room_for_the_log(log.free_mb),
        Permissive(
            "log up to date",
            not log.older,
            "The log has the tables of this version."
            if not log.older
            else "After an update the log still has its older tables: it is only watched and recorded.",
            ""
            if not log.older
            else "Let it cool below 60 °C, with every trip and earlier firing reset; a minute later it is renewed.",
        ),
        not_leaking(facts.firing),
        _stage(facts),
        *before_the_night(facts.firing),
        Permissive(
            "profile chosen",
            firing.prepared is not None,
            "A profile is chosen." if firing.prepared else "No profile is chosen.",
            "" if firing.prepared else "Choose a profile.",
        ),
        *reckoned(firing),
    )


def _stage(facts: Facts) -> Permissive:
    """What has been proved of this furnace allows what is prepared."""
    unlocking, prepared = facts.firing.unlocking, facts.firing.prepared
    if not unlocking.counted:
        return Permissive("stage reached", True, "Simulated: unlocked for melts from the first day.", "")
    now = unlocking.reached(facts.furnace)
    mend = _way_on(now)
    if now.stage is Stage.NONE:
        return Permissive("stage reached", False, "No heat yet: proofs are missing.", mend)
    caps, of_stage = now.caps, f"Stage {now.stage} of 3: {now.caps.words}"
    if prepared is not None:
        profile = prepared.profile
        beyond = (
            f"this profile goes to {profile.top_c:.0f} °C"
            if profile.top_c > caps.top_c
            else f"this profile may take {profile.longest_s / 60.0:.0f} min"
            if profile.longest_s > caps.longest_s
            else "this profile has a charge"
            if profile.charge is not None and not caps.metal
            else ""
        )
        if beyond:
            return Permissive("stage reached", False, f"{of_stage}; {beyond}.", mend)
    return Permissive("stage reached", True, f"{of_stage}.", "")


def _way_on(now: Reached) -> str:
    """What a person does next: the proof that comes first, and where it is made."""
    following = now.next
    if following is None:
        return ""
    left = len([each for each in now.missing if each.kind.opens == following.kind.opens])
    more = f" {left - 1} more for this stage." if left > 1 else ""
    if following.kind.opens == 1:
        return f"Next: {following.kind.title}. Run: meltkeeper check.{more}"
    words = CAPS[now.stage].words
    return f"Next: {following.kind.title}, by {words}.{more}"


def _to_be_proved(firing: Firing) -> list[Permissive]:
    """Parts that a trip was about. The sensor's proof is the cold check; the start test proves relay and contactor."""
    parts = {part.value for part in firing.to_prove}
    found = []
    if "limiter" in parts:
        found.append(
            Permissive(
                "limiter proved",
                False,
                "The limiter has tripped, and its line has not been seen to open and to close again since.",
                "Trip the limiter by its test button, or by unplugging its sensor, then reset it by hand.",
            )
        )
    if parts & {"relay", "contactor"}:
        reason = "The start test proves relay and contactor before any heat; if it cannot, nothing heats."
        found.append(Permissive("relay and contactor proved", True, reason, ""))
    return found
