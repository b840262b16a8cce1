"""`meltkeeper lots`: the scrap that is there, what it is taken for, what is left of it, and whether it is dry."""

from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from hardware.clock import utc_ms
from supervisor.book import lots as book_lots
from supervisor.book import quarantine, tree
from supervisor.book.lots import Lot
from supervisor.book.pedigree import Pedigree
from supervisor.book.proofs import dried, stored_cold
from supervisor.book.schema import SHAPES, SURFACES
from supervisor.book.writing import Book
from supervisor.cli.data import data_option
from supervisor.cli.lots_words import as_json_of, lines, until
from supervisor.cli.numbers import NUMBER, NumberIn
from supervisor.cli.opened_book import print_json, reading, writing
from supervisor.cli.telling import tell_furnace
from supervisor.metal.composition import SURENESS
from supervisor.metal.descent import Holder
from supervisor.metal.forms import FORMS
from supervisor.metal.held import DRY_AT_C
from supervisor.metal.item import ORIGINS
from supervisor.metal.masses import kg_of, kg_or_none_of
from supervisor.refusal import InputRefused

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON; docs/metal.md lists the names.")


@click.group()
def command() -> None:
    """Weigh scrap in, say what it is, note that it was dried, put it under quarantine. Switches nothing.

    A lot is scrap of one origin; its name is L-1, L-2, and so on.

    Exit status: 0 done, 2 refused input.
    """


@command.command("list")
@data_option
@json_option
@click.option("--all", "gone", is_flag=True, help="Those that are used up, too.")
def list_lots(data: Path, as_json: bool, gone: bool) -> None:
    """List the lots, the newest first.

    Exit status: 0 done, 2 there is no such data directory.
    """
    with reading(data) as book:
        held, now_ms = quarantine.state(book), utc_ms()
        rows = [as_json_of(book, lot, held, now_ms) for lot in book_lots.lots(book, gone=gone)]
    if as_json:
        print_json({"data": str(data), "lots": rows})
        return
    if not rows:
        click.echo("No lot yet. Weigh something in: meltkeeper lots add 1.90 --form solid_offcut")
        return
    table = Table("Lot", "What", "kg", "Form", "Taken for", "Sure of it", "Dry", "Quarantine")
    table.columns[2].justify = "right"
    for row in rows:
        texts = (row["code"], row["name"], f"{row['kg']:.3f}", FORMS[row["form"]].words, row["alloy"], row["certainty"])
        dry = until(row["dry_until_utc_ms"]) if row["dry"] else "no"
        table.add_row(*(escape(text) for text in (*texts, dry, "yes" if row["quarantine"] else "clear")))
    Console().print(table)


@command.command("show")
@click.argument("lot")
@data_option
@json_option
def show_lot(lot: str, data: Path, as_json: bool) -> None:
    """Show one LOT: what is known of it, what is likely in it, whether it counts as dry.

    Exit status: 0 done, 2 there is no such lot.
    """
    with reading(data) as book:
        found = _lot(book, lot)
        row = as_json_of(book, found, quarantine.state(book), utc_ms())
        inside = Pedigree(book).of(Holder("lot", found.id))
        row["composition_pct"] = {
            element: {"likely": inside.likely.get(element), "low": inside.low[element], "high": inside.high[element]}
            for element in inside.high
        }
    if as_json:
        print_json(row)
        return
    click.echo("\n".join(lines(row)))


FORM = click.option("--form", type=click.Choice(tuple(FORMS)), help="How it melts and what it loses.")
DESCRIBED = (
    click.option("--origin", type=click.Choice(tuple(ORIGINS)), help="Where it comes from."),
    click.option("--name", help="What you call it. [default: words for its origin]"),
    click.option("--alloy", "alloy_name", help="What you take it for: a row of the table, as 6082, or unknown."),
    click.option("--sure", "certainty", type=click.Choice(tuple(SURENESS)), help="How sure you are of that."),
    click.option("--surface", type=click.Choice(SURFACES), help="What is on it."),
    click.option("--shape", type=click.Choice(SHAPES), help="Solid; hollow and open; closed; or nobody looked."),
    click.option("--longest-mm", type=NUMBER, help="Length of its longest piece, mm."),
    click.option("--pieces", type=int, help="How many pieces."),
    click.option("--measured", multiple=True, metavar="ELEMENT=PCT", help="wt% of one element, as Mg=0.25; repeat it."),
    click.option("--note", help="Anything else."),
)


def described(function: Any) -> Any:
    """Give a command the options that describe a lot."""
    for option in reversed(DESCRIBED):
        function = option(function)
    return function


@command.command("add")
@click.argument("mass")
@FORM
@described
@data_option
@json_option
def add_lot(mass: str, form: str | None, data: Path, as_json: bool, **given: Any) -> None:
    """Weigh a lot in. MASS in kg: 1.90, 1,90 and 1900g are the same; it has no default.

    What is not said is unknown, and unknown is never taken for dry, open, bare or known metal.

    Exit status: 0 done, 2 refused input.
    """
    if form is None:
        raise InputRefused(f"--form is missing; allowed: {', '.join(FORMS)}")
    kg = kg_of(mass)
    with writing(data) as book:
        lot = book_lots.add(book, kg, form=form, **_given(given))
        row = as_json_of(book, lot, quarantine.state(book), utc_ms())
    _tell(row, as_json, f"{row['code']}: {row['kg']:.3f} kg of {row['name']}, taken for {row['alloy']}.")


@command.command("describe")
@click.argument("lot")
@FORM
@described
@data_option
@json_option
def describe_lot(lot: str, form: str | None, data: Path, as_json: bool, **given: Any) -> None:
    """Mend what is known of LOT; what was believed before stays on record, and all that came of it is reckoned anew.

    Exit status: 0 done, 2 refused input.
    """
    changes = _given(given) | ({} if form is None else {"form": form})
    if "alloy_name" in changes:
        changes["alloy"] = changes.pop("alloy_name")
    if not changes:
        raise InputRefused("Nothing is said of the lot; allowed: one option at least")
    with writing(data) as book:
        found = book_lots.describe(book, _lot(book, lot).id, **changes)
        row = as_json_of(book, found, quarantine.state(book), utc_ms())
    _tell(row, as_json, "\n".join(lines(row)))


@command.command("weigh")
@click.argument("lot")
@click.argument("mass")
@data_option
@json_option
def weigh_lot(lot: str, mass: str, data: Path, as_json: bool) -> None:
    """Weigh LOT again: MASS in kg is what it weighs now; 0: nothing is left. The difference stays as a correction.

    Exit status: 0 done, 2 refused input.
    """
    kg = kg_or_none_of(mass)
    with writing(data) as book:
        found = book_lots.weigh(book, _lot(book, lot).id, kg)
        row = as_json_of(book, found, quarantine.state(book), utc_ms())
    _tell(row, as_json, f"{row['code']}: {row['kg']:.3f} kg.")


@command.command("dry")
@click.argument("names", nargs=-1, required=True, metavar="NAME...")
@click.option("--at-c", type=NUMBER, help=f"What the oven held, °C; {DRY_AT_C:g} at least.")
@click.option("--minutes", type=NUMBER, help="For how long.")
@click.option("--ended-min-ago", type=NumberIn(0, 24 * 60), default=0.0, help="When it came out.")
@click.option("--cold", is_flag=True, help="Not dried: stored cold or wet since, so that the proof ends.")
@click.option("--note", default="", help="Anything else.")
@data_option
def dry_lots(
    names: tuple[str, ...],
    at_c: float | None,
    minutes: float | None,
    ended_min_ago: float,
    cold: bool,
    note: str,
    data: Path,
) -> None:
    """Note that each NAME (a lot, an ingot or a mould) was dried in an oven. The proof ends after 12 h.

    What lay in the furnace itself is proved by that firing's own record: meltkeeper melts dry.

    Exit status: 0 done, 2 refused input.
    """
    with writing(data) as book:
        holders = [dryable(book, name) for name in names]
        if cold:
            for holder in holders:
                stored_cold(book, holder)
        elif at_c is None or minutes is None:
            raise InputRefused("--at-c or --minutes is missing; a proof says how hot and how long. Or --cold.")
        else:
            ended_ms = book.utc_ms - round(60_000 * ended_min_ago)
            dried(book, holders, at_c, minutes, ended_utc_ms=ended_ms, note=note)
    what = "counts as dry no more" if cold else "counts as dry for 12 h from then, unless it is stored cold"
    click.echo(f"{', '.join(name.upper() for name in names)}: {what}.")


@command.command("quarantine")
@click.argument("lot")
@click.option("--reason", required=True, help="What was found.")
@data_option
def quarantine_lot(lot: str, reason: str, data: Path) -> None:
    """Put LOT under quarantine, and with it everything that holds metal of it.

    Exit status: 0 done, 2 refused input.
    """
    with writing(data) as book:
        touched = quarantine.set_quarantine(book, tree.named(book, lot, ("lot",)), reason)
    click.echo(f"{touched.name} is under quarantine.")
    for word, reached in (("Holds metal of it", touched.children), ("Plans that name it", touched.plans)):
        if reached:
            click.echo(f"{word}: {', '.join(reached)}.")
    _echo(tell_furnace(data, touched.melts, f"{touched.name}: {reason}", lifted=False))


@command.command("release")
@click.argument("lot")
@click.option("--reason", required=True, help="Why it may be charged again.")
@data_option
def release_lot(lot: str, reason: str, data: Path) -> None:
    """Clear LOT: it, and what comes of it alone, may be charged again.

    Exit status: 0 done, 2 refused input.
    """
    with writing(data) as book:
        holder = tree.named(book, lot, ("lot",))
        held = quarantine.state(book)
        melts = [held.names[each] for each in held.children(holder) if each.kind == "melt"]
        sentence = quarantine.clear(book, holder, reason)
    click.echo(sentence)
    _echo(tell_furnace(data, melts, f"{lot}: {reason}", lifted=True))


def dryable(book: Book, name: str) -> tuple[str, int]:
    """A lot, an ingot or a mould by its name.

    Raises:
        InputRefused: there is none.
    """
    from supervisor.book.moulds import mould_named

    if name.strip().upper().startswith("M-"):
        return "mould", mould_named(book, name).id
    holder = tree.named(book, name, ("lot", "ingot"))
    return holder.kind, holder.id


def _lot(book: Book, name: str) -> Lot:
    return book_lots.lot_of(book, tree.named(book, name, ("lot",)).id)


def _given(given: dict[str, Any]) -> dict[str, Any]:
    """The options that were given, percentages as numbers."""
    measured = {}
    for each in given.pop("measured"):
        element, _, pct = each.partition("=")
        try:
            measured[element] = float(pct.replace(",", "."))
        except ValueError:
            raise InputRefused(f"--measured is {each!r}; allowed: ELEMENT=PCT, as Mg=0.25") from None
    kept = {name: value for name, value in given.items() if value is not None}
    return kept | ({"measured": measured} if measured else {})


def _tell(row: dict[str, Any], as_json: bool, sentence: str) -> None:
    if as_json:
        print_json(row)
    else:
        click.echo(sentence)


def _echo(sentence: str) -> None:
    if sentence:
        click.echo(sentence)
