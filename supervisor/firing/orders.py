"""Commands: which are allowed now, and why not. Pages draw their controls from the same answers."""

from collections.abc import Callable

from supervisor.alarms.shelf import shelvable
from supervisor.firing import commands as c
from supervisor.firing.adopting import not_adopt
from supervisor.firing.attending import acted, no_sign_from_a_phone
from supervisor.firing.carry_out import carry_out
from supervisor.firing.commission import not_part, not_practise, not_prove
from supervisor.firing.firing import YOU, Run
from supervisor.firing.holds import stands
from supervisor.firing.metal_planned import has_charge
from supervisor.firing.notes import NEW_EPOCH, OF_THE_CHARGE
from supervisor.firing.permissives import going_on, permissives, unmet
from supervisor.firing.states import HEATED, LIVE, State
from supervisor.firing.turn import Turn
from supervisor.firing.windowing import entered_already
from supervisor.furnace.description import ONLY_LOOKING
from supervisor.logbook.records import CommandRow

NAMES = {
    c.Prepare: "prepare",
    c.Start: "start",
    c.Hold: "hold",
    c.Resume: "resume",
    c.Stop: "stop",
    c.Acknowledge: "acknowledge",
    c.Silence: "silence",
    c.Shelve: "shelve",
    c.Unshelve: "unshelve",
    c.Reset: "reset",
    c.Note: "note",
    c.Lower: "lower",
    c.Raise: "raise",
    c.Adopt: "adopt",
    c.Prove: "prove",
    c.Change: "part",
    c.Practise: "practise",
    c.Attend: "attend",
    c.Told: "told",
}


AGAIN_WRITTEN_S = 60.0
"""A stop or a lowering that changes nothing is written down once in so long: a flood of them must not fill the card."""


def refusal(name: str, turn: Turn) -> str:
    """Why a command of this name is refused now; empty when it is allowed."""
    if turn.furnace.looks_only and name in _ONLY_HEAT:
        return ONLY_LOOKING
    check = _CHECKS.get(name)
    return "" if check is None else check(turn)


def note_refusal(kind: c.NoteKind, turn: Turn) -> str:
    """Why a note of this kind is refused now; empty when it is allowed."""
    run = turn.firing.run
    if run is None and kind in OF_THE_CHARGE and has_charge(turn.firing):
        return ""
    if run is None:
        return "There is no firing to note it in."
    if kind is c.NoteKind.ADDITION and run.charge_kg >= turn.furnace.crucible.capacity_kg:
        return "The pot is full."
    if kind is c.NoteKind.MASS:
        return _not_mass(turn, run)
    if kind in OF_THE_CHARGE:
        return "" if run.profile.charge is not None else "This firing has no charge."
    if kind is not c.NoteKind.WORD:
        return ""
    waits = turn.firing.state is State.RUNNING and run.walk.waits_for == "your word"
    return "" if waits else "The profile does not wait for your word."


def order(turn: Turn, command: c.Command, do: Callable[[c.Command, Turn], tuple[str, str]] = carry_out) -> c.Answer:
    """Carry out one command by `do`, or refuse it with the reason. Both are remembered."""
    name = NAMES[type(command)]
    why = note_refusal(command.kind, turn) if isinstance(command, c.Note) else refusal(name, turn)
    if not why and isinstance(command, c.Start | c.Resume | c.Raise) and command.epoch != turn.firing.epoch:
        why = NEW_EPOCH
    if not why and isinstance(command, c.Note) and command.kind is c.NoteKind.MOULD:
        why = entered_already(turn, command.text)
    sentence, idle = why, _changes_nothing(command, turn.firing.state)
    if not why:
        sentence, why = do(command, turn)
        sentence = why or sentence
        if not why:
            acted(command, turn)
    by, run = command.by, turn.open_run
    if isinstance(command, c.Told):  # what of it is worth keeping is an event; the messenger reports every 30 s
        return c.Answer(by.id, not why, sentence)
    if idle:
        if turn.now_s - turn.firing.idle_written_s < AGAIN_WRITTEN_S:
            return c.Answer(by.id, not why, sentence)
        turn.firing.idle_written_s = turn.now_s
    turn.records.append(
        CommandRow(
            None if run is None else run.firing_id,
            turn.t_ms(run) if run is not None else round(turn.now_s * 1000),
            by.id,
            name,
            by.who,
            by.where,
            not why,
            sentence,
            _detail(command),
        )
    )
    return c.Answer(by.id, not why, sentence)


def _changes_nothing(command: c.Command, state: State) -> bool:
    """A stop or a lowering with nothing to stop or lower: both are taken from everybody, as often as they come."""
    if state in LIVE:
        return False
    return isinstance(command, c.Lower) or (isinstance(command, c.Stop) and state not in _STOPPABLE)


def _detail(command: c.Command) -> dict[str, object]:
    if isinstance(command, c.Prepare):
        planned = None if command.planned is None else command.planned.charge.mass_kg
        return {"profile": command.profile.name, "heat_number": command.heat_number, "planned_kg": planned}
    if isinstance(command, c.Adopt):  # model and picture stand in a row of their own
        return {"learned_from": list(command.model.learned_from), "takes": command.takes, "ask": command.ask}
    return {
        field: getattr(value, "value", value)
        for field in command.__dataclass_fields__
        if field != "by" and (value := getattr(command, field)) is not None
    }


_AT_REST = (State.STOPPED, State.IDLE, State.COMPLETE)
_STOPPABLE = (State.IDLE, State.COMPLETE)


# --- why not -----------------------------------------------------------------------------------------------------


def _not_prepare(turn: Turn) -> str:
    if turn.firing.practice is not None:
        return "A cold practice is on: end it first."
    if turn.firing.state in (State.STOPPED, State.IDLE, State.COMPLETE):
        return ""
    return "A firing is on, or a trip waits for its reset: nothing can be prepared now."


def _not_start(turn: Turn) -> str:
    if turn.firing.state is not State.IDLE:
        return "Nothing is prepared." if turn.firing.state not in LIVE else "A firing is on."
    missing = unmet(permissives(turn.facts))
    if missing is not None:
        return f"{missing.reason} {missing.mend}"
    return "A watch has spoken in this moment. Ask again." if turn.adds_nothing() else ""


def _not_hold(turn: Turn) -> str:
    if turn.firing.state not in HEATED:
        return "Nothing is running."
    return "You hold it already." if YOU in turn.firing.held else ""


def _not_resume(turn: Turn) -> str:
    firing = turn.firing
    if firing.state is not State.HELD or firing.test is not None:
        return "Nothing is held." if firing.state is not State.HELD else "The contactor is going in."
    if stands(firing):
        return "What held it is still there."
    missing = unmet(going_on(turn.facts))
    return "" if missing is None else f"{missing.reason} {missing.mend}"


def _not_silence(turn: Turn) -> str:
    return "" if turn.alarms.sounding(turn.now_s) is not None else "Nothing sounds."


def _not_shelve(turn: Turn) -> str:
    return "" if any(shelvable(turn.alarms)) else "No alarm stands that may be shelved."


def _not_unshelve(turn: Turn) -> str:
    return "" if turn.alarms.shelves else "Nothing is shelved."


def _not_reset(turn: Turn) -> str:
    firing = turn.firing
    if firing.state is State.ABORTED or (firing.left_open is not None and firing.state in _AT_REST):
        return ""
    if firing.state is State.ABORTING:
        return "The contactor is not proved open yet."
    return "Nothing waits for a reset."


def _not_note(turn: Turn) -> str:
    return note_refusal(c.NoteKind.REMARK, turn)


def _not_mass(turn: Turn, run: Run) -> str:
    if run.profile.charge is None:
        return "This firing has no charge."
    return "" if turn.firing.state in LIVE and not run.poured else "The firing is over."


def _not_raise(turn: Turn) -> str:
    run = turn.firing.run
    if run is None or turn.firing.state not in HEATED:
        return "Nothing is running."
    if turn.adds_nothing():
        return "A watch holds it."
    return "" if run.lowered_k > 0 else "Nothing was lowered: the profile's own setpoint is the highest."


_ONLY_HEAT = frozenset({"hold", "resume", "raise", "attend", "prove"})
"""What means something only where this program heats."""

_CHECKS: dict[str, Callable[[Turn], str]] = {
    "prepare": _not_prepare,
    "start": _not_start,
    "hold": _not_hold,
    "resume": _not_resume,
    "silence": _not_silence,
    "shelve": _not_shelve,
    "unshelve": _not_unshelve,
    "reset": _not_reset,
    "note": _not_note,
    "raise": _not_raise,
    "adopt": not_adopt,
    "prove": not_prove,
    "part": not_part,
    "practise": not_practise,
    "attend": no_sign_from_a_phone,
}
