"""`meltkeeper furnace new`: make a furnace file from ten answers."""

import json
import os
import tempfile
import tomllib
from pathlib import Path

import click

from supervisor.furnace.answers import furnace_file
from supervisor.furnace.asked import QUESTIONS, SOURCE
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.refusal import InputRefused, refusal
from supervisor.toml_input import read_text

CAUTION = (
    "Caution: lethal voltage at the element, also with the relay off. Isolate and lock before you measure. A licensed"
    " person does or checks the mains wiring, to the local code, and says what the circuit carries for hours."
)


@click.command("new")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path), default="furnace.toml")
@click.option(
    "--answers",
    type=click.Path(dir_okay=False, path_type=Path),
    help="TOML file with the ten answers, in place of questions.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object: file, copy, answers, filled_in.")
def command(file: Path, answers: Path | None, as_json: bool) -> None:
    """Make the furnace file FILE (furnace.toml) by ten questions. What is not asked is filled in, and says so.

    It is written for you alone to read (mode 0600). A file that is there already is kept beside it, numbered. Nothing
    is switched; after a change everything that it touches is proved again before heat.

    Exit status: 0 written, 2 refused; then nothing was written.
    """
    given = _ask(file) if answers is None else _read(answers)
    furnace = _checked(furnace_file(given), file)
    copy = _write(file, furnace_file(given))
    if as_json:
        found = {"file": str(file), "copy": copy and str(copy), "answers": given, "filled_in": _filled(furnace)}
        click.echo(json.dumps(found, ensure_ascii=False, indent=1))
        return
    if copy is not None:
        click.echo(f"Kept as it was: {copy}")
    click.echo(f"Written: {file}")
    for name, value in _filled(furnace).items():
        click.echo(f"  filled in: {name} {value}")
    click.echo(f"Next: meltkeeper check --furnace {file} --show")


def _ask(file: Path) -> dict[str, str]:
    """Ten questions, one line each. What cannot be is asked again; no answer is lost."""
    click.echo(CAUTION)
    given: dict[str, str] = {}
    for name in QUESTIONS:
        _put(name, given)
    while True:
        try:
            _checked(furnace_file(given), file)
        except InputRefused as error:
            click.echo(str(error), err=True)
            name = click.prompt("Which answer was wrong", type=click.Choice(list(QUESTIONS)))
            _put(name, given)
        else:
            return given


def _put(name: str, given: dict[str, str]) -> None:
    """One question, until its answer can be understood."""
    question = QUESTIONS[name]
    examples = {other: each.example for other, each in QUESTIONS.items()}
    click.echo(f"\n{list(QUESTIONS).index(name) + 1} of {len(QUESTIONS)}\n{question.picture}")
    while True:
        given[name] = click.prompt(f"{question.asks}\n  like: {question.example}\n ", prompt_suffix="> ")
        try:
            furnace_file({**examples, **given})
        except InputRefused as error:
            click.echo(str(error), err=True)
        else:
            return


def _read(file: Path) -> dict[str, str]:
    try:
        found = tomllib.loads(read_text(file))
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise InputRefused(f"{file} is not TOML: {error}") from error
    for name, value in found.items():
        if not isinstance(value, str):
            example = QUESTIONS[name].example if name in QUESTIONS else ""
            raise refusal(str(file), name, value, f"text, as in {example!r}" if example else ", ".join(QUESTIONS))
    return found


def _checked(text: str, file: Path) -> FurnaceDescription:
    """Read it as every command will; it is not written where it is wrong.

    Raises:
        InputRefused: it describes what cannot be or must not be heated.
    """
    with tempfile.TemporaryDirectory() as directory:
        draft = Path(directory) / (file.name if file.suffix == ".toml" else "furnace.toml")
        draft.write_text(text, encoding="utf-8")
        try:
            return read_furnace(str(draft))
        except InputRefused as error:
            raise InputRefused(str(error).replace(str(draft), SOURCE)) from error


def _write(file: Path, text: str) -> Path | None:
    """Write it whole or not at all; where the one that was there is kept."""
    if file.suffix != ".toml":
        raise refusal(SOURCE, "FILE", str(file), "a name that ends in .toml")
    copy = None
    try:
        if file.exists():
            numbers = (file.with_name(f"{file.name}.{number}") for number in range(1, 10_000))
            copy = next(each for each in numbers if not each.exists())
            os.link(file, copy)
        handle, draft = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")  # mode 0600
        with os.fdopen(handle, "w", encoding="utf-8") as written:
            written.write(text)
            written.flush()
            os.fsync(written.fileno())
        Path(draft).replace(file)
    except OSError as error:
        raise InputRefused(f"{file} cannot be written: {error.strerror}.") from error
    return copy


def _filled(furnace: FurnaceDescription) -> dict[str, str]:
    """What was not asked, in words."""
    wall = furnace.wall
    return {
        "full_power_w": f"{furnace.full_power_w:.0f}",
        "inside_m2": f"{wall.inside_m2:.3f}",
        "outside_m2": f"{wall.outside_m2:.3f}",
        "conductivity_w_m_k": f"{wall.conductivity_w_m_k:g}",
        "capacity_kg": f"{furnace.crucible.capacity_kg:g}",
        "slope_c_per_s": f"{furnace.response.slope_c_per_s:g}",
    }
