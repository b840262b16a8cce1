"""`meltkeeper furnace learn`: what the firings in the log teach of the furnace. Reads the log, switches nothing."""

import contextlib
import json
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from hardware.clock import utc_ms
from supervisor.cli.opened_book import writing
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent, adopt_message
from supervisor.logbook.directory import open_directory
from supervisor.logbook.place import default_directory, is_being_written
from supervisor.logbook.reading import KeptModel, Log, open_log
from supervisor.logbook.records import ModelRow
from supervisor.logbook.scribe import Scribe
from supervisor.refusal import InputRefused

if TYPE_CHECKING:
    from supervisor.logbook.lesson import Lesson

WHO, BY_ITSELF = "command line", "learner"
MOST_NAMED = 10
"""Firings that do not count, named on the screen: the newest."""


@click.command("learn")
@click.option(
    "--furnace", default="workshop", show_default=True, metavar="NAME|FILE", help="Furnace that the log is of."
)
@click.option(
    "--data",
    type=click.Path(file_okay=False, path_type=Path),
    show_default="~/.local/share/meltkeeper/NAME",
    help="Its data directory.",
)
@click.option("--from", "chosen", type=click.IntRange(min=1), multiple=True, metavar="N",
              help="Learn from firing N alone; may be repeated.  [default: all that are fit]")  # fmt: skip
@click.option("--meter", type=click.Choice(["on", "off"]), default="on", show_default=True,
              help="Use what the energy meter counted. Off is for comparison: nothing is kept.")  # fmt: skip
@click.option("--anew", is_flag=True, help="Fit again, also when no firing is new.")
@click.option("--look", is_flag=True, help="Only show it: nothing is kept.")
@click.option("--at-furnace", is_flag=True, help="Where the rule wants a person: ask at the furnace, by its button.")
@click.option("--put-back", type=click.IntRange(min=1), metavar="ID", help="Take model ID of the log again.")
@click.option("--picture", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE.svg",
              help="Draw the newest firing, measured and modelled.")  # fmt: skip
@click.option("--brief", is_flag=True, help="Say in one sentence what came of it.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object; names are in docs/logbook.md.")
def command(
    furnace: str,
    data: Path | None,
    chosen: tuple[int, ...],
    meter: str,
    anew: bool,
    look: bool,
    at_furnace: bool,
    put_back: int | None,
    picture: Path | None,
    brief: bool,
    as_json: bool,
) -> None:
    """Learn the furnace from its firings, and say what was learned. Switches nothing.

    Firings count that ended complete or stopped, with nothing found by a watch, the charge weighed and the pour noted,
    on the same element, sensor, lining and crucible. Within the limits of the rule the model is taken for the firings
    to come (a firing in progress keeps its own); beyond them it is kept until a person at the furnace takes it.

    Exit status: 0 done, or nothing new to learn; 2 cannot be done.
    """
    described = read_furnace(furnace)
    where = data or default_directory(described.name)
    if put_back is not None:
        said = _put_back(where, put_back, described.name)
        click.echo(json.dumps(said) if as_json else said["sentence"])
        return
    if brief:
        _reckon(where, described)
    from supervisor.logbook.lesson import NothingNew, lesson  # late: it brings numerical libraries along

    with open_log(where) as log:
        _refuse_another(log, described.name, where)
        learned = lesson(log, described, chosen=chosen, meter=meter == "on", anew=anew or look or meter == "off")
    if isinstance(learned, NothingNew):
        _say_nothing_new(learned.left_out, brief=brief, as_json=as_json)
        return
    kept = None
    if not look and meter == "on":
        kept = _keep(where, described.name, learned, at_furnace=at_furnace, who=BY_ITSELF if brief else WHO)
    if picture is not None:
        _draw(picture, learned)
    from supervisor.cli.furnace_learned import as_object, in_words

    if brief and kept is not None:
        click.echo(kept["sentence"])
    elif as_json:
        click.echo(json.dumps(as_object(learned, described, kept), ensure_ascii=False))
    else:
        click.echo("\n".join(in_words(learned, described, kept)))


def _reckon(where: Path, furnace: FurnaceDescription) -> None:
    """What the newest firings say of sensor and element, for the pages. That it cannot be kept hinders no lesson."""
    from supervisor.care.keeping import reckon_missing

    with contextlib.suppress(InputRefused), open_log(where) as log, writing(where) as book:
        reckon_missing(log, book, furnace)


def _say_nothing_new(left_out: Sequence[tuple[int, str]], *, brief: bool, as_json: bool) -> None:
    sentence = "Nothing new to learn from."
    if as_json:
        told = [{"firing_id": number, "why": why} for number, why in left_out]
        click.echo(json.dumps({"learned": False, "sentence": sentence, "left_out": told}, ensure_ascii=False))
        return
    click.echo(sentence)
    for number, why in [] if brief else left_out[-MOST_NAMED:]:
        click.echo(f"Left out: firing {number}, {why}.")


def _refuse_another(log: Log, furnace: str, where: Path) -> None:
    firings = log.firings(limit=1)
    if firings and firings[0].furnace != furnace:
        raise InputRefused(
            f"{where} belongs to the furnace {firings[0].furnace!r}, not to {furnace!r}; name it with --furnace."
        )


def _keep(where: Path, furnace: str, learned: "Lesson", *, at_furnace: bool, who: str) -> dict[str, Any]:
    """Into the log: by the running supervisor, or, while none runs, by our own hand. What became of it."""
    free = not learned.objections
    row = learned.row(adopted=free, who=who, where=WHO)
    if is_being_written(where):
        return _send(where, _message(row, learned.objections, at_furnace=at_furnace), who)
    if at_furnace and not free:
        raise InputRefused("--at-furnace asks by the furnace's button: start its supervisor first.")
    _write(where, furnace, row)
    sentence = (
        "Adopted: the next firing uses it." if free else "Kept, not adopted: it waits for a person at the furnace."
    )
    return {"adopted": free, "sentence": sentence}


def _put_back(where: Path, number: int, furnace: str) -> dict[str, Any]:
    with open_log(where) as log:
        _refuse_another(log, furnace, where)
        kept = next((row for row in log.models() if row.id == number), None)
        known = [row.id for row in log.models()]
    if kept is None:
        numbers = ", ".join(str(each) for each in sorted(known)) or "none is kept yet"
        raise InputRefused(f"--put-back is {number}; allowed: the number of a model in {where}: {numbers}.")
    if is_being_written(where):
        return _send(where, adopt_message(kept), WHO)
    if not kept.adopted:
        raise InputRefused(
            f"Model {number} waits for a person at the furnace: start its supervisor, ask again, and press the button."
        )
    _write(where, furnace, _again(kept))
    return {"adopted": True, "sentence": f"Model {number} is back: the next firing uses it."}


def _again(kept: KeptModel) -> ModelRow:
    return ModelRow(
        kept.firing_id, True, kept.id, WHO, WHO, json.dumps(kept.model), kept.against, f"Model {kept.id} put back."
    )


def _message(row: ModelRow, objections: Sequence[str], *, at_furnace: bool) -> dict[str, Any]:
    return {
        "command": "adopt",
        "model": json.loads(row.model),
        "firing_id": row.firing_id,
        "takes": None,
        "objections": [objection[:300] for objection in objections[:50]],
        "at_furnace": at_furnace,
        "against": row.against,
        "note": row.note[:2000],
    }


def _send(where: Path, message: dict[str, Any], who: str) -> dict[str, Any]:
    """Raises InputRefused: nobody took it, or it was refused."""
    try:
        answer = Link(where / SOCKET_NAME).send({"who": who, "where": WHO, **message})
    except LinkSilent as error:
        raise InputRefused(f"{where} is being written, but its supervisor does not answer: {error}") from error
    if not answer.accepted:
        raise InputRefused(answer.sentence)
    return {"adopted": answer.sentence.startswith("Adopted"), "sentence": answer.sentence}


def _write(where: Path, furnace: str, row: ModelRow) -> None:
    with open_log(where) as log:
        kind = log.kind()
    boot = Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
    with (
        open_directory(where, backend=kind, furnace=furnace) as directory,
        Scribe(directory, boot_id=boot, utc_ms=utc_ms, threaded=False) as scribe,
    ):
        scribe.put([row])
        if scribe.trouble is not None:
            raise InputRefused(f"It was learned, but not kept: {scribe.trouble}")


def _draw(file: Path, learned: "Lesson") -> None:
    from supervisor.strip import Point, svg

    shown = learned.against["series"][-1]
    points = [
        Point(t_s / 60.0, measured, modelled)
        for t_s, measured, modelled in zip(shown["t_s"], shown["measured_c"], shown["predicted_c"], strict=True)
    ]
    made = datetime.fromtimestamp(learned.model.made_utc_ms / 1000.0, UTC)
    title = f"Firing {shown['firing_id']}: line measured, dashes modelled (model of {made:%Y-%m-%d})"
    try:
        file.write_text(svg(title, points, [], caption="minutes; °C"), encoding="utf-8")
    except OSError as error:
        raise InputRefused(f"--picture is {file}; it cannot be written: {error.strerror}.") from error
