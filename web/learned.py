"""What the furnace's models say, in plain words: for the page that shows what was learned. Nothing here heats."""

from math import exp
from pathlib import Path
from typing import Any, NamedTuple

from supervisor.logbook.reading import KeptModel, open_log
from web.words import NBSP

BOOST_NEEDS = 3
"""Firings that a model must be learned from before the chamber may be held hotter than the metal's target."""
HARDLY_LEARNED = 0.8
"""A standard error above this share of what it was before anything was learned: the firings said next to nothing."""

FACTORS = {
    "power": "Power that arrives",
    "loss": "Heat lost through the lining",
    "capacity": "Heat that the lining takes up",
    "leak": "Heat lost past lid and holes",
    "lid_loss": "Heat lost with the lid off",
    "wall_to_pot": "Heat from the wall to the pot",
    "element_to_pot": "Heat from the element straight to the pot",
    "sensor_wall": "What the probe sees of the wall",
    "sensor_element": "What the probe sees of the element",
    "sensor_stem": "What its own stem costs the probe",
    "sheath": "Slowness of the probe",
    "pot_capacity": "Heat that the pot takes up",
    "facing": "Weight of the hot face",
    "contact_solid": "Contact of pot and solid metal",
    "contact_liquid": "Contact of pot and liquid metal",
    "contact_between": "Contact of lower and upper metal",
    "contact_fill": "How contact grows with the mass",
    "wetting": "How long metal takes to wet the pot",
}
"""What each factor is about."""

PHASES = {
    "empty": "without metal",
    "solid": "while all is solid",
    "melting": "while it melts",
    "liquid": "when liquid",
    "dip": "the metal itself, against your dips",
}
"""What differences are kept apart by, in words."""


class Learned(NamedTuple):
    """Everything that the page Model shows of the log."""

    used: KeptModel | None  # the one that firings from now on begin with
    waiting: KeptModel | None  # newer, and left for a person to decide
    earlier: list[KeptModel]  # those that can be put back, the newest first
    names: dict[int, str]  # heat numbers of the firings that they were learned from


def learned(data: Path) -> Learned:
    """The models that the log keeps; nothing where there is no log yet.

    Raises:
        InputRefused: there is a log that cannot be read.
    """
    if not (data / "furnace.db").is_file():
        return Learned(None, None, [], {})
    with open_log(data) as log:
        kept = log.models()
        names = {firing.id: firing.heat_number or f"No. {firing.id}, {firing.name}" for firing in log.firings()}
    used = next((row for row in kept if row.adopted), None)
    waiting = kept[0] if kept and not kept[0].adopted else None
    now = original(used)
    seen = {now}
    earlier = []
    for row in kept:
        if row is not waiting and row.adopted and original(row) not in seen:
            seen.add(original(row))
            earlier.append(row)
    return Learned(used, waiting, earlier, names)


def original(row: KeptModel | None) -> int:
    """The row in which this model was first kept: putting it back made others that name it."""
    return 0 if row is None else row.takes or row.id


def kept_as(data: Path, row_id: int) -> KeptModel | None:
    """The model of that row, or None."""
    with open_log(data) as log:
        return next((row for row in log.models() if row.id == row_id), None)


def factors(model: dict[str, Any]) -> list[tuple[str, str]]:
    """Each factor in words: what it is about, and how this furnace differs from its data sheets."""
    return [(FACTORS[name], _differs(**factor)) for name, factor in model["factors"].items()]


def _differs(log: float, sd: float, prior_sd: float) -> str:
    share = 100 * (exp(log) - 1)
    give = f"±{NBSP}{max(1, round(100 * (exp(sd) - 1)))}{NBSP}%"
    if sd > HARDLY_LEARNED * prior_sd:
        return f"not told apart yet, {give}"
    if abs(log) < sd:
        return f"not to be told from the data sheets, {give}"
    return f"{abs(share):.0f}{NBSP}% {'more' if share > 0 else 'less'} than the data sheets, {give}"


def lacks(model: dict[str, Any] | None) -> list[str]:
    """What is not known yet, and what a person can do about it."""
    count = len(model["learned_from"]) if model else 0
    said = []
    if count < BOOST_NEEDS:
        more = BOOST_NEEDS - count
        melts = "one more melt" if more == 1 else f"{('two', 'three')[more - 2]} more melts" if count else "three melts"
        said.append(
            f"Boost, and forecasts as good as they get, need {melts}: charge weighed, run to the end without an alarm,"
            " the pour noted."
        )
    if model and not model.get("metered"):
        said.append("Power is reckoned, not metered. With an energy meter the model learns about four times as well.")
    if model and "dip" not in model.get("residual_k", {}):
        said.append(
            "No dip reading so far: how well the metal itself is met is known from simulated furnaces only. Note one"
            " when you look, heat off and proved."
        )
    return said
