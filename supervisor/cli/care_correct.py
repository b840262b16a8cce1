"""`meltkeeper care correct`: the dated correction of the thermocouple, written into the furnace file."""

import json
import re
from datetime import UTC, datetime
from pathlib import Path

import click

from hardware.clock import utc_ms
from supervisor.cli.numbers import NUMBER
from supervisor.furnace.file import SHIPPED, read_furnace
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent
from supervisor.logbook.place import default_directory
from supervisor.refusal import InputRefused

_TABLE = re.compile(r"\n*\[sensor_correction\]\n(?:(?!\[).*\n?)*")


@click.command("correct")
@click.option("--furnace", required=True, metavar="FILE", help="Your furnace file.")
@click.option(
    "--data", type=click.Path(file_okay=False, path_type=Path), help="Its data directory.  [default: by name]"
)
@click.option("--by-k", type=NUMBER, required=True, help="K that are added to the reading, -10 to 10; 0 takes it away.")
@click.option("--at", "at_c", type=NUMBER, required=True, help="Temperature at which it was found, °C.")
@click.option("--who", required=True, help="Who found it.")
@click.option("--why", required=True, help="How: second probe, dips, flat part.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(furnace: str, data: Path | None, by_k: float, at_c: float, who: str, why: str, as_json: bool) -> None:
    """Correct the thermocouple by one dated line of the furnace file, with the supervisor stopped.

    It is shown wherever the number is, and every row of the log keeps the raw word. One that is more than 10 K off is
    changed, not corrected. The old file is kept beside the new one.

    Exit status: 0 done, 2 refused.
    """
    if furnace in SHIPPED:
        raise InputRefused(f"--furnace is {furnace}, which ships with the program; allowed: a furnace file of your own")
    described = read_furnace(furnace)
    try:
        Link((data or default_directory(described.name)) / SOCKET_NAME).snapshot()
    except LinkSilent:
        pass
    else:
        raise InputRefused("The supervisor runs: stop it first; the file counts from its next start.")
    file, today = Path(furnace), datetime.fromtimestamp(utc_ms() / 1000, UTC).date().isoformat()
    text = file.read_text(encoding="utf-8")
    lines = "".join(
        f"{name} = {json.dumps(value, ensure_ascii=False)}\n"
        for name, value in (("k", by_k), ("at_c", at_c), ("on", today), ("by", who), ("why", why))
    )
    new = _TABLE.sub("\n", text).rstrip() + "\n" + (f"\n[sensor_correction]\n{lines}" if by_k else "")
    trial = file.with_suffix(".new.toml")
    try:
        trial.write_text(new, encoding="utf-8")
        read_furnace(str(trial))  # whatever it refuses is refused before anything is changed
        kept = file.with_name(f"{file.stem}-before-{today}{file.suffix}")
        if not kept.exists():
            kept.write_text(text, encoding="utf-8")
        trial.replace(file)
    except OSError as error:
        raise InputRefused(f"--furnace is {file}; it cannot be written: {error.strerror}.") from error
    finally:
        trial.unlink(missing_ok=True)
    said = f"{'Corrected by' if by_k else 'No correction any more; was'} {by_k:+g} K at {at_c:g} °C. Kept: {kept.name}."
    click.echo(json.dumps({"said": said}) if as_json else said)
