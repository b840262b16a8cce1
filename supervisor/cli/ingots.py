"""`meltkeeper ingots`: what is on the shelf, what it is made of, what becomes of it, and quarantine."""

from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from supervisor.book import ingots as book_ingots
from supervisor.book import lots, quarantine, tree
from supervisor.book.ingots import Ingot
from supervisor.book.melts import melt_of
from supervisor.book.pedigree import Pedigree
from supervisor.book.quarantine import State
from supervisor.book.writing import Book
from supervisor.cli.melts import data_option
from supervisor.cli.opened_book import print_json, reading, writing
from supervisor.cli.telling import tell_furnace
from supervisor.metal.composition import Composition
from supervisor.metal.descent import Holder
from supervisor.metal.masses import kg_of

HOW = {"paper": ", from paper", "simulated": ", simulated"}
"""What is said beside an ingot that nobody can hold, or of which only a paper tells."""
NOT_TESTED = "Estimated from lots, not tested. Not for lifting, pressure or vehicles."
LEAST_SHOWN_PCT = 0.005

json_option = click.option(
    "--json", "as_json", is_flag=True, help="Print JSON with the names that docs/ingots.md lists."
)


@click.group()
def command() -> None:
    """See the ingots, note how they cut, use them, return them as scrap; put metal under quarantine.

    A name is a heat number and the ingot's number: A-087/3; on a label and here A-087-3 is the same.

    Exit status: 0 done, 2 refused input.
    """


@command.command("list")
@data_option
@json_option
@click.option("--all", "gone", is_flag=True, help="Those that are used up, too.")
def list_ingots(data: Path, as_json: bool, gone: bool) -> None:
    """List the ingots on the shelf, the newest melt first.

    Exit status: 0 done, 2 there is no such data directory.
    """
    with reading(data) as book:
        found = [ingot for ingot in book_ingots.ingots(book) if gone or not ingot.is_gone]
        held, pedigree = quarantine.state(book), Pedigree(book)
        rows = [_as_json(ingot, held, pedigree.of(ingot.holder)) for ingot in found]
    if as_json:
        print_json({"data": str(data), "ingots": rows})
        return
    if not rows:
        click.echo("No ingot is on the shelf.")
        return
    table = Table("Ingot", "Cast", "Left, kg", "Where", "Cuts", "Quarantine", caption=NOT_TESTED)
    for row in rows:
        left = "not weighed" if row["cast_kg"] is None else f"{row['left_kg']:.3f}"
        cut = f"{row['score']}, {row['cut']}" if row["score"] else "–"
        texts = (
            row["name"],
            row["cast_on"] + HOW.get(row["backend"], ""),
            left,
            row["status"],
            cut,
            row["quarantine"] or "clear",
        )
        table.add_row(*(escape(text) for text in texts))
    Console().print(table)


@command.command("show")
@click.argument("name")
@data_option
@json_option
def show_ingot(name: str, data: Path, as_json: bool) -> None:
    """Show one ingot: what is likely in it, where its metal came from and went, and what was noted of it.

    Exit status: 0 done, 2 there is no such ingot.
    """
    with reading(data) as book:
        ingot = _ingot(book, name)
        held = quarantine.state(book)
        record = _as_json(ingot, held, Pedigree(book).of(ingot.holder))
        record["from"] = _relatives(held, ingot.holder, down=False)
        record["to"] = _relatives(held, ingot.holder, down=True)
        record["noted"] = book_ingots.events(book, ingot.id)
    if as_json:
        print_json(record)
        return
    click.echo("\n".join(_lines(record)))


def _ingot(book: Book, name: str) -> Ingot:
    return book_ingots.ingot_of(book, tree.named(book, name, ("ingot",)).id)


def _as_json(ingot: Ingot, held: State, found: Composition) -> dict[str, Any]:
    """An ingot with the names that docs/ingots.md lists."""
    return {
        "name": ingot.name,
        "heat_number": ingot.heat_number,
        "cast_on": ingot.local_date,
        "backend": ingot.backend,
        "maker": ingot.maker,
        "note": ingot.note,
        "cast_kg": ingot.cast_kg,
        "left_kg": ingot.left_kg,
        "status": ingot.status,
        "score": ingot.score,
        "cut": ingot.cut,
        "quarantine": held.why(ingot.holder),
        "tested": False,
        "composition_pct": {
            element: {"likely": found.likely.get(element), "low": found.low[element], "high": found.high[element]}
            for element in found.high
        },
    }


def _relatives(held: State, holder: Holder, *, down: bool) -> list[dict[str, Any]]:
    walked = held.ledger.descendants(holder) if down else held.ledger.ancestors(holder)
    return [
        {
            "name": held.names[each.holder],
            "kind": each.holder.kind,
            "steps": each.steps,
            "kg": each.kg,
            "quarantine": held.why(each.holder),
        }
        for each in walked
    ]


def _lines(record: dict[str, Any]) -> list[str]:
    left = (
        "not weighed yet"
        if record["cast_kg"] is None
        else f"{record['left_kg']:.3f} of {record['cast_kg']:.3f} kg left"
    )
    how = HOW.get(record["backend"], "")
    said = [f"{record['name']}: {left}, {record['status']}. Cast {record['cast_on']} by {record['maker']}{how}."]
    said += [record["quarantine"]] if record["quarantine"] else ["Not under quarantine now."]
    said.append(f"Likely, in %: {_percent(record['composition_pct'])}. {NOT_TESTED}")
    for words, key in (("Made from", "from"), ("Went into", "to")):
        names = [f"{each['name']} ({each['kg']:.3f} kg)" for each in record[key]]
        said.append(f"{words}: {', '.join(names) or 'nothing'}.")
    for event in record["noted"]:
        detail = event["detail"]
        score = f", score {event['score']}" if event["score"] else ""
        kg = f", {detail['kg']:.3f} kg" if "kg" in detail else ""
        said.append(f"{event['kind']}{score}{kg}: {detail.get('text', '') or '–'} ({event['who']})")
    return said


def _percent(composition: dict[str, dict[str, float | None]]) -> str:
    """The elements of which there is likely something, or may be as much as matters where nobody knows."""
    told = []
    for element, band in composition.items():
        likely, low, high = band["likely"], band["low"] or 0.0, band["high"] or 0.0
        if element == "Al":
            continue
        if likely is None:
            told.append(f"{element} up to {high:.1f}")
        elif likely >= LEAST_SHOWN_PCT:
            told.append(f"{element} {likely:.2f} ({low:.2f} to {high:.2f})")
    return ", ".join(told) or "nothing but aluminium"


@command.command("weigh")
@click.argument("name")
@click.argument("kg")
@data_option
def weigh(name: str, kg: str, data: Path) -> None:
    """Weigh an ingot, or weigh it again. The first mass stays on record.

    Exit status: 0 done, 2 refused: more than is left of its melt.
    """
    with writing(data) as book:
        click.echo(book_ingots.weigh(book, _ingot(book, name), kg_of(kg)))


@command.command("note")
@click.argument("name")
@click.argument("text", required=False, default="")
@click.option("--score", type=click.IntRange(1, 5), help="How it cut: 1 unusable, 2 poor, 3 fair, 4 good, 5 best.")
@data_option
def note(name: str, text: str, score: int | None, data: Path) -> None:
    """Note how an ingot cut, with a score, or anything else of it.

    Exit status: 0 done, 2 refused input.
    """
    with writing(data) as book:
        ingot = _ingot(book, name)
        said = book_ingots.note(book, ingot, text) if score is None else book_ingots.machined(book, ingot, score, text)
    click.echo(said)


@command.command("use")
@click.argument("name")
@click.argument("kg", required=False)
@click.option("--for", "text", default="", help="What became of it.")
@click.option(
    "--how", type=click.Choice(["used", "sold", "lost"]), default="used", show_default=True, help="How it went."
)
@data_option
def use(name: str, kg: str | None, text: str, how: str, data: Path) -> None:
    """Write down that metal of an ingot was used; without KG all that is left of it.

    Exit status: 0 done, 2 refused: there is not so much of it.
    """
    with writing(data) as book:
        ingot = _ingot(book, name)
        click.echo(book_ingots.use(book, ingot, None if kg is None else kg_of(kg), text, how))
        if why := quarantine.state(book).why(ingot.holder):
            click.echo(why)


@command.command("return")
@click.argument("name")
@click.argument("kg", required=False)
@click.option("--into", help="A lot of returns that is there already; otherwise it becomes a lot of its own.")
@click.option("--chips", is_flag=True, help="It comes back as chips.")
@data_option
def return_ingot(name: str, kg: str | None, into: str | None, chips: bool, data: Path) -> None:
    """Return metal of an ingot as scrap: it becomes a lot and keeps its descent.

    Without KG all that is left of it. A cast bar hides water in cracks: the lot has to be dried before it is charged.

    Exit status: 0 done, 2 refused: there is not so much of it.
    """
    with writing(data) as book:
        ingot = _ingot(book, name)
        lot_id = lots.lot_for_returns(book, ingot.name, melt_of(book, ingot.melt_id).alloy, into=into, chips=chips)
        click.echo(book_ingots.return_as_scrap(book, ingot, None if kg is None else kg_of(kg), lot_id))
        click.echo(f"It is lot {lots.lot_of(book, lot_id).code} now: dry it before it is charged.")
        if why := quarantine.state(book).why(Holder("lot", lot_id)):
            click.echo(why)


@command.command("quarantine")
@click.argument("name")
@click.option("--reason", required=True, help="What was found, or what is feared.")
@data_option
@json_option
def set_quarantine(name: str, reason: str, data: Path, as_json: bool) -> None:
    """Put a lot, a melt or an ingot under quarantine, with all that holds its metal.

    It reaches plans, charges that are weighed already, the firing that runs now, and every child, also later ones. None
    of it can be charged until somebody clears it. Metal that is used already is named all the same.

    Exit status: 0 done, 2 refused input.
    """
    with writing(data) as book:
        touched = quarantine.set_quarantine(book, tree.named(book, name), reason)
    told = tell_furnace(data, touched.melts, f"{touched.name}: {reason}", lifted=False)
    if as_json:
        print_json({**touched._asdict(), "holder": touched.holder.kind, "furnace": told})
        return
    click.echo("\n".join(quarantine.sentences(touched)))
    if told:
        click.echo(told)


@command.command("clear")
@click.argument("name")
@click.option("--reason", required=True, help="Why it may be charged again.")
@data_option
def clear(name: str, reason: str, data: Path) -> None:
    """Lift the quarantine of a lot, a melt or an ingot, and of what comes of it alone.

    Exit status: 0 done, 2 refused input, or it is not under quarantine.
    """
    with writing(data) as book:
        before = quarantine.state(book)
        click.echo(quarantine.clear(book, tree.named(book, name), reason))
        freed = before.reached.keys() - quarantine.state(book).reached.keys()
        free = [before.names[each] for each in freed if each.kind == "melt"]
    if told := tell_furnace(data, free, f"{name}: {reason}", lifted=True):
        click.echo(told)
