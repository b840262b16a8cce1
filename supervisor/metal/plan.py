"""A melt, planned: what comes out, whether it fits, what stands against it, and what the supervisor must know of it."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, NamedTuple

from supervisor.metal import conditions as c
from supervisor.metal.alloys import UNKNOWN, table
from supervisor.metal.charge import Charge
from supervisor.metal.composition import ALUMINIUM
from supervisor.metal.cost import Cost, cost
from supervisor.metal.dryness import Proof
from supervisor.metal.fit import Fit, Pot, fit
from supervisor.metal.forms import FORMS
from supervisor.metal.item import Item
from supervisor.metal.limits import Culprit, Near, culprits, nearest
from supervisor.metal.liquidus import PURE_C, Liquidus, Pour, liquidus, lowest_solidus_c, pour
from supervisor.metal.mix import Mix, mix
from supervisor.metal.shrinkage import SPILL_SHARE, Mould, Moulds, fill

AFTERWARDS_H = 0.75
"""To skim, pour, drain the pot and walk round for the first time (our choice): whoever attends is there until then."""


class Heating(NamedTuple):
    """The profile that was chosen: its name, the highest temperature that a segment asks for, and what it pours at."""

    name: str
    hottest_c: float
    pour_c: float | None


class Frozen(NamedTuple):
    """What the supervisor is told of the charge, and the pouring temperature."""

    charge: Charge
    pour_c: float
    unknown: bool


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything that follows from items, moulds, pot, profile and answers."""

    items: tuple[Item, ...]
    mix: Mix
    near: Near | None
    culprits: tuple[Culprit, ...]
    liquidus: Liquidus
    solidus_c: float | None
    pour: Pour
    density_g_cm3: float
    fit: Fit
    moulds: Moulds
    conditions: tuple[c.Condition, ...]
    heating: Heating | None

    @property
    def blocking(self) -> tuple[c.Condition, ...]:
        """What stands against confirming it, cautions not read included."""
        return tuple(each for each in self.conditions if not each.met and each.blocks != "pour")

    @property
    def usable_kg(self) -> float:
        """What is expected in the moulds: the melt less spill and heel."""
        return self.mix.melt_kg * (1.0 - SPILL_SHARE)

    def cost(self, forecast: Mapping[str, Any] | None, prices: Mapping[str, Any] | None) -> Cost | None:
        """What it will cost; None: no prices, or no forecast. It is attended until the first walk round."""
        if forecast is None or not forecast.get("minutes"):
            return None
        bought_kg = sum(item.kg for item in self.items if item.form == "pure_addition")
        return cost(
            prices,
            kwh=forecast["kwh"],
            hours=forecast["minutes"]["likely"] / 60.0 + AFTERWARDS_H,
            scrap_kg=sum(item.kg for item in self.items if item.form not in ("pure_addition", "ingot")),
            bought_kg=bought_kg,
            usable_kg=self.usable_kg,
        )

    @property
    def frozen(self) -> Frozen:
        """What the supervisor needs of the metal. Never more sure than the least sure lot."""
        unknown = self.solidus_c is None
        name = UNKNOWN if unknown or self.near is None else self.near.alloy.name
        forms = ", ".join(dict.fromkeys(FORMS[item.form].words for item in self.items))
        liquid_c = None if unknown else PURE_C if self.liquidus.c is None else self.liquidus.c
        pour_c = round(self.pour.low_c)
        if self.heating is not None and self.heating.pour_c is not None:
            pour_c = round(min(max(self.heating.pour_c, self.pour.low_c), self.pour.high_c))
        mass_kg = round(self.mix.charged_kg, 3)
        charge = Charge(mass_kg, name, forms[:40], self.solidus_c, _above(liquid_c, self.solidus_c))
        return Frozen(charge, float(pour_c), unknown)


def _above(liquidus_c: float | None, solidus_c: float | None) -> float | None:
    """A liquidus that is above the solidus: of a mix, the lowest lot's solidus is far below, but who knows."""
    if liquidus_c is None or solidus_c is None:
        return liquidus_c
    return round(max(liquidus_c, solidus_c + 1.0), 1)


def plan(
    items: Sequence[Item],
    pot: Pot,
    *,
    moulds: Sequence[Mould] = (),
    mould_proofs: Mapping[str, Proof | None] | None = None,
    heating: Heating | None = None,
    answers: c.Answers | None = None,
    picked_up_g: Mapping[str, float] | None = None,
    now_ms: int,
) -> Plan:
    """Plan a melt. now_ms: UTC, for the dates of proofs.

    Raises:
        InputRefused: nothing goes in, a lot is named twice, a mass or a share cannot be.
    """
    said = answers or {}
    found = mix([item.part for item in items], picked_up_g)
    near = nearest(found.composition)
    liquid = _liquidus(items, found)
    poured = pour(liquid.c)
    volume = sum(item.kg / item.density_g_cm3 for item in items)
    density = sum(item.kg for item in items) / volume
    fitted = fit(items, pot)
    filled = fill(found.melt_kg, moulds, poured.low_c, density)
    hottest_c, name = (None, "") if heating is None else (heating.hottest_c, heating.name)
    conditions = (
        *c.of_the_pot(fitted),
        *c.of_the_metal(items, found, said, now_ms),
        *c.of_the_day(said),
        *c.of_the_moulds(filled, moulds, mould_proofs or {}, now_ms),
        *c.of_the_profile(poured.low_c, hottest_c, name),
    )
    failed = near.misses if near is not None else ()
    return Plan(
        tuple(items),
        found,
        near,
        tuple(culprits([item.part for item in items], found, failed)),
        liquid,
        lowest_solidus_c([item.sure_solidus_c for item in items]),
        poured,
        density,
        fitted,
        filled,
        conditions,
        heating,
    )


def _liquidus(items: Sequence[Item], found: Mix) -> Liquidus:
    """By the rule; of one alloy alone, where the rule does not hold, as its table row has it."""
    by_rule = liquidus(found.composition)
    alloys = {item.alloy for item in items}
    if by_rule.c is None and found.composition.known and len(alloys) == 1 and UNKNOWN not in alloys:
        row = table().get(next(iter(alloys)))
        if row is not None:
            return Liquidus(row.liquidus_c, 10.0, f"As printed for {row.name}: {by_rule.why}")
    return by_rule


def as_object(found: Plan) -> dict[str, Any]:
    """Plain values for JSON, units in the names."""
    composition = found.mix.composition
    frozen = found.frozen
    return {
        "items": [_item(item) for item in found.items],
        "charged_kg": found.mix.charged_kg,
        "picked_up_kg": found.mix.picked_up_kg,
        "melt_kg": found.mix.melt_kg,
        "melt_give_kg": found.mix.give_kg,
        "melt_loss_pct": found.mix.loss_pct,
        "dirt_kg": found.mix.dirt_kg,
        "retained_g": {element: 1000.0 * kg for element, kg in found.mix.retained_kg.items()},
        "composition_known": composition.known,
        "composition_pct": [
            {
                "element": element,
                "likely": composition.likely.get(element),
                "low": composition.low[element],
                "high": composition.high[element],
            }
            for element in sorted(composition.high, key=lambda e: (e == ALUMINIUM, -composition.high[e]))
        ],
        "near": None
        if found.near is None
        else {
            "alloy": found.near.alloy.name,
            "strange": found.near.strange,
            "misses": [miss._asdict() | {"words": miss.words} for miss in found.near.misses],
        },
        "culprits": [
            {"element": each.miss.element, "item": each.part, "could_kg": each.could_kg} for each in found.culprits
        ],
        "solidus_c": found.solidus_c,
        "liquidus_c": found.liquidus.c,
        "liquidus_give_k": found.liquidus.give_k,
        "liquidus_why": found.liquidus.why,
        "pour_low_c": found.pour.low_c,
        "pour_high_c": found.pour.high_c,
        "density_g_cm3": found.density_g_cm3,
        "fit": asdict(found.fit) | {"order": [step._asdict() for step in found.fit.order]},
        "moulds": asdict(found.moulds) | {"filled": [each._asdict() for each in found.moulds.filled]},
        "conditions": [asdict(each) for each in found.conditions],
        "may_be_confirmed": not found.blocking,
        "charge": asdict(frozen.charge) | {"pour_c": frozen.pour_c, "unknown": frozen.unknown},
    }


def _item(item: Item) -> dict[str, Any]:
    return {
        "name": item.name,
        "words": item.words,
        "kg": item.kg,
        "left_kg": item.left_kg,
        "form": item.form,
        "alloy": item.alloy,
        "certainty": item.certainty,
        "quarantine": item.quarantine,
    }
