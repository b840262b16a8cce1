"""What could be poured today: charges from metal that is proved dry, for moulds that are, each as a plan would see it.

A proposal is nothing that was decided: taking it makes a plan, and the plan looks at everything again.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any, NamedTuple

from supervisor.metal import dryness
from supervisor.metal.alloys import UNKNOWN
from supervisor.metal.best import Best, Ready, ready, told
from supervisor.metal.best_words import verdict
from supervisor.metal.dryness import Proof
from supervisor.metal.fit import Pot
from supervisor.metal.forms import FORMS
from supervisor.metal.held import DRY_AT_C, DRY_FOR_MIN
from supervisor.metal.item import Item
from supervisor.metal.limits import nearest
from supervisor.metal.liquidus import PURE_C
from supervisor.metal.plan import AFTERWARDS_H, Heating, Plan, plan
from supervisor.metal.programme import Solver
from supervisor.metal.shrinkage import Mould, fill
from supervisor.metal.wish import wish
from supervisor.refusal import InputRefused

MOST = 3
LEAST_KG = 0.3
"""Less is not worth a firing (our choice)."""

ROOM_FOR_THE_SCALE = 0.99

WARM_FOR_MS = 30 * 60_000
"""An iron mould is likely warm so long after it came out (our choice)."""

LONGEST_WHY = 4


class Proposal(NamedTuple):
    """One charge. plan: as things stand now, its questions still unanswered."""

    masses: tuple[tuple[str, float], ...]
    plan: Plan
    moulds: tuple[str, ...]
    mix: Best
    reason: str


@dataclass(frozen=True, slots=True)
class Today:
    """What could be poured. missing: why there is nothing, or no more, and what mends it; empty: three were found."""

    proposals: tuple[Proposal, ...]
    missing: str


class Shop(NamedTuple):
    """Everything that is there."""

    items: Sequence[Item]
    in_the_pot: Sequence[Item]
    pot: Pot
    moulds: Sequence[Mould]
    mould_proofs: Mapping[str, Proof | None]
    heating: Heating | None


def today(there: Shop, solve: Solver, now_ms: int) -> Today:
    """The three best charges, the surest first; of equals the larger one."""
    dry_moulds = _dry_moulds(there, now_ms)
    usable, why = _usable(there, now_ms)
    if missing := _missing(there, dry_moulds, usable, why):
        return Today((), missing)
    most_kg = min(there.pot.capacity_kg, fill(0.0, dry_moulds, PURE_C, min(i.density_g_cm3 for i in usable)).takes_kg)
    found: list[Proposal] = []
    for name, mix in _mixes(there, _wanted(usable, most_kg), solve, now_ms).items():
        made = mix if isinstance(mix, str) else _proposal(there, name, mix, dry_moulds, now_ms)
        if isinstance(made, str):
            why.append(made)
        elif _lots(made) not in [_lots(other) for other in found]:
            found.append(made)
    order = ("over the band", "likely")
    found.sort(key=lambda each: (order.index(each.mix.holds), -each.plan.mix.charged_kg))
    said = " ".join(why[:LONGEST_WHY]) if len(found) < MOST else ""
    return Today(tuple(found[:MOST]), said)


def _dry_moulds(there: Shop, now_ms: int) -> list[Mould]:
    """Moulds that are proved dry, those still warm first."""
    proofs = there.mould_proofs
    dry = [each for each in there.moulds if not dryness.refusal(each.code, proofs.get(each.code), now_ms)]
    return sorted(dry, key=lambda each: not is_warm(proofs.get(each.code), now_ms))


def is_warm(proof: Proof | None, now_ms: int) -> bool:
    """A mould came out of the heat so lately that it is likely warm still. Nobody measured it."""
    return proof is not None and 0 <= now_ms - proof.to_utc_ms <= WARM_FOR_MS


def _usable(there: Shop, now_ms: int) -> tuple[list[Item], list[str]]:
    """Lots that are dry and named, and why each of the others is not taken."""
    usable, why = [], []
    for item in there.items:
        if item.quarantine:
            why.append(item.quarantine)
        elif not _alloy(item):
            why.append(f"{item.name}: nobody can say what it is, or it is like no alloy of the table.")
        elif wet := dryness.refusal(item.name, item.proof, now_ms):
            why.append(f"{wet[:-1]}: {item.kg:.2f} kg of {item.words}.")
        else:
            usable.append(item)
    return usable, why


def _alloy(item: Item) -> str:
    """The alloy that a lot is taken for, or that its analysis is near; empty: none."""
    if not item.composition.known or item.alloy != UNKNOWN:
        return item.alloy if item.composition.known else ""
    near = nearest(item.composition)
    return "" if near is None or near.strange else near.alloy.name


def _missing(there: Shop, dry_moulds: Sequence[Mould], usable: Sequence[Item], why: Sequence[str]) -> str:
    """What stands against any pour at all, with what mends it; empty: nothing does."""
    if there.heating is None:
        return "There is no profile with metal: choose or write one first."
    if not there.items:
        return "There is no metal: weigh something in."
    said = []
    if not usable:
        said.append(f"No lot can be charged now. {' '.join(why[:LONGEST_WHY])} {dryness.HOW}: two hours.")
    if not there.moulds:
        said.append("No mould is written down: metal must never freeze in the pot for want of one.")
    elif not dry_moulds:
        codes = ", ".join(each.code for each in there.moulds[:LONGEST_WHY])
        said.append(
            f"No mould is proved dry: heat {codes} to {DRY_AT_C:.0f} °C for {DRY_FOR_MIN['mould']} min or more."
        )
    return " ".join(said)


def _wanted(usable: Sequence[Item], most_kg: float) -> dict[str, float]:
    """How much of each alloy: of its own lots alone where they fill half of what can be poured, else all of that."""
    own_kg: dict[str, float] = {}
    for item in usable:
        own_kg[_alloy(item)] = own_kg.get(_alloy(item), 0.0) + item.kg
    return {alloy: min(kg, most_kg) if kg >= most_kg / 2.0 else most_kg for alloy, kg in own_kg.items()}


def _lots(found: Proposal) -> tuple[str, frozenset[str]]:
    """What a proposal is made of: the lot with the most, and all of them."""
    return found.masses[0][0], frozenset(name for name, _ in found.masses)


def _mixes(there: Shop, wanted: dict[str, float], solve: Solver, now_ms: int) -> dict[str, Best | str]:
    """The best mix for each alloy, as much as there is room for; or why there is none. Solved in two rounds at most."""

    def asked(name: str, kg: float) -> Ready:
        return ready(there.items, wish(name), kg, in_the_pot=there.in_the_pot, dry_alone=True, now_ms=now_ms)

    out: dict[str, Best | str] = {}
    while wanted:
        prepared: dict[str, Ready] = {}
        for name, kg in wanted.items():
            try:
                prepared[name] = asked(name, kg)
            except InputRefused as refused:
                out[name] = str(refused)
        found = _solved(prepared, solve)
        again = {name: each.could_kg or 0.0 for name, each in found.items() if each.lacks and name not in out}
        out |= found
        # Once more with less, where less would do: out holds the first answer, so that nothing is asked a third time.
        wanted = {name: kg * ROOM_FOR_THE_SCALE for name, kg in again.items() if kg >= LEAST_KG}
    return out


def _solved(prepared: Mapping[str, Ready], solve: Solver) -> dict[str, Best]:
    solutions = solve([programme for each in prepared.values() for programme in each.programmes])
    count = len(solutions) // max(1, len(prepared))
    return {
        name: told(each, solutions[count * number : count * (number + 1)])
        for number, (name, each) in enumerate(prepared.items())
    }


def _proposal(there: Shop, alloy: str, mix: Best, dry_moulds: Sequence[Mould], now_ms: int) -> Proposal | str:
    """A mix as a plan would see it, or why it is no proposal."""
    if mix.lacks:
        return f"{alloy}: {verdict(mix)}"
    if mix.mix.charged_kg < LEAST_KG:
        return f"{alloy}: {mix.mix.charged_kg:.2f} kg are too little."
    named = {item.name: item for item in there.items}
    items = [replace(named[name], kg=kg) for name, kg in mix.masses]
    planned = plan(
        [*there.in_the_pot, *items],
        there.pot,
        moulds=dry_moulds,
        mould_proofs=there.mould_proofs,
        heating=there.heating,
        now_ms=now_ms,
    )
    for each in planned.blocking:
        if each.blocks == "start" and not each.asks:
            return f"{alloy}: {each.reason}"
    filled = tuple(each.mould for each in planned.moulds.filled)
    warm = [code for code in filled if is_warm(there.mould_proofs.get(code), now_ms)]
    return Proposal(mix.masses, planned, filled, mix, _reason(items, filled, warm, mix))


def _reason(items: Sequence[Item], filled: Sequence[str], warm: Sequence[str], mix: Best) -> str:
    """Why this one, in a sentence."""
    ends_ms = min(dryness.until_ms(item.proof) for item in items if item.proof is not None)
    until = datetime.fromtimestamp(ends_ms / 1000, UTC).astimezone()
    words = " and ".join(dict.fromkeys(f"{item.words} ({FORMS[item.form].words})" for item in items))
    moulds = f"{', '.join(filled)} dry and large enough"
    moulds += f", {', '.join(warm)} likely still warm" if warm else ""
    return f"{words}: proved dry until {until:%H:%M}; {moulds}. {verdict(mix)}"


def too_long(forecast: Mapping[str, Any] | None, free_h: float | None) -> str:
    """Why a proposal does not fit into the free hours; empty: it does, or nobody said how many there are."""
    minutes = None if forecast is None else forecast.get("minutes")
    if free_h is None or not minutes:
        return ""
    needs_h = float(minutes["high"]) / 60.0 + AFTERWARDS_H
    return f"takes up to {needs_h:.1f} h with the pour, and {free_h:g} are free." if needs_h > free_h else ""


def as_object(found: Proposal, forecast: Mapping[str, Any] | None) -> dict[str, Any]:
    """Plain values for JSON, units in the names."""
    inside, made = found.plan.mix.composition, found.plan
    return {
        "masses": [{"name": name, "kg": kg} for name, kg in found.masses],
        "near": None if made.near is None else made.near.alloy.name,
        "holds": found.mix.holds,
        "charged_kg": made.mix.charged_kg,
        "melt_kg": made.mix.melt_kg,
        "composition_pct": [
            {
                "element": element,
                "likely": inside.likely[element],
                "low": inside.low[element],
                "high": inside.high[element],
            }
            for element in inside.likely
        ],
        "moulds": list(found.moulds),
        "asked": [each.id for each in made.blocking],
        "reason": found.reason,
        "forecast": None if forecast is None else dict(forecast),
    }
