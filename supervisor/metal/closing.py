"""What became of the metal of one melt, and what is still to be done before its record may be closed.

The list stays open beside the next firing: it never keeps anybody from a start, it keeps a melt from being called
closed.
"""

from collections.abc import Iterable, Sequence
from math import fsum
from statistics import median
from typing import NamedTuple

from supervisor.metal.descent import OUTSIDE, Holder, Ledger, Movement

LEAK_SHARE = 0.05
"""Of the metal in the pot: when so much is missing, somebody looks for a hole in it (our choice)."""

EARLIER_MELTS = 5
"""So many closed melts tell what is usual for this pot; fewer tell nothing."""

USUAL_K = 3.0
"""A gap within so many times the usual departure from the usual gap is called usual (our choice)."""

SCALE_KG = 0.02
"""What weighing ten things on a bench scale may come to, at most (our choice): no gap below it means anything."""

LAST_DIGIT_KG = 0.0005
"""A scale's last digit: a gap below it is none."""

FIRE_WATCH_MIN = (30, 60, 180)
"""After the pour, minutes. The first two are the trade's; the third is 'later', since fires come late (our choice)."""

EARLY_MIN = 5
"""So much before its time a walk counts."""

MS_PER_MIN = 60_000


class Balance(NamedTuple):
    """Where the metal of a melt came from and went, kg."""

    charged_kg: float
    added_kg: float
    found_kg: float  # was in the pot before: a heel, or a charge that had stayed in it
    ingots_kg: float
    dross_kg: float
    splash_kg: float
    kept_kg: float  # stayed in the pot, or went back to its lot
    other_kg: float  # samples, and what was noted as lost; the gap that a closing record wrote off is none of it

    @property
    def in_kg(self) -> float:
        """All that was in the pot."""
        return fsum((self.charged_kg, self.added_kg, self.found_kg))

    @property
    def out_kg(self) -> float:
        """All that was found again."""
        return fsum((self.ingots_kg, self.dross_kg, self.splash_kg, self.kept_kg, self.other_kg))

    @property
    def gap_kg(self) -> float:
        """What nobody has found again: burned to oxide, splashed, stuck to pot and tools, or run out."""
        gap_kg = round(self.in_kg - self.out_kg, 6)
        return 0.0 if abs(gap_kg) < LAST_DIGIT_KG else gap_kg


class Usual(NamedTuple):
    """The gap of earlier melts of this furnace, as a share of what was in the pot."""

    share: float
    departure: float  # median distance from it
    melts: int


def balance(ledger: Ledger, melt: Holder) -> Balance:
    """The balance of one melt, from every movement into and out of it."""
    into, out = ledger.into(melt), ledger.out_of(melt)
    ingots = _kg(move for move in out if move.target.kind == "ingot")
    kept = _kg(move for move in out if move.target.kind in ("melt", "lot") and move.how != "dross")
    dross = _kg(move for move in out if move.how == "dross")
    splash = _kg(move for move in out if move.how == "splash")
    return Balance(
        charged_kg=_kg(move for move in into if move.how == "charge"),
        added_kg=_kg(move for move in into if move.how == "addition"),
        found_kg=_kg(move for move in into if move.how not in ("charge", "addition")),
        ingots_kg=ingots,
        dross_kg=dross,
        splash_kg=splash,
        kept_kg=kept,
        other_kg=_kg(move for move in out if move.target == OUTSIDE and move.how not in ("dross", "splash", "gap")),
    )


def _kg(moves: Iterable[Movement]) -> float:
    return fsum(move.kg for move in moves)


def usual_gap(balances: Sequence[Balance]) -> Usual | None:
    """What is usual for a pot, from the balances of its closed melts; None: too few of them."""
    shares = [each.gap_kg / each.in_kg for each in balances if each.in_kg > 0.0]
    if len(shares) < EARLIER_MELTS:
        return None
    middle = median(shares)
    return Usual(middle, median(abs(share - middle) for share in shares), len(shares))


def gap_words(found: Balance, usual: Usual | None, *, past: bool = False) -> str:
    """The gap by its name, in a sentence; it is never hidden in a yield. past: entered from paper, nobody looks now."""
    if found.in_kg <= 0.0:
        return "Nothing is written of what went in."
    gap_kg, share = found.gap_kg, found.gap_kg / found.in_kg
    grams = f"{abs(gap_kg) * 1000:.0f} g"
    if gap_kg < 0.0:
        return f"{grams} more came out than went in: weigh again, or something went in that is not written here."
    if share >= LEAK_SHARE and not past and not _is_usual(found, usual):
        return f"{grams} not found, {share:.0%} of the charge: look for a hole in the pot and for metal under it."
    if usual is None:
        return f"{grams} not found: burned, splashed or stuck in the pot; too few melts to say whether that is usual."
    if _is_usual(found, usual):
        return f"{grams} not found: burned, splashed or stuck in the pot, usual here."
    more = "more" if share > usual.share else "less"
    return f"{grams} not found, {more} than the {usual.share * found.in_kg * 1000:.0f} g usual here."


def _is_usual(found: Balance, usual: Usual | None) -> bool:
    if usual is None:
        return False
    return abs(found.gap_kg - usual.share * found.in_kg) <= max(SCALE_KG, USUAL_K * usual.departure * found.in_kg)


class Facts(NamedTuple):
    """What is known of a melt that is over or going on, for the list of what is still open."""

    paper: bool  # entered from paper: nobody walks round, and nobody looks into a pot, for a melt of last year
    fired: bool  # the furnace's log has a firing of it
    over_utc_ms: int | None  # poured, or the end of its firing; None: it goes on, or never began
    poured: bool
    balance: Balance
    ingots: int
    counted: int  # moulds that were counted as they were filled
    unweighed: Sequence[str]  # ingots that were counted and not weighed, by name
    dross_told: bool  # weighed, or said to be none
    pot: str  # 'drained', 'heel', 'charge stays', 'charge taken out'; empty: nobody has looked
    walks_utc_ms: Sequence[int]
    noted_additions_kg: float  # by the notes at the furnace
    closed: bool


class Open(NamedTuple):
    """One thing that is still open."""

    what: str  # 'masses', 'dross', 'pot', 'walk', 'addition', 'balance', 'closing'
    sentence: str
    due_utc_ms: int | None = None


class Walk(NamedTuple):
    """One walk of the fire watch: when it was due, and when somebody walked; None: nobody yet."""

    after_min: int
    due_utc_ms: int
    done_utc_ms: int | None

    @property
    def late_min(self) -> int:
        """How much too late it came."""
        return max(0, ((self.done_utc_ms or self.due_utc_ms) - self.due_utc_ms) // MS_PER_MIN)


def fire_watch(over_utc_ms: int, walks_utc_ms: Sequence[int]) -> Sequence[Walk]:
    """The walks that are due after the pour; the first walk that is not too early answers each."""
    walks = []
    for after_min in FIRE_WATCH_MIN:
        due_ms = over_utc_ms + after_min * MS_PER_MIN
        counts = [walk_ms for walk_ms in sorted(walks_utc_ms) if walk_ms >= due_ms - EARLY_MIN * MS_PER_MIN]
        walks.append(Walk(after_min, due_ms, counts[0] if counts else None))
    return walks


def still_open(facts: Facts) -> Sequence[Open]:
    """What is still open, in the order in which a person does it. A closed melt has nothing open."""
    if facts.closed:
        return ()
    found: list[Open] = []
    named_kg = facts.balance.added_kg
    if facts.noted_additions_kg > named_kg + SCALE_KG:
        rest_kg = facts.noted_additions_kg - named_kg
        found.append(Open("addition", f"{rest_kg:.2f} kg was added without a name: say from which lot."))
    if facts.over_utc_ms is None:
        return (*found, Open("firing", "The firing is not over." if facts.fired else "It was not fired."))
    found += _masses(facts)
    if not facts.paper:
        if not facts.pot:
            found.append(Open("pot", "Is the pot drained, or did metal stay in it? Look, then say."))
        walks = fire_watch(facts.over_utc_ms, facts.walks_utc_ms)
        found += [
            Open("walk", f"Walk round and look for smoulder: {walk.after_min} minutes after.", walk.due_utc_ms)
            for walk in walks
            if walk.done_utc_ms is None
        ]
    if facts.balance.gap_kg < 0.0:
        found.append(Open("balance", gap_words(facts.balance, None)))
    return tuple(found) or (Open("closing", "Everything is entered: the record can be closed."),)


def _masses(facts: Facts) -> list[Open]:
    """What came out and is not weighed."""
    found = []
    if facts.poured and facts.ingots == 0 and not facts.balance.kept_kg:
        counted = f"{facts.counted} moulds were counted at the pour: what do" if facts.counted else ""
        found.append(
            Open("masses", f"{counted} the ingots weigh?" if counted else "How many ingots, and of what mass?")
        )
    if facts.unweighed:
        found.append(Open("masses", f"Not weighed yet: {', '.join(facts.unweighed)}."))
    if facts.poured and not facts.dross_told:
        found.append(Open("dross", "What did the dross weigh? Let it get cold in a dry tin first; 0 is an answer."))
    return found


def may_close(facts: Facts) -> str:
    """Why a melt cannot be closed yet; empty: it can be."""
    if facts.closed:
        return "It is closed already."
    left = [each.sentence for each in still_open(facts) if each.what != "closing"]
    return " ".join(left)
