"""What was learned of the furnace is taken for the firings to come, or only kept."""

from supervisor.firing import commands as c
from supervisor.firing.carry_out import Outcome, carry_out
from supervisor.firing.states import LIVE
from supervisor.firing.turn import Turn
from supervisor.furnace.stages import taught_from
from supervisor.logbook.records import ModelRow
from supervisor.model.learned import LEAST_FIRINGS, objections, parts_digest


def not_adopt(turn: Turn) -> str:
    """Why no model is taken now; empty: one is."""
    if turn.firing.state in LIVE:
        return "A firing is on: it keeps its model, and another is taken when it is over."
    return ""


@carry_out.register
def _(command: c.Adopt, turn: Turn) -> Outcome:
    firing, adviser = turn.firing, turn.firing.adviser
    taught_by = min(command.model.learned_from, default=0)
    of_earlier_parts = taught_by <= taught_from(firing.unlocking.changed) > 0
    if of_earlier_parts or command.model.furnace_digest != parts_digest(turn.furnace):
        return "", "This model was learned with another element, wall, crucible or sensor."
    found = [*command.objections, *objections(command.model, adviser.adopted, adviser.commissioning)]
    if not found:
        adopt(turn, command, command.by.who, command.by.where)
        return "Adopted: the next firing uses it.", ""
    why = " ".join(found)
    if not command.ask:
        turn.records.append(model_row(command, why, adopted=False, who=command.by.who, where=command.by.where))
        return f"Kept, not adopted: {why}", ""
    firing.adopting, firing.wished_s = command, turn.now_s
    return f"{why} To adopt it all the same, hold the button at the furnace for 3 s.", ""


def adopt(turn: Turn, command: c.Adopt, who: str, where: str) -> None:
    """The firings to come use this model; the one in progress keeps its own."""
    adviser = turn.firing.adviser
    adviser.adopted = command.model
    if len(command.model.learned_from) >= LEAST_FIRINGS:
        adviser.commissioning = adviser.commissioning or command.model
    turn.records.append(model_row(command, command.note, adopted=True, who=who, where=where))


def model_row(command: c.Adopt, note: str, *, adopted: bool, who: str, where: str) -> ModelRow:
    """The row that keeps a model."""
    text = command.model.to_json()
    return ModelRow(command.firing_id, adopted, command.takes, who, where, text, command.against, note)
