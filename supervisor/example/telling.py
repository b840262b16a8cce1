"""What the book says of the example: written as a person writes it, each entry at its own hour.

One transaction a melt; the hour of the book moves on within it, so that rows stand in the order of their times.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

from supervisor.book import additions, closing, ingots, lots, melts, moulds, paper, pot, quarantine, tree
from supervisor.book.charging import Confirmed, Furnace, confirm
from supervisor.book.plans import Entry, keep
from supervisor.book.proofs import dried
from supervisor.book.writing import Book
from supervisor.care import keeping
from supervisor.example.shop import (
    APPRENTICE,
    BINS,
    FOUND,
    FOUND_AFTER,
    FOUND_DAYS,
    MOULD_KG,
    MOULD_ML,
    MOULDS,
    NEIGHBOUR,
    OWNER,
    PAPER_MELTS,
    Story,
)
from supervisor.metal.descent import Holder
from supervisor.metal.plan import Heating

MINUTE_MS, HOUR_MS, DAY_MS = 60_000, 3_600_000, 86_400_000
OPENED_DAYS = 171
"""So many days before the day on which it is made the shop began to keep its book here."""

PAPER_FROM_DAYS, PAPER_TO_DAYS = 930, 180
START_HOUR = 14
VOLT_READ_S = 1500
"""Somebody looks at the meter so long after the start, while the element has full power."""

PROFILE = "example/ingots-fast"

LAST_OF_PAPER = f"A-{PAPER_MELTS:03}"

ANSWERS = dict.fromkeys(
    ("heel", "looked", "hollow", "painted", "chips", "unknown", "lead", "bismuth", "tin", "zinc", "magnesium", "damp"),
    "yes",
)
"""Every caution of every charge was read."""


class Times(NamedTuple):
    """Which firing a melt was, and when it was what, ms of UTC."""

    firing_id: int
    started_ms: int
    over_ms: int  # poured, or the end of its heat
    poured: bool


def start_ms(made_utc_ms: int, days_ago: int) -> int:
    """The hour at which a melt starts: early in the afternoon where the machine stands, so many days back."""
    made = datetime.fromtimestamp(made_utc_ms / 1000).astimezone()
    day = (made - timedelta(days=days_ago)).replace(hour=START_HOUR, minute=0, second=0, microsecond=0)
    return round(day.timestamp() * 1000)


def paper_book(made_utc_ms: int) -> list[paper.PaperMelt]:
    """The heats that the shop's paper book brings: drawn, the same each time, and invented like all of it."""
    draw = Random("paper book")
    found = []
    for number in range(1, PAPER_MELTS + 1):
        days = PAPER_FROM_DAYS - (PAPER_FROM_DAYS - PAPER_TO_DAYS) * (number - 1) // (PAPER_MELTS - 1)
        bin_code, alloy_yield = draw.choice((("L-1", 0.965), ("L-1", 0.965), ("L-2", 0.92), ("L-3", 0.955)))
        in_kg = round(draw.uniform(1.6, 2.4), 2)
        out_kg = in_kg * (alloy_yield + draw.gauss(0.0, 0.008))
        each_kg = round(out_kg / 4.0, 2)
        ohm_share = 1.0 + 0.06 * number / PAPER_MELTS
        minutes = round((58.0 + 14.0 * in_kg) * ohm_share * draw.uniform(0.97, 1.03))
        day = datetime.fromtimestamp(start_ms(made_utc_ms, days) / 1000).astimezone().date()
        found.append(
            paper.paper_melt(
                f"A-{number:03}",
                day.isoformat(),
                [f"{in_kg:.2f} {bin_code}"],
                [f"{each_kg:.2f}"] * 4,
                dross_kg=f"{max(0.01, in_kg - 4.0 * each_kg - 0.02):.2f}",
                minutes=str(minutes),
                kwh=f"{0.9 + 1.05 * in_kg * ohm_share:.1f}",
                maker=OWNER,
            )
        )
    return found


def open_shop(book: Book, furnace: str, found: Sequence[paper.PaperMelt], *, typed_in: bool = True) -> None:
    """The day on which the shop began to keep its book here: the paper book typed in, bins weighed, moulds written."""
    for code, name, alloy, form in (
        ("L-1", "plate of the paper years", "6082", "solid_offcut"),
        ("L-2", "extrusion of the paper years", "6060", "thin_sheet"),
        ("L-3", "castings of the paper years", "A356.0", "old_casting"),
    ):
        kg = sum(each.kg for melt in found for each in melt.charged if each.name == code)
        lots.add(book, round(kg, 3), form=form, name=name, alloy_name=alloy, certainty="likely", note="from paper")
    for melt in found if typed_in else ():
        paper.enter(book, furnace, melt)
    book.utc_ms += HOUR_MS
    for each in BINS:
        lots.add(book, each.kg, **each.described)
    for _ in range(MOULDS):
        moulds.add_mould(book, "ingot tray", MOULD_ML, mass_kg=MOULD_KG, material="cast iron")


def close_paper(book: Book, data: Path, found: Sequence[paper.PaperMelt]) -> None:
    """Nothing is open of the heats of the paper book: each is closed with the gap that it has."""
    book.utc_ms += HOUR_MS
    for melt in found:
        closing.close(book, data, melt.heat_number)


def before(book: Book, story: Story, furnace: Furnace, heating: Heating) -> Confirmed:
    """Dry, plan, confirm: half an hour before the start. The book's hour is the start's."""
    started_ms = book.utc_ms
    entries = [Entry(_holder(book, name), kg) for name, kg in story.charge]
    added = [_holder(book, story.added[0])] if story.added else []
    book.utc_ms = started_ms - 45 * MINUTE_MS
    trays = moulds.moulds(book)
    laid_in = [*(entry.holder for entry in entries), *added, *(("mould", tray.id) for tray in trays)]
    dried(book, laid_in, 160.0, 120.0, note="box B")
    book.utc_ms = started_ms - 30 * MINUTE_MS
    kept = keep(
        book,
        entries,
        name=story.title,
        profile=PROFILE,
        mould_ids=[tray.id for tray in trays],
        answers={**ANSWERS, "air": story.air},
    )
    book.utc_ms = started_ms - 10 * MINUTE_MS
    done = confirm(book, kept, furnace, heating, [LAST_OF_PAPER])
    book.utc_ms = started_ms
    return done


def after(book: Book, story: Story, times: Times, data: Path | None) -> None:
    """What was written down from the pour on. data: None where there is no log to close against yet."""
    found = melts.melt(book, story.heat_number)
    if times.poured:
        book.utc_ms = times.started_ms + VOLT_READ_S * 1000
        read = {"t_s": float(VOLT_READ_S)}
        keeping.enter(
            book, "mains voltage", value=story.volt, firing_id=times.firing_id, note="at full power", detail=read
        )
    if story.added:
        book.utc_ms = times.over_ms - 25 * MINUTE_MS
        additions.write_down(book, found, [Entry(_holder(book, story.added[0]), story.added[1])])
    for minutes, who in ((31, OWNER), (61, APPRENTICE), (185, NEIGHBOUR)):
        book.utc_ms, book.who = times.over_ms + minutes * MINUTE_MS, who
        melts.walked(book, found, "nothing")
    book.who = OWNER
    book.utc_ms = times.over_ms + 5 * HOUR_MS
    if story.remark:
        melts.remark(book, found, story.remark)
    if not times.poured:
        pot.say(book, found, "charge stays")
        if data is not None:
            closing.close(book, data, story.heat_number)
        return
    book.utc_ms = times.over_ms + 19 * HOUR_MS
    ingots.count(book, found, story.ingots_kg, OWNER)
    melts.dross(book, found, story.dross_kg)
    pot.say(book, found, "drained")
    if story.closes and data is not None:
        book.utc_ms += 5 * MINUTE_MS
        closing.close(book, data, story.heat_number)
    _later(book, story, times)


def _later(book: Book, story: Story, times: Times) -> None:
    """What became of the ingots, in the order of days."""
    acts: list[tuple[int, str, Sequence[Any]]] = []
    acts += [(cut.days, "cut", (cut.ingot, cut.score, cut.text)) for cut in story.cut]
    acts += [(days, "note", (ingot, text)) for ingot, days, text in story.notes]
    acts += [(days, "used", (ingot, kg, text)) for ingot, days, kg, text in story.used]
    acts += [(days, "returned", (ingot, kg)) for ingot, days, kg in story.returned]
    for days, what, (number, *said) in sorted(acts, key=lambda act: act[0]):
        book.utc_ms = times.started_ms + days * DAY_MS + 4 * HOUR_MS
        ingot = ingots.ingot_of(book, tree.named(book, f"{story.heat_number}/{number}", ("ingot",)).id)
        if what == "cut":
            ingots.machined(book, ingot, said[0], said[1])
        elif what == "note":
            ingots.note(book, ingot, said[0])
        elif what == "used":
            ingots.use(book, ingot, said[0], said[1])
        else:
            lot = lots.lot_for_returns(book, ingot.name, melts.melt_of(book, ingot.melt_id).alloy)
            ingots.return_as_scrap(book, ingot, said[0], lot)
    if story.heat_number == FOUND_AFTER:
        book.utc_ms = times.started_ms + FOUND_DAYS * DAY_MS
        holder = _holder(book, "bar ends")
        lots.describe(book, holder.id, alloy="2011", certainty="likely", note=f"Looked up: {FOUND}.")
        quarantine.set_quarantine(book, holder, FOUND)


def _holder(book: Book, name: str) -> Holder:
    """A bin by what the stories call it, or an ingot by its name."""
    numbers = {each.key: number for number, each in enumerate(BINS, 4)}  # three lots of the paper years come first
    return tree.named(book, f"L-{numbers[name]}" if name in numbers else name, ("lot", "ingot"))
