"""Kill the supervisor at random moments and look at what the furnace did.

`python -m tests.end_to_end.kills --trials 200`. Half of the kills fall within a second of a change of state. Every
figure is of the simulated furnace, in real time at 1 x.
"""

import json
import signal
import sqlite3
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from math import inf
from pathlib import Path
from random import Random
from statistics import median
from typing import NamedTuple

import click

from hardware.clock import monotonic_s, sleep_s
from tests.end_to_end.held_up import AGAIN, in_fresh_directories
from tests.end_to_end.site import Site

OPEN_WITHIN_S = 3.0
"""So long after the supervisor's death the main contactor is open, by the furnace's own record."""
RUNNING_FOR_S = 12.0
STEEP_C_PER_H = 2000.0
"""So that the relay is on at most moments."""
OUTPUTS = ("relay", "enable", "contactor")


class Kill(NamedTuple):
    """One trial."""

    seed: int
    near: str  # the change of state that the kill fell close to, or 'running'
    contactor_was_in: bool
    relay_was_on: bool
    open_after_s: float  # from the last edge of the heat permit to the contactor's opening; 0 when it was open
    faults: tuple[str, ...]  # what went wrong
    again: int = 0  # so often it was set up again, as the supervisor was held up before the kill


def _press(site: Site) -> None:
    site.wait_for_question()
    site.press(4.0)


CHANGES: dict[str, tuple[str, Callable[[Site], object]]] = {
    "prepare": ("idle", lambda site: site.prepare()),
    "start": ("starting", lambda site: site.ask_to_start()),
    "press": ("running", _press),
    "hold": ("held", lambda site: site.send(command="hold")),
    "resume": ("running", lambda site: site.send(command="resume", epoch=site.link.snapshot()["epoch"])),
    "stop": ("stopped", lambda site: site.send(command="stop")),
}
"""The life of a firing: what is done, and the state that it leads to."""


def kill_once(directory: Path, seed: int) -> Kill:
    """One supervisor, one firing, one kill, one restart.

    Raises:
        HeldUp: the machine held the supervisor up before the kill.
    """
    random = Random(seed)
    near = random.choice((*CHANGES, "start of running")) if seed % 2 else "running"
    with Site(directory, seed=seed, rate_c_per_h=STEEP_C_PER_H) as site:
        with site.setting_up():
            site.start()
            _live_until(site, near, random)
        contactor_was_in, relay_was_on = site.level("contactor"), site.level("relay")
        site.kill()
        faults: list[str] = []
        try:
            site.until("the contactor opens", lambda: not site.level("contactor"))
        except TimeoutError as error:
            faults.append(str(error))
        after_s = _open_after_s(site)
        if not after_s <= OPEN_WITHIN_S:
            faults.append(f"the contactor opened after {after_s:.2f} s")
        faults += _log_faults(site, near)
        faults += _restart_faults(site)
    return Kill(seed, near, contactor_was_in, relay_was_on, after_s, tuple(faults))


def _live_until(site: Site, near: str, random: Random) -> None:
    """Go through a firing up to the moment of the kill."""
    for name, (state, change) in CHANGES.items():
        change(site)
        if name == near:
            break
        site.wait_for(state)
        if name == "press" and near == "start of running":
            break
        if name == "press" and near == "running":
            sleep_s(random.uniform(0.0, RUNNING_FOR_S))
            return
    sleep_s(random.uniform(0.0, 1.0))  # at any moment, also within a cycle


def _open_after_s(site: Site) -> float:
    """From the permit's last edge to the contactor's last opening, on the furnace's clock; infinite while it is in."""
    contactor, permit = site.edges("contactor"), site.edges("permit")
    if contactor and contactor[-1].level:
        return inf
    if not contactor or not permit:
        return 0.0
    return max(0.0, contactor[-1].time_s - permit[-1].time_s)


def _log_faults(site: Site, near: str) -> list[str]:
    faults = []
    firings = site.firings()
    with sqlite3.connect(f"{(site.data / 'furnace.db').as_uri()}?mode=ro", uri=True) as connection:
        (verdict,) = connection.execute("PRAGMA integrity_check").fetchone()
    connection.close()
    if verdict != "ok":
        faults.append(f"the log is damaged: {verdict}")
    heated = near in ("start of running", "running", "hold", "resume", "stop")
    if heated and len(firings) != 1:
        faults.append(f"the log has {len(firings)} firings")
    allowed = ("interrupted", "stopped") if near == "stop" else ("interrupted",)
    faults += [f"the firing shows as {state}" for state in firings if state not in allowed]
    return faults


def _restart_faults(site: Site) -> list[str]:
    """The supervisor comes back stopped beside the same furnace, heats nothing, and asks for a look at it."""
    cut_short = "interrupted" in site.firings()
    before = {line: len([edge for edge in site.edges(line) if edge.level]) for line in OUTPUTS}
    site.start()
    snapshot = site.link.snapshot()
    faults = []
    if snapshot["state"] != "stopped":
        faults.append(f"it came back {snapshot['state']}")
    if (snapshot["left_open"] is not None) != cut_short:
        faults.append(f"it came back saying {snapshot['left_open']!r}")
    looked_at = {row["name"]: row["met"] for row in snapshot["permissives"]}["earlier firing looked at"]
    if looked_at == cut_short:
        faults.append(f"it says that the earlier firing was {'' if looked_at else 'not '}looked at")
    site.prepare()
    refused = site.refused(**site.start_message())
    if cut_short and refused is None:
        faults.append("a start was accepted before anybody looked at the furnace")
    site.let_pass(1.0)
    site.signal(signal.SIGTERM)
    after = {line: len([edge for edge in site.edges(line) if edge.level]) for line in OUTPUTS}
    return faults + [f"{line} went on after the restart" for line in OUTPUTS if after[line] != before[line]]


def kill_many(trials: int, first_seed: int, at_once: int) -> list[Kill]:
    """So many trials, several at a time: they mostly wait."""

    def one(seed: int) -> Kill:
        try:
            kill, again = in_fresh_directories("kill", lambda directory: kill_once(directory, seed))
        except (AssertionError, OSError) as error:  # a TimeoutError too
            return Kill(seed, "?", False, False, 0.0, (f"{type(error).__name__}: {error}",))
        return kill._replace(again=again)

    with ThreadPoolExecutor(at_once) as pool:
        return list(pool.map(one, range(first_seed, first_seed + trials)))


@click.command()
@click.option("--trials", type=click.IntRange(min=1), default=10, show_default=True)
@click.option("--seed", type=int, default=1, show_default=True, help="Of the first trial.")
@click.option(
    "--at-once", type=click.IntRange(min=1), default=4, show_default=True, help="Trials that run side by side."
)
@click.option("--json", "as_json", is_flag=True)
def main(trials: int, seed: int, at_once: int, as_json: bool) -> None:
    """Kill the supervisor at random moments. Exit status: 0 the furnace went cold each time, 1 something went wrong."""
    began_s = monotonic_s()
    kills = kill_many(trials, seed, at_once)
    bad = [kill for kill in kills if kill.faults]
    times_s = sorted(kill.open_after_s for kill in kills if kill.contactor_was_in)
    if as_json:
        click.echo(json.dumps({"kills": [kill._asdict() for kill in kills]}, indent=1))
    else:
        click.echo(f"kills (simulated furnace, 1 x): {len(kills)} in {monotonic_s() - began_s:.0f} s")
        click.echo(f"  contactor in at the kill: {len(times_s)}; relay on: {sum(kill.relay_was_on for kill in kills)}")
        if times_s:
            p90_s = times_s[int(0.9 * (len(times_s) - 1))]
            click.echo(
                f"  contactor open after the last sign of life: median {median(times_s):.2f} s, p90 {p90_s:.2f} s,"
                f" worst {times_s[-1]:.2f} s, allowed {OPEN_WITHIN_S:.0f} s"
            )
        if again := sum(kill.again for kill in kills):
            click.echo(f"  {AGAIN}, as the supervisor was held up before the kill: {again}")
        click.echo(f"  went wrong: {len(bad)}")
        for kill in bad:
            click.echo(f"    seed {kill.seed}, {kill.near}: {'; '.join(kill.faults)}")
    raise SystemExit(1 if bad else 0)


if __name__ == "__main__":
    main()
