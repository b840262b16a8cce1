"""The best mix for a wish: how much of which lot, so that what comes out keeps the wished limits over its whole band.

Best means, in this order: the limits hold over the band; failing that at the likely value, the band reaching over as
little as can be; failing that as little short as can be. Among equals: less of what was bought to be added, and less
loss. What may not be charged as it lies there is left out and named with its reason, never silently.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from supervisor.metal import dryness
from supervisor.metal.conditions import of_the_metal
from supervisor.metal.forms import FORMS
from supervisor.metal.item import Item
from supervisor.metal.lines import programmes_of
from supervisor.metal.mix import Mix, Part, addition_kg, form, mix
from supervisor.metal.programme import Programme, Solved, Solver
from supervisor.metal.pure import pure_in
from supervisor.metal.wish import Held, Wish, held
from supervisor.refusal import InputRefused

MASTER_PCT = 50.0
"""What a master alloy usually holds (common practice, no source)."""


class LeftOut(NamedTuple):
    """Metal that the mix does not use, whatever is wished, and why."""

    name: str
    words: str
    why: str


class Lack(NamedTuple):
    """A limit that no mix of what is there keeps, and what would mend it."""

    held: Held
    missing_kg: float  # of the element itself, to be in the melt; 0: there is too much
    master_kg: float | None  # of a master alloy with half of it
    dilute_kg: float  # of metal without it, to be added; 0: there is too little


class Last(NamedTuple):
    """Pure magnesium or zinc that would mend a lack at the very end: never the first choice."""

    name: str
    element: str
    kg: float
    enough: bool  # there is so much of it


@dataclass(frozen=True, slots=True)
class Best:
    """What came of it."""

    wish: Wish
    asked_kg: float
    masses: tuple[tuple[str, float], ...]  # rounded as one weighs, the most first; what is in the pot is not among them
    mix: Mix  # of them, and of what is in the pot
    reached: tuple[Held, ...]  # the likely value keeps these, the band does not
    lacks: tuple[Lack, ...]
    could_kg: float | None  # where limits fail: so much could be made that keeps them at its likely value
    wet: tuple[str, ...]  # names of what is used and not proved dry
    guessed: tuple[str, ...]  # used, and its alloy only a guess
    left_out: tuple[LeftOut, ...]
    last: tuple[Last, ...]  # what lies there of it

    @property
    def holds(self) -> str:
        """How the limits hold: 'over the band', 'likely' or 'short'."""
        return "short" if self.lacks else "likely" if self.reached else "over the band"


class Ready(NamedTuple):
    """A wish, ready to be solved: several can be solved at once."""

    asked: Wish
    charge_kg: float
    in_the_pot: tuple[Item, ...]
    used: tuple[Item, ...]
    left_out: tuple[LeftOut, ...]
    pure: tuple[Item, ...]
    now_ms: int
    programmes: tuple[Programme, ...]  # as `programmes_of` says


def best(items: Sequence[Item], asked: Wish, charge_kg: float, solve: Solver, **more: Any) -> Best:
    """Reckon it: `ready`, solved and told.

    Raises:
        InputRefused: nothing can be used, or nobody knows what is in the pot.
    """
    prepared = ready(items, asked, charge_kg, **more)
    return told(prepared, solve(prepared.programmes))


def ready(
    items: Sequence[Item],
    asked: Wish,
    charge_kg: float,
    *,
    in_the_pot: Sequence[Item] = (),
    dry_alone: bool = False,
    now_ms: int,
) -> Ready:
    """Everything but the solving. charge_kg: of the whole charge, with what is in the pot. dry_alone: proved dry now.

    Raises:
        InputRefused: nothing can be used, or nobody knows what is in the pot.
    """
    if not all(item.composition.known for item in in_the_pot):
        raise InputRefused(f"{in_the_pot[0].name} is unknown metal: with it in the pot no limit can be promised.")
    left_out = tuple(each for item in items if (each := _left_out(item, dry_alone, now_ms)))
    out = {each.name for each in left_out}
    used = [item for item in items if item.name not in out]
    if not used:
        raise InputRefused(f"No lot can be used. {_why(left_out)}".rstrip())
    heel_kg = sum(item.kg for item in in_the_pot)
    total_kg = min(charge_kg, heel_kg + sum(item.left_kg for item in used))
    if total_kg <= heel_kg:
        raise InputRefused(f"charge_kg is {charge_kg:g}; allowed: above the {heel_kg:.2f} kg that are in the pot")
    programmes = programmes_of([*in_the_pot, *used], len(in_the_pot), asked, total_kg, heel_kg)
    named = [item for item in items if item.composition.known and not item.quarantine]
    pure = tuple(item for item in named if pure_in(item.composition))
    return Ready(asked, charge_kg, tuple(in_the_pot), tuple(used), left_out, pure, now_ms, programmes)


def told(of: Ready, solved: Sequence[Solved | None]) -> Best:
    """What the solutions come to, weighed as a person weighs and reckoned anew.

    Raises:
        InputRefused: no masses were found at all.
    """
    over_band, likely, short, most = solved
    chosen = over_band or likely or short
    if chosen is None:
        raise InputRefused("No mix can be reckoned from these lots. Check their masses and analyses.")
    masses = _weighed(of.used, chosen.kg[len(of.in_the_pot) :])
    found = mix([*(item.part for item in of.in_the_pot), *masses])
    sides = held(of.asked, found.composition)
    lacks = tuple(_lack(side, found) for side in sides if side.fails)
    named = {item.name: item for item in of.used}
    used = [named[part.name] for part in masses]
    return Best(
        of.asked,
        of.charge_kg,
        tuple((part.name, part.kg) for part in masses),
        found,
        tuple(side for side in sides if side.reaches),
        lacks,
        None if not lacks else 0.0 if most is None else sum(most.kg),
        tuple(item.name for item in used if dryness.refusal(item.name, item.proof, of.now_ms)),
        tuple(item.name for item in used if item.certainty == "guess"),
        of.left_out,
        _last(lacks, found, of.pure),
    )


def _why(left_out: Sequence[LeftOut]) -> str:
    return " ".join(each.why for each in left_out) or "There is none: weigh something in."


def _left_out(item: Item, dry_alone: bool, now_ms: int) -> LeftOut | None:
    """Why an item may not be chosen here; None: it may."""
    if item.left_kg <= 0.0:
        return LeftOut(item.name, item.words, f"Nothing is left of {item.name}.")
    if item.quarantine:
        return LeftOut(item.name, item.words, item.quarantine)
    if not item.composition.known:
        return LeftOut(item.name, item.words, f"{item.name}: nobody can say what it is, so no limit holds with it.")
    if element := pure_in(item.composition):
        return LeftOut(item.name, item.words, f"{item.name} is mostly {element}: never in a charge.")
    for each in of_the_metal([item], mix([item.part]), {}, now_ms):
        if not each.met and each.blocks == "start" and not each.asks and each.id != f"dry {item.name}":
            return LeftOut(item.name, item.words, each.reason)
    if dry_alone and (wet := dryness.refusal(item.name, item.proof, now_ms)):
        return LeftOut(item.name, item.words, wet)
    return None


def _weighed(used: Sequence[Item], kg: Sequence[float]) -> list[Part]:
    """The masses as one weighs them: to a gram, master alloys to a tenth; never more than there is."""
    parts = []
    for item, exact in zip(used, kg, strict=True):
        digits = 4 if item.form == "pure_addition" else 3
        mass_kg = min(round(exact, digits), item.left_kg)
        if mass_kg >= 10.0**-digits:
            parts.append(Part(item.name, mass_kg, item.form, item.composition))
    return sorted(parts, key=lambda part: -part.kg)


def _lack(side: Held, found: Mix) -> Lack:
    at_kg = side.pct / 100.0 * found.melt_kg
    if side.above:
        return Lack(side, 0.0, None, 100.0 * at_kg / side.limit_pct - found.melt_kg if side.limit_pct > 0.0 else 0.0)
    element = side.demand.elements[0]
    try:
        master_kg = addition_kg(found, element, side.limit_pct, MASTER_PCT, FORMS["pure_addition"].recovery(element))
    except InputRefused:
        master_kg = None
    return Lack(side, side.limit_pct / 100.0 * found.melt_kg - at_kg, master_kg, 0.0)


def _last(lacks: Sequence[Lack], found: Mix, pure: Sequence[Item]) -> tuple[Last, ...]:
    """Pure magnesium or zinc that lies there and would mend what is lacking; never chosen, only named."""
    out = []
    for lack in lacks:
        element = lack.held.demand.elements[0]
        for item in pure:
            if lack.missing_kg <= 0.0 or pure_in(item.composition) != element:
                continue
            recovery, content = form(item.form).recovery(element), item.composition.likely[element]
            try:
                kg = addition_kg(found, element, lack.held.limit_pct, content, recovery)
            except InputRefused:
                continue
            out.append(Last(item.name, element, kg, kg <= item.left_kg))
    return tuple(out)
