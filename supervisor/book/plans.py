"""Plans of melts as the book keeps them: each change is a new version; and a plan made ready for reckoning."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from supervisor.book.holders import Holder, left_kg, name_of
from supervisor.book.lots import lot_of
from supervisor.book.melts import melt_of
from supervisor.book.moulds import KeptMould, moulds
from supervisor.book.pedigree import Pedigree
from supervisor.book.pot import in_the_pot
from supervisor.book.proofs import proof_of
from supervisor.book.quarantine import State, state
from supervisor.book.typed import line, text
from supervisor.book.writing import Book
from supervisor.metal import density, descent
from supervisor.metal.alloys import UNKNOWN, table
from supervisor.metal.fit import Pot
from supervisor.metal.item import IN_THE_POT, Item
from supervisor.metal.limits import nearest
from supervisor.metal.masses import checked_kg
from supervisor.metal.plan import Heating, Plan
from supervisor.metal.plan import plan as reckon
from supervisor.refusal import InputRefused

MOST_ITEMS = 40
MOST_POT_KG = 100.0

ANSWERS_GOOD_FOR_MS = 12 * 3_600_000
"""What a person said of weather and pieces is asked again the next day (our choice: as long as a proof of dryness)."""


SAID = "said_utc_ms"
"""Beside the answers: when each was given. No condition is called so."""


class Entry(NamedTuple):
    """So much of a lot, or of an ingot."""

    holder: Holder
    kg: float
    longest_mm: float | None = None  # of its pieces, where the plan knows better than the lot


class KeptPlan(NamedTuple):
    """One version of a plan."""

    id: int
    code: str
    version: int
    name: str
    profile: str  # key of a profile file; empty: none chosen
    answers: Mapping[str, str]
    said_utc_ms: Mapping[str, int]  # when each answer was given
    note: str
    utc_ms: int
    who: str
    entries: tuple[Entry, ...]
    moulds: tuple[int, ...]


def plans(book: Book) -> list[KeptPlan]:
    """The newest version of each plan that was not taken to the furnace yet, the newest first."""
    rows = book.rows(
        "SELECT * FROM plan p WHERE version = (SELECT max(version) FROM plan n WHERE n.code = p.code) AND NOT EXISTS"
        " (SELECT 1 FROM melt m JOIN plan o ON o.id = m.plan_id WHERE o.code = p.code) ORDER BY id DESC"
    )
    return [_kept(book, row) for row in rows]


def plan_named(book: Book, code: str) -> KeptPlan:
    """The newest version of a plan, by its code as people type it.

    Raises:
        InputRefused: there is none.
    """
    asked = code.strip().upper()
    row = book.one("SELECT * FROM plan WHERE code = ? ORDER BY version DESC LIMIT 1", asked)
    if row is None:
        open_ones = ", ".join(each.code for each in plans(book)[:5]) or "there is none yet"
        raise InputRefused(f"plan is {line('plan', repr(code)[:40], 60)}; allowed: {open_ones}")
    return _kept(book, row)


def _kept(book: Book, row: dict[str, Any]) -> KeptPlan:
    items = book.rows("SELECT * FROM plan_item WHERE plan_id = ? ORDER BY id", row["id"])
    chosen = book.rows("SELECT mould_id FROM plan_mould WHERE plan_id = ? ORDER BY id", row["id"])
    fields = {field: row[field] for field in KeptPlan._fields if field in row}
    entries = tuple(Entry((each["holder_kind"], each["holder_id"]), each["kg"], each["longest_mm"]) for each in items)
    answers = json.loads(row["answers"])
    said = answers.pop(SAID, dict.fromkeys(answers, row["utc_ms"]))
    fields |= {"answers": answers, "said_utc_ms": said, "entries": entries}
    return KeptPlan(**fields, moulds=tuple(each["mould_id"] for each in chosen))


def keep(
    book: Book,
    entries: Sequence[Entry],
    *,
    code: str | None = None,
    name: str = "",
    profile: str = "",
    mould_ids: Sequence[int] = (),
    answers: Mapping[str, str] | None = None,
    carried: KeptPlan | None = None,
    note: str = "",
) -> KeptPlan:
    """Keep a plan, or a new version of one.

    answers: given just now. carried: an earlier version whose other answers go on, with the time at which they were
    given.

    Raises:
        InputRefused: a mass that cannot be, a lot named twice, or a plan that went to the furnace already.
    """
    version = 1 if code is None else plan_named(book, code).version + 1
    if code is not None:
        _refuse_taken(book, code)
    _check(book, entries)
    row = book.one("SELECT count(DISTINCT code) + 1 AS next FROM plan")
    assert row is not None
    plan_id = book.append(
        "plan",
        code=f"P-{row['next']:03}" if code is None else plan_named(book, code).code,
        version=version,
        name=line("name", name, 60),
        profile=line("profile", profile, 200),
        answers=_as_json(answers or {}, carried, book.utc_ms),
        note=text("note", note),
    )
    for entry in entries:
        kind, holder_id = entry.holder
        longest = entry.longest_mm
        book.append(
            "plan_item", plan_id=plan_id, holder_kind=kind, holder_id=holder_id, kg=entry.kg, longest_mm=longest
        )
    for mould_id in dict.fromkeys(mould_ids):
        book.append("plan_mould", plan_id=plan_id, mould_id=mould_id)
    row = book.one("SELECT * FROM plan WHERE id = ?", plan_id)
    assert row is not None
    return _kept(book, row)


def _as_json(answers: Mapping[str, str], carried: KeptPlan | None, now_ms: int) -> str:
    """Answers given now over those that go on, each with its time."""
    said = dict(answers) if carried is None else {**carried.answers, **answers}
    when_ms = {} if carried is None else dict(carried.said_utc_ms)
    when_ms |= dict.fromkeys(answers, now_ms)
    return json.dumps({**said, **({SAID: when_ms} if said else {})}, ensure_ascii=False)


def _refuse_taken(book: Book, code: str) -> None:
    taken = book.one(
        "SELECT m.heat_number FROM melt m JOIN plan p ON p.id = m.plan_id WHERE p.code = ?", code.strip().upper()
    )
    if taken is not None:
        raise InputRefused(f"{code} became the charge {taken['heat_number']}; allowed: a new plan")


def _check(book: Book, entries: Sequence[Entry]) -> None:
    if len(entries) > MOST_ITEMS:
        raise InputRefused(f"The plan names {len(entries)} lots; allowed: up to {MOST_ITEMS}")
    seen: set[Holder] = set()
    for entry in entries:
        name = name_of(book, entry.holder)
        if entry.holder in seen:
            raise InputRefused(f"{name} is named twice; allowed: each lot once, with all of its mass")
        seen.add(entry.holder)
        checked_kg(entry.kg, most_kg=MOST_POT_KG, most_is="the most that any pot here takes")


def items(book: Book, entries: Sequence[Entry]) -> list[Item]:
    """What a plan names, with all that matters before it goes in; first what is still in the pot."""
    pedigree, quarantined = Pedigree(book), state(book)
    found = [_item(book, entry, pedigree, quarantined) for entry in entries]
    left = in_the_pot(book)
    if left is None:
        return found
    heel = _cast(book, Entry(("melt", left.melt_id), left.kg), pedigree, quarantined, f"in the pot: {left.why}")
    if left.whole:
        heel = replace(heel, composition=pedigree.unmelted(left.melt_id))
    return [heel, *found]


def _item(book: Book, entry: Entry, pedigree: Pedigree, quarantined: State) -> Item:
    if entry.holder[0] == "ingot":
        return _cast(book, entry, pedigree, quarantined, "ingot")
    assert entry.holder[1] is not None
    lot = lot_of(book, entry.holder[1])
    holder = descent.Holder("lot", lot.id)
    row = table().get(lot.alloy)
    return Item(
        name=lot.code,
        words=lot.name,
        kg=entry.kg,
        left_kg=lot.kg,
        form=lot.form,
        alloy=lot.alloy,
        certainty=lot.certainty,
        composition=pedigree.of(holder),
        solidus_c=None if row is None else row.solidus_c,
        density_g_cm3=density.of_alloy(lot.alloy),
        origin=lot.origin,
        surface=lot.surface,
        shape=lot.shape,
        longest_mm=entry.longest_mm or lot.longest_mm,
        proof=proof_of(book, entry.holder),
        quarantine=quarantined.why(holder),
    )


def _cast(book: Book, entry: Entry, pedigree: Pedigree, quarantined: State, words: str) -> Item:
    """An ingot, or what is left in the pot: bare and solid, its composition reckoned down the tree."""
    kind, holder_id = entry.holder
    assert holder_id is not None
    holder = descent.Holder(kind, holder_id)
    melt_id = holder_id
    if kind == "ingot":
        row = book.one("SELECT melt_id FROM ingot WHERE id = ?", holder_id)
        if row is None:
            raise InputRefused(f"ingot is {holder_id}; allowed: one of the book")
        melt_id = row["melt_id"]
    melt, composition = melt_of(book, melt_id), pedigree.of(holder)
    near = nearest(composition)
    unknown = melt.unknown or near is None
    return Item(
        name=name_of(book, entry.holder) if kind == "ingot" else f"heel of {melt.heat_number}",
        words=words,
        kg=entry.kg,
        left_kg=left_kg(book, entry.holder),
        form="ingot",
        alloy=UNKNOWN if unknown or near is None else near.alloy.name,
        certainty=UNKNOWN if unknown else "estimated",
        composition=composition,
        solidus_c=melt.solidus_c,
        density_g_cm3=density.of_alloy("" if near is None else near.alloy.name),
        origin=IN_THE_POT if kind == "melt" else "ingot",
        surface="bare",
        shape="solid",
        longest_mm=entry.longest_mm,
        proof=None if kind == "melt" else proof_of(book, entry.holder),
        quarantine=quarantined.why(holder),
    )


def chosen_moulds(book: Book, kept: KeptPlan) -> list[KeptMould]:
    """The moulds of a plan, in their order."""
    known = {each.id: each for each in moulds(book)}
    return [known[mould_id] for mould_id in kept.moulds if mould_id in known]


def reckoned(book: Book, kept: KeptPlan, pot: Pot, heating: Heating | None, now_ms: int) -> Plan:
    """Reckon a plan as things stand now.

    Raises:
        InputRefused: nothing goes in, or something of it cannot be.
    """
    chosen = chosen_moulds(book, kept)
    fresh = {name for name, said_ms in kept.said_utc_ms.items() if now_ms - said_ms < ANSWERS_GOOD_FOR_MS}
    return reckon(
        items(book, kept.entries),
        pot,
        moulds=[each.mould for each in chosen],
        mould_proofs={each.code: proof_of(book, ("mould", each.id)) for each in chosen},
        heating=heating,
        answers={name: value for name, value in kept.answers.items() if name in fresh},
        now_ms=now_ms,
    )
