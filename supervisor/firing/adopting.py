"""What was learned of the furnace is taken for the firings to come, or only kept."""

from math import exp

from supervisor.firing import commands as c
from supervisor.firing.turn import Turn
from supervisor.logbook.records import ModelRow
from supervisor.model.learned import LEAST_FIRINGS, MEANS, Model
from supervisor.model.reduced import FACTORS

LIMITS_HEAT = ("power", "loss", "capacity", "leak", "lid_loss", "pot_capacity", "facing")
"""Factors that forecast, allowance and settled duty follow from; where the sensor sits is free to differ more."""
MOST_FROM_DATA_SHEETS = 0.7
"""Of a factor's logarithm, half to double: as far as the estimator itself lets one go."""


def beyond_data_sheets(model: Model) -> list[str]:
    """What is so far from the data sheets that somebody at the furnace should take it, one sentence each."""
    return [
        f"{MEANS[name].capitalize()} is {100.0 * exp(value):.0f} % of what the furnace file says."
        for name, value in zip(FACTORS, model.log_factors, strict=True)
        if name in LIMITS_HEAT and not abs(value) <= MOST_FROM_DATA_SHEETS
    ]


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
