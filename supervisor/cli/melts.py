"""`meltkeeper melts`: read past firings. Switches nothing, writes nothing."""

import json
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from supervisor.book.telling import metal_lines, metal_record
from supervisor.cli import melts_export, melts_paper, melts_record, melts_verify
from supervisor.cli.data import data_option as data_option
from supervisor.cli.melts_judge import judge_firing
from supervisor.logbook.in_words import duration, ended, facts, measure, started, timeline
from supervisor.logbook.reading import Firing, open_log

HAPPENED = ("events", "alarms", "commands")

json_option = click.option(
    "--json", "as_json", is_flag=True, help="Print JSON with the names that docs/logbook.md lists."
)


@click.group()
def command() -> None:
    """Read past firings, and keep the record of each melt's metal. Switches nothing; may be used while a firing runs.

    Exit status: 0 done, 2 there is no such log or firing, or refused input.
    """


for each in (
    judge_firing,
    melts_verify.verify_all,
    melts_export.export_firing,
    melts_export.import_record,
    melts_paper.enter,
    *melts_record.COMMANDS,
):
    command.add_command(each)


@command.command("list")
@data_option
@json_option
@click.option("--limit", type=click.IntRange(1, 1_000_000), default=50, show_default=True, help="Newest firings shown.")
def list_firings(data: Path, as_json: bool, limit: int) -> None:
    """List the firings, the newest first.

    'interrupted' is a firing without a closing record: power cut or kill.

    Exit status: 0 done, 2 there is no log.
    """
    with open_log(data) as log:
        firings = log.firings(limit=limit)
    if as_json:
        _print_json({"data": str(data), "firings": [firing._asdict() for firing in firings]})
        return
    if not firings:
        click.echo(f"No firing yet in {data}.")
        return
    table = Table(
        "No.", "Heat number", "Started", "Name", "Ended", "Peak", "Energy", "Lasted", title=_title(firings[0], data)
    )
    for column in (0, 5, 6, 7):
        table.columns[column].justify = "right"
    for column in (2, 4, 5, 6, 7):
        table.columns[column].no_wrap = True
    table.columns[3].overflow, table.padding = "fold", (0, 0)
    for firing in firings:
        table.add_row(
            str(firing.id),
            escape(firing.heat_number or "–"),
            started(firing, "?"),
            escape(firing.name),
            escape(ended(firing)),
            measure(firing.peak_c, 0, "°C"),
            measure(firing.energy_wh, 0, "Wh"),
            duration(firing.lasted_s),
        )
    if not all(firing.clock_confirmed for firing in firings):
        table.caption = "? the clock was not confirmed"
    Console().print(table)


@command.command("show")
@click.argument("firing", metavar="ID")
@data_option
@json_option
def show_firing(firing: str, data: Path, as_json: bool) -> None:
    """Show one firing: its start, its end and results, everything that happened in it, and where its metal went.

    ID is the firing's number or its heat number.

    Exit status: 0 done, 2 there is no such firing.
    """
    with open_log(data) as log:
        found = log.firing(firing)
        record: dict[str, Any] = {
            "firing": found._asdict(),
            "frozen": log.frozen(found.id),
            "events": log.events(found.id),
            "alarms": log.alarms(found.id),
            "commands": log.commands(found.id),
            "minutes": log.minutes(found.id),
            "estimates": log.estimates(found.id),
        }
    record["metal"] = metal_record(data, found.heat_number)
    if as_json:
        _print_json(record)
        return
    console = Console()
    console.print(_facts(found, record["frozen"], data))
    if any(record[kind] for kind in HAPPENED):
        console.print(_timeline(record))
    else:
        console.print("Nothing is recorded beside the samples.")
    if record["metal"] is not None:
        click.echo("\n".join(metal_lines(record["metal"])))


def _print_json(value: Any) -> None:
    click.echo(json.dumps(value, ensure_ascii=False, indent=1))


def _title(firing: Firing, data: Path) -> str:
    with open_log(data) as log:
        what = "simulated furnace" if log.kind() == "simulated" else "furnace"
    return escape(f"Firings of the {what} {firing.furnace} ({data})")


def _facts(found: Firing, frozen: dict[str, Any], data: Path) -> Table:
    table = Table(title=f"Firing {found.id}", show_header=False)
    for name, value in facts(found, frozen):
        table.add_row(escape(name), escape(value))
    table.caption = escape(f"{data}; its record as a file: meltkeeper melts export {found.id} --html FILE")
    return table


def _timeline(record: dict[str, Any]) -> Table:
    table = Table("Time", "What", "Said", "Who", title="What happened")
    for row in timeline(record["events"], record["alarms"], record["commands"]):
        table.add_row(*(escape(text) for text in row))
    return table
