"""What a melt costs, planned or looked back at: energy, wear, hours, metal that was lost or bought; and a kg of it.

Every price stands in one place, the furnace file's `[tariff]`. What nobody gave a price counts nothing, and the
sentence names what is counted. Heads as a foundry's sums have them: metal and its loss, energy, upkeep, work (American
Foundry Society, calculating aluminium melting costs).
"""

from collections.abc import Mapping
from typing import Any, NamedTuple


class Cost(NamedTuple):
    """What one melt costs. Each in the currency of the prices."""

    currency: str
    energy: float
    upkeep: float  # element, pot, lining: a melt's share
    work: float
    metal: float  # scrap that was charged at its price, and what was bought to be added
    usable_kg: float

    @property
    def total(self) -> float:
        """All of it."""
        return self.energy + self.upkeep + self.work + self.metal

    @property
    def per_usable_kg(self) -> float | None:
        """Of a kg that came out; None: nothing did."""
        return self.total / self.usable_kg if self.usable_kg > 0.0 else None

    @property
    def words(self) -> str:
        """As a person reads it: the whole, a kg, and what is counted."""
        heads = (("energy", self.energy), ("wear", self.upkeep), ("work", self.work), ("metal", self.metal))
        counted = ", ".join(f"{word} {value:.2f}" for word, value in heads if value > 0.0)
        each = self.per_usable_kg
        a_kg = "" if each is None else f", {each:.2f} {self.currency} for each usable kg"
        return f"{self.total:.2f} {self.currency}{a_kg} ({counted or 'nothing has a price'})."


def cost(
    prices: Mapping[str, Any] | None,
    *,
    kwh: float,
    hours: float,
    scrap_kg: float,
    bought_kg: float,
    usable_kg: float,
) -> Cost | None:
    """What a melt costs. None: there are no prices.

    prices: the furnace file's tariff: currency, per_kwh; per_melt, per_hour, scrap_per_kg, bought_per_kg where given.
    hours: that somebody attended. scrap_kg, bought_kg: what went in of each. usable_kg: what came out and can be used.
    """
    if not prices:
        return None
    price = {name: float(prices.get(name) or 0.0) for name in PRICES}
    return Cost(
        str(prices["currency"]),
        kwh * price["per_kwh"],
        price["per_melt"],
        hours * price["per_hour"],
        scrap_kg * price["scrap_per_kg"] + bought_kg * price["bought_per_kg"],
        usable_kg,
    )


PRICES = ("per_kwh", "per_melt", "per_hour", "scrap_per_kg", "bought_per_kg")


def as_object(found: Cost | None) -> dict[str, Any] | None:
    """Plain values for JSON."""
    if found is None:
        return None
    return {**found._asdict(), "total": found.total, "per_usable_kg": found.per_usable_kg}
