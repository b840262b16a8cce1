"""`meltkeeper melts`: read past firings. Switches nothing; here nothing is written but the export."""

import json
import os
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from supervisor.cli import melts_paper, melts_record, melts_verify
from supervisor.cli.data import data_option as data_option
from supervisor.cli.melts_judge import judge_firing
from supervisor.logbook.export import write_csv
from supervisor.logbook.reading import Firing, open_log
from supervisor.logbook.records import PAPER
from supervisor.refusal import InputRefused

HAPPENED = ("events", "alarms", "commands")

UNITS = {"_c": "°C", "_k": "K", "_wh": "Wh", "_s": "s", "_kg": "kg", "_min": "min"}

json_option = click.option(
    "--json", "as_json", is_flag=True, help="Print JSON with the names that docs/logbook.md lists."
)


@click.group()
def command() -> None:
    """Read past firings, and keep the record of each melt's metal. Switches nothing; may be used while a firing runs.

    Exit status: 0 done, 2 there is no such log or firing, or refused input.
    """


for each in (judge_firing, melts_verify.verify_all, melts_paper.enter, *melts_record.COMMANDS):
    command.add_command(each)


@command.command("list")
@data_option
@json_option
@click.option("--limit", type=click.IntRange(min=1), default=50, show_default=True, help="Newest firings shown.")
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
    table.columns[2].no_wrap = True
    for firing in firings:
        table.add_row(
            str(firing.id),
            escape(firing.heat_number or "–"),
            _started(firing, "?"),
            escape(firing.name),
            escape(_ended(firing)),
            _measure(firing.peak_c, 0, "°C"),
            _measure(firing.energy_wh, 0, "Wh"),
            _duration(firing.lasted_s),
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
    record["metal"] = melts_record.metal_record(data, found.heat_number)
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
        click.echo("\n".join(melts_record.metal_lines(record["metal"])))


@command.command("export")
@click.argument("firing", metavar="ID")
@data_option
@click.option(
    "--csv",
    "target",
    metavar="[FILE]",
    is_flag=False,
    flag_value="-",
    default="-",
    help="Where the table goes; standard output when no FILE is given. An existing file is left alone.",
)
def export_firing(firing: str, data: Path, target: str) -> None:
    """Export the samples of one firing as CSV, every row as it was recorded, units in the column names.

    ID is the firing's number or its heat number. Events, alarms and commands: 'melts show ID --json'.

    Exit status: 0 done, 2 there is no such firing or the file cannot be written.
    """
    with open_log(data) as log:
        found = log.firing(firing)
        if target == "-":
            write_csv(log, found.id, sys.stdout)
            return
        file = Path(target)
        new = file.with_name(f".{file.name}.{os.getpid()}.part")  # a name appears when its table is whole
        try:
            if file.exists():
                raise InputRefused(f"{file} exists and is left alone; name another file.")
            with new.open("w", encoding="utf-8", newline="") as stream:
                rows = write_csv(log, found.id, stream)
            new.rename(file)
        except OSError as error:
            new.unlink(missing_ok=True)
            raise InputRefused(f"{file} cannot be written: {error.strerror}.") from error
    click.echo(f"{rows} samples of firing {found.id} are in {file}.", err=True)


def _print_json(value: Any) -> None:
    click.echo(json.dumps(value, ensure_ascii=False, indent=1))


def _title(firing: Firing, data: Path) -> str:
    with open_log(data) as log:
        what = "simulated furnace" if log.kind() == "simulated" else "furnace"
    return escape(f"Firings of the {what} {firing.furnace} ({data})")


def _facts(firing: Firing, frozen: dict[str, Any], data: Path) -> Table:
    table = Table(title=f"Firing {firing.id}", show_header=False)
    facts = {
        "Name": firing.name,
        "Heat number": firing.heat_number or "none",
        "Profile": firing.profile,
        "Furnace": f"{firing.furnace} ({firing.backend})",
        "Started": _started(firing, " (time not confirmed)"),
        "Ended": _ended(firing),
        "Lasted": _duration(firing.lasted_s),
    }
    facts |= {_words(name): _value(name, value) for name, value in firing.results.items()}
    frozen_plainly = {name: value for name, value in frozen.items() if not isinstance(value, dict | list)}
    facts |= {f"At the start: {_words(name)}": _value(name, value) for name, value in frozen_plainly.items()}
    for name, value in facts.items():
        table.add_row(escape(name), escape(value))
    table.caption = escape(f"{data}; samples: meltkeeper melts export {firing.id} --csv FILE")
    return table


def _timeline(record: dict[str, Any]) -> Table:
    """Events, alarms and commands in the order of time."""
    lines: list[tuple[int, str, str, str]] = []
    for row in record["events"]:
        told = ", ".join(f"{_words(name)} {_value(name, value)}" for name, value in row["detail"].items())
        lines.append((row["t_ms"], row["kind"], told, row["who"]))
    for row in record["alarms"]:
        lines.append((row["t_ms"], f"alarm {row['step']}", f"{row['watch']}: {row['evidence']}", row["who"]))
    for row in record["commands"]:
        answer = "accepted" if row["accepted"] else "refused"
        lines.append((row["t_ms"], f"command {row['kind']}", f"{answer}: {row['sentence']}", row["who"]))
    table = Table("Time", "What", "Said", "Who", title="What happened")
    for t_ms, *texts in sorted(lines, key=lambda line: line[0]):
        table.add_row(_duration(t_ms / 1000), *(escape(text) for text in texts))
    return table


def _started(firing: Firing, doubt: str) -> str:
    local = datetime.fromtimestamp(firing.started_utc_ms / 1000, UTC) + timedelta(minutes=firing.utc_offset_min)
    return f"{local:%Y-%m-%d %H:%M}" + ("" if firing.clock_confirmed else doubt)


def _ended(firing: Firing) -> str:
    if firing.backend == PAPER:
        return "from paper"
    if firing.state == "open":
        return "running now"
    if firing.state == "interrupted":
        return "interrupted"
    return firing.state + (f": {firing.first_cause}" if firing.first_cause else "")


def _measure(value: float | None, places: int, unit: str) -> str:
    return "–" if value is None else f"{value:.{places}f} {unit}"


def _duration(seconds: float | None) -> str:
    if seconds is None:
        return "–"
    whole = int(seconds)
    return f"{whole // 3600}:{whole // 60 % 60:02}:{whole % 60:02}"


def _words(name: str) -> str:
    unit = next((suffix for suffix in UNITS if name.endswith(suffix)), "")
    return name.removesuffix(unit).replace("_", " ")


def _value(name: str, value: Any) -> str:
    unit = next((text for suffix, text in UNITS.items() if name.endswith(suffix)), "")
    match value:
        case None:
            return "unknown"
        case bool():
            return "yes" if value else "no"
        case int() | float():
            return f"{value:g} {unit}" if abs(value) < 1 else f"{value:.6g} {unit}".rstrip()
        case _:
            return str(value)
