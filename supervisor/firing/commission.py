"""What the commands about proofs and parts do. Neither adds heat."""

from supervisor.firing import commands as c
from supervisor.firing.carry_out import Outcome, carry_out
from supervisor.firing.permissives import COLD_CHECK_BELOW_C, COLD_CHECK_K
from supervisor.firing.practice import MOVES, begin, done, end, why_not
from supervisor.firing.states import LIVE, State
from supervisor.firing.turn import Turn
from supervisor.firing.witness import LINES
from supervisor.firing.witnessing import prove
from supervisor.furnace.parts import TAKES_BACK, asked_by
from supervisor.furnace.proofs import Kind, of
from supervisor.furnace.stages import Changed, not_said
from supervisor.logbook.records import PartRow


def not_prove(turn: Turn) -> str:
    """Why nothing is proved by command now; empty: it is."""
    if turn.firing.state in LIVE:
        return "A firing is on: what it shows is witnessed by itself, everything else is proved at rest."
    return ""


def not_part(turn: Turn) -> str:
    """Why no part is changed now; empty: one may be."""
    if turn.firing.state in LIVE:
        return "A firing is on: parts are changed when it is over."
    return "A firing is prepared: stop it first." if turn.firing.state is State.IDLE else ""


def not_practise(turn: Turn) -> str:
    """Why no practice begins or goes on; empty: it does."""
    return "" if turn.firing.practice is not None else why_not(turn)


@carry_out.register
def _(command: c.Practise, turn: Turn) -> Outcome:
    by, practice = command.by, turn.firing.practice
    if command.act is c.Practising.BEGIN:
        why = begin(turn, by.who, by.where)
        return ("", why) if why else (MOVES[0].words, "")
    if practice is None:
        return "", "No practice is on."
    if command.act is c.Practising.DONE:
        return done(turn, by.who, by.where), ""
    end(turn, "ended by you", by.who, by.where)
    return "The practice is over. No heat was ordered.", ""


@carry_out.register
def _(command: c.Prove, turn: Turn) -> Outcome:
    kinds = of(turn.furnace)
    kind = kinds.get(command.proof)
    if kind is None:
        return "", f"proof is {command.proof!r}; allowed: {', '.join(kinds)}."
    if kind.alone:
        return "", "The supervisor must be stopped for it: `meltkeeper check` then has the furnace to itself."
    if command.proof == "cold-check":
        return _cold_check(command, turn)
    if command.proof in LINES:
        turn.firing.witness.begin(command.proof, command.by.who, command.by.where, turn.now_s)
        turn.firing.change()
        return LINES[command.proof].away, ""
    if not (kind.stated or kind.either):
        return "", f"Nobody can state it: a firing shows it. {kind.how}"
    return _stated(command, kind, turn)


def _cold_check(command: c.Prove, turn: Turn) -> Outcome:
    reading = turn.belief.reading
    if reading is None:
        return "", "The sensor does not read."
    if not turn.firing.cold_checked or reading.hot_junction_c >= COLD_CHECK_BELOW_C:
        return "", f"Hot and cold junction do not agree within {COLD_CHECK_K:g} K, or it is not below 40 °C."
    said = f"{reading.hot_junction_c:.1f} and {reading.cold_junction_c:.1f} °C"
    prove(turn, command.proof, said, who=command.by.who, where=command.by.where, witnessed=True)
    return f"Proved: {said}.", ""


def _stated(command: c.Prove, kind: Kind, turn: Turn) -> Outcome:
    said = command.said.strip()
    why = not_said(command.proof, said, turn.furnace)
    if why:
        return "", why
    prove(turn, command.proof, said, who=command.by.who, where=command.by.where, witnessed=False)
    return f"Kept: {kind.title}, stated by {command.by.who}.", ""


@carry_out.register
def _(command: c.Change, turn: Turn) -> Outcome:
    part, firing = TAKES_BACK.get(command.part), turn.firing
    if part is None:
        return "", f"part is {command.part!r}; allowed: {', '.join(TAKES_BACK)}."
    note = command.note.strip()
    if not note:
        return "", "Say what was changed, and why."
    by = command.by
    done = Changed(command.part, note, by.who, firing.unlocking.today_ms, turn.next_firing_id - 1)
    firing.unlocking.changed.append(done)
    turn.records.append(PartRow(done, by.where))
    if part.learned:
        firing.adviser.adopted = firing.adviser.commissioning = None
    firing.change()
    return asked_by(turn.furnace, command.part), ""
