"""`meltkeeper melts judge`: a past firing under today's watches. Switches nothing, writes nothing."""

import json
import sys
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from supervisor.logbook.place import default_directory
from supervisor.logbook.reading import open_log

if TYPE_CHECKING:
    from supervisor.rehearsal.judge import Judgement, Said

SAYS_OTHERWISE = 5
WORDS = {"not judged": "not judged again"}


@click.command("judge")
@click.argument("firing", metavar="NUMBER")
@click.option(
    "--furnace",
    default="workshop",
    show_default=True,
    metavar="FILE or NAME",
    help="Furnace file that the firing was on, as it is today.",
)
@click.option(
    "--data",
    type=click.Path(path_type=Path),
    default=None,
    show_default="~/.local/share/meltkeeper/FURNACE",
    help="Data directory of the furnace.",
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON with the names that docs/logbook.md lists.")
def judge_firing(firing: str, furnace: str, data: Path | None, as_json: bool) -> None:
    """Judge a past firing again: what today's watches would have said, and when, beside what was said then.

    NUMBER is the firing's number or its heat number. The raw words, inputs and times of the log go through the watches
    and the model of this version; what was done (states, presses, notes) is taken from the record, so an earlier trip
    changes nothing that came after it. Worth doing after each update and each change of a limit. Switches nothing.

    Exit status: 0 the same would be said, 2 it cannot be judged, 5 something would be said otherwise.
    """
    from supervisor.furnace.file import read_furnace
    from supervisor.rehearsal.judge import judge_again

    described = read_furnace(furnace)
    with open_log(data or default_directory(described.name)) as log:
        judgement = judge_again(log, firing, described)
    if as_json:
        click.echo(json.dumps(as_object(judgement), ensure_ascii=False, indent=1))
    else:
        _print(judgement)
    if judgement.differs:
        sys.exit(SAYS_OTHERWISE)


def as_object(judgement: "Judgement") -> dict[str, Any]:
    """Stable names with units; times are seconds since the firing's start."""
    return {
        "firing": judgement.firing._asdict(),
        "simulated": judgement.firing.backend == "simulated",
        "judged_by": version("meltkeeper"),
        "learned_from": list(judgement.learned_from),
        "differs": judgement.differs,
        "said": [said._asdict() for said in judgement.said],
        "not_judged": [{"watch": watch, "why": why} for watch, why in judgement.not_judged.items()],
        "remarks": list(judgement.remarks),
    }


def _print(judgement: "Judgement") -> None:
    firing, console = judgement.firing, Console()
    name = firing.heat_number or firing.name
    kind = "simulated firing" if firing.backend == "simulated" else "firing"
    console.print(f"{kind.capitalize()} {firing.id}, {escape(name)}, judged by meltkeeper {version('meltkeeper')}.")
    known = ", ".join(str(number) for number in judgement.learned_from)
    console.print(f"With what had been learned from firings {known}." if known else "With nothing learned.")
    for remark in judgement.remarks:
        console.print(escape(remark))
    if judgement.said:
        console.print(_table(judgement.said))
    else:
        console.print("Nothing was said then, and nothing would be said today.")
    if judgement.not_judged:
        console.print("Not judged again:")
        for why in dict.fromkeys(judgement.not_judged.values()):
            watches = [watch for watch, reason in judgement.not_judged.items() if reason == why]
            console.print(escape(f"  {', '.join(watches)}: {why}."))
    console.print(_verdict(judgement))


def _verdict(judgement: "Judgement") -> str:
    if not judgement.differs:
        return "Today the same would be said." if judgement.said else "So it is the same."
    counts: dict[str, int] = {}
    for said in judgement.said:
        counts[said.verdict] = counts.get(said.verdict, 0) + 1
    told = ", ".join(f"{counts[word]} {word}" for word in ("new", "no longer", "earlier", "later") if word in counts)
    return f"Today it would be said otherwise: {told}."


def _table(said: "tuple[Said, ...]") -> Table:
    table = Table("Then", "Today", "Verdict", "Watch", "Evidence", title="What the watches say")
    for each in said:
        table.add_row(
            _time(each.then_s),
            _time(each.today_s),
            WORDS.get(each.verdict, each.verdict),
            escape(f"{each.title} ({each.watch})"),
            escape(each.evidence_today or each.evidence_then),
        )
    return table


def _time(seconds: float | None) -> str:
    if seconds is None:
        return "–"
    return f"{int(seconds) // 3600}:{int(seconds) // 60 % 60:02}:{seconds % 60:05.2f}"
