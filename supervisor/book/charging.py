"""A plan becomes a charge: its heat number is given for ever, and its masses move from the lots into the melt."""

import re
from collections.abc import Iterable
from dataclasses import asdict
from typing import Any, NamedTuple

from supervisor.book.holders import move
from supervisor.book.melts import melt
from supervisor.book.plans import KeptPlan, plan_named, reckoned
from supervisor.book.pot import in_the_pot
from supervisor.book.starting import dry_until_ms, refusal_to_start
from supervisor.book.writing import Book
from supervisor.metal.charge import Charge
from supervisor.metal.fit import Pot
from supervisor.metal.plan import Heating, Plan
from supervisor.refusal import InputRefused

FIRST_NUMBER = 1


class Furnace(NamedTuple):
    """Which furnace it is for."""

    name: str
    letter: str
    backend: str  # simulated or real
    pot: Pot


class Confirmed(NamedTuple):
    """A charge as it was confirmed: what `prepare` carries to the supervisor."""

    heat_number: str
    plan: str
    profile: str
    charge: Charge
    pour_c: float
    unknown: bool
    dry_until_utc_ms: int | None  # of the first proof that ends; None: one is missing


def next_heat_number(book: Book, letter: str, used: Iterable[str]) -> str:
    """The next number of a furnace. used: those of its log; none is ever given twice, whichever of the two knows it.

    Raises:
        InputRefused: the letter is none.
    """
    if not re.fullmatch("[A-Z]", letter):
        raise InputRefused(f"letter is {letter!r}; allowed: A to Z")
    known = [*used, *(row[0] for row in book.raw("SELECT heat_number FROM melt"))]
    pattern = re.compile(f"{letter}-([0-9]+)")
    numbers = [int(match[1]) for number in known if (match := pattern.fullmatch(number or ""))]
    return f"{letter}-{max(numbers, default=FIRST_NUMBER - 1) + 1:03}"


def confirm(book: Book, kept: KeptPlan, furnace: Furnace, heating: Heating | None, used: Iterable[str]) -> Confirmed:
    """Take a plan to the furnace: reckoned once more as things stand at this moment, then weighed out of its lots.

    Raises:
        InputRefused: it is not the newest version, it went already, or a condition of it is not met.
    """
    if plan_named(book, kept.code).id != kept.id:
        raise InputRefused(f"{kept.code} was changed meanwhile; look at it again.")
    if book.one("SELECT 1 FROM melt WHERE plan_id = ?", kept.id):
        raise InputRefused(f"{kept.code} was taken to the furnace already.")
    planned = reckoned(book, kept, furnace.pot, heating, book.utc_ms)
    if planned.blocking:
        first = planned.blocking[0]
        more = len(planned.blocking) - 1
        others = f" {more} more stand against it." if more > 1 else " One more stands against it." if more else ""
        raise InputRefused(f"{first.name}: {first.reason} {first.mends}.{others}")
    number = next_heat_number(book, furnace.letter, used)
    left = in_the_pot(book)  # of an earlier melt: asked before this one is written
    melt_id = _write(book, kept, furnace, planned, number, left.melt_id if left is not None and left.whole else None)
    for entry in kept.entries:
        move(book, entry.kg, entry.holder, ("melt", melt_id), "charge", melt_id=melt_id)
    if left is not None:
        move(book, left.kg, ("melt", left.melt_id), ("melt", melt_id), "heel", melt_id=melt_id)
    frozen, dry_ms = planned.frozen, dry_until_ms(book, melt_id)
    return Confirmed(number, kept.code, kept.profile, frozen.charge, frozen.pour_c, frozen.unknown, dry_ms)


def _write(book: Book, kept: KeptPlan, furnace: Furnace, planned: Plan, number: str, continues: int | None) -> int:
    frozen = planned.frozen
    return book.append(
        "melt",
        heat_number=number,
        furnace=furnace.name,
        backend=furnace.backend,
        plan_id=kept.id,
        continues=continues,
        firing_id=None,
        local_date=book.local_date,
        mass_kg=frozen.charge.mass_kg,
        alloy=frozen.charge.alloy,
        form=frozen.charge.form,
        unknown=int(frozen.unknown),
        solidus_c=frozen.charge.solidus_c,
        liquidus_c=frozen.charge.liquidus_c,
        pour_c=frozen.pour_c,
        note=kept.note,
    )


def confirmed(book: Book, heat_number: str, now_ms: int) -> Confirmed:
    """A charge that was confirmed earlier, to be prepared again after a stop before the start.

    Raises:
        InputRefused: there is none of that number, it was never planned here, or the book has something against it now.
    """
    found = melt(book, heat_number)
    if why := refusal_to_start(book, found.heat_number, now_ms):
        raise InputRefused(why)
    row = book.one("SELECT code, profile FROM plan WHERE id = ?", found.plan_id)
    if row is None:
        raise InputRefused(f"{found.heat_number} was never planned here; allowed: a charge that came from a plan")
    charge = Charge(found.mass_kg, found.alloy, found.form, found.solidus_c, found.liquidus_c)
    dry_ms = dry_until_ms(book, found.id)
    return Confirmed(found.heat_number, row["code"], row["profile"], charge, found.pour_c or 0.0, found.unknown, dry_ms)


def as_message(done: Confirmed, profile_toml: str, now_ms: int) -> dict[str, Any]:
    """What `prepare` says over the link: docs/link.md. How long it is proved dry goes with it: a clock of its own."""
    found = of_a_charge(done.charge, done.pour_c, profile_toml)
    if done.dry_until_utc_ms is not None:
        found["charge"] |= {"dry_for_s": max(0.0, (done.dry_until_utc_ms - now_ms) / 1000.0)}
    return {"command": "prepare", "heat_number": done.heat_number, **found}


def of_a_charge(charge: Charge, pour_c: float, profile_toml: str) -> dict[str, Any]:
    """A charge and the profile that heats it, as the link carries them: prepared, or to be forecast."""
    return {"profile_toml": profile_toml, "charge": asdict(charge) | {"pour_c": pour_c}}
