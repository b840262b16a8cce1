"""`meltkeeper status`: what the furnace is doing, as its supervisor says it now."""

import json
from pathlib import Path
from typing import Any

import click

from supervisor.cli.melts import data_option
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent, headline, next_sign

STALE_S = 3.0
"""Older than this, the supervisor itself has stopped turning."""


class NoAnswer(click.ClickException):
    """Nobody knows what the furnace is doing: one sentence on standard error, exit status 4."""

    exit_code = 4

    def show(self, file: Any = None) -> None:
        """Print the sentence."""
        click.echo(self.message, file=file, err=True)


@click.command()
@data_option
@click.option("--json", "as_json", is_flag=True, help="Print the snapshot as docs/link.md describes it.")
def command(data: Path, as_json: bool) -> None:
    """Say what the furnace is doing. Switches nothing.

    Exit status: 0 done, 4 the supervisor does not answer, or its answer is old: go and look at the furnace.
    """
    try:
        snapshot = Link(data / SOCKET_NAME).snapshot()
    except LinkSilent as error:
        raise NoAnswer(f"{error} What the furnace is doing is unknown: look at it.") from error
    click.echo(json.dumps(snapshot, ensure_ascii=False, indent=1) if as_json else "\n".join(lines(snapshot)))
    if snapshot["age_s"] > STALE_S:
        raise NoAnswer(f"This is {snapshot['age_s']:.0f} s old: the supervisor does not turn. Look at the furnace.")


def lines(snapshot: dict[str, Any]) -> list[str]:
    """A snapshot in a few lines for a person."""
    furnace, hot = snapshot["furnace"], snapshot["hot_junction"]
    what = f"{furnace['title']}{', simulated' if furnace['backend'] == 'simulated' else ''}: {snapshot['state']}"
    firing = snapshot["firing"]
    if firing is not None and snapshot["heat_number"]:
        what += f", {snapshot['heat_number']}"
    chamber = "no reading" if hot["c"] is None else f"{hot['c']:.0f} °C"
    age_s = hot["age_s"] + snapshot["age_s"]
    chamber += f" ({hot['fault']})" if hot["fault"] else f", {age_s:.1f} s old"
    if hot.get("correction"):
        chamber += f", corrected by {hot['correction']['k']:+g} K since {hot['correction']['on']}"
    setpoint = "" if snapshot["setpoint_c"] is None else f"; setpoint {snapshot['setpoint_c']:.0f} °C"
    said = [
        f"{headline(snapshot)} {next_sign(snapshot)}".rstrip(),
        what,
        f"Chamber: {chamber}{setpoint}. {snapshot['heat']['sentence']}",
    ]
    if snapshot["metal"] is not None:
        said.append(_metal(snapshot["metal"]))
    if snapshot["boost"]["on"]:
        cap_c = snapshot["boost"]["cap_c"]
        said.append(f"The chamber is hotter on purpose, up to {cap_c:.0f} °C: the metal is still cold.")
    if snapshot["question"] is not None:
        said.append(f"Wanted: {snapshot['question']['sentence']}")
    alarms = snapshot["alarms"]
    said += [f"Alarm, {alarm['state']}: {alarm['sentence']} {alarm['act']}" for alarm in alarms if not alarm["folded"]]
    followed = sum(alarm["folded"] for alarm in alarms)
    said += [f"{followed} more followed."] if followed else []
    said += [f"Shelved for {row['left_s'] / 60.0:.0f} min more: {row['sentence']}" for row in snapshot["shelved"]]
    if (found := snapshot["aftermath"]) is not None:
        away = f" It was away {found['lasted']['words']}." if found["lasted"]["words"] else ""
        said += [f"{found['happened']}{away} {found['metal']['sentence']}", *found["do_not"]]
    if snapshot["left_open"]:
        said.append(str(snapshot["left_open"]))
    return said


def _metal(metal: dict[str, Any]) -> str:
    if metal["doubt"]:
        return f"Metal: not known. {metal['doubt']}"
    said = f"Metal: {metal['words']}, likely {metal['about_c']} °C, give or take {metal['band_k']} K"
    minutes = metal["minutes"]
    return f"{said}; fit to pour: {minutes['words']}." if minutes is not None else f"{said}."
