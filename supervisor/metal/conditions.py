"""The conditions that follow from this charge: what blocks it, what must be read and ticked, and what mends each.

`blocks` says what waits for a condition: 'start' (the plan cannot be confirmed), 'pour' (it can; the pour waits), or
nothing: a caution that a person reads and confirms. Where someone could be hurt and nobody can say, it blocks.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from supervisor.metal import dryness
from supervisor.metal.alloys import UNKNOWN
from supervisor.metal.dryness import Proof
from supervisor.metal.fit import Fit
from supervisor.metal.held import DRY_AT_C
from supervisor.metal.item import IN_THE_POT, SURE_FOR_THE_GATE, Item
from supervisor.metal.masses import FEW_GRAMS
from supervisor.metal.mix import Mix
from supervisor.metal.pure import MAGNESIUM_GLARES, ZINC_FUMES, pure_in
from supervisor.metal.shrinkage import MOULD_OVER_METAL, Mould, Moulds
from supervisor.metal.sludge import CAREFUL_PCT, CAST_SI_PCT, REDISSOLVES_C, begins_c, factor_pct

Answers = Mapping[str, str]
"""What the person answered: id of a condition to 'yes', 'no', or a choice."""

LEAD_MOST_PCT = 0.02
"""Of lead or bismuth: flagged above this, for neither burns off nor dissolves (our choice; limits ask for 0.05)."""

TIN_MOST_PCT, ZINC_FUME_PCT, MAGNESIUM_FLARES_PCT = 0.10, 1.0, 2.0
"""From memory: tin tears hot ingots, zinc fumes, magnesium above 2 % makes thick dross and can burn at the skin."""

WITH_BERYLLIUM = ("535.0",)
"""Its fume and dust poison (from memory)."""

SCALE_KG = 0.0005


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition, met or not."""

    id: str
    name: str
    met: bool
    blocks: str  # 'start', 'pour' or ''
    reason: str
    mends: str
    items: tuple[str, ...] = ()
    asks: bool = False  # a person's word meets it


def of_the_metal(items: Sequence[Item], found: Mix, answers: Answers, now_ms: int) -> Iterator[Condition]:
    """What follows from what goes in."""
    yield from _book(items)
    yield from _left_in_the_pot(items, answers)
    yield from _dry([item for item in items if item.origin != IN_THE_POT], now_ms)
    yield from _shapes(items, answers)
    yield from _surfaces(items, answers)
    yield from _chips(items, answers)
    yield from _strangers(items, answers)
    yield from _elements(items, found, answers)


def _names(items: Sequence[Item]) -> tuple[str, ...]:
    return tuple(item.name for item in items)


def _said(items: Sequence[Item]) -> str:
    return ", ".join(_names(items))


def _caution(
    answers: Answers, own_id: str, name: str, reason: str, mends: str, items: Sequence[Item] = ()
) -> Condition:
    return Condition(own_id, name, answers.get(own_id) == "yes", "", reason, mends, _names(items), asks=True)


def _book(items: Sequence[Item]) -> Iterator[Condition]:
    for item in items:
        if item.quarantine:
            mends = "Take it out of the plan, or let somebody clear it with a reason"
            name = f"quarantine {item.name}"
            yield Condition(name, "Quarantine", False, "start", item.quarantine, mends, (item.name,))
        if item.kg > item.left_kg + SCALE_KG:
            reason = f"{item.name} has {item.left_kg:.3f} kg left, the plan takes {item.kg:.3f}."
            mends = "Plan less of it, or weigh the lot again"
            yield Condition(f"left {item.name}", "Enough in the lot", False, "start", reason, mends, (item.name,))


def _left_in_the_pot(items: Sequence[Item], answers: Answers) -> Iterator[Condition]:
    left = [item for item in items if item.origin == IN_THE_POT]
    if left:
        lain = f"{_said(left)}, {left[0].kg:.2f} kg"
        reason = f"{lain}: where metal froze the pot may be cracked, and what lay there took up damp."
        mends = "Look at the pot from all sides and into it; the next heat goes slowly, or take it out and dry it"
        yield _caution(answers, "heel", "Pot looked at", reason, mends, left)


def _dry(items: Sequence[Item], now_ms: int) -> Iterator[Condition]:
    for item in items:
        why = dryness.refusal(item.name, item.proof, now_ms)
        if why:
            yield Condition(f"dry {item.name}", "Scrap is dry", False, "start", why, dryness.HOW, (item.name,))
    if items and not any(dryness.refusal(item.name, item.proof, now_ms) for item in items):
        ends_ms = min(dryness.until_ms(item.proof) for item in items if item.proof is not None)
        hours = (ends_ms - now_ms) / 3_600_000
        yield Condition("dry", "Scrap is dry", True, "start", f"Proved; the first proof ends in {hours:.1f} h.", "")


def _shapes(items: Sequence[Item], answers: Answers) -> Iterator[Condition]:
    closed = [item for item in items if item.shape == "closed"]
    hollow = [item for item in items if item.shape == "open"]
    unseen = [item for item in items if "not looked" in (item.shape, item.surface)]
    if closed:
        reason = f"{_said(closed)}: closed, or able to hold liquid. It bursts under the metal."
        mends = "Cut it open, look inside, dry it again, and write that down for the lot"
        yield Condition("closed", "Nothing closed", False, "start", reason, mends, _names(closed))
    if unseen:
        reason = f"{_said(unseen)}: nobody has written down whether a piece is closed, hollow, oily or painted."
        met = answers.get("looked") == "yes"
        mends = "Look at each piece: nothing sealed, nothing that can hold liquid, no oil, paint or plating"
        yield Condition("looked", "Each piece looked at", met, "start", reason, mends, _names(unseen), asks=True)
    if hollow:
        reason = f"{_said(hollow)}: hollow pieces keep water, oil and sand inside."
        mends = "Look through each: open at both ends, empty, dry inside"
        yield _caution(answers, "hollow", "Hollow pieces are open and empty", reason, mends, hollow)


def _surfaces(items: Sequence[Item], answers: Answers) -> Iterator[Condition]:
    plated = [item for item in items if item.surface == "plated"]
    oily = [item for item in items if item.surface == "oily" or item.form == "swarf_oily"]
    painted = [item for item in items if item.surface == "painted"]
    if plated:
        reason = f"{_said(plated)}: plating may be cadmium, zinc or chromium; its fume poisons."
        yield Condition("plated", "Nothing plated", False, "start", reason, "Leave it out", _names(plated))
    if oily:
        reason = f"{_said(oily)}: oil burns and smokes, and oily chips can burst or burn in the pot."
        mends = "Wash the oil off, dry it, and write that down for the lot"
        yield Condition("oily", "Free of oil", False, "start", reason, mends, _names(oily))
    if painted:
        reason = f"{_said(painted)}: paint smokes and burns; old paint may hold lead."
        mends = "Strip it first; outdoors or under strong extraction. Old or unknown paint: leave it out"
        yield _caution(answers, "painted", "Paint is stripped", reason, mends, painted)


def _chips(items: Sequence[Item], answers: Answers) -> Iterator[Condition]:
    chips = [item for item in items if item.form == "swarf_dry"]
    if chips:
        reason = f"{_said(chips)}: chips hold water in every gap, and a tenth or more of them becomes dross."
        mends = "Press them; push them under the liquid, heat off and contactor open; never on top of it"
        yield _caution(answers, "chips", "Chips go under the liquid", reason, mends, chips)


def _strangers(items: Sequence[Item], answers: Answers) -> Iterator[Condition]:
    aircraft = [item for item in items if item.origin == "aircraft" and item.certainty not in ("marked", "measured")]
    if aircraft:
        reason = f"{_said(aircraft)}: unmarked aircraft metal may hold lithium, which explodes, or beryllium."
        yield Condition("lithium", "No lithium", False, "start", reason, "Leave it out", _names(aircraft))
    beryllium = [item for item in items if item.alloy in WITH_BERYLLIUM]
    if beryllium:
        reason = f"{_said(beryllium)}: alloy {beryllium[0].alloy} holds beryllium; its fume and dust poison."
        yield Condition("beryllium", "No beryllium", False, "start", reason, "Leave it out", _names(beryllium))
    unknown = [item for item in items if item.alloy == UNKNOWN or item.certainty not in SURE_FOR_THE_GATE]
    if unknown:
        reason = f"{_said(unknown)}: nobody can say what it is. Magnesium looks alike and burns."
        mends = "Magnet, file, weight in water (then dry it again). The gate waits at 450 °C"
        yield _caution(answers, "unknown", "Unknown metal", reason, mends, unknown)


def _up(at_c: float) -> int:
    """To the next five degrees."""
    return 5 * ceil(at_c / 5.0)


def _elements(items: Sequence[Item], found: Mix, answers: Answers) -> Iterator[Condition]:
    yield from _pure_magnesium(items)
    sludge = factor_pct(found.composition.likely)
    if sludge > CAREFUL_PCT and found.composition.likely.get("Si", 0.0) > CAST_SI_PCT:
        begins = begins_c(found.composition.likely)
        at = "near 650 °C" if begins is None else f"below about {_up(begins)} °C (as measured on AlSi11Cu2Fe)"
        reason = f"Fe + 2 Mn + 3 Cr is {sludge:.1f} %: hard crystals settle in metal that stands {at}."
        yield Condition(
            "sludge", "Sludge", True, "", reason, f"Pour from above {_up(max(REDISSOLVES_C, begins or 0.0))} °C"
        )
    likely = found.composition.likely or found.composition.low
    for element, word in (("Pb", "Lead"), ("Bi", "Bismuth")):
        if likely.get(element, 0.0) > LEAD_MOST_PCT:
            guilty = _holding(items, element, LEAD_MOST_PCT)
            at = f"{likely[element]:.2f} % {word.lower()} from {_said(guilty)}"
            reason = f"{at}: it stays in all that comes of it, and ingots tear hot."
            poison = " Lead poisons, in fume and in chips." if element == "Pb" else ""
            mends = f"Keep that lot apart, or mark the ingots for good: never among others' scrap.{poison}"
            yield _caution(answers, f"{word.lower()}", word, reason, mends, guilty)
    if likely.get("Sn", 0.0) > TIN_MOST_PCT:
        guilty = _holding(items, "Sn", TIN_MOST_PCT)
        reason = f"{likely['Sn']:.2f} % tin from {_said(guilty)}: ingots tear while they are hot."
        mends = "Less of that lot, or let each ingot cool without touching it"
        yield _caution(answers, "tin", "Tin", reason, mends, guilty)
    if likely.get("Zn", 0.0) > ZINC_FUME_PCT:
        guilty = _holding(items, "Zn", ZINC_FUME_PCT)
        reason = f"{likely['Zn']:.1f} % zinc from {_said(guilty)}: white fume, chills and fever hours later."
        yield _caution(answers, "zinc", "Zinc fume", reason, ZINC_FUMES, guilty)
    if likely.get("Mg", 0.0) > MAGNESIUM_FLARES_PCT:
        guilty = _holding(items, "Mg", MAGNESIUM_FLARES_PCT)
        reason = f"{likely['Mg']:.1f} % magnesium from {_said(guilty)}: thick dross; the skin can burn white."
        yield _caution(answers, "magnesium", "Much magnesium", reason, MAGNESIUM_GLARES, guilty)


def _pure_magnesium(items: Sequence[Item]) -> Iterator[Condition]:
    pure = [item for item in items if pure_in(item.composition) == "Mg"]
    if pure:
        reason = f"{_said(pure)}: mostly magnesium. In a cold charge it burns before the pot is liquid."
        mends = "Take it out of the charge; add it last, wrapped, held under the liquid, 690 to 720 °C, heat off"
        yield Condition("pure magnesium", "No magnesium in the charge", False, "start", reason, mends, _names(pure))


def _holding(items: Sequence[Item], element: str, above_pct: float) -> list[Item]:
    """The items that bring an element, the worst alone where one does."""
    holding = [item for item in items if item.composition.likely.get(element, 0.0) > above_pct]
    return sorted(holding, key=lambda item: -item.kg * item.composition.likely.get(element, 0.0))


def of_the_pot(fitted: Fit) -> Iterator[Condition]:
    """What follows from mass and size."""
    over = fitted.charge_kg > fitted.pot.capacity_kg + SCALE_KG
    grams = ""
    if over and fitted.charge_kg >= FEW_GRAMS:
        grams = f" If the scale shows grams, that is {fitted.charge_kg / 1000.0:.3f} kg."
    weighed = f"{fitted.charge_kg:.2f} kg; working fill of the pot {fitted.pot.capacity_kg:g}."
    yield Condition("mass", "Mass weighed", not over, "start", weighed + grams, "Plan less" if over else "")
    for piece in fitted.pieces:
        if piece.goes != "too long":
            continue
        longest = f"its longest piece is {piece.longest_mm:g} mm"
        mends = f"Cut it: {piece.cut_to_mm:g} mm at most lie flat; write the new length down for the lot"
        name = f"Piece of {piece.item} cut"
        reason = f"{piece.item}: {longest}, {piece.over_mm:.0f} mm too long: it holds the lid up."
        yield Condition(f"long {piece.item}", name, False, "start", reason, mends, (piece.item,))


def of_the_moulds(
    found: Moulds, moulds: Sequence[Mould], proofs: Mapping[str, Proof | None], now_ms: int
) -> Iterator[Condition]:
    """What follows from where it is poured."""
    enough = found.left_kg <= SCALE_KG
    reason = f"{len(moulds)} take {found.takes_kg:.2f} kg of {found.metal_kg:.2f}."
    if not moulds:
        reason = "No mould is chosen. Metal must never freeze in the pot for want of one."
    yield Condition("moulds", "Moulds for all of it", enough, "start", reason, "" if enough else "Choose more moulds")
    for mould in moulds:
        why = dryness.refusal(mould.code, proofs.get(mould.code), now_ms)
        if why:
            mends = f"Heat it to {DRY_AT_C:g} °C or more shortly before, and write it down; a damp mould throws metal"
            yield Condition(f"mould {mould.code}", f"Mould {mould.code} dry", False, "pour", why, mends)
    for mould, filled in ((m, f) for m in moulds for f in found.filled if f.mould == m.code):
        if mould.mass_kg is not None and mould.mass_kg < MOULD_OVER_METAL * filled.kg:
            rise = f"it gets hotter by up to {filled.rise_k:.0f} K"
            reason = f"{mould.code} weighs {mould.mass_kg:g} kg and takes {filled.kg:.2f} kg: {rise}."
            yield Condition(f"iron {mould.code}", "Mould is light", True, "", reason, "No second pour until it is cool")


def of_the_day(answers: Answers) -> Iterator[Condition]:
    """Whether the air is damp: nobody knows but the person."""
    air = answers.get("air", "")
    said = {"dry": "You said that the day is dry.", "damp": "You said that the day is damp."}
    reason = said.get(air, "Not said yet.")
    mends = "" if air in ("dry", "damp") else "Say whether air, floor and tools are dry today: rain, fog, a wet floor?"
    yield Condition("air", "Weather asked", air in ("dry", "damp"), "start", reason, mends, asks=True)
    if air == "damp":
        reason = "Damp air wets cold scrap, tools and moulds again within the hour, and gives gas in the metal."
        mends = "From the oven straight into the pot; tools and moulds hot; liquid as short as can be; no wet floor"
        yield _caution(answers, "damp", "Damp day", reason, mends)


def of_the_profile(pour_low_c: float, hottest_c: float | None, name: str) -> Iterator[Condition]:
    """Whether the plan of temperatures gets the metal to where it can be poured. hottest_c None: no profile chosen."""
    if hottest_c is None:
        mends = "Choose a profile"
        yield Condition("profile", "Profile chosen", False, "start", "Nothing says how it is heated.", mends)
        return
    met = hottest_c >= pour_low_c
    reason = f"{name} heats to {hottest_c:.0f} °C; this metal is poured from {pour_low_c:.0f} °C on."
    yield Condition("profile", "Hot enough to pour", met, "start", reason, "" if met else "Choose a hotter profile")
