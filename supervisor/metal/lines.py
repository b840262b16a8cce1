"""A wish and what there is as lines for the linear programme: what each kg leads beyond each limit, and its doubt."""

from collections.abc import Sequence
from math import hypot

from supervisor.metal.item import Item
from supervisor.metal.mix import LOSS_SURE_TO, Part, form, through_kg
from supervisor.metal.programme import Programme, Row
from supervisor.metal.wish import Wish

ROOM_SHARE = 0.005
"""Of a limit, kept free: what is weighed is rounded."""

BOUGHT, INGOT = 10.0, 2.0
"""What a kg of master alloy, and of an ingot, counts against a kg of loss (our choice)."""

OTHER = 0.2
"""What a kg of another alloy than the wished one counts: nothing is mixed in for the sake of a little less loss."""

SHORT = 1000.0
"""What being short by the whole limit counts: far above all loss."""

SMALL_LIMIT_PCT = 0.05


def programmes_of(
    every: Sequence[Item], fixed: int, asked: Wish, total_kg: float, heel_kg: float
) -> tuple[Programme, Programme, Programme, Programme]:
    """Over the band; at the likely value, the band as little over as can be; as little short as can be; the most."""
    melts_kg = [_melt(item.part) for item in every]
    cost = [
        1.0
        - melt_kg
        + OTHER * (item.alloy != asked.name)
        + (BOUGHT if item.form == "pure_addition" else INGOT if item.form == "ingot" else 0.0)
        for item, melt_kg in zip(every, melts_kg, strict=True)
    ]
    most_kg = [item.kg if number < fixed else item.left_kg for number, item in enumerate(every)]
    least_kg = [item.kg if number < fixed else 0.0 for number, item in enumerate(every)]
    hard, doubted, soft, reaching = [], [], [], []
    for demand in asked.demands:
        for limit, above in ((demand.least, False), (demand.most, True)):
            if limit is None:
                continue
            line, band = _row(every, melts_kg, demand.elements, limit, above, _room(demand.least, demand.most, limit))
            nothing = [0.0] * len(every)
            price = SHORT / (max(limit, SMALL_LIMIT_PCT) / 100.0 * total_kg)
            hard.append(Row(line, nothing))
            doubted.append(Row(line, band if demand.doubted else nothing))
            reaching.append(Row(line, band if demand.doubted else nothing, price))
            soft.append(Row(line, nothing, price))
    whole = (total_kg, total_kg)
    return (
        Programme(cost, most_kg, least_kg, whole, doubted),
        Programme(cost, most_kg, least_kg, whole, [*hard, *reaching]),
        Programme(cost, most_kg, least_kg, whole, soft),
        Programme([-1.0] * len(every), most_kg, least_kg, (heel_kg, total_kg), hard),
    )


def _room(least: float | None, most: float | None, limit: float) -> float:
    return ROOM_SHARE * (limit if least is None or most is None else min(limit, most - least))


def _melt(part: Part) -> float:
    """kg of melt from each kg of it."""
    return sum(through_kg(part, element) * pct for element, pct in part.composition.likely.items()) / 100.0 / part.kg


def _row(
    every: Sequence[Item], melts_kg: Sequence[float], elements: Sequence[str], limit: float, above: bool, room: float
) -> tuple[list[float], list[float]]:
    """For each kg of each item: how far it leads beyond the limit, and what its band adds; kg."""
    sign = 1.0 if above else -1.0
    kept = (limit - sign * room) / 100.0
    line, band = [], []
    for item, melt_kg in zip(every, melts_kg, strict=True):
        part, inside = item.part, item.composition
        at = sum(through_kg(part, element) * inside.likely.get(element, 0.0) for element in elements) / 100.0 / part.kg
        line.append(sign * (at - kept * melt_kg))
        band.append(hypot(*(_doubt(part, element, above) for element in elements)) / part.kg)
    return line, band


def _doubt(part: Part, element: str, above: bool) -> float:
    """How far an element of a part may be off on that side, kg: its band, and half of its loss."""
    inside, of = part.composition, form(part.form)
    likely = inside.likely.get(element, 0.0)
    edge = (inside.high if above else inside.low).get(element, likely)
    lost_kg = part.kg * of.clean * (1.0 - of.recovery(element)) * LOSS_SURE_TO * likely / 100.0
    return hypot(through_kg(part, element) * (edge - likely) / 100.0, lost_kg)
