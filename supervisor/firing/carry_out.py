"""What each command does once nothing speaks against it. Each answers with a sentence, or with why not after all."""

from dataclasses import replace
from functools import singledispatch

from supervisor.alarms.proved import Proofs, flows, heat_words
from supervisor.alarms.shelf import Shelf, never_shelved
from supervisor.alarms.texts import TEXTS
from supervisor.firing import allowance, setpoint
from supervisor.firing import commands as c
from supervisor.firing.attending import tapped
from supervisor.firing.boosting import Boost
from supervisor.firing.charged import charged
from supervisor.firing.firing import WARM_C, YOU, Found, Run
from supervisor.firing.gate import Gate, limit_of
from supervisor.firing.governor import highest_c
from supervisor.firing.holds import hold
from supervisor.firing.lid import Lid
from supervisor.firing.notes import note
from supervisor.firing.profile import Profile, top_hold_c
from supervisor.firing.start import StartTest
from supervisor.firing.states import LIVE, Event, State
from supervisor.firing.telling import told
from supervisor.firing.turn import Turn
from supervisor.furnace.stages import CAPS, Caps
from supervisor.logbook.records import FiringOpened
from supervisor.metal.charge import Charge
from supervisor.model.learned import parts_digest
from supervisor.refusal import InputRefused
from supervisor.watches.finding import Leave

Outcome = tuple[str, str]
"""Answer, and why not: one of the two is empty."""


@singledispatch
def carry_out(command: c.Command, turn: Turn) -> Outcome:
    """Do what the command asks."""
    raise TypeError(f"no such command: {type(command).__name__}")


@carry_out.register
def _(command: c.Prepare, turn: Turn) -> Outcome:
    firing = turn.firing
    if command.heat_number is not None and command.heat_number in firing.heat_numbers:
        return "", f"{command.heat_number} is the heat number of an earlier firing; a number is never used twice."
    if command.planned is not None:
        try:
            command = replace(command, profile=charged(command.profile, command.planned, turn.furnace))
        except InputRefused as error:
            return "", f"{error}."
    firing.prepared, firing.prepared_s = command, turn.now_s
    if firing.run is not None:
        firing.liquid_left = firing.perhaps_liquid and not firing.run.poured
        firing.cut_short = firing.leaves_cut_metal
        firing.drained = firing.run.poured or (firing.drained and firing.run.profile.charge is None)
    firing.run, firing.lid = None, Lid()
    firing.lid_seen_open = firing.lid_seen_moving = False
    furnace, profile = turn.furnace, command.profile
    warm = (turn.belief.last_c or 0.0) > WARM_C
    cap_c = highest_c(top_hold_c(profile), min(profile.top_c, furnace.top_c), furnace.limiter_c, warm=warm)
    firing.adviser.prepare(profile, turn.belief.last_c, cap_c)
    firing.prepared_allowance_wh = None
    allowance.see(turn)
    turn.go(Event.PREPARE, f"prepared {command.profile.name}", command.by.who, command.by.where)
    return f"Prepared: {command.profile.name}. Nothing heats yet.", ""


@carry_out.register
def _(command: c.Start, turn: Turn) -> Outcome:
    firing, prepared = turn.firing, turn.firing.prepared
    assert prepared is not None  # a permissive
    profile = prepared.profile
    mass_kg = None if profile.charge is None else profile.charge.mass_kg
    echo = (command.profile, command.mass_kg, command.top_c, command.longest_s, command.allowance_wh)
    if echo != (profile.name, mass_kg, profile.top_c, profile.longest_s, firing.prepared_allowance_wh):
        return "", "What you read back is not what is prepared. Look again."
    if not command.cautions_read:
        return "", "The cautions of this melt are not confirmed."
    reading_c, allowed_wh = turn.belief.last_c, firing.prepared_allowance_wh
    assert reading_c is not None  # a permissive
    assert allowed_wh is not None  # a permissive
    looked_into = command.drained and not firing.liquid_left
    firing.drained = firing.drained or looked_into
    firing.adviser.reckon()  # who starts within seconds of preparing waits for the rest: the record is to have it
    firing.power.begin()
    firing.proofs.begin()
    firing.run = Run(
        firing_id=turn.next_firing_id,
        name=prepared.heat_number or profile.name,
        heat_number=prepared.heat_number,
        profile=profile,
        began_s=turn.now_s,
        pulses_at_start=turn.sample.energy_pulses,
        allowance_wh=allowed_wh,
        longest_s=profile.longest_s,
        walk=setpoint.begin(profile, reading_c, gentle=firing.gentle),
        gate=Gate(limit_of(profile.charge)),
        began_c=reading_c,
        learned_allowance=not firing.adviser.no_boost,
        beyond_duty=allowance.BEYOND_ALLOWANCE * firing.adviser.settled_duty(top_hold_c(profile)),
        caps=_caps(turn, profile),
        boost=Boost(forecast_wh=firing.adviser.boost_wh, forecast_minutes=firing.adviser.boost_minutes),
        charge_kg=mass_kg or 0.0,
    )
    if prepared.heat_number is not None:
        firing.heat_numbers.add(prepared.heat_number)
    firing.reach.heard = False
    turn.next_firing_id += 1
    turn.records.append(_opened(turn, firing.run))
    if looked_into:  # of this firing: a later run of the supervisor asks it for it
        turn.event("pot", {"drained": True, "why": "looked into before the start"}, command.by.who, command.by.where)
    firing.test = StartTest(since_s=turn.now_s)
    firing.lid = Lid(last_shut_s=firing.lid_shut_s)
    turn.go(Event.START, "start, step one", command.by.who, command.by.where)
    return "The start test runs. Then hold the button at the furnace for 3 s.", ""


def _caps(turn: Turn, profile: Profile) -> Caps:
    """Of the stage that is reached; a dry-out is attended in any of them, by the button alone."""
    caps = CAPS[turn.firing.unlocking.stage(turn.furnace)]
    return caps._replace(attended=True) if profile.dries else caps


def _opened(turn: Turn, run: Run) -> FiringOpened:
    profile, charge, adviser = run.profile, run.profile.charge, turn.firing.adviser
    frozen = {
        "profile_toml": profile.source,
        "charge": None if charge is None else _charge(charge),
        "furnace": turn.furnace.name,
        "furnace_digest": turn.furnace.digest,
        "sensor_correction": None if turn.furnace.correction is None else turn.furnace.correction._asdict(),
        "parts_digest": parts_digest(turn.furnace),
        "top_c": profile.top_c,
        "pour_c": profile.pour_c,
        "longest_s": run.longest_s,
        "allowance_wh": run.allowance_wh,
        "gate_c": run.gate.limit_c,
        "gentle": run.walk.gentle,
        "forecast": None if adviser.forecast is None else adviser.forecast.as_object(),
        "prices": None if turn.furnace.tariff is None else turn.furnace.tariff._asdict(),
        "model": None if adviser.model is None else {"learned_from": list(adviser.model.learned_from)},
    }
    return FiringOpened(run.firing_id, run.began_s, run.name, run.heat_number, profile.name, frozen, turn.backend)


def _charge(charge: Charge) -> dict[str, object]:
    return {
        "mass_kg": charge.mass_kg,
        "alloy": charge.alloy,
        "form": charge.form,
        "solidus_c": charge.solidus_c,
        "liquidus_c": charge.liquidus_c,
    }


@carry_out.register
def _(command: c.Hold, turn: Turn) -> Outcome:
    hold(turn, YOU, Leave.BY_A_PERSON)
    turn.firing.asked_to_go_on = False
    if turn.firing.state is State.RUNNING:
        turn.go(Event.HOLD, "held by you", command.by.who, command.by.where)
    else:  # it is held already: now neither the end of that nor a contactor that goes in ends the hold
        turn.firing.test = None
        turn.firing.change()
        turn.event("hold", {"also": "by you"}, command.by.who, command.by.where)
    at_c = turn.firing.hold_setpoint_c
    return ("Held." if at_c is None else f"Held at {at_c:.0f} °C."), ""


@carry_out.register
def _(command: c.Resume, turn: Turn) -> Outcome:
    turn.firing.asked_to_go_on, turn.firing.wished_s = True, turn.now_s
    turn.event("go on", {"epoch": command.epoch}, command.by.who, command.by.where)
    return "Asked. Where it needs the button, hold it 3 s at the furnace.", ""


@carry_out.register
def _(command: c.Stop, turn: Turn) -> Outcome:
    state = turn.firing.state
    if state in LIVE or state in (State.IDLE, State.COMPLETE):
        turn.go(Event.STOP, "stopped by you", command.by.who, command.by.where)
    if state in LIVE:
        return "Stopping: heat off is ordered.", ""
    off_s = turn.firing.enable_off_s
    off_for_s = 0.0 if off_s is None else turn.now_s - off_s
    inputs = turn.sample.inputs
    flow = flows(turn.alarms, turn.firing.power, inputs, turn.now_s, off_for_s)
    known = heat_words(Proofs(False, inputs.mirror, off_for_s, flows=flow))
    return "Nothing is heating: the contactor is proved open." if known.off == "proved" else known.sentence, ""


@carry_out.register
def _(command: c.Acknowledge, turn: Turn) -> Outcome:
    turn.seen(turn.alarms.acknowledge(command.alarm), command.by.who)
    return "Seen. That resets nothing.", ""


@carry_out.register
def _(command: c.Silence, turn: Turn) -> Outcome:
    turn.alarms.silence(turn.now_s)
    turn.firing.change()
    if turn.alarms.sounding(turn.now_s) is not None:
        return (
            "Quiet here for 2 min. The furnace's own sounder goes on: for 2 min, or until somebody presses there.",
            "",
        )
    return "Quiet for 2 min. That acknowledges nothing.", ""


@carry_out.register
def _(command: c.Shelve, turn: Turn) -> Outcome:
    watch, _, number = command.alarm.partition("/")
    standing = turn.alarms.standing.get(watch)
    if standing is None or not standing.shown or number not in ("", str(standing.number)):
        return "", f"alarm is {command.alarm!r}; allowed: one that stands."
    if watch in turn.alarms.shelves:
        return "", "It is shelved already."
    why = never_shelved(watch, standing.reaction) if TEXTS[watch].priority else "That is no alarm."
    if why:
        return "", why
    if not 0.0 < command.minutes <= c.LONGEST_SHELF_MIN:
        return "", f"minutes is {command.minutes}; allowed: more than 0, up to {c.LONGEST_SHELF_MIN:.0f} min."
    if not command.reason.strip():
        return "", "Say why it is shelved."
    shelf = Shelf(turn.now_s + 60.0 * command.minutes, command.reason.strip(), command.by.who)
    turn.seen(turn.alarms.shelve(watch, shelf), command.by.who)
    return f"Shelved for {command.minutes:g} min. What it asks of the furnace goes on.", ""


@carry_out.register
def _(command: c.Unshelve, turn: Turn) -> Outcome:
    watch = command.alarm.partition("/")[0]
    if watch not in turn.alarms.shelves:
        return "", f"alarm is {command.alarm!r}; allowed: one that is shelved."
    turn.seen(turn.alarms.unshelve(turn.now_s, watch), command.by.who)
    return "Back from the shelf.", ""


@carry_out.register
def _(command: c.Reset, turn: Turn) -> Outcome:
    found = Found(command.found.strip(), command.looked.strip(), command.seen.strip())
    if not found.found:
        return "", "Say what was found."
    if turn.reaction.keep_away and not (found.looked and found.seen):
        return "", "This trip said: keep away. Say who looked at the furnace, and what was seen there."
    turn.firing.found, turn.firing.wished_s = found, turn.now_s
    turn.event("found", found._asdict(), command.by.who, command.by.where)
    return "Now hold the button at the furnace for 3 s.", ""


@carry_out.register
def _(command: c.Note, turn: Turn) -> Outcome:
    return note(command, turn)


@carry_out.register
def _(command: c.Lower, turn: Turn) -> Outcome:
    run = turn.firing.run
    if run is None or turn.firing.state not in LIVE:
        return "No firing is on: there is nothing to lower.", ""
    if command.by_k > 0.0:
        run.lowered_k += command.by_k
        if turn.firing.hold_setpoint_c is not None:
            turn.firing.hold_setpoint_c -= command.by_k
        turn.event("lowered", {"by_k": command.by_k, "in_all_k": run.lowered_k}, command.by.who, command.by.where)
    return f"Lowered by {run.lowered_k:.0f} K in all.", ""


@carry_out.register
def _(command: c.Raise, turn: Turn) -> Outcome:
    if not command.by_k > 0.0:
        return "", f"by_k is {command.by_k}; allowed: above 0 K."
    turn.firing.raising, turn.firing.wished_s = command, turn.now_s
    return "Now hold the button at the furnace for 3 s.", ""


@carry_out.register
def _(command: c.Told, turn: Turn) -> Outcome:
    return told(command, turn)


@carry_out.register
def _(command: c.Attend, turn: Turn) -> Outcome:
    return tapped(command, turn)
