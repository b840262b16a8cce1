"""`meltkeeper drill`: break a simulated furnace in every known way, fire it in health, and count. Switches nothing."""

import json
import os
import shlex
import sys
from pathlib import Path

import click
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn, TimeRemainingColumn

from supervisor.cli.numbers import NumberIn
from supervisor.refusal import InputRefused

FITTED = ("none", "meter", "current", "second-sensor", "tray-probe", "mains-presence")
MISSED = 3
MOST_MELTS = 12


@click.command()
@click.option("--furnace", default="workshop", show_default=True, metavar="NAME|FILE", help="Furnace to drill.")
@click.option("--plant", metavar="MODULE:CLASS", help="Physics to use instead of the furnace's own.")
@click.option("--cases", type=click.IntRange(0, 100_000), default=100, show_default=True,
              help="Faults put in, spread evenly over those that a watch must notice; the others come in addition, a "
                   "quarter as often.")  # fmt: skip
@click.option("--hours", type=NumberIn(0, 100_000), default=20.0, show_default=True,
              help="Hours of firing in good health.")  # fmt: skip
@click.option("--seed", type=click.IntRange(0, 1_000_000), default=1, show_default=True,
              help="Same seed, same report.")  # fmt: skip
@click.option("--fault", "faults", multiple=True, metavar="NAME", help="Put in these alone; may be repeated.")
@click.option("--fitted", multiple=True, type=click.Choice(FITTED),
              help="Fitted beside the one thermocouple, and nothing else; may be repeated.  [default: as the furnace "
                   "file says]")  # fmt: skip
@click.option("--learned", "melts", type=click.IntRange(0, MOST_MELTS), default=3, show_default=True, metavar="N",
              help="Melts of each furnace to learn from first; 0: nothing is learned.")  # fmt: skip
@click.option("--workers", type=click.IntRange(1, 256), help="Processes side by side.  [default: all cores]")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object; names are in docs/faults.md.")
@click.option("--html", type=click.Path(dir_okay=False, path_type=Path), help="Write the report to this one file too.")
def command(
    furnace: str,
    plant: str | None,
    cases: int,
    hours: float,
    seed: int,
    faults: tuple[str, ...],
    fitted: tuple[str, ...],
    melts: int,
    workers: int | None,
    as_json: bool,
    html: Path | None,
) -> None:
    """See what the supervision of this furnace is worth: everything here is simulated, and nothing is switched.

    Furnaces within 20 % of the description are made and learned. Faults are put into melts on them at seeded moments:
    on a ramp, at the gate, while the metal melts, at a hold, and after the end. Who speaks first, when are relay and
    contactor off, how hot did it get? Then come healthy firings with lids, additions and a wandering mains: every
    alarm in them is a false one.

    Exit status: 0 done, 2 cannot run, 3 a fault was missed that a watch must notice.
    """
    from supervisor.furnace.file import read_heated_furnace
    from supervisor.rehearsal.drill.campaign import Wish, drill
    from supervisor.rehearsal.drill.figures import figures
    from supervisor.rehearsal.drill.page import page
    from supervisor.rehearsal.drill.subject import subject
    from supervisor.rehearsal.drill.words import in_words

    _check(faults, fitted)
    parts = tuple(name for name in fitted if name != "none") if fitted else None
    of = subject(read_heated_furnace(furnace), plant, parts, melts)  # type: ignore[arg-type]  # the choice is theirs
    wish = Wish(of, cases, hours, seed, faults, workers or os.cpu_count() or 1)
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    show = not as_json and sys.stderr.isatty()
    with Progress(
        *columns, TimeRemainingColumn(), console=Console(stderr=True), transient=True, disable=not show
    ) as progress:
        tasks = {}

        def tell(what: str, done: float, of_all: float) -> None:
            if what not in tasks:
                tasks[what] = progress.add_task(f"{what} (simulated)", total=round(of_all))
            progress.update(tasks[what], completed=round(done))

        report = figures(drill(wish, tell))
    if html is not None:
        html.write_text(page(report, f"meltkeeper drill {shlex.join(sys.argv[2:])}"), encoding="utf-8")
    if as_json:
        click.echo(json.dumps(report, ensure_ascii=False))
    else:
        click.echo("\n".join(in_words(report)))
    if report["missed"]:
        sys.exit(MISSED)


def _check(faults: tuple[str, ...], fitted: tuple[str, ...]) -> None:
    from supervisor.rehearsal.drill.cases import TARGETS

    unknown = [name for name in faults if name not in TARGETS]
    if unknown:
        raise InputRefused(f"--fault names {unknown[0]!r}; allowed: {', '.join(sorted(TARGETS))}.")
    if "none" in fitted and len(set(fitted)) > 1:
        raise InputRefused(f"--fitted is none and {fitted[-1]}; allowed: none alone, or the parts that are fitted.")
