"""What can happen to the supervisor as a process, and what the furnace did: `python -m tests.campaigns.processes`.

Seven faults, each put in at a random moment of a firing: as signals, by filling its disk, or through its socket. An
error in the cycle and a cycle that takes too long need code that fails: there the supervisor runs with one watch more
(`tests/campaigns/sabotaged.py`), which does nothing until a signal comes. Contactor and relay are read from the
record of edges of the furnace's own process, on the machine's monotonic clock, never from the supervisor. Simulated
furnace, 1 x.
"""

import json
import signal
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from random import Random
from statistics import median
from typing import NamedTuple

import click

from hardware.clock import monotonic_s, sleep_s
from supervisor.link.client import SOCKET_NAME, Link
from tests.end_to_end.held_up import AGAIN, in_fresh_directories
from tests.end_to_end.kills import OPEN_WITHIN_S, STEEP_C_PER_H
from tests.end_to_end.site import SENDER, Site
from tests.end_to_end.stops import Flood

RELAY_OFF_WITHIN_S = 1.0
"""After an orderly end, and after a stop."""
FULL_DISK_WITHIN_S = 15.0
"""Heat ends this soon after the disk is full: samples are written every 10 s, and nothing else tells."""
RUNNING_FOR_S = 5.0
FLOOD_PER_S = 200.0
DISK_KB = 215_000
"""A start asks for 200 MB."""


class Trial(NamedTuple):
    """One fault in one firing. Seconds from the fault, on the machine's clock; None: it was open, or off, already."""

    fault: str
    seed: int
    contactor_open_s: float | None
    relay_off_s: float | None
    faults: tuple[str, ...]  # what went wrong
    again: int = 0  # so often it was set up again, as the supervisor was held up before the fault


class Struck(NamedTuple):
    """What a fault came with."""

    at_s: float  # from when the contactor's time counts
    orderly: bool = False  # the relay has to be off within its own limit too
    faults: tuple[str, ...] = ()


def _signalled(number: signal.Signals, *, orderly: bool) -> Callable[[Site, Random], Struck]:
    return lambda site, random: Struck(site.signal(number), orderly)


def _stopped(site: Site, random: Random) -> Struck:
    """A stop beside a flood of other commands."""
    with Flood(site.link.path, 10, FLOOD_PER_S):
        sleep_s(random.uniform(0.5, 1.5))
        at_s = monotonic_s()
        answer = site.link.send({"command": "stop", **SENDER})
        site.until("the contactor opens", lambda: not site.level("contactor"))
    return Struck(at_s, orderly=True, faults=() if answer.accepted else (f"stop refused: {answer.sentence}",))


def _disk_filled(site: Site, random: Random) -> Struck:
    """Fill the disk: heat ends without the contactor; then a stop, which has to work without a disk."""
    filled_s = monotonic_s()
    with (site.data / "filler").open("wb", buffering=0) as filler:
        for size in (1 << 20, 4096):
            with suppress(OSError):
                while True:
                    filler.write(bytes(size))
    faults = []
    site.until("the hold", lambda: site.state() == "held")
    held_s = monotonic_s() - filled_s
    if held_s > FULL_DISK_WITHIN_S:
        faults.append(f"held {held_s:.1f} s after the disk was full")
    before = len([edge for edge in site.edges("relay") if edge.level])
    sleep_s(random.uniform(0.0, 2.0))
    if site.level("relay") or len([edge for edge in site.edges("relay") if edge.level]) != before:
        faults.append("the relay was on while the disk was full")
    at_s = monotonic_s()
    site.send(command="stop")
    return Struck(at_s, orderly=True, faults=tuple(faults))


FAULTS: dict[str, Callable[[Site, Random], Struck]] = {
    "kill -9": _signalled(signal.SIGKILL, orderly=False),
    "SIGTERM": _signalled(signal.SIGTERM, orderly=True),
    "SIGSTOP": _signalled(signal.SIGSTOP, orderly=False),
    "error in the cycle": _signalled(signal.SIGUSR1, orderly=True),
    "cycle too long": _signalled(signal.SIGUSR2, orderly=False),
    "full disk": _disk_filled,
    "flood on the link": _stopped,
}


class SmallDisk(Site):
    """A furnace whose supervisor keeps its data on a disk of its own, in a namespace of its own."""

    def start(self, *words: str) -> None:
        """Start the supervisor; its data are then seen through its own view of the file system."""
        self.data.mkdir(exist_ok=True)
        script = f'mount -t tmpfs -o size={DISK_KB}k none "$0" && exec "$@"'
        self.supervisor = ("unshare", "--user", "--map-root-user", "--mount", "sh", "-c", script, str(self.data),
                           *self.supervisor)  # fmt: skip
        told = ("--data", str(self.data), "--furnace-socket", str(self.socket), *words)
        self.daemon = self.command("daemon", *told, program=self.supervisor)
        self.data = Path(f"/proc/{self.daemon.pid}/root{self.data}")
        self.link = Link(self.data / SOCKET_NAME)
        self.until("the supervisor answers", lambda: self.snapshot() is not None, within_s=120.0)


def strike(directory: Path, fault: str, seed: int) -> Trial:
    """One firing, one fault.

    Raises:
        HeldUp: the machine held the supervisor up before the fault.
    """
    random = Random(f"{fault} {seed}")
    kind = SmallDisk if fault == "full disk" else Site
    with kind(directory, seed=seed, rate_c_per_h=STEEP_C_PER_H) as site:
        takes_s = random.uniform(1.2, 4.0)  # over 0.9 s between rising edges the permit counts as lost
        if fault in ("error in the cycle", "cycle too long"):
            site.supervisor = (sys.executable, "-m", "tests.campaigns.sabotaged", f"{takes_s:.2f}")
        with site.setting_up():
            site.start()
            site.fire()
            site.until("the relay is on", lambda: site.level("relay"))
            sleep_s(random.uniform(0.0, RUNNING_FOR_S))
        closed = len(site.edges("contactor"))
        struck = FAULTS[fault](site, random)
        faults = list(struck.faults)
        with suppress(TimeoutError):
            site.until("the contactor opens", lambda: not site.level("contactor"), within_s=10.0)
        if fault == "SIGSTOP":
            site.let_pass(1.0)
            site.signal(signal.SIGCONT)
        site.let_pass(2.0)
        opened = site.edges("contactor")[closed:]
        contactor_s = opened[0].real_s - struck.at_s if opened else None
        relay_s = _relay_off_s(site, struck.at_s)
        faults += _wrong(site, struck, contactor_s, relay_s, len(opened))
    return Trial(fault, seed, contactor_s, relay_s, tuple(faults))


def _relay_off_s(site: Site, at_s: float) -> float | None:
    """From the fault to the relay's next edge down; None: it was off. After a kill the pin may stay up for ever."""
    edges = site.edges("relay")
    was_on = [edge.level for edge in edges if edge.real_s <= at_s][-1:] == [True]
    after = [edge for edge in edges if edge.real_s > at_s and not edge.level]
    return after[0].real_s - at_s if was_on and after else None


def _wrong(site: Site, struck: Struck, contactor_s: float | None, relay_s: float | None, edges: int) -> list[str]:
    faults = []
    if contactor_s is None:
        faults.append("the contactor did not open")
    elif not contactor_s <= OPEN_WITHIN_S:
        faults.append(f"the contactor opened after {contactor_s:.2f} s")
    if edges > 1:
        faults.append("the contactor went in again")
    if struck.orderly and site.level("relay"):
        faults.append("the relay was left on")
    if struck.orderly and not (relay_s or 0.0) <= RELAY_OFF_WITHIN_S:
        faults.append(f"the relay was off after {relay_s:.2f} s")
    if any(edge.level and edge.real_s > struck.at_s + OPEN_WITHIN_S for edge in site.edges("relay")):
        faults.append("the relay went on again")
    return faults


def trials(
    each: int,
    first_seed: int,
    at_once: int,
    names: Sequence[str] = tuple(FAULTS),
    tell: Callable[[Trial], None] = lambda trial: None,
) -> list[Trial]:
    """So many trials of each fault, several at a time: they mostly wait."""

    def told(task: tuple[str, int]) -> Trial:
        trial = one(task)
        tell(trial)
        return trial

    def one(task: tuple[str, int]) -> Trial:
        try:
            trial, again = in_fresh_directories("struck", lambda directory: strike(directory, *task))
        except (AssertionError, OSError) as error:  # a TimeoutError too
            return Trial(*task, None, None, (f"{type(error).__name__}: {error}",))
        return trial._replace(again=again)

    tasks = [(name, seed) for seed in range(first_seed, first_seed + each) for name in names]
    with ThreadPoolExecutor(at_once) as pool:
        return list(pool.map(told, tasks))


def _tell(trial: Trial) -> None:
    click.echo(json.dumps(trial._asdict()), err=True)


def _spread(times: list[float]) -> str:
    return f"{median(times):5.2f} {max(times):5.2f}" if times else f"{'-':>5} {'-':>5}"


@click.command()
@click.option("--trials", "each", type=click.IntRange(min=1), default=10, show_default=True, help="Of each fault.")
@click.option("--seed", type=int, default=1, show_default=True, help="Of the first trial.")
@click.option("--at-once", type=click.IntRange(min=1), default=8, show_default=True, help="Trials side by side.")
@click.option("--fault", "names", type=click.Choice(sorted(FAULTS)), multiple=True, help="Only these.")
@click.option("--json", "as_json", is_flag=True)
def main(each: int, seed: int, at_once: int, names: tuple[str, ...], as_json: bool) -> None:
    """Strike the supervisor's process. Exit status: 0 cold in time each time, 1 something went wrong."""
    began_s = monotonic_s()
    found = trials(each, seed, at_once, names or tuple(FAULTS), _tell)
    bad = [trial for trial in found if trial.faults]
    if as_json:
        click.echo(json.dumps({"simulated": True, "trials": [trial._asdict() for trial in found]}, indent=1))
    else:
        click.echo(
            f"simulated furnace, 1 x, {len(found)} trials in {monotonic_s() - began_s:.0f} s; seconds, median worst"
        )
        click.echo(f"  {'':20} {'in time':>12}  {'contactor':>11}  {'relay':>11}")
        for name in dict.fromkeys(trial.fault for trial in found):
            of = [trial for trial in found if trial.fault == name]
            good = sum(not trial.faults for trial in of)
            opened = [trial.contactor_open_s for trial in of if trial.contactor_open_s is not None]
            off = [trial.relay_off_s for trial in of if trial.relay_off_s is not None]
            click.echo(f"  {name:20} {good:>5} of {len(of):>3}  {_spread(opened)}  {_spread(off)}")
        if again := sum(trial.again for trial in found):
            click.echo(f"  {AGAIN}, as the supervisor was held up before the fault: {again}")
        for trial in bad:
            click.echo(f"  wrong: {trial.fault}, seed {trial.seed}: {'; '.join(trial.faults)}")
    raise SystemExit(1 if bad else 0)


if __name__ == "__main__":
    main()
