"""Notes: what a person did or saw at the furnace, and what follows from it for gate, allowance, boost and estimate."""

from dataclasses import replace

from supervisor.firing import commands as c
from supervisor.firing.boosting import end
from supervisor.firing.fed import Act
from supervisor.firing.firing import Run
from supervisor.firing.profile import top_hold_c
from supervisor.firing.states import HEATED, LIVE, Event, State
from supervisor.firing.turn import Turn
from supervisor.firing.windowing import mould_full
from supervisor.furnace.reckoning import metal_wh
from supervisor.metal.charge import Charge

_FAR = "If it is so, the furnace's own sensor is out of place: stop, and look when it is cold."
NEW_EPOCH = "The furnace has changed since you looked. Look again, then ask again."
HANDS_IN = (c.NoteKind.ADDITION, c.NoteKind.SKIM, c.NoteKind.MOULD, c.NoteKind.POUR)
"""After these heat comes back by a press alone: somebody's hands were inside."""

POURING = (c.NoteKind.MOULD, c.NoteKind.POUR)
"""After these heat does not come back in this firing. That a mould is full says nothing of what is left in the pot."""

OF_THE_CHARGE = (c.NoteKind.QUARANTINE, c.NoteKind.CLEARED)
"""These may also come while a charge is prepared and not started."""

QUARTERS = (
    "nothing molten",
    "about a quarter molten",
    "about half molten",
    "about three quarters molten",
    "all molten",
)
SPARE_USED, LEAST_SPARE_DUTY = 0.5, 0.2
"""Of the power beyond the losses, what comes into the metal on the way (our choice)."""
FAR_K, FAR_SD = 100.0, 5.0
"""A dip reading further from the estimate than both is a slip of the pen, a probe that is not in the metal, or a sensor
that is not in its place: a second one within LIKE_K of it, after AGAIN_AFTER_S, is believed (our choice)."""
LIKE_K, AGAIN_AFTER_S = 25.0, 20.0
FOR_ADDED_METAL = 1.1
"""Of the heat that added metal takes up: so much more a firing may then use."""


def note(command: c.Note, turn: Turn) -> tuple[str, str]:
    """Take what a person did or saw; answer, and why not: one of the two is empty."""
    firing, run = turn.firing, turn.firing.run
    if run is None:
        return _of_the_prepared(command, turn), ""
    why = ""
    if command.kind is c.NoteKind.WORD:
        why = _word(command, turn, run)
    elif command.kind is c.NoteKind.ADDITION:
        why = _addition(command, turn, run)
    elif command.kind is c.NoteKind.MASS:
        why = _mass(command, turn, run)
    elif command.kind is c.NoteKind.DIP and command.temperature_c is None:
        why = "A dip reading needs its temperature."
    if why:
        return "", why
    believed = _believed(command, turn, run)
    if command.kind in HANDS_IN and firing.state in LIVE:
        run.hands_in = True
    detail = {"kind": command.kind.value, "mass_kg": command.mass_kg, "temperature_c": command.temperature_c}
    detail |= {"text": command.text} | ({} if believed else {"believed": False})
    turn.event("note", detail, command.by.who, command.by.where)
    said = _before(command.kind, turn)
    _for_the_estimate(command, run, believed=believed)
    if command.kind in OF_THE_CHARGE:
        run.quarantined = _why_quarantined(command)
    if not believed:
        return f"Noted, and not believed yet.{said} Dip again: a second reading like it counts. {_FAR}", ""
    if command.kind not in POURING:
        return f"Noted.{said}", ""
    if command.kind is c.NoteKind.MOULD:
        mould_full(turn, command.text)
    else:
        run.poured = True
    if firing.state in HEATED:
        turn.go(Event.POURED, "poured", command.by.who, command.by.where)
    elif firing.state is State.STARTING:
        turn.go(Event.STOP, "poured", command.by.who, command.by.where)
    return "Noted. Heat does not come back in this firing.", ""


def _why_quarantined(command: c.Note) -> str:
    return (command.text or "no reason given") if command.kind is c.NoteKind.QUARANTINE else ""


def _of_the_prepared(command: c.Note, turn: Turn) -> str:
    """Quarantine set or lifted for a charge that waits for its start: nobody starts it meanwhile."""
    firing = turn.firing
    assert firing.prepared is not None  # checked
    firing.prepared = replace(firing.prepared, quarantined=_why_quarantined(command))
    firing.change()
    turn.event("note", {"kind": command.kind.value, "text": command.text}, command.by.who, command.by.where)
    return "Noted for the charge that is prepared."


def _believed(command: c.Note, turn: Turn, run: Run) -> bool:
    """A dip far from the estimate is not, and makes it doubt, until there is one near it or like the far one."""
    dip_c, estimate, before = command.temperature_c, turn.firing.adviser.estimate, run.far_dip
    if command.kind is not c.NoteKind.DIP or dip_c is None:
        return True
    _compare(dip_c, turn)
    if estimate is None or (estimate.doubt and before is None):
        return True
    like = before is not None and abs(dip_c - before[1]) <= LIKE_K
    again = before is not None and turn.now_s - before[0] >= AGAIN_AFTER_S
    if abs(dip_c - estimate.metal_c) <= max(FAR_K, FAR_SD * estimate.sd_c) or (like and again):
        run.far_dip = None
        return True
    if not like:
        run.far_dip = (turn.now_s, dip_c)
    return False


def _compare(dip_c: float, turn: Turn) -> None:
    """Keep by how much the probe is off what the estimate had just said."""
    estimate = turn.firing.adviser.estimate
    turn.firing.window.dip_off_k = None if estimate is None or estimate.doubt else dip_c - estimate.metal_c


def _word(command: c.Note, turn: Turn, run: Run) -> str:
    if command.epoch != turn.firing.epoch:
        return NEW_EPOCH
    run.walk.word_given = True
    turn.events_that_heat = True
    return ""


def _for_the_estimate(command: c.Note, run: Run, *, believed: bool) -> None:
    kind, boost = command.kind, run.boost
    if kind is c.NoteKind.DIP and command.temperature_c is not None:
        boost.dip_c = max(command.temperature_c, boost.dip_c or command.temperature_c)
        run.acts.append(Act("dip", command.temperature_c) if believed else Act("far"))
    elif kind is c.NoteKind.ALL_MOLTEN:
        run.acts.append(Act("molten"))
    elif kind is c.NoteKind.POUR:
        run.acts.append(Act("pour"))
        end(boost, "it was poured")
    elif kind is c.NoteKind.ADDITION and command.mass_kg is not None:
        run.acts.append(Act("add", command.mass_kg))
        end(boost, "metal was added")
        boost.added = True
        run.added_kg += command.mass_kg


def _before(kind: c.NoteKind, turn: Turn) -> str:
    """What the estimate said before it is told."""
    estimate = turn.firing.adviser.estimate
    if estimate is None or estimate.doubt:
        return ""
    if kind is c.NoteKind.DIP:
        return f" The estimate said {estimate.metal_c:.0f} ± {(estimate.high_c - estimate.low_c) / 2.0:.0f} °C."
    if kind is c.NoteKind.ALL_MOLTEN:
        return f" The estimate said {QUARTERS[round(4.0 * estimate.share_molten)]}."
    return ""


def _mass(command: c.Note, turn: Turn, run: Run) -> str:
    """The whole charge was weighed again: everything that rests on its mass is reckoned anew."""
    capacity_kg, mass_kg = turn.furnace.crucible.capacity_kg, command.mass_kg
    if mass_kg is None or not 0.0 < mass_kg <= capacity_kg:
        return f"mass_kg is {mass_kg}; allowed: above 0, up to {capacity_kg:g} kg, what the crucible holds."
    if run.profile.charge is None:
        return "This firing has no charge."
    changed_kg = mass_kg - run.charge_kg
    if changed_kg < 0.0:  # as much as any addition can have brought
        less = Charge(-changed_kg, "unknown", "", None, None)
        run.allowance_wh -= FOR_ADDED_METAL * _need_wh(less, turn, run)
    elif command.epoch == turn.firing.epoch and run.energy_wh <= run.allowed_wh:  # as with an addition
        more = replace(run.profile.charge, mass_kg=changed_kg)
        run.allowance_wh += FOR_ADDED_METAL * _need_wh(more, turn, run)
    run.charge_kg, run.mass_doubt, run.mass_confirmed = mass_kg, None, False
    run.mass_off, run.mass_checked = 0, False
    end(run.boost, "the charge was weighed again")
    turn.firing.adviser.weighed_again(mass_kg)
    return ""


def _addition(command: c.Note, turn: Turn, run: Run) -> str:
    capacity_kg, mass_kg = turn.furnace.crucible.capacity_kg, command.mass_kg
    if mass_kg is None or not 0.0 < mass_kg <= capacity_kg - run.charge_kg:
        room = capacity_kg - run.charge_kg
        return f"mass_kg is {mass_kg}; allowed: above 0, at most {room:.2f} kg (the pot takes {capacity_kg:g})."
    run.charge_kg += mass_kg
    run.gate.add(None)  # a note says how much, not what: the gate takes it for unknown metal
    added = Charge(mass_kg, "unknown", "addition", None, None)
    # A spent allowance grows by a press alone, and a page that is old lets no more heat flow; the note stands anyway.
    if command.epoch == turn.firing.epoch and run.energy_wh <= run.allowed_wh:
        run.allowance_wh += FOR_ADDED_METAL * _need_wh(added, turn, run)
    return ""


def _need_wh(added: Charge, turn: Turn, run: Run) -> float:
    """What added metal takes up, and what the furnace loses until it has."""
    target_c, furnace = top_hold_c(run.profile), turn.furnace
    takes_wh, settled_duty = metal_wh(added, target_c), turn.firing.adviser.settled_duty(target_c)
    if not run.learned_allowance:
        return takes_wh
    spare_w = max(1.0 - settled_duty, LEAST_SPARE_DUTY) * furnace.full_power_w * SPARE_USED
    return takes_wh * (1.0 + settled_duty * furnace.full_power_w / spare_w)
