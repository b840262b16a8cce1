"""What was learned of the furnace is taken for the firings to come, or only kept."""

from supervisor.firing import commands as c
from supervisor.firing.turn import Turn
from supervisor.logbook.records import ModelRow
from supervisor.model.learned import LEAST_FIRINGS


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
